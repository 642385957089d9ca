"""Voussoirs: the wedge stones or rubbed bricks of an arch, for every form of head.

The joints of an arch run to the centre that its intrados is struck from; those of a flat
arch to one point below. The joints divide the intrados evenly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely

from measure.elevation.details.ground import (
    Ground,
    Line,
    area_of_shape,
    line_items,
    shape_items,
)
from measure.elevation.drawing import Circle, Item, Path
from measure.elevation.facade import DrawnOpening
from measure.elevation.path_geometry import (
    ArcSegment,
    LineSegment,
    Point,
    Segment,
    arc_centre_mm,
    arc_radius_mm,
    walk,
)
from shared.errors import FieldError
from shared.survey_details import VoussoirsDetail

LAYER = "dressings"

#: A keystone stands over the extrados by this part of the depth (common practice, no source).
KEYSTONE_RISE = 0.2


@dataclass(frozen=True, slots=True)
class _Arc:
    """One arc of an intrados: its centre, radius, and the angles it runs between."""

    centre_mm: Point
    radius_mm: float
    from_rad: float
    sweep_rad: float

    def at(self, share: float, beyond_mm: float = 0.0) -> Point:
        """Point after part of the sweep, further out by `beyond_mm`."""
        angle = self.from_rad + share * self.sweep_rad
        reach = self.radius_mm + beyond_mm
        return (
            self.centre_mm[0] + reach * math.cos(angle),
            self.centre_mm[1] + reach * math.sin(angle),
        )

    @property
    def length_mm(self) -> float:
        """Length along the intrados."""
        return abs(self.sweep_rad) * self.radius_mm


def voussoir_items(wish: VoussoirsDetail, ground: Ground) -> list[Item]:
    """Arches over openings; without names, over all arched and round ones.

    Raises
    ------
    FieldError
        For a keystone in an even number of voussoirs.
    """
    if wish.keystone and wish.count % 2 == 0:
        raise FieldError(
            f"A keystone cannot stand in the middle of {wish.count} voussoirs.",
            hint="Give an odd count.",
        )
    made: list[Item] = []
    areas = []
    for each in ground.openings(wish.of, "voussoirs"):
        if each.form == "flat" and not wish.of:
            continue
        if each.form == "flat":
            items, area = _flat_arch(each, wish, ground)
        elif each.form == "round":
            items, area = _ring(each, wish, ground)
        else:
            items, area = _arch(each, wish, ground)
        made += items
        areas.append(area)
    ground.cover(areas)
    return made


def intrados_of(opening: DrawnOpening) -> list[_Arc]:
    """Arcs of an opening's head, from its right springing to its left."""
    path = opening.path()
    arcs = []
    for start, segment in walk(path.start_mm, path.segments):
        if isinstance(segment, ArcSegment):
            centre = arc_centre_mm(start, segment)
            angle = math.atan2(start[1] - centre[1], start[0] - centre[0])
            arcs.append(_Arc(centre, arc_radius_mm(start, segment), angle, segment.sweep_rad))
    return arcs


