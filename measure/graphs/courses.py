"""Graphs of courses read from a photo: the profile of the strip and the joints found in it.

In a notebook::

    from measure.graphs.courses import courses_figure, read_courses_of
    from measure.survey_job import open_survey

    courses_figure(read_courses_of(open_survey("wall.survey.json"), "front", "c2"), "c2")
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

from measure.course_reader import CourseReading
from measure.course_strip import read_strip
from measure.graphs.accuracy import CHALK, INK
from measure.survey_job import SurveyJob
from shared.errors import FieldError
from shared.survey import CoursesMeasure

#: Inches of the graph's height to a course, and its bounds.
INCHES, LEAST_INCHES, MOST_INCHES = 0.16, 4.0, 14.0


def read_courses_of(job: SurveyJob, face_id: str, measure_id: str) -> CourseReading:
    """Read the courses between the picks of a measure, whether their count is given or not.

    Parameters
    ----------
    job : SurveyJob
    face_id, measure_id : str

    Returns
    -------
    CourseReading
        In heights of the face's chart.

    Raises
    ------
    FieldError
        If the face has no such courses.
    """
    face = job.face(face_id)
    for measure in face.measures:
        if isinstance(measure, CoursesMeasure) and measure.id == measure_id:
            solution = job.measure(stop_at_problem=False).photos[face.photo].solution
            if (face_id, measure_id) in job.readings:
                return job.readings[face_id, measure_id]
            return read_strip(job.pixels(face.photo).pixels, solution, face, measure)
    raise FieldError(
        f"Face '{face_id}' has no courses '{measure_id}'.", hint="Name courses that it lists."
    )


def courses_figure(reading: CourseReading, title: str = "") -> Figure:
    """Lightness up a strip with the joints found: drawn through, or dotted where hidden.

    Parameters
    ----------
    reading : CourseReading
    title : str
        Said before the count.

    Returns
    -------
    Figure
    """
    height = float(np.clip(INCHES * reading.count + 1.0, LEAST_INCHES, MOST_INCHES))
    figure = Figure(figsize=(4.8, height), layout="constrained")
    axes = figure.add_subplot()
    axes.plot(100 * reading.profile, reading.profile_mm, color=INK, lw=0.8)
    for number, (joint, seen) in enumerate(zip(reading.joints_mm, reading.seen, strict=True)):
        axes.axhline(joint, color=CHALK, lw=0.9, ls="-" if seen else ":")
        if number % 5 == 0 or number == reading.count:
            axes.annotate(
                str(number),
                (1.01, joint),
                xycoords=("axes fraction", "data"),
                va="center",
                fontsize=7,
                color=CHALK,
            )
    sure = "sure" if reading.sure else "not sure"
    per_cent = min(int(100 * reading.confidence), 99)
    axes.set_title(f"{title} {reading.count} courses, {sure} ({per_cent} %)".strip())
    axes.set_xlabel("lightness, % (mean of a row)")
    axes.set_ylabel("height on the chart, mm")
    axes.margins(y=0)
    return figure


def write_course_graphs(job: SurveyJob, folder: Path, face_id: str | None = None) -> list[Path]:
    """Draw all courses that are read from the photo, each as a PNG in a folder.

    Parameters
    ----------
    job : SurveyJob
    folder : Path
        Made if it is not there.
    face_id : str, optional
        Only this face.

    Returns
    -------
    list of Path
    """
    written = []
    for face in job.survey.faces:
        if face_id not in (None, face.id):
            continue
        for measure in face.measures:
            if isinstance(measure, CoursesMeasure) and measure.count is None:
                folder.mkdir(parents=True, exist_ok=True)
                reading = read_courses_of(job, face.id, measure.id)
                path = folder / f"{face.id}-{measure.id}.png"
                courses_figure(reading, f"{face.id} {measure.id}:").savefig(path, dpi=110)
                written.append(path)
    return written
