"""Areas of drawn items, for asking what lies inside what."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from measure.elevation.drawing import Item, Path, Polyline
from measure.elevation.path_geometry import ArcSegment, Box, Point, point_on_arc_mm, walk

#: Straight parts that an arc is drawn by when its area is asked: 33 to a half circle stay
#: within 0.12 % of the radius.
PARTS_OF_ARC = 33


def area_of_item(item: Polyline | Path) -> shapely.Geometry:
    """Area inside a closed item, arcs as fine polygons."""
    return shapely.make_valid(shapely.Polygon(points_of_item(item)))


def points_of_item(item: Polyline | Path) -> list[Point]:
    """Points along an item, arcs as fine polygons."""
    if isinstance(item, Polyline):
        return list(item.points_mm)
    points: list[Point] = [item.start_mm]
    for start, segment in walk(item.start_mm, item.segments):
        if isinstance(segment, ArcSegment):
            turns = np.linspace(0.0, segment.sweep_rad, PARTS_OF_ARC + 1)[1:]
            points += [point_on_arc_mm(start, segment, float(turn)) for turn in turns]
        else:
            points.append(segment.to_mm)
    return points


def solid_wall(items: Sequence[Item], wall: Box) -> shapely.Geometry:
    """Area of the wall: inside its outline (or `wall`, without one), less its openings."""
    closed = [item for item in items if isinstance(item, Polyline | Path) and item.closed]
    outline = next((item for item in closed if item.layer == "outline"), None)
    box = shapely.box(wall.left_mm, wall.bottom_mm, wall.right_mm, wall.top_mm)
    inside = box if outline is None else area_of_item(outline)
    holes = [area_of_item(item) for item in closed if item.layer == "openings"]
    return inside.difference(shapely.union_all(holes))


def level_lines(area: shapely.Geometry, v_mm: float, wall: Box) -> list[tuple[Point, Point]]:
    """Parts of a level line that lie inside an area, left to right."""
    line = shapely.LineString([(wall.left_mm, v_mm), (wall.right_mm, v_mm)])
    parts = shapely.get_parts(line.intersection(area))
    return [
        (part.coords[0], part.coords[-1])
        for part in parts
        if isinstance(part, shapely.LineString) and part.length > 1.0
    ]