def _arch(
    opening: DrawnOpening, wish: VoussoirsDetail, ground: Ground
) -> tuple[list[Item], shapely.Geometry]:
    arcs = intrados_of(opening)
    depth = wish.depth_mm
    outer = _extrados(arcs, depth, opening)
    first, last = arcs[0], arcs[-1]
    segments: list[Segment] = [LineSegment(first.at(0.0, depth)), *outer]
    segments += [LineSegment(last.at(1.0)), *_back_along(arcs)]
    shape = Path(LAYER, first.at(0.0), tuple(segments), True, inferred=opening.inferred)
    area = area_of_shape(shape).difference(area_of_shape(opening.path()))
    whole = ground.free.buffer(0.05).covers(area)
    made: list[Item]
    if whole:
        # the intrados is the opening's own line
        made = [
            Path(LAYER, first.at(0.0), tuple(segments[: len(outer) + 2]), inferred=opening.inferred)
        ]
    else:
        made, area = shape_items(shape, ground.free)
    joints: list[Line] = []
    total = sum(arc.length_mm for arc in arcs)
    for number in range(1, wish.count):
        arc, share = _along(arcs, number / wish.count * total)
        reach = depth
        middle = wish.keystone and number in (wish.count // 2, wish.count // 2 + 1)
        if middle:
            reach = depth * (1.0 + KEYSTONE_RISE)
        joints.append((arc.at(share), _joint_end(arc, share, reach, arcs, opening)))
    if wish.keystone:
        one, other = joints[wish.count // 2 - 1], joints[wish.count // 2]
        joints.append((one[1], other[1]))
        stone = shapely.Polygon([one[0], one[1], other[1], other[0]])
        area = area.union(stone.intersection(ground.free.union(area)))
    free = ground.free if not whole else ground.free.union(area)
    made += line_items(LAYER, joints, free, inferred=opening.inferred)
    return made, area


def _extrados(arcs: list[_Arc], depth_mm: float, opening: DrawnOpening) -> list[Segment]:
    """Outer line of an arch, from right to left; two arcs meet over the point."""
    if len(arcs) == 1:
        return [ArcSegment(arcs[0].at(1.0, depth_mm), arcs[0].sweep_rad)]
    right, left = arcs
    apex = _outer_apex(right, depth_mm, opening)
    turn = math.atan2(apex[1] - right.centre_mm[1], apex[0] - right.centre_mm[0])
    sweep = turn - right.from_rad
    return [ArcSegment(apex, sweep), ArcSegment(left.at(1.0, depth_mm), sweep)]


def _outer_apex(right: _Arc, depth_mm: float, opening: DrawnOpening) -> Point:
    across = opening.centre_mm - right.centre_mm[0]
    up = math.sqrt(max((right.radius_mm + depth_mm) ** 2 - across**2, 0.0))
    return opening.centre_mm, right.centre_mm[1] + up


def _back_along(arcs: list[_Arc]) -> list[Segment]:
    """The intrados from left to right."""
    return [ArcSegment(arc.at(0.0), -arc.sweep_rad) for arc in reversed(arcs)]


def _along(arcs: list[_Arc], length_mm: float) -> tuple[_Arc, float]:
    """The arc that a length along the intrados falls on, and how far along it."""
    for arc in arcs[:-1]:
        if length_mm <= arc.length_mm:
            return arc, length_mm / arc.length_mm
        length_mm -= arc.length_mm
    return arcs[-1], min(length_mm / arcs[-1].length_mm, 1.0)


def _joint_end(
    arc: _Arc, share: float, reach_mm: float, arcs: list[_Arc], opening: DrawnOpening
) -> Point:
    """Outer end of a joint; the one at the point of a pointed arch is plumb."""
    at_point = len(arcs) == 2 and abs(arc.at(share)[0] - opening.centre_mm) < 1e-6
    return _outer_apex(arcs[0], reach_mm, opening) if at_point else arc.at(share, reach_mm)


def _ring(
    opening: DrawnOpening, wish: VoussoirsDetail, ground: Ground
) -> tuple[list[Item], shapely.Geometry]:
    radius = opening.width_mm / 2.0
    centre = (opening.centre_mm, (opening.sill_mm + opening.head_mm) / 2.0)
    outer = Circle(LAYER, centre, radius + wish.depth_mm, inferred=opening.inferred)
    area = area_of_shape(outer).difference(area_of_shape(opening.path()))
    whole = ground.free.buffer(0.05).covers(area)
    made: list[Item] = [outer]
    if not whole:
        made, area = shape_items(outer, ground.free)
    ring = _Arc(centre, radius, math.pi / 2.0 - math.pi / wish.count, math.tau)
    joints = [
        (ring.at(number / wish.count), ring.at(number / wish.count, wish.depth_mm))
        for number in range(wish.count)
    ]
    return [*made, *line_items(LAYER, joints, area, inferred=opening.inferred)], area


def _flat_arch(
    opening: DrawnOpening, wish: VoussoirsDetail, ground: Ground
) -> tuple[list[Item], shapely.Geometry]:
    """Gauged arch: ends at the skew, the joints running to where the ends would meet."""
    low, high = opening.head_mm, opening.head_mm + wish.depth_mm
    spread = wish.depth_mm * math.tan(math.radians(wish.skew_deg))
    left, right = opening.left_mm, opening.right_mm
    corners = ((left, low), (right, low), (right + spread, high), (left - spread, high))
    shape = Path(
        LAYER,
        corners[0],
        tuple(LineSegment(corner) for corner in corners[1:]),
        True,
        inferred=opening.inferred,
    )
    made, area = shape_items(shape, ground.free)
    joints: list[Line] = []
    for number in range(1, wish.count):
        share = number / wish.count
        below = (left + share * (right - left), low)
        joints.append((below, (left - spread + share * (right - left + 2.0 * spread), high)))
    return [*made, *line_items(LAYER, joints, area, inferred=opening.inferred)], area
