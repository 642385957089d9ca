"""A photo solved as far as it can be: which face is set aside, and what is said of it."""

from __future__ import annotations

import pytest

from measure import partial_solving
from measure.evaluate import evaluate
from measure.partial_solving import solve_what_can_be
from rectify.solution import PhotoFacts
from shared.errors import GeometryError
from shared.survey import Survey
from tests.support.surveyed import Hand, face, facts, street_camera, street_front

CAMERA = street_camera()
WALL = street_front(Hand(CAMERA))


def other(name: str, **more):
    return face({"id": name, "photo": "street", **more})


def test_a_wall_without_picks_asks_for_its_frame():
    solved = solve_what_can_be(facts(CAMERA), [other("front")])
    assert solved.solution is None
    assert "as soon as its frame is picked" in str(solved.problems["front"])


def test_a_tower_without_picks_asks_for_its_outlines_and_the_wall_stands():
    tower = other("tower", surface={"kind": "round"})
    solved = solve_what_can_be(facts(CAMERA), [face(WALL), tower])
    assert solved.solution is not None
    assert list(solved.problems) == ["tower"]
    assert "The tower has no outline yet." in str(solved.problems["tower"])


@pytest.fixture
def settles(monkeypatch):
    """Let photos settle as told by the ids of their faces, and be refused with this name else."""

    def set_up(rule, blamed=None):
        def solve(photo, faces, near=None):
            if not rule({one.id for one in faces}):
                raise GeometryError("No camera fits the picks.", details={"face": blamed})
            return {one.id for one in faces}

        monkeypatch.setattr(partial_solving, "solve_photo", solve)

    return set_up


def named(*names):
    return [other(name, frame=WALL["frame"]) for name in names]


def test_the_face_that_a_refusal_names_is_set_aside_though_it_would_go_without_another(settles):
    settles(lambda faces: len(faces) < 3, blamed="a")
    solved = solve_what_can_be(facts(CAMERA), named("a", "b", "c"))
    assert solved.solution == {"b", "c"}
    assert list(solved.problems) == ["a"]


def test_a_refusal_without_a_name_sets_aside_the_face_without_which_it_settles(settles):
    settles(lambda faces: "b" not in faces)
    solved = solve_what_can_be(facts(CAMERA), named("a", "b", "c"))
    assert solved.solution == {"a", "c"}
    assert list(solved.problems) == ["b"]


def test_where_two_faces_must_go_all_are_told_what_the_photo_lacks(settles):
    settles(lambda faces: len(faces) < 2)
    solved = solve_what_can_be(facts(CAMERA), named("a", "b", "c"))
    assert solved.solution is None
    assert {str(problem) for problem in solved.problems.values()} == {"No camera fits the picks."}
    assert set(solved.problems) == {"a", "b", "c"}


def test_a_single_face_that_does_not_settle_is_told_why(settles):
    settles(lambda faces: False)
    solved = solve_what_can_be(facts(CAMERA), named("a"))
    assert solved.solution is None
    assert "No camera fits the picks." in str(solved.problems["a"])


def test_an_opening_that_contradicts_the_frame_is_not_blamed_on_the_horizon():
    """Picks by hand in a photo without a lens, at a window that stands askew in its bay."""
    foot, head = [795.85, 295.81, 0.34], [776.48, 44.62, 0.33]
    height = {"kind": "length", "at": [foot, head], "length_mm": 5700, "u_mm": 60}
    width = {"kind": "length", "at": [[486.49, 365.57], foot], "length_mm": 10200, "u_mm": 100}
    askew = [[757.09, 207.09], [790.49, 190.49], foot, [762.88, 306.77, 0.1]]
    front = {
        "id": "front",
        "photo": "block",
        "frame": [[483.57, 173.13], head, foot, [484.98, 359.21, 0.29]],
        "references": [height, {**width, "along": "level"}],
        "measures": [{"id": "w1", "kind": "opening", "at": askew}],
    }
    survey = Survey.model_validate(
        {"photos": [{"id": "block", "file": "block.jpg"}], "faces": [front]}
    )
    with pytest.raises(GeometryError, match="picks contradict each other"):
        evaluate(survey, {"block": PhotoFacts("block", 868, 600, None)})
