"""Bricks along a course, read from the photo of a drawn wall whose every perpend is known."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

from measure.bricks.evidence import distance_along_course, gauge_on_chart
from measure.bricks.lengths import read_brick_lengths
from measure.course_reader import CourseReading
from measure.survey_job import open_survey
from shared.errors import GeometryError
from tests.support.command import run_command
from tests.support.strip_spec import StripSpec
from tests.support.strips import make_strip

#: A stretcher is drawn three courses long: 225 mm with its joint, on courses of 75 mm.
SPEC = StripSpec(seed=31, n_courses=12, px_per_course=30.0, width_px=1000, wobble=0.0)
MODULE_PX = 3.0 * SPEC.px_per_course
LEFT, TOP = 150, 120  # the wall in the photo


@pytest.fixture(scope="module")
def wall(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A survey of the drawn wall, square on; d1 and d2 along its lowest course, d3 askew."""
    strip = make_strip(SPEC)
    height = strip.image.shape[0]
    photo = np.full((height + 2 * TOP, SPEC.width_px + 2 * LEFT, 3), 128, np.uint8)
    photo[TOP : TOP + height, LEFT : LEFT + SPEC.width_px] = strip.image
    folder = tmp_path_factory.mktemp("wall")
    cv2.imwrite(str(folder / "wall.png"), photo[..., ::-1])
    joints_y = TOP + height - strip.joints_between_mm / strip.mm_per_px
    course_y = float(joints_y[:2].mean())  # the third course drawn: perpends at whole stretchers

    def along(name: str, first: int, last: int, fall_px: float = 0.0) -> dict[str, Any]:
        ends = [
            [LEFT + first * MODULE_PX + 6.0, course_y],
            [LEFT + last * MODULE_PX - 7.0, course_y],
        ]
        ends[1][1] += fall_px
        return {"id": name, "kind": "distance", "at": ends}

    right, bottom = LEFT + SPEC.width_px - 20, TOP + height - 10
    survey = {
        "format": "storeyrod survey",
        "version": 1,
        "photos": [{"id": "p", "file": "wall.png", "focal_35mm": 28.0}],
        "faces": [
            {
                "id": "wall",
                "photo": "p",
                "surface": {"kind": "wall"},
                "frame": [
                    [LEFT + 20, TOP + 10],
                    [right, TOP + 10],
                    [right, bottom],
                    [LEFT + 20, bottom],
                ],
                "references": [
                    {
                        "kind": "courses",
                        "at": [[600.0, joints_y[0]], [600.0, joints_y[-1]]],
                        "count": 12,
                        "gauge_mm": 75.0,
                        "u_gauge_mm": 0.6,
                    }
                ],
                "measures": [along("d1", 1, 9), along("d2", 2, 6), along("d3", 1, 9, 40.0)],
            }
        ],
    }
    file = folder / "wall.survey.json"
    file.write_text(json.dumps(survey), "utf-8")
    return file


def read(wall: Path, name: str) -> CourseReading:
    job = open_survey(wall)
    face = job.face("wall")
    solution = job.measure().photos["p"].solution
    gauge_mm = gauge_on_chart(solution, face)
    distance = distance_along_course(face, name)
    return read_brick_lengths(job.pixels("p").pixels, solution, face, distance, gauge_mm)


@pytest.mark.parametrize(("name", "count"), [("d1", 8), ("d2", 4)])
def test_stretchers_between_two_picks_are_counted(wall: Path, name: str, count: int) -> None:
    reading = read(wall, name)
    assert (reading.count, reading.sure, reading.regular) == (count, True, True)


def test_every_brick_is_as_long_as_it_was_drawn(wall: Path) -> None:
    # two perpends, each read to its ±; thrice that, and nowhere more than a pixel of 2.5 mm each
    reading = read(wall, "d1")
    off = np.abs(np.diff(reading.joints_mm) - 225.0)
    assert (off < 3 * np.hypot(reading.u_joints_mm[:-1], reading.u_joints_mm[1:])).all()
    assert off.max() < 5.0


def test_length_of_a_brick_lies_within_thrice_its_uncertainty(wall: Path) -> None:
    reading = read(wall, "d1")
    # the scale is that of 12 courses picked to a pixel or so: a third of a per cent
    assert abs(reading.gauge_mm - 225.0) < 3 * np.hypot(reading.u_gauge_mm, 225.0 / 300.0)


def test_ends_in_different_courses_are_refused(wall: Path) -> None:
    with pytest.raises(GeometryError, match="do not lie in one course"):
        read(wall, "d3")


def test_command_counts_the_stretchers_of_a_distance_named_alone(wall: Path) -> None:
    status, out, _ = run_command("bricks", wall, "--stretchers", "d1", "--json")
    told = json.loads(out)
    assert status == 0
    assert (told["read_along"]["d1"]["count"], told["evidence"]["stretchers"]) == (8, 8)
    assert told["evidence"]["ratio"] == pytest.approx(3.0, abs=0.05)


def test_command_prints_every_length(wall: Path) -> None:
    _, out, _ = run_command("bricks", wall, "--stretchers", "d2")
    assert "Along d2: 4 stretchers counted in the photo" in " ".join(out.split())
