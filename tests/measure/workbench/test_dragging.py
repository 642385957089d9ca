"""Lines of the elevation: what can be taken hold of, and where things stand while it is dragged."""

import copy
from dataclasses import replace

import pytest

from measure.workbench.dragging import LinedUpFaces
from shared.survey import Survey
from tests.measure.workbench.test_answers import Bench


def elevation_of(client, survey, drawing=None):
    document = copy.deepcopy(survey["document"])
    if drawing is not None:
        document["faces"][0]["drawing"] = drawing
    url = f"/api/surveys/{survey['key']}/elevation"
    answer = client.post(url, json={"document": document, "face": "front"})
    assert answer.status_code == 200, answer.text
    return answer.json()


def drag(client, survey, told, *moved):
    url = f"/api/surveys/{survey['key']}/elevation/lines"
    body = {"stamp": told["stamp"], "face": "front", "moved": list(moved)}
    return client.post(url, json=body)


@pytest.fixture
def told(client, demo):
    return elevation_of(client, demo)


def line_with(told, name):
    return next(line for line in told["lines"] if name in line["members"])


@pytest.fixture
def sill(told):
    """A sill of the first floor of the demo."""
    return line_with(told, "f2.sill")


def moved_line(line, by_mm):
    return {"what": line["what"], "of": line["members"], "to_mm": line["at_mm"] + by_mm}


def test_a_line_holds_what_is_lined_up_there(told):
    """Two arched openings of the second floor spring from one line."""
    line = line_with(told, "s3.springing")
    assert sorted(line["owners"]) == ["l2.springing", "s3.springing"]
    assert len(line["pieces_mm"]) == 2
    assert not line["fixed"]


def test_the_datum_is_shown_and_fixed(told):
    assert line_with(told, "datum.level")["fixed"]


def test_a_line_goes_where_it_is_dragged_and_the_others_stay(client, demo, told, sill):
    answer = drag(client, demo, told, moved_line(sill, 40.0)).json()
    now = line_with(answer, sill["members"][0])
    assert now["at_mm"] == pytest.approx(sill["at_mm"] + 40.0, abs=0.001)
    assert now["measured_mm"] == pytest.approx(sill["measured_mm"], abs=0.001)
    assert now["moved"]
    before = {line["members"][0]: line["at_mm"] for line in told["lines"] if line is not sill}
    after = {line["members"][0]: line["at_mm"] for line in answer["lines"]}
    for name, at in before.items():
        assert after[name] == pytest.approx(at, abs=0.001)


def test_what_was_shown_while_dragging_is_what_is_drawn_at_rest(client, demo, told, sill):
    wish = moved_line(sill, 40.0)
    shown = drag(client, demo, told, wish).json()
    drawing = {**(demo["document"]["faces"][0]["drawing"] or {}), "moved": [wish]}
    rest = elevation_of(client, demo, drawing)
    assert rest["lines"] == shown["lines"]
    assert set(shown["paths"]) <= set(rest["paths"])


def test_a_moved_line_is_among_the_liberties_and_undone_without_the_wish(client, demo, sill):
    drawing = {**(demo["document"]["faces"][0]["drawing"] or {})}
    told = elevation_of(client, demo, {**drawing, "moved": [moved_line(sill, 40.0)]})
    asked = [one for one in told["liberties"] if "as asked" in one["reason"]]
    assert {f"{one['id']}.{one['part']}" for one in asked} >= set(sill["owners"])
    assert elevation_of(client, demo, drawing)["lines"] != told["lines"]


def test_places_as_picked_come_as_a_ghost(told):
    assert told["ghost"]
    assert not set(told["ghost"]) & set(told["paths"])


def test_a_place_where_a_line_cannot_be_is_refused_in_one_sentence(client, demo, told, sill):
    answer = drag(client, demo, told, moved_line(sill, 5000.0))
    assert answer.json() == {"refused": "Moved so, opening 'f2' has no height left."}


def test_a_stamp_that_is_gone_is_refused(client, demo, told):
    assert drag(client, demo, {"stamp": "long-gone"}).json()["code"] == "stamp"


def test_no_line_is_offered_of_what_a_plot_moved(client, demo, told):
    plot = {"width_mm": 60, "choice": "fewer-bays", "keep_true": True}
    fewer = elevation_of(client, demo, {"plot": plot})
    assert len(fewer["lines"]) < len(told["lines"])


def test_a_copy_of_a_survey_beside_another_photo_is_lined_up_for_itself():
    bench, other = Bench(), Bench()
    survey = Survey.model_validate({**bench.raw, "ties": []})
    answer = bench.answerer.answer(survey, bench.header)
    longer = other.answerer.answer(
        survey, lambda photo: replace(other.header(photo), focal_35mm=60.0)
    )
    assert answer.stamp == longer.stamp
    kept = LinedUpFaces()
    kept.find("here", answer, "front-left")
    found = kept.find("there", longer, "front-left")
    assert found.result is longer.results.faces["front-left"]
