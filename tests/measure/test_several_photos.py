"""Surveys of several tied photos through the whole program: sizes, points, plan, sentences."""

import math

import numpy as np
import pytest

from measure.elevation.joined_plan import joined_plan
from measure.elevation.plan_faces import plan_of_photo
from measure.evaluate import evaluate
from measure.results import json_from_results
from measure.whole_building import building_drawings
from rectify.placements import Placement
from shared.survey import Survey
from tests.rectify.test_residuals import HEADING, HINGE_U, wing_point
from tests.rectify.test_tie_photos import OFF, RIGHT, Scene, same
from tests.support.scenes import rectangle
from tests.support.surveyed import facts

EDGE = rectangle(-4400.0, 200.0, HINGE_U, 5400.0)


def survey_of(scene, ties, *more):
    raws = same(scene)
    raws[0]["measures"] = [
        {"id": "edge", "kind": "outline", "at": scene.hands["left"].on_wall(EDGE)}
    ]
    return Survey.model_validate(
        {
            "title": "Test house",
            "photos": [{"id": name, "file": f"{name}.jpg"} for name in scene.cameras],
            "faces": [*raws, *more],
            "ties": ties,
        }
    )


def measured(scene, survey):
    return evaluate(survey, {name: facts(camera, name) for name, camera in scene.cameras.items()})


def wing_scene():
    """The left photo shows the front to its end, the right one the wing beyond it."""
    scene = Scene(right={**RIGHT, "focal_px": 1900.0, "yaw_deg": -10.0})
    hand = scene.hands["right"]
    corners = hand.at([wing_point(u, v) for u, v in rectangle(500, 600, 3000, 4400)])
    wing = {
        "id": "wing", "photo": "right",
        "surface": {"kind": "wall", "hinge": {"face": "front-right", "at": hand.at(
            [[HINGE_U, v, 0.0] for v in (500, 4500)])}},
        "frame": corners, "measures": [{"id": "w", "kind": "opening", "at": corners}],
    }  # fmt: skip
    return scene, wing


def test_located_points_are_told_above_the_datum_and_behind_the_wall():
    scene = Scene()
    results = measured(scene, survey_of(scene, [*scene.points(), *scene.space()]))
    told = json_from_results(results)["points"]
    for name, (_, y, z) in OFF.items():
        # the datum is the lowest pick of the frame, at 300
        assert told[name]["level_mm"] == pytest.approx(y - 300.0, abs=5.0)
        assert told[name]["set_back_mm"] == pytest.approx(-z, abs=5.0)
        assert told[name]["face"] == "front-left"
        assert 0.0 < told[name]["u_level_mm"] < 120.0
        assert 0.0 < told[name]["u_set_back_mm"] < 200.0
        assert told[name]["model_set_back_mm"] == pytest.approx(-z / 148.0, abs=0.05)


def test_survey_without_ties_is_measured_as_before():
    scene = Scene()
    results = measured(scene, survey_of(scene, []))
    assert results.placements == {}
    assert "points" not in json_from_results(results)


def test_disagreement_stands_among_the_warnings_of_both_photos():
    scene = Scene(u_px=0.3, said=0.3)
    ties = scene.points()
    ties[0]["at"][0]["at"][0] += 30.0
    told = json_from_results(measured(scene, survey_of(scene, ties)))["photos"]
    for photo in ("left", "right"):
        assert any("disagree" in warning for warning in told[photo]["warnings"])


def test_one_plan_is_drawn_of_tied_photos_with_each_wall_once():
    scene, wing = wing_scene()
    survey = survey_of(scene, scene.points(), wing)
    results = measured(scene, survey)
    made = {each.name: each for each in building_drawings(survey, results, 148.0)}
    assert made.keys() == {"plan", "side-by-side"}
    assert made["plan"].photos == ("left", "right")
    plan = made["plan"].drawing
    ids = [item.id for item in plan.items if getattr(item, "id", None)]
    assert sorted(ids) == ["front-left", "wing"]
    lines = {item.id: item.points_mm for item in plan.items if getattr(item, "id", None)}
    assert lines["wing"][0] == pytest.approx(lines["front-left"][1], abs=8.0)
    run = np.subtract(lines["wing"][1], lines["wing"][0])
    # the sheet turns z over
    assert math.atan2(-run[1], run[0]) == pytest.approx(HEADING, abs=2e-3)


def test_faces_of_tied_photos_stand_on_one_datum():
    scene, wing = wing_scene()
    survey = survey_of(scene, scene.points(), wing)
    results = measured(scene, survey)
    made = {each.name: each.drawing for each in building_drawings(survey, results, 148.0)}
    by_id = {i.id: i for i in made["side-by-side"].items if getattr(i, "id", None)}
    foot = min(point[1] for point in by_id["edge"].points_mm)
    window = by_id["w"]
    low = min([window.start_mm[1], *(part.to_mm[1] for part in window.segments)])
    assert low - foot == pytest.approx(400.0, abs=8.0)
    folds = [item for item in made["side-by-side"].items if item.layer == "folds"]
    assert len(folds) == 1


def test_plan_in_a_turned_frame_is_the_same_plan():
    scene, wing = wing_scene()
    survey = survey_of(scene, [], wing)
    results = measured(scene, survey)
    faces = [face for face in survey.faces if face.photo == "right"]
    plan = plan_of_photo(faces, results.faces, results.photos["right"].solution)
    turned = joined_plan([(plan, Placement(0.7, 500.0, 0.0, -300.0))], {})
    for before, after in zip(plan.walls, turned.walls, strict=True):
        assert after.width_mm == pytest.approx(before.width_mm)
        length = math.dist(after.start_mm, after.end_mm)
        assert length == pytest.approx(math.dist(before.start_mm, before.end_mm))
        assert after.heading_rad - before.heading_rad == pytest.approx(0.7)
