"""Courses whose count is not given: cut a straightened strip from the photo and read it."""

from __future__ import annotations

from collections.abc import Callable, MutableMapping
from typing import Any

import numpy as np

from measure.course_reader import CourseReading, read_courses
from measure.datum import Datum
from measure.features.courses import joints_px, sizes_of_joints
from measure.features.registry import sights_of, sizes_of
from measure.propagate import sizes_with_u
from measure.results import MeasureResult
from rectify.photos.photo import Photo
from rectify.projection import View, photo_px_from_chart_mm
from rectify.solution import Charted, Solution
from rectify.straighten import straighten
from rectify.window import Window, make_window
from shared.errors import GeometryError, StoreyrodError
from shared.jets import Array
from shared.survey import CoursesMeasure, Face, Pick, Survey

#: Width of the strip, as part of its height, and its bounds.
STRIP_SHARE, STRIP_LEAST_MM, STRIP_MOST_MM = 0.5, 400.0, 2400.0

#: Strip shown beyond both picks, as part of the height between them.
BEYOND = 0.06

#: A strip is drawn no taller than this.
MOST_ROWS_PX = 6000

#: Told where a count is not sure; the clause before it says why.
WHAT_TO_DO = "Count them and give the count, or pick a cleaner strip of wall."

PixelsOf = Callable[[str], Photo]


def read_courses_from_photo(
    pixels_of: PixelsOf,
    survey: Survey,
    solution: Solution,
    face: Face,
    measure: CoursesMeasure,
    *,
    readings: MutableMapping[tuple[str, str], CourseReading] | None = None,
) -> MeasureResult:
    """Count the courses between the two picks of a measure in the photo itself.

    Parameters
    ----------
    pixels_of : callable
        Gives the decoded photo of an id.
    survey : Survey
    solution : Solution
    face : Face
    measure : CoursesMeasure
    readings : mapping, optional
        Where the reading itself is kept, under the ids of face and measure.

    Returns
    -------
    MeasureResult
        The count and whether it is sure. Only when it is: the gauge and every joint, levels
        above the datum of the face. Their ± holds both the reading's and the chart's. Among the
        facts also ``joints_px``: where in the photo the joints lie, sure or likeliest, and ± px.

    Notes
    -----
    Where the strip cannot be read at all, the reason is among the warnings, and the height
    between the picks is given alone.
    """
    name = _name(face, measure)
    charted = _charted_picks(solution, face, measure)
    datum = Datum(survey, face, solution)
    facts: dict[str, Any] = {"count": None, "sure": False, "confidence": 0.0, "regular": False}
    warnings: tuple[str, ...] = ()
    joints = None
    try:
        reading = read_strip(pixels_of(face.photo).pixels, solution, face, measure)
    except StoreyrodError as refusal:
        warnings = (f"Not sure of the count: {_clause(str(refusal))}. {WHAT_TO_DO}",)
    else:
        if readings is not None:
            readings[face.id, measure.id] = reading
        facts = {
            "count": reading.count or None,
            "sure": reading.sure,
            "confidence": reading.confidence,
            "regular": reading.regular,
        }
        if reading.count:
            facts["variation"] = reading.variation
        found = _charted_joints(reading, solution, face, charted, measure.set_back_mm)
        facts["joints_px"] = joints_px(found, range(len(found.faces)))
        if reading.sure:
            joints = found
        else:
            warnings = (f"Not sure of the count: {reading.why}. {WHAT_TO_DO}",)
    if joints is not None:
        every = tuple(range(len(joints.chart_mm)))
        sizes, u = sizes_with_u(sizes_of_joints, joints, every, datum, name)
    else:
        sizes, u = sizes_with_u(sizes_of(measure), charted, (0, 1), datum, name)
    return MeasureResult(
        id=measure.id,
        kind=measure.kind,
        label=measure.label,
        sizes=sizes,
        u=u,
        points_mm=charted.chart_mm,
        warnings=warnings,
        facts=facts,
    )


