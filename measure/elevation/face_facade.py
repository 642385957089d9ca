"""From tidied numbers and other measures of a face to its facade."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

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
from measure.elevation.path_geometry import Box, Point, box_around_points
from measure.elevation.quantities import OpeningColumns, Quantities
from measure.results import FaceResult, MeasureResult
from shared.number_text import format_number


@dataclass(frozen=True, slots=True)
class LeftEdge:
    """Where a drawing begins, and from which number its places along the wall count.

    Attributes
    ----------
    u_mm : float
        On the chart of the face.
    column : int or None
        The leftmost corner of the outline, else the leftmost jamb; None for neither.
    """

    u_mm: float
    column: int | None


def left_edges(
    measured: Quantities, drawn: Quantities, extent_left_mm: float
) -> tuple[LeftEdge, LeftEdge]:
    """Left edges of a face as measured and as drawn.

    Lining up may move all places of a wall together along its chart, which shows nowhere.
    So each drawing counts from its own left edge: that of the outline, or, without one, that
    of what was picked, the leftmost jamb as far from it as before.

    Parameters
    ----------
    measured, drawn : Quantities
        The same numbers before and after lining up.
    extent_left_mm : float
        Left edge of what was picked, on the chart.

    Returns
    -------
    measured, drawn : LeftEdge
    """
    outline = next((each for each in measured.points if each.kind == "outline"), None)
    if outline is not None:
        found = []
        for numbers in (measured, drawn):
            column = min(outline.u, key=lambda at: float(numbers.values[at]))
            found.append(LeftEdge(float(numbers.values[column]), column))
        return found[0], found[1]
    if not measured.openings:
        return LeftEdge(extent_left_mm, None), LeftEdge(extent_left_mm, None)
    column = min((each.left for each in measured.openings), key=lambda at: measured.values[at])
    moved = float(drawn.values[column] - measured.values[column])
    return LeftEdge(extent_left_mm, column), LeftEdge(extent_left_mm + moved, column)


def make_facade(
    numbers: Quantities, result: FaceResult, left_mm: float, origin_chart_mm: Point
) -> Facade:
    """Lay the numbers of a face out as a facade.

    Parameters
    ----------
    numbers : Quantities
        Measured or tidied.
    result : FaceResult
        For what is drawn as it was measured: courses, radii, pitches, set-backs.
    left_mm : float
        What of `numbers` is the facade's u = 0.
    origin_chart_mm : (u, v)
        The same place as measured, on the chart; v is the datum's.

    Returns
    -------
    Facade
    """
    measures = result.measures.values()
    points = {"outline": [], "spacing": [], "distance": []}  # type: dict[str, list[DrawnSpan]]
    for each in numbers.points:
        if each.kind in points:
            placed = zip(numbers.values[list(each.u)], numbers.values[list(each.v)], strict=True)
            at = tuple((float(u) - left_mm, float(v)) for u, v in placed)
            points[each.kind].append(DrawnSpan(each.id, each.kind, at))
    openings = tuple(_opening(numbers, each, left_mm) for each in numbers.openings)
    return Facade(
        openings=openings,
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
        extent=_extent(result, origin_chart_mm, openings),
    )


def _extent(result: FaceResult, origin_mm: Point, openings: Sequence[DrawnOpening]) -> Box | None:
    points = [each.points_mm - np.array(origin_mm) for each in result.measures.values()]
    for box in (each.box for each in openings if each.photo):
        points.append(np.array([(box.left_mm, box.bottom_mm), (box.right_mm, box.top_mm)]))
    return box_around_points(np.concatenate(points).tolist()) if points else None


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
        photo=at.photo,
    )


def _marks(measure: MeasureResult, origin_mm: Point) -> list[DrawnMark]:
    points = measure.points_mm - np.array(origin_mm)
    side: Literal["above", "left", "right"] = "above"
    if measure.kind == "arc":
        top = points[int(np.argmax(points[:, 1]))]
        text = f"R {format_number(measure.size('radius_mm'), 0)}"
    elif measure.kind == "slope":
        top = points[:2].mean(axis=0)
        text = f"{measure.size('slope_deg'):.1f}°"
        run = points[1] - points[0]
        # above a line that rises to the right the free side is the left one
        side = "left" if run[0] * run[1] > 0 else "right"
    elif measure.kind == "set-back":
        top = points[0]
        text = f"{format_number(measure.size('depth_mm'), 0)} back"
        side = "right"
    else:
        return []
    return [DrawnMark(measure.id, measure.kind, (float(top[0]), float(top[1])), text, side)]


def _courses(measure: MeasureResult) -> list[DrawnCourses]:
    joints = measure.sizes.get("joints_mm")
    if measure.kind != "courses" or not isinstance(joints, list):
        return []
    count = int(measure.facts.get("count", len(joints) - 1))
    return [DrawnCourses(measure.id, tuple(joints), measure.size("gauge_mm"), count)]
