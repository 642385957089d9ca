"""Courses whose joints a hand put right: they need no photo, and everything follows from them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from measure.evaluate import evaluate
from measure.results import MeasureResult, json_from_results
from measure.survey_job import SurveyJob
from shared.errors import FieldError
from shared.survey import Survey
from shared.survey_file import parse_survey, read_survey
from tests.support.scenes import SceneCamera
from tests.support.surveyed import FRAME, Hand, facts, length

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"
GAUGE_MM, BOTTOM_MM = 75.0, 1200.0


class Wall:
    """A front with bed joints 75 mm apart, picked without a miss; the ± says 1 px."""

    def __init__(self) -> None:
        self.camera = SceneCamera(focal_px=2400.0, yaw_deg=15.0, pitch_deg=6.0)
        self.hand = Hand(self.camera, said_u_px=1.0)

    def courses(self, *which: int) -> MeasureResult:
        """Measure courses whose joints are those numbered, in the order given."""
        joints = self.hand.on_wall([[0.0, BOTTOM_MM + GAUGE_MM * n] for n in which])
        front = {
            "id": "front", "photo": "street", "frame": self.hand.on_wall(FRAME),
            "references": [length(self.hand, [[1000, 400], [1000, 3400]])],
            "measures": [{"id": "c", "kind": "courses", "at": [joints[0], joints[-1]],
                          "joints": joints}],
        }  # fmt: skip
        photo = {"id": "street", "file": "street.jpg"}
        survey = Survey.model_validate({"photos": [photo], "faces": [front]})
        known = {"street": facts(self.camera, "street")}
        return evaluate(survey, known).faces["front"].measures["c"]


def test_count_and_gauge_are_those_of_the_joints() -> None:
    measured = Wall().courses(*range(13))
    assert (measured.facts["count"], measured.facts["sure"]) == (12, True)
    # picks are written to hundredths of a pixel, some 0.05 mm here
    assert measured.size("gauge_mm") == pytest.approx(GAUGE_MM, abs=0.02)
    assert np.diff(measured.sizes["joints_mm"]) == pytest.approx(GAUGE_MM, abs=0.2)


def test_a_joint_left_out_counts_one_course_less_and_the_gauge_follows() -> None:
    measured = Wall().courses(*range(6), *range(7, 13))
    assert measured.facts["count"] == 11
    assert measured.size("gauge_mm") == pytest.approx(GAUGE_MM * 12 / 11, abs=0.02)


def test_the_uncertainty_of_the_gauge_falls_with_the_courses() -> None:
    few, many = Wall().courses(*range(4)), Wall().courses(*range(25))
    # two picks of the same ± over eight times the courses, beside what the scale adds
    assert many.u_of("gauge_mm") < 0.25 * few.u_of("gauge_mm")


def test_joints_may_be_listed_downwards() -> None:
    up, down = Wall().courses(*range(9)), Wall().courses(*reversed(range(9)))
    assert down.sizes["joints_mm"] == pytest.approx(up.sizes["joints_mm"])
    assert down.facts["joints_px"] == up.facts["joints_px"]


def demo_courses(**changes: Any) -> Survey:
    document = json.loads((DEMO / "pennywhistle.survey.json").read_text("utf-8"))
    document["faces"] = document["faces"][:1]
    (found,) = [m for m in document["faces"][0]["measures"] if m["id"] == "c2"]
    found |= {"count": None} | changes
    document["faces"][0]["measures"] = [found]
    return parse_survey(document, "This survey")


def test_joints_as_read_measure_the_same_when_they_are_kept_as_picks() -> None:
    read = SurveyJob(demo_courses(), DEMO / "x.json").measure().faces["front"].measures["c2"]
    kept = demo_courses(joints=read.facts["joints_px"])
    again = SurveyJob(kept, DEMO / "x.json").measure().faces["front"].measures["c2"]
    assert again.facts["count"] == read.facts["count"]
    # written to hundredths of a pixel
    assert again.size("gauge_mm") == pytest.approx(read.size("gauge_mm"), abs=0.01)
    assert again.u_of("gauge_mm") == pytest.approx(read.u_of("gauge_mm"), rel=0.02)


def test_json_tells_where_the_joints_lie_in_the_photo() -> None:
    results = SurveyJob(demo_courses(), DEMO / "x.json").measure()
    told = json_from_results(results)["faces"]["front"]["measures"]["c2"]
    assert len(told["joints_px"]) == told["count"] + 1
    rows = [y for _, y, _ in told["joints_px"]]
    assert rows == sorted(rows, reverse=True)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"joints": [[10, 10]]}, "one joint only"),
        ({"joints": [[10, 10], [10, 20]], "count": 1}, "both a count and joints"),
    ],
)
def test_joints_that_say_nothing_or_too_much_are_refused(changes: dict, says: str) -> None:
    with pytest.raises(FieldError, match=says):
        demo_courses(**changes)


def test_a_survey_without_joints_opens_as_before() -> None:
    survey = read_survey(DEMO / "pennywhistle.survey.json")
    courses = [m for face in survey.faces for m in face.measures if m.kind == "courses"]
    assert all(m.joints == () for m in courses)