def read_strip(
    pixels: Any, solution: Solution, face: Face, measure: CoursesMeasure
) -> CourseReading:
    """Straighten the strip between the picks of a measure and read its courses.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (H, W, 3)
        The upright photo.
    solution : Solution
    face : Face
    measure : CoursesMeasure

    Returns
    -------
    CourseReading
        In the heights of the chart.
    """
    view = solution.view(face.id)
    chart_mm = _charted_picks(solution, face, measure).chart_mm
    low, high = np.sort(chart_mm[:, 1])
    window = strip_window(view, chart_mm, measure.set_back_mm, _name(face, measure))
    picture = straighten(pixels, view, window, measure.set_back_mm)
    return read_courses(
        picture.rgb,
        window.mm_per_px[1],
        window.v1_mm,
        float(low),
        float(high),
        visible=picture.visible,
    )


def strip_window(view: View, picks_mm: Array, set_back_mm: float, name: str) -> Window:
    """Part of the chart to read courses from, at the photo's own fineness.

    Raises
    ------
    GeometryError
        If the photo does not show the face there, or both picks are of one height.
    """
    u, v = picks_mm[:, 0], picks_mm[:, 1]
    low, high = float(v.min()), float(v.max())
    height = high - low
    half = float(np.clip(STRIP_SHARE * height, STRIP_LEAST_MM, STRIP_MOST_MM)) / 2.0
    middle = float(u.mean())
    line = np.column_stack([np.full(9, middle), np.linspace(low, high, 9)])
    px_per_mm = photo_px_per_mm(view, line, set_back_mm)
    if px_per_mm is None:
        raise GeometryError(
            f"Between the picks of {name} the photo does not show the wall.",
            hint="Pick two bed joints one above the other, on a part of the wall that is seen.",
        )
    px_per_mm = min(px_per_mm, MOST_ROWS_PX / (height * (1 + 2 * BEYOND)))
    return make_window(
        min(middle - half, float(u.min())),
        low - BEYOND * height,
        max(middle + half, float(u.max())),
        high + BEYOND * height,
        px_per_mm,
    )


def photo_px_per_mm(view: View, line_mm: Array, set_back_mm: float) -> float | None:
    """Pixels of the photo to a millimetre of a straight line, where they are finest.

    None where the line has no length or the photo shows none of it.
    """
    at = photo_px_from_chart_mm(line_mm, view, set_back_mm)
    steps_px = np.linalg.norm(np.diff(at, axis=0), axis=1)
    steps_mm = np.linalg.norm(np.diff(line_mm, axis=0), axis=1)
    if steps_mm.min() <= 0.0 or not np.isfinite(steps_px).any():
        return None
    return float(np.nanmax(steps_px / steps_mm))


def _clause(sentence: str) -> str:
    """A sentence as the rest of another."""
    return (sentence[:1].lower() + sentence[1:]).rstrip(".")


def _name(face: Face, measure: CoursesMeasure) -> str:
    return f"{measure.kind} '{measure.id}' of face '{face.id}'"


def _charted_picks(solution: Solution, face: Face, measure: CoursesMeasure) -> Charted:
    sights = sights_of(measure, _name(face, measure))
    return solution.charted(face.id, [pick for pick, _ in sights], [back for _, back in sights])


def _charted_joints(
    reading: CourseReading, solution: Solution, face: Face, charted: Charted, set_back_mm: float
) -> Charted:
    """Joints as picks of the photo, each with the ± it was read to, laid on the chart again.

    So the ± of the chart, common to all of them, comes in as it does for picks by hand.
    """
    view = solution.view(face.id)
    low, high = charted.chart_mm[np.argsort(charted.chart_mm[:, 1])]
    part = (reading.joints_mm - low[1]) / (high[1] - low[1])
    u_mm = low[0] + np.clip(part, 0.0, 1.0) * (high[0] - low[0])
    step = np.maximum(reading.u_joints_mm, 1e-3)
    here, beside = (
        photo_px_from_chart_mm(np.column_stack([u_mm, reading.joints_mm + up]), view, set_back_mm)
        for up in (0.0, step)
    )
    u_px = np.linalg.norm(beside - here, axis=1)
    picks = [
        Pick(x=float(x), y=float(y), u_px=float(u))
        for (x, y), u in zip(here, np.maximum(u_px, 1e-4), strict=True)
    ]
    return solution.charted(face.id, picks, set_back_mm)
