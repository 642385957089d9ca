"""Graphs of courses: one line to a joint, and a file to each strip that was read."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from measure import course_strip
from measure.course_reader import CourseReading, read_courses
from measure.graphs.courses import courses_figure, read_courses_of, write_course_graphs
from measure.survey_job import open_survey
from shared.errors import FieldError
from tests.support.command import run_command
from tests.support.strip_spec import StripSpec
from tests.support.strips import make_strip

DEMO = Path(__file__).parents[3] / "fixtures" / "demo" / "pennywhistle.survey.json"


def test_every_joint_is_drawn_at_its_height() -> None:
    strip = make_strip(StripSpec(seed=1, n_courses=8))
    top_mm = strip.image.shape[0] * strip.mm_per_px
    reading = read_courses(strip.image, strip.mm_per_px, top_mm, strip.v_bottom_mm, strip.v_top_mm)
    axes = courses_figure(reading, "c1:").axes[0]
    heights = [line.get_ydata()[0] for line in axes.lines[1:]]  # type: ignore[index]
    assert heights == reading.joints_mm.tolist()
    assert axes.get_title() == "c1: 8 courses, sure (99 %)"


def test_command_draws_the_strips_that_it_reads(tmp_path: Path) -> None:
    _, told, _ = run_command("measure", DEMO, "--face", "front", "--graphs", tmp_path / "graphs")
    assert [file.name for file in (tmp_path / "graphs").iterdir()] == ["front-c2.png"]
    assert "front-c2.png" in told


def test_each_strip_is_read_once_for_sizes_and_graph(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[float] = []
    whole = course_strip.read_courses

    def counting(*arguments: Any, **more: Any) -> CourseReading:
        read.append(arguments[1])
        return whole(*arguments, **more)

    monkeypatch.setattr(course_strip, "read_courses", counting)
    job = open_survey(DEMO)
    job.measure()
    written = write_course_graphs(job, tmp_path)
    assert len(written) == len(read) > 0


def test_courses_that_are_not_there_are_refused() -> None:
    with pytest.raises(FieldError, match="Face 'front' has no courses 'c9'"):
        read_courses_of(open_survey(DEMO), "front", "c9")
