"""Courses counted in the demo's photos, on walls seen square and askew and on the round tower."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from measure.results import MeasureResult, Results, json_from_results
from measure.survey_job import SurveyJob
from shared.survey import CoursesMeasure, Face
from shared.survey_file import read_survey

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"
TRUTH: dict[str, Any] = json.loads((DEMO / "truth.json").read_text("utf-8"))["faces"]


def uncounted(face: Face) -> Face:
    """The face with its courses alone, none of them counted."""
    measures = tuple(
        each.model_copy(update={"count": None})
        for each in face.measures
        if isinstance(each, CoursesMeasure)
    )
    return face.model_copy(update={"measures": measures})


@pytest.fixture(scope="module")
def results() -> Results:
    survey = read_survey(DEMO / "pennywhistle.survey.json")
    faces = tuple(uncounted(face) for face in survey.faces)
    return SurveyJob(survey.model_copy(update={"faces": faces}), DEMO / "x.json").measure()


def counted(results: Results) -> Iterator[tuple[MeasureResult, dict[str, Any]]]:
    for face in results.faces.values():
        for name, measure in face.measures.items():
            yield measure, TRUTH[face.id]["measures"][name]


def test_courses_of_the_demo_are_counted(results: Results) -> None:
    found = [(one.facts["count"], one.facts["sure"]) for one, _ in counted(results)]
    assert found == [(truth["count"], True) for _, truth in counted(results)]


def test_gauges_of_the_demo_lie_within_thrice_their_uncertainty(results: Results) -> None:
    for measure, truth in counted(results):
        assert abs(measure.size("gauge_mm") - truth["gauge_mm"]) < 3 * measure.u_of("gauge_mm")


def test_joints_follow_the_wall_beside_what_the_chart_shifts_and_stretches(
    results: Results,
) -> None:
    for measure, truth in counted(results):
        read, true = np.array(measure.sizes["joints_mm"]), np.array(truth["joints_mm"])
        straight = np.polyval(np.polyfit(true, read, 1), true)
        assert np.abs(read - straight).max() < 0.1 * truth["gauge_mm"]


def test_courses_that_cannot_be_read_give_their_height_and_say_why() -> None:
    survey = read_survey(DEMO / "pennywhistle.survey.json")
    front = uncounted(survey.faces[0])
    (low, high) = front.measures[0].at[:2]
    close = front.measures[0].model_copy(
        update={"at": (low, low.model_copy(update={"y": low.y - 3.0}))}
    )
    sideways = close.model_copy(
        update={"id": "c9", "at": (high, high.model_copy(update={"x": high.x - 90.0}))}
    )
    faces = (front.model_copy(update={"measures": (close, sideways)}),)
    photos = survey.photos[:1]
    job = SurveyJob(survey.model_copy(update={"faces": faces, "photos": photos}), DEMO / "x.json")
    for measure in job.measure().faces["front"].measures.values():
        assert (measure.facts["count"], measure.facts["sure"]) == (None, False)
        assert set(measure.sizes) == {"height_mm"}
        assert measure.warnings[0].startswith("Not sure of the count: the picks of the courses lie")
        assert "Count them and give the count" in measure.warnings[0]


def test_json_tells_count_and_whether_it_is_sure(results: Results) -> None:
    told = json_from_results(results)["faces"]["tower"]["measures"]["c1"]
    assert (told["count"], told["sure"], told["regular"]) == (21, True, True)
    assert len(told["joints_mm"]) == len(told["u_joints_mm"]) == 22
    assert 0.0 <= told["variation"] < 0.12
    assert told["warnings"] == []
