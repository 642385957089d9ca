"""A survey answered for the page: tied photos, drags, faces that cannot be placed."""

from __future__ import annotations

import copy
from pathlib import Path

import pytest

from measure.evaluate import evaluate
from measure.results import json_from_results
from measure.workbench.answers import Answerer
from rectify.photos.photo import PhotoHeader
from shared.survey import Photo, Survey
from tests.measure.test_several_photos import EDGE
from tests.rectify.test_tie_photos import Scene, same
from tests.support.surveyed import facts, focal_35mm


class Bench:
    """A tied survey and the page's way to answer it."""

    def __init__(self, *, u_px: float = 0.4) -> None:
        self.scene = Scene(u_px=u_px, said=0.5)
        raws = same(self.scene)
        for raw in raws:
            hand = self.scene.hands[raw["photo"]]
            raw["measures"] = [{"id": "edge", "kind": "outline", "at": hand.on_wall(EDGE)}]
        self.raw = {
            "photos": [{"id": name, "file": f"{name}.jpg"} for name in self.scene.cameras],
            "faces": raws,
            "ties": [*self.scene.points(), *self.scene.space()],
        }
        self.answerer = Answerer()

    def header(self, photo: Photo) -> PhotoHeader:
        camera = self.scene.cameras[photo.id]
        size, focal = (camera.width_px, camera.height_px), float(focal_35mm(camera))
        path = Path(photo.file)
        return PhotoHeader(path, photo.file, "JPEG", *size, 1, focal, "", "", None, ())

    def answer(self, raw: dict | None = None, **how: object) -> dict:
        survey = Survey.model_validate(raw or self.raw)
        return self.answerer.answer(survey, self.header, **how).payload

    def plainly(self, raw: dict | None = None) -> dict:
        """What the command line says of the same survey."""
        survey = Survey.model_validate(raw or self.raw)
        known = {name: facts(camera, name) for name, camera in self.scene.cameras.items()}
        return json_from_results(evaluate(survey, known))

    def dragged(self, by_px: float = 3.0) -> dict:
        raw = copy.deepcopy(self.raw)
        raw["faces"][0]["frame"][0][0] += by_px
        return raw


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench()


def width_and_u(answer: dict, face: str) -> tuple[float, float]:
    edge = answer["results"]["faces"][face]["measures"]["edge"]
    return edge["perimeter_mm"], edge["u_perimeter_mm"]


def test_tied_photos_are_answered_as_on_the_command_line(bench):
    assert bench.answer()["results"] == bench.plainly()


def test_a_tied_wall_is_surer_than_alone(bench):
    alone = bench.answer({**bench.raw, "ties": []})
    assert width_and_u(bench.answer(), "front-left")[1] < width_and_u(alone, "front-left")[1]


def test_a_drag_in_a_tied_photo_gives_the_sizes_of_the_whole_answer(bench):
    bench.answer()
    quick = bench.answer(bench.dragged(), quick=True)
    whole = bench.answer(bench.dragged())
    assert quick["quick"]
    mm, u_mm = width_and_u(whole, "front-left")
    # rough stops lie within a twentieth of each ±
    assert width_and_u(quick, "front-left")[0] == pytest.approx(mm, abs=0.1 * u_mm)


def test_while_one_photo_is_dragged_the_other_keeps_its_answer(bench):
    rest = bench.answer()
    quick = bench.answer(bench.dragged(4.0), quick=True)
    assert quick["results"]["faces"]["front-right"] == rest["results"]["faces"]["front-right"]
    assert quick["results"]["faces"]["front-left"] != rest["results"]["faces"]["front-left"]


def test_photos_that_disagree_say_so_and_are_doubtful(bench):
    raw = copy.deepcopy(bench.raw)
    raw["ties"][0]["at"][0]["at"][0] += 40.0
    answer = bench.answer(raw)
    for photo in ("left", "right"):
        assert "disagree" in answer["page"]["ties"][photo][0]
    trust = answer["page"]["trust"]["front-left"]
    assert trust["state"] == "doubtful"
    assert "disagree" in trust["advice"]


def test_a_tie_to_a_face_that_is_not_placed_is_left_out(bench):
    raw = copy.deepcopy(bench.raw)
    raw["faces"].append({"id": "bare", "photo": "right"})
    end = {"face": "bare", "at": [500.0, 500.0]}
    raw["ties"].append({"id": "odd", "kind": "level", "at": [raw["ties"][0]["at"][0], end]})
    answer = bench.answer(raw)
    assert answer["page"]["faces"]["bare"]["problem"]["code"] == "underdetermined"
    assert width_and_u(answer, "front-left") == pytest.approx(
        width_and_u(bench.answer(), "front-left")
    )


def test_a_tie_that_cannot_be_is_told_and_stops_nothing(bench):
    raw = copy.deepcopy(bench.raw)
    hand = bench.scene.hands["right"]
    roof = {
        "kind": "roof",
        "eaves": {"face": "front-right", "at": hand.on_wall([[-3000, 5000], [3000, 5000]])},
        "pitch_deg": 40.0,
    }
    raw["faces"].append({"id": "roof", "photo": "right", "surface": roof})
    here, there = raw["ties"][-1]["at"]
    raw["ties"].append({"id": "odd", "kind": "space", "at": [{**there, "face": "roof"}, here]})
    answer = bench.answer(raw)
    assert "which is no wall" in answer["page"]["ties"]["left"][0]
    assert answer["page"]["faces"]["front-left"]["sized"]


def test_work_that_nobody_waits_for_stops_between_steps():
    bench = Bench()
    asked = []

    def left() -> None:
        asked.append(1)
        if len(asked) == 3:
            raise TimeoutError

    with pytest.raises(TimeoutError):
        bench.answer(check=left)
    assert len(asked) == 3


class Few:
    """An answerer that keeps three answers of a kind, asked about surveys with nothing in them."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("measure.workbench.answers.MOST_KEPT", 3)
        self.answerer = Answerer()

    def stamp(self, title: str, *, quick: bool = False) -> str:
        survey = Survey.model_validate({"title": title, "photos": [], "faces": []})
        return self.answerer.answer(survey, lambda _: None, quick=quick).stamp


def test_an_answer_shown_again_is_not_forgotten_before_those_after_it(monkeypatch):
    """As after undoing: the first of all answers is on the page, and a new edit comes."""
    few = Few(monkeypatch)
    first, *_ = [few.stamp(title) for title in ("first", "second", "third", "first")]
    few.stamp("fourth")
    assert few.answerer.kept(first) is not None


def test_no_drag_pushes_out_what_another_page_shows(monkeypatch):
    few = Few(monkeypatch)
    rest = few.stamp("at rest")
    for step in range(9):
        few.stamp(f"dragged by {step}", quick=True)
    assert few.answerer.kept(rest) is not None
