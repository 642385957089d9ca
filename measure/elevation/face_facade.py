"""From tidied numbers and other measures of a face to its facade."""

from __future__ import annotations

import numpy as np

from measure.elevation.facade import (
    DrawnCourses,
    DrawnLevel,
    DrawnMark,
    DrawnOpening,
    DrawnOutline,
    DrawnSpan,
    Facade,
)
from measure.elevation.path_geometry import Point
from measure.elevation.quantities import OpeningColumns, Quantities
from measure.results import FaceResult, MeasureResult
from shared.number_text import format_number


def make_facade(numbers: Quantities, result: FaceResult, origin_chart_mm: Point) -> Facade:
    """Lay the numbers of a face out as a facade.

    Parameters
    ----------
    numbers : Quantities
        Measured or tidied.
    result : FaceResult
        For what is drawn as it was measured: courses, radii, pitches, set-backs.
    origin_chart_mm : (u, v)
        Chart place of the facade's (0, 0); v is the datum's.

    Returns
    -------
    Facade
    """
    left_mm = origin_chart_mm[0]
    measures = result.measures.values()
    points = {"outline": [], "spacing": [], "distance": []}  # type: dict[str, list[DrawnSpan]]
    for each in numbers.points:
        if each.kind in points:
            placed = zip(numbers.values[list(each.u)], numbers.values[list(each.v)], strict=True)
            at = tuple((float(u) - left_mm, float(v)) for u, v in placed)
            points[each.kind].append(DrawnSpan(each.id, each.kind, at))
    return Facade(
        openings=tuple(_opening(numbers, each, left_mm) for each in numbers.openings),
        outlines=tuple(DrawnOutline(each.id, each.points_mm) for each in points["outline"]),
        levels=tuple(
            DrawnLevel(
                each.id,
                each.label,
                float(numbers.values[each.v]),
                numbers.u(numbers.names[each.v]),
            )
            for each in numbers.levels
            if each.id != "datum"
        ),
        spans=(*points["distance"], *points["spacing"]),
        marks=tuple(mark for each in measures for mark in _marks(each, origin_chart_mm)),
        courses=tuple(made for each in measures for made in _courses(each)),
        origin_chart_mm=origin_chart_mm,
    )


def left_edge_mm(numbers: Quantities, extent_left_mm: float) -> float:
    """Chart place of the drawing's left edge: the wall's own, or that of what was picked."""
    outline = next((each for each in numbers.points if each.kind == "outline"), None)
    if outline is None:
        return extent_left_mm
    return float(numbers.values[list(outline.u)].min())


def _opening(numbers: Quantities, at: OpeningColumns, left_mm: float) -> DrawnOpening:
    x = numbers.values
    return DrawnOpening(
        id=at.id,
        label=at.label,
        form=at.form,
        left_mm=float(x[at.left]) - left_mm,
        right_mm=float(x[at.right]) - left_mm,
        sill_mm=float(x[at.sill]),
        springing_mm=float(x[at.springing]),
        head_mm=float(x[at.head]),
        u_width_mm=numbers.u_of_difference(at.right, at.left),
        u_height_mm=numbers.u_of_difference(at.head, at.sill),
        u_sill_mm=numbers.u(numbers.names[at.sill]),
        u_head_mm=numbers.u(numbers.names[at.head]),
    )


def _marks(measure: MeasureResult, origin_mm: Point) -> list[DrawnMark]:
    points = measure.points_mm - np.array(origin_mm)
    if measure.kind == "arc":
        top = points[int(np.argmax(points[:, 1]))]
        text = f"R {format_number(measure.size('radius_mm'), 0)}"
    elif measure.kind == "slope":
        top = points[:2].mean(axis=0)
        text = f"{measure.size('slope_deg'):.1f}°"
    elif measure.kind == "set-back":
        top = points[0]
        text = f"{format_number(measure.size('depth_mm'), 0)} back"
    else:
        return []
    return [DrawnMark(measure.id, measure.kind, (float(top[0]), float(top[1])), text)]


def _courses(measure: MeasureResult) -> list[DrawnCourses]:
    joints = measure.sizes.get("joints_mm")
    if measure.kind != "courses" or not isinstance(joints, list):
        return []
    count = int(measure.facts.get("count", len(joints) - 1))
    return [DrawnCourses(measure.id, tuple(joints), measure.size("gauge_mm"), count)]
