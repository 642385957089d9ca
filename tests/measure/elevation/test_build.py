"""From a measured face to its elevation, step by step as the survey wishes."""

import copy

import numpy as np
import pytest

from measure.elevation.build import Elevation, make_elevation
from measure.evaluate import evaluate
from shared.errors import FieldError, StoreyrodError, UnderdeterminedError
from shared.survey import Survey
from tests.support.scenes import picks, rectangle
from tests.support.street_survey import CAMERA, street_survey
from tests.support.surveyed import facts

SCALE = 148.0


def made_from(
    drawing: dict | None = None, *, shift: dict | None = None, only=None, **how
) -> Elevation:
    """Elevation of the street front; `shift` moves the picks of an opening, in mm."""
    raw = copy.deepcopy(street_survey())
    face = raw["faces"][0]
    face["drawing"] = drawing
    if only is not None:
        face["measures"] = [each for each in face["measures"] if each["id"] in only]
    for id_, (du, dv) in (shift or {}).items():
        (measure,) = (each for each in face["measures"] if each["id"] == id_)
        left = {"w1": -3000.0, "w2": -600.0, "w3": 1800.0}[id_] + du
        corners = rectangle(left, 3300.0 + dv, left + 1200.0, 5100.0 + dv)
        measure["at"] = picks(CAMERA.project_wall(corners))
    survey = Survey.model_validate(raw)
    results = evaluate(survey, {"street": facts(CAMERA)})
    solution = results.photos["street"].solution
    front = survey.faces[0]
    return make_elevation(survey, front, results.faces["front"], solution, SCALE, **how)


def boxes(elevation: Elevation) -> dict[str, tuple[float, float, float, float]]:
    return {
        each.id: (each.left_mm, each.sill_mm, each.right_mm, each.head_mm)
        for each in elevation.facade.openings
    }


def test_drawing_counts_from_the_left_edge_and_from_the_datum():
    found = boxes(made_from())
    # picks are exact: outline from -3600, lowest frame pick at 600
    assert found["w1"] == pytest.approx((600.0, 2700.0, 1800.0, 4500.0), rel=2e-3)
    assert made_from().facade.wall_box.left_mm == pytest.approx(0.0, abs=1e-9)


def test_a_sill_that_agrees_is_lined_up_and_the_liberty_listed():
    elevation = made_from(shift={"w2": (0.0, 8.0)})
    sills = [each.sill_mm for each in elevation.facade.openings]
    assert np.ptp(sills) < 1e-6
    moved = {(each.id, each.part): each.moved_mm for each in elevation.liberties}
    assert moved["w2", "sill"] < -1.0
    assert moved["w1", "sill"] > 1.0
    ghosts = [item for item in elevation.drawing.items if item.layer == "as-picked"]
    assert len(ghosts) == 4


def test_a_liberty_is_the_difference_of_the_drawing_as_picked_and_the_drawing():
    lined = made_from(shift={"w2": (4.0, 8.0)})
    picked = made_from(shift={"w2": (4.0, 8.0)}, as_picked=True)
    places = {"left": 0, "sill": 1, "right": 2, "head": 3}
    checked = 0
    for each in lined.liberties:
        if each.id.startswith("w") and each.part in places:
            at = places[each.part]
            assert each.measured_mm == pytest.approx(boxes(picked)[each.id][at], abs=1e-6)
            assert each.drawn_mm == pytest.approx(boxes(lined)[each.id][at], abs=1e-6)
            checked += 1
    assert checked > 4


def test_as_picked_nothing_is_moved_completed_fitted_or_added():
    wishes = {
        "completions": [{"kind": "repeat", "of": ["w3"], "count": 1}],
        "details": [{"kind": "sills"}],
        "plot": {"width_mm": 40, "choice": "reduce", "keep_true": False},
    }
    elevation = made_from(wishes, shift={"w2": (0.0, 8.0)}, as_picked=True)
    assert elevation.liberties == ()
    assert set(boxes(elevation)) == {"w1", "w2", "w3"}
    assert elevation.denominator == SCALE
    assert elevation.choice is None
    assert not {"as-picked", "dressings"} & {item.layer for item in elevation.drawing.items}
    assert elevation.facade.opening("w2").sill_mm - elevation.facade.opening("w1").sill_mm > 5.0


