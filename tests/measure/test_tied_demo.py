"""The demo's three photos tied: one building, nearer the truth than each photo alone."""

import csv
import datetime as dt
import math
from pathlib import Path

import numpy as np
import pytest

from measure.delivery import Wish, make_files
from measure.evaluate import evaluate
from measure.survey_job import open_survey
from measure.whole_building import building_drawings
from shared.survey_file import read_survey
from tests.support.demo_walls import demo_facts, demo_truth

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"


@pytest.fixture(scope="module")
def alone():
    survey = read_survey(DEMO / "pennywhistle.survey.json")
    return evaluate(survey, demo_facts(survey), stop_at_problem=False)


@pytest.fixture(scope="module")
def tied():
    survey = read_survey(DEMO / "pennywhistle-tied.survey.json")
    return survey, evaluate(survey, demo_facts(survey), stop_at_problem=False)


def openings(results):
    """Miss and ± of the width and height of every opening, shape (count, 2)."""
    rows = []
    for name, face in demo_truth()["faces"].items():
        for key, true in face["measures"].items():
            if true["kind"] == "opening":
                measure = results.faces[name].measures[key]
                rows += [
                    (measure.size(size) - true[size], measure.u[size])
                    for size in ("width_mm", "height_mm")
                ]
    return np.array(rows)


def test_tied_photos_come_nearer_the_truth_and_say_less_of_a_spread(alone, tied):
    before, after = openings(alone), openings(tied[1])
    assert np.sqrt(np.mean(after[:, 0] ** 2)) < np.sqrt(np.mean(before[:, 0] ** 2))
    assert after[:, 1].mean() < before[:, 1].mean()
    # the truth lies within the intervals: 95 of 100, and a few sizes hang together
    assert np.mean(np.abs(after[:, 0]) <= 1.96 * after[:, 1]) >= 0.9


def test_three_photos_make_one_plan_with_each_wall_once(tied):
    survey, results = tied
    made = {each.name: each for each in building_drawings(survey, results, 148.0)}
    assert made.keys() == {"plan", "side-by-side"}
    assert made["plan"].photos == ("street", "oblique", "kiln")
    drawn = [item.id for item in made["plan"].drawing.items if getattr(item, "id", None)]
    assert sorted(drawn) == ["front", "tower", "wing"]


def test_plan_of_three_photos_stands_as_the_building_does(tied):
    """The wing's angle and the tower's place, though no photo shows both."""
    _, results = tied
    truth = demo_truth()["faces"]
    at, u = results.photos["street"].solution.value_and_u("wing", "heading")
    turned = (math.degrees(at) - (truth["wing"]["hinge_inner_deg"] - 180.0) + 180.0) % 360 - 180.0
    assert abs(turned) <= 3.0 * math.degrees(u)
    radius, u_radius = results.photos["kiln"].solution.value_and_u("tower", "radius")
    assert abs(radius - truth["tower"]["radius_mm"]) <= 3.0 * u_radius


@pytest.fixture(scope="module")
def files():
    job = open_survey(DEMO / "pennywhistle-tied.survey.json")
    return dict(make_files(job, Wish(date=dt.date(2026, 11, 30), formats=("svg", "csv"))))


def test_wall_of_three_photos_gets_one_elevation(files):
    drawn = {name.partition("-elevation")[0] for name in files if "-elevation" in name}
    assert drawn == {"front", "wing", "tower"}


def test_schedule_tells_an_opening_of_three_photos_once(files):
    rows = csv.reader(files["schedule.csv"].decode("utf-8-sig").splitlines())
    doors = [row[0] for row in rows if row[1] == "door"]
    assert doors == ["front"]
