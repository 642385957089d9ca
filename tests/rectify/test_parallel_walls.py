"""Walls parallel to another: set-back given, solved from a size or from edges running back."""

import numpy as np
import pytest

from measure.evaluate import evaluate
from measure.results import json_from_results
from rectify.adjust import solve_photo
from rectify.diagnosis import find_suspects
from shared.errors import FieldError, UnderdeterminedError
from shared.survey import Survey
from tests.rectify.test_residuals import WIDE, whole_building, wing_point
from tests.support.scenes import rectangle
from tests.support.surveyed import Hand, face, facts, street_camera, street_front

FORWARD_MM = 850.0  # a bay window stands so far before the front
BAY = rectangle(-1800.0, 700.0, 1100.0, 3100.0)


def camera_and_hand(**more):
    camera = street_camera(**{**WIDE, "yaw_deg": 14.0, "centre_mm": (-6000.0, 1600.0, 13_000.0)})
    return camera, Hand(camera, **more)


def bay(hand, back_mm=-FORWARD_MM, **surface):
    return {
        "id": "bay", "photo": "street",
        "surface": {"kind": "wall", "parallel_to": "front", **surface},
        "frame": hand.on_wall(BAY, back_mm),
        "measures": [{"id": "wide", "kind": "distance",
                      "at": hand.on_wall([[-1800, 3100], [1100, 3100]], back_mm)}],
    }  # fmt: skip


def returns(hand, back_mm=-FORWARD_MM):
    """Edges of the bay's roof that run straight back to the wall."""
    return [[*hand.on_wall([[u, v]]), *hand.on_wall([[u, v]], back_mm)]
            for u, v in ((-1800.0, 3100.0), (1100.0, 3100.0))]  # fmt: skip


def solved(camera, hand, **surface):
    raw = bay(hand, **surface)
    survey = Survey.model_validate(
        {"photos": [{"id": "street", "file": "x"}], "faces": [street_front(hand), raw]}
    )
    return evaluate(survey, {"street": facts(camera)})


@pytest.mark.parametrize("back_mm", [-FORWARD_MM, 600.0], ids=["forward", "back"])
def test_edges_that_run_straight_back_give_the_set_back(back_mm):
    camera, hand = camera_and_hand(said_u_px=0.3)
    results = solved(camera, hand, back_mm=back_mm, returns=returns(hand, back_mm))
    told = json_from_results(results)["faces"]["bay"]
    assert told["set_back_mm"] == pytest.approx(back_mm, abs=1.0)
    assert 0.0 < told["u_set_back_mm"] < 60.0
    assert results.faces["bay"].measures["wide"].size("length_mm") == pytest.approx(2900, rel=3e-4)


def test_given_set_back_brings_its_own_uncertainty():
    """A bay read 850 mm too near: a twelfth too wide on the wall's chart, true on its own."""
    camera, hand = camera_and_hand(said_u_px=0.1)
    spread = []
    for u_mm in (1.0, 100.0):
        results = solved(camera, hand, set_back_mm=-FORWARD_MM, u_set_back_mm=u_mm)
        wide = results.faces["bay"].measures["wide"]
        assert wide.size("length_mm") == pytest.approx(2900, rel=3e-4)
        spread.append(wide.u_of("length_mm"))
    # 100 mm of some 12 m, of 2.9 m
    assert np.sqrt(spread[1] ** 2 - spread[0] ** 2) == pytest.approx(
        2900 * 100 / (13_000 - FORWARD_MM), rel=0.1
    )


def test_given_set_back_that_the_edges_contradict_is_named():
    camera, hand = camera_and_hand(said_u_px=0.3)
    raw = bay(hand, returns=returns(hand), set_back_mm=-1100.0, u_set_back_mm=5.0)
    solution = solve_photo(facts(camera), [face(street_front(hand)), face(raw)])
    said = " ".join(suspect.sentence for suspect in find_suspects(solution))
    assert "given set-back of face 'bay'" in said
    assert "-1100 mm" in said


def test_depth_known_gives_a_photo_its_scale():
    camera, hand = camera_and_hand()
    front = {**street_front(hand), "references": []}
    raw = bay(hand, returns=returns(hand), set_back_mm=-FORWARD_MM, u_set_back_mm=2.0)
    survey = Survey.model_validate(
        {"photos": [{"id": "street", "file": "x"}], "faces": [front, raw]}
    )
    results = evaluate(survey, {"street": facts(camera)})
    wide = results.faces["bay"].measures["wide"]
    assert wide.size("length_mm") == pytest.approx(2900.0, rel=1e-3)


def test_bay_of_a_wing_is_parallel_to_the_wing():
    camera = street_camera(**WIDE)
    hand = Hand(camera)
    front, _, wing, _ = whole_building(hand)

    def point(u, v):
        base = np.array(wing_point(u, v))
        along = np.array(wing_point(1, 0)) - np.array(wing_point(0, 0))
        return base + 400.0 * np.array([-along[2], 0.0, along[0]])

    corners = [(900, 3000), (2400, 3000), (2400, 900), (900, 900)]
    raw = {
        "id": "oriel", "photo": "street",
        "surface": {"kind": "wall", "parallel_to": "wing", "set_back_mm": -400.0,
                    "u_set_back_mm": 1.0},
        "frame": hand.at([point(*corner) for corner in corners]),
    }  # fmt: skip
    solution = solve_photo(facts(camera), [front, wing, face(raw)])
    chart = solution.charted("oriel", face(raw).frame).chart_mm
    assert chart[1, 0] - chart[0, 0] == pytest.approx(1500.0, rel=1e-3)


def test_plinth_standing_forward_reads_true_with_a_negative_set_back():
    camera, hand = camera_and_hand()
    front = street_front(hand)
    at = hand.on_wall([[-3000.0, 500.0], [3000.0, 500.0]], -60.0)
    front["measures"] = [{"id": "plinth", "kind": "distance", "at": at, "set_back_mm": -60.0},
                         {"id": "flat", "kind": "distance", "at": at}]  # fmt: skip
    survey = Survey.model_validate({"photos": [{"id": "street", "file": "x"}], "faces": [front]})
    measures = evaluate(survey, {"street": facts(camera)}).faces["front"].measures
    assert measures["plinth"].size("length_mm") == pytest.approx(6000.0, rel=2e-4)
    assert measures["flat"].size("length_mm") == pytest.approx(
        6000.0 * 13_000 / (13_000 - 60), rel=5e-4
    )


def test_parallel_wall_of_which_nothing_says_how_far_is_refused():
    camera, hand = camera_and_hand()
    with pytest.raises(UnderdeterminedError, match="'bay' is parallel to 'front', and nothing"):
        solve_photo(facts(camera), [face(street_front(hand)), face(bay(hand))])


def test_wall_parallel_to_a_tower_is_refused():
    camera = street_camera(**WIDE)
    hand = Hand(camera)
    front, _, _, tower = whole_building(hand)
    raw = bay(hand, set_back_mm=100.0)
    raw["surface"]["parallel_to"] = "tower"
    with pytest.raises(FieldError, match="'bay' is said to be parallel to 'tower'"):
        solve_photo(facts(camera), [front, tower, face(raw)])