def test_a_face_may_wish_not_to_be_lined_up_and_still_be_completed():
    wishes = {"tidy": False, "completions": [{"kind": "repeat", "of": ["w3"], "count": 1}]}
    elevation = made_from(wishes, shift={"w2": (0.0, 8.0)})
    assert "w3@bay1" in boxes(elevation)
    told = [(each.id, each.part) for each in elevation.liberties]
    assert told == [("o1", "width"), ("w3@bay1", "all")]
    assert elevation.facade.opening("w2").sill_mm - elevation.facade.opening("w1").sill_mm > 5.0


def test_a_plot_that_reduces_the_elevation_changes_its_scale():
    elevation = made_from({"plot": {"width_mm": 24, "choice": "reduce", "keep_true": False}})
    # 7200 mm into 24 mm
    assert elevation.denominator == pytest.approx(300.0, rel=2e-3)
    assert elevation.choice.costs[0] in [each.reason for each in elevation.liberties]


def test_picks_of_wishes_are_laid_on_the_drawing():
    (at,) = picks(CAMERA.project_wall(np.array([[2400.0, 1000.0]])))
    elevation = made_from({"completions": [{"kind": "copy", "of": "w1", "at": at}]})
    made = elevation.facade.opening("w1@copy")
    assert (made.centre_mm, made.sill_mm) == pytest.approx((6000.0, 400.0), rel=5e-3)


def test_a_pick_past_the_face_is_refused_in_one_sentence():
    wish = {"completions": [{"kind": "mirror", "axis_at": [500.0, -200_000.0]}]}
    with pytest.raises(StoreyrodError, match="looks past the face"):
        made_from(wish)


def test_a_face_without_measures_has_nothing_to_draw():
    with pytest.raises(UnderdeterminedError, match="Nothing is measured on face 'front'"):
        made_from(only=())


def test_without_an_outline_the_drawing_begins_at_what_was_picked():
    elevation = made_from(only=("w1", "w2", "w3"))
    # the frame reaches from -3000 to 3000, and 2 % is added around it
    assert boxes(elevation)["w1"][0] == pytest.approx(0.02 * 6000.0, rel=2e-2)


def test_contradicting_wishes_are_refused_by_name():
    wishes = {
        "together": [{"what": "sill", "of": ["w1", "w2"]}],
        "apart": [{"what": "sill", "of": ["w2", "w1"]}],
    }
    with pytest.raises(FieldError, match="are both put together and kept apart"):
        made_from(wishes)


def test_what_is_wrong_with_the_wall_is_noted():
    elevation = made_from(shift={"w2": (-1150.0, 0.0)})
    assert any("The pier between 'w1' and 'w2'" in note for note in elevation.notes)


PLINTH = {"kind": "plinth", "foot": -900.0, "head": -600.0}


def test_a_wall_continued_down_to_its_plinth_is_a_liberty():
    elevation = made_from({"tidy": False, "details": [PLINTH]})
    assert elevation.facade.wall_box.bottom_mm == -900.0
    (liberty,) = (each for each in elevation.liberties if each.part == "all")
    assert liberty.reason.endswith("mm down to the foot of the plinth")


def test_a_continued_wall_keeps_its_picked_outline_on_the_layer_of_ghosts():
    elevation = made_from({"tidy": False, "details": [PLINTH]})
    ghosts = [item for item in elevation.drawing.items if item.layer == "as-picked"]
    lowest = min(v for item in ghosts for _, v in getattr(item, "points_mm", ()))
    assert lowest > -890.0


def test_as_picked_the_wall_ends_where_its_outline_was_picked():
    elevation = made_from({"details": [PLINTH]}, as_picked=True)
    assert elevation.facade.wall_box.bottom_mm > -890.0
