"""Bricks along one course, read from the photo: how many, how long, where each perpend lies."""

from __future__ import annotations

from typing import Any

import numpy as np

from measure.bricks.evidence import distance_along_course, gauge_on_chart
from measure.course_reader import CourseReading, read_stretchers
from measure.course_strip import photo_px_per_mm
from rectify.projection import photo_px_from_chart_mm
from rectify.solution import Solution
from rectify.straighten import straighten
from rectify.window import make_window
from shared.errors import GeometryError, InputError
from shared.survey import DistanceMeasure, Face, Pick, Survey

#: Half the height of the strip in courses: bed joints lie half a course from the middle of one.
HALF_STRIP = 0.28

#: Strip shown beyond both picks, in courses: half a stretcher.
BEYOND_COURSES = 1.5

#: Picks farther from level than this, in courses, are not in the middle of one course.
MOST_FALL = 0.3


def read_brick_lengths(
    pixels: Any, solution: Solution, face: Face, distance: DistanceMeasure, gauge_mm: float
) -> CourseReading:
    """Read the bricks between the two picks of a distance along one course.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (H, W, 3)
        The upright photo.
    solution : Solution
    face : Face
    distance : DistanceMeasure
        From a perpend to a perpend, picked at half the height of their course.
    gauge_mm : float
        Height of a course in the chart, from counted courses.

    Returns
    -------
    CourseReading
        As of courses, along `u`: see `measure.course_reader.read_stretchers`.

    Raises
    ------
    GeometryError
        If the photo does not show the course, or the picks are not in one.
    """
    picks_mm = solution.charted(face.id, distance.at, [distance.set_back_mm] * 2).chart_mm
    (left, low), (right, high) = picks_mm[np.argsort(picks_mm[:, 0])]
    name = f"distance '{distance.id}' of face '{face.id}'"
    if not abs(high - low) < MOST_FALL * gauge_mm:  # NaN fails it too
        raise GeometryError(
            f"The ends of {name} do not lie in one course.",
            hint="Pick two upright joints of one course, both at half its height.",
        )
    view = solution.view(face.id)
    line_mm = np.column_stack([np.linspace(left, right, 9), np.linspace(low, high, 9)])
    px_per_mm = photo_px_per_mm(view, line_mm, distance.set_back_mm)
    if px_per_mm is None:
        raise GeometryError(f"Along {name} the photo does not show the wall.", hint="Pick it anew.")
    middle, half = 0.5 * (low + high), HALF_STRIP * gauge_mm
    beyond = BEYOND_COURSES * gauge_mm
    window = make_window(left - beyond, middle - half, right + beyond, middle + half, px_per_mm)
    picture = straighten(pixels, view, window, distance.set_back_mm)
    return read_stretchers(
        picture.rgb, window.mm_per_px[0], window.u0_mm, left, right, picture.visible
    )


def pick_perpends(
    reading: CourseReading, solution: Solution, face: Face, distance: DistanceMeasure
) -> DistanceMeasure:
    """Move the picks of a distance to the first and last perpend that were read along it."""
    picks_mm = solution.charted(face.id, distance.at, [distance.set_back_mm] * 2).chart_mm
    picks_mm = picks_mm[np.argsort(picks_mm[:, 0])]
    u_mm, spread_mm = reading.joints_mm[[0, -1]], reading.u_joints_mm[[0, -1]]
    view, back = solution.view(face.id), distance.set_back_mm
    here, beside = (
        photo_px_from_chart_mm(np.column_stack([u_mm + off, picks_mm[:, 1]]), view, back)
        for off in (0.0, spread_mm)
    )
    u_px = np.linalg.norm(beside - here, axis=1)
    left, right = (
        Pick(x=float(x), y=float(y), u_px=float(u)) for (x, y), u in zip(here, u_px, strict=True)
    )
    return distance.model_copy(update={"at": (left, right)})


def read_along(
    survey: Survey, pixels: Any, solution: Solution, face: Face, measure_id: str
) -> tuple[CourseReading, Survey]:
    """Read the bricks along a distance of a face; also the survey with it picked on perpends."""
    distance = distance_along_course(face, measure_id)
    gauge_mm = gauge_on_chart(solution, face)
    reading = read_brick_lengths(pixels, solution, face, distance, gauge_mm)
    if not reading.count:
        return reading, survey
    found = pick_perpends(reading, solution, face, distance)
    faces = tuple(
        one.model_copy(
            update={"measures": tuple(found if m.id == found.id else m for m in one.measures)}
        )
        if one.id == face.id
        else one
        for one in survey.faces
    )
    return reading, survey.model_copy(update={"faces": faces})


def count_stretchers(reading: CourseReading, name: str) -> int:
    """Number of stretchers of a reading that can be relied on.

    Raises
    ------
    InputError
        If it is not sure, or bricks of several lengths take turns.
    """
    if not reading.sure:
        why = reading.why or "the joints do not stand out"
        raise InputError(
            f"Not sure how many bricks '{name}' spans: {why}.",
            hint="Count them and give their number.",
        )
    if not reading.regular:
        raise InputError(
            f"The {reading.count} bricks along '{name}' are not of one length, so they are not all "
            "stretchers.",
            hint="Measure along stretchers only, or count them and give their number.",
        )
    return reading.count
