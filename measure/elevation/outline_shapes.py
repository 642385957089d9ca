"""Outlines as areas: cut, mirrored, joined, and which of their edges were measured."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import shapely

from measure.elevation.facade import DrawnOutline
from measure.elevation.path_geometry import Point

#: An edge whose middle lies this near a measured edge is that edge.
SAME_EDGE_MM = 0.5

#: Corners that turn less than this are none, after joining two halves.
FLAT_MM = 0.05


def area_of_points(points_mm: Sequence[Point]) -> shapely.Geometry:
    """Area inside a closed outline; crossed outlines are taken apart."""
    return shapely.make_valid(shapely.Polygon(points_mm))


def mirrored_about(area: shapely.Geometry, axis_mm: float) -> shapely.Geometry:
    """Mirror image about a plumb axis."""
    return shapely.transform(area, lambda at: at * [-1.0, 1.0] + [2.0 * axis_mm, 0.0])


def half_of(
    area: shapely.Geometry, axis_mm: float, keep: Literal["left", "right"]
) -> shapely.Geometry:
    """Part of an area left or right of an axis."""
    low_u, low_v, high_u, high_v = area.bounds
    left, right = (low_u - 1.0, axis_mm) if keep == "left" else (axis_mm, high_u + 1.0)
    if right <= left:
        return shapely.Polygon()
    return area.intersection(shapely.box(left, low_v - 1.0, right, high_v + 1.0))


def outline_from_area(
    area: shapely.Geometry, id_: str, measured: Sequence[DrawnOutline]
) -> DrawnOutline:
    """Outline around an area, with the edges that lie on no measured edge marked as inferred.

    Parameters
    ----------
    area : Polygon
        Of several parts the largest is taken.
    id_ : str
    measured : sequence of DrawnOutline
        Their measured edges count.
    """
    parts = [part for part in shapely.get_parts(area) if isinstance(part, shapely.Polygon)]
    largest = max(parts, key=lambda part: float(part.area))
    ring = shapely.simplify(shapely.Polygon(largest.exterior), FLAT_MM).exterior
    points = [(float(u), float(v)) for u, v in list(ring.coords)[:-1]]
    points = _without_flat_start(points)
    return DrawnOutline(id_, tuple(points), inferred_edges(points, measured))


def inferred_edges(points_mm: Sequence[Point], measured: Sequence[DrawnOutline]) -> frozenset[int]:
    """Edges of an outline whose middle lies on none of the measured edges."""
    lines = [
        shapely.LineString(
            [outline.points_mm[at], outline.points_mm[at - len(outline.points_mm) + 1]]
        )
        for outline in measured
        for at in range(len(outline.points_mm))
        if at not in outline.inferred_edges
    ]
    known = shapely.union_all(lines) if lines else shapely.LineString()
    found = []
    for at, start in enumerate(points_mm):
        end = points_mm[(at + 1) % len(points_mm)]
        middle = shapely.Point((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
        if known.is_empty or middle.distance(known) > SAME_EDGE_MM:
            found.append(at)
    return frozenset(found)


def size_is_measured(outline: DrawnOutline, axis: Literal[0, 1]) -> bool:
    """Whether both ends of an outline were measured, along (0) or up (1).

    An end is measured where a measured edge runs along it; a corner that stands out alone,
    as that of a gable, where all its edges are.
    """
    count = len(outline.points_mm)
    places = [point[axis] for point in outline.points_mm]
    for end in (min(places), max(places)):
        at_end = [abs(place - end) < SAME_EDGE_MM for place in places]
        along = [at for at in range(count) if at_end[at] and at_end[(at + 1) % count]]
        meeting = [at for at in range(count) if at_end[at] or at_end[(at + 1) % count]]
        inferred = [at in outline.inferred_edges for at in along or meeting]
        if all(inferred) if along else any(inferred):
            return False
    return True


def _without_flat_start(points: list[Point]) -> list[Point]:
    """Drop the first point where it lies on the line between its neighbours."""
    if len(points) < 4:
        return points
    line = shapely.LineString([points[-1], points[1]])
    return points[1:] if shapely.Point(points[0]).distance(line) < FLAT_MM else points
