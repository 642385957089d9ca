"""A facade as a drawing: outline, openings, levels, dimensions, courses, words.

Draws what the facade says, where it says; lining up, completing and fitting were done before.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

import shapely

from measure.elevation.areas import area_of_item, level_lines, points_of_item, solid_wall
from measure.elevation.dimensions import dimension_primitives
from measure.elevation.drawing import (
    ELEVATION_LAYERS,
    Dimension,
    Drawing,
    Item,
    LevelMark,
    Path,
    Polyline,
    box_of_item,
)
from measure.elevation.facade import DrawnOpening, Facade
from measure.elevation.labels import Room
from measure.elevation.opening_names import name_opening, set_mark
from measure.elevation.outline_shapes import area_of_points, size_is_measured
from measure.elevation.path_geometry import Box, Point, box_around_boxes
from measure.elevation.primitives import Lettering, Primitive, Stroke, box_of
from shared.number_text import format_number

#: Levels closer than this, at paper size, share one mark.
SAME_LEVEL_PAPER_MM = 1.2

#: Height of capitals of dimensions and levels.
LETTERING_MM = 2.5

#: Of openings without room for their names, more than this part lets only names in openings stand.
MOST_UNNAMED = 0.2

#: A shape that covers less of its box than this is taken by its outline.
SLENDER = 0.6

#: Where along a sloping dimension its value may stand.
VALUE_PLACES = (0.5, 0.35, 0.65, 0.22, 0.78)


def draw_facade(
    facade: Facade,
    denominator: float,
    *,
    title: str,
    subtitle: str = "",
    details: Sequence[Item] = (),
    ghost: Facade | None = None,
    remarks: Sequence[str] = (),
) -> Drawing:
    """Draw a facade.

    Parameters
    ----------
    facade : Facade
    denominator : float
        Of the scale it is meant for: marks that would fall on each other there share a place.
    title, subtitle : str
        The building, and which face of it.
    details : sequence of Item
        Drawn already, see :mod:`measure.elevation.details`.
    ghost : Facade, optional
        As picked: drawn thin and dashed on a layer that is turned off.
    remarks : sequence of str
        What should stand beside it.
    """
    builder = _Builder(facade, denominator, details)
    builder.add_all()
    if ghost is not None:
        builder.items += ghost_items(ghost)
    return Drawing(
        title=title or "Untitled building",
        subtitle=subtitle,
        layers=ELEVATION_LAYERS,
        items=tuple(builder.items),
        lettering_mm=LETTERING_MM,
        remarks=(*remarks, *builder.remarks),
    )


def ghost_items(facade: Facade) -> list[Item]:
    """Outlines and openings on the layer for places as picked, without ids."""
    layer = "as-picked"
    items: list[Item] = [
        Polyline(layer, outline.points_mm, closed=True) for outline in facade.outlines
    ]
    items += [each.path(layer, "") for each in facade.openings]
    return items


def body_items(facade: Facade, details: Iterable[Item] = ()) -> list[Item]:
    """Outlines, openings and details: what is built, without lettering and sizes."""
    items: list[Item] = [
        Polyline(
            "bands" if number else "outline",
            outline.points_mm,
            closed=True,
            id=outline.id,
            inferred_edges=outline.inferred_edges,
        )
        for number, outline in enumerate(facade.outlines)
    ]
    return [*items, *(each.path() for each in facade.openings), *details]


class _Builder:
    """Gathers the items of one drawing."""

    def __init__(self, facade: Facade, denominator: float, details: Sequence[Item]) -> None:
        self.facade = facade
        self.denominator = denominator
        self.details = list(details)
        self.items: list[Item] = []
        self.remarks: list[str] = []
        self.wall = facade.wall_box
        boxes = [each.box for each in facade.openings]
        self.drawn = box_around_boxes([self.wall, *boxes])
        joinery = [item for item in details if item.layer == "joinery"]
        self.filled = [box_of_item(item) for item in joinery]
        self.has_course_lines = any(item.layer == "courses" for item in details)

    def add_all(self) -> None:
        """Add everything, outline first."""
        self.items += body_items(self.facade, self.details)
        self._add_spans()
        for courses in self.facade.courses:
            self._add_courses(courses.id, courses.joints_mm, courses.gauge_mm, courses.count)
        self._add_overall()
        self._add_lettering()
        self._add_levels()
        self._add_datum()

    def _add_lettering(self) -> None:
        """Names of openings, then marks, each where it strikes through nothing."""
        for_names, for_marks = Room(self.denominator), Room(self.denominator)
        every = (for_names, for_marks)
        for each in self.facade.openings:
            for_names.take_full_size(each.box, each.id)
            for_marks.take_outline(_corners(each.box))
            if self._is_filled(each):
                for_marks.take_full_size(each.box)
        for item in self.items:
            if isinstance(item, Polyline) and item.layer in ("outline", "bands"):
                ring = [*item.points_mm, *item.points_mm[: int(item.closed)]]
                for room in every:
                    room.take_outline(ring)
            elif item.layer in ("dressings", "pipes"):
                for room in every:
                    _take_shape(room, item)
        for room in every:
            self._take_dimensions(room)
        if self.facade.outlines:
            wall = area_of_points(self.facade.outlines[0].points_mm)
            boxes = [each.box for each in self.facade.openings]
            doors = [shapely.box(b.left_mm, b.bottom_mm, b.right_mm, b.top_mm) for b in boxes]
            for_names.keep_within(shapely.union_all([wall, *doors]))
        for number, item in enumerate(self.items):
            if isinstance(item, Dimension) and item.direction == "aligned":
                self.items[number] = self._value_where_free(item, for_names, for_marks)
        left_out = self._add_names(every)
        for mark in self.facade.marks:
            self.items += set_mark(mark, (for_marks, for_names))
        if left_out:
            what = "opening has" if left_out == 1 else "openings have"
            self.remarks.append(
                f"{left_out} {what} no room for a name at this scale: see the schedule."
            )

    def _add_names(self, rooms: tuple[Room, Room]) -> int:
        """Name the openings; how many were left without.

        Where beside many of them there is no room, names stand only in openings: some here
        and some there would be looked for in vain.
        """
        before = [room.taken for room in rooms]
        for only_inside in (False, True):
            made: list[Item] = []
            left_out = 0
            for each in self.facade.openings:
                texts = name_opening(
                    each,
                    rooms,
                    filled=self._is_filled(each),
                    stone_mm=_depth_below(each, self.details),
                    only_inside=only_inside,
                )
                left_out += not texts
                made += texts
            if left_out <= MOST_UNNAMED * len(self.facade.openings):
                break
            if not only_inside:
                for room, count in zip(rooms, before, strict=True):
                    room.free_from(count)
        self.items += made
        return left_out

    def _is_filled(self, opening: DrawnOpening) -> bool:
        """Whether bars or panels stand in an opening."""
        return any(_inside(opening, box) for box in self.filled)

    def _take_dimensions(self, room: Room) -> None:
        """Strips beside the wall that dimensions and levels stand in."""
        drawn, far = self.drawn, 1000.0 * self.denominator
        right, left = drawn.right_mm, drawn.left_mm
        low, high = drawn.bottom_mm, drawn.top_mm
        near = 0.5 * self.denominator
        room.take_full_size(Box(right + near, low - far, right + far, high + far))
        sides = {
            (item.direction, item.offset_paper_mm > 0)
            for item in self.items
            if isinstance(item, Dimension)
        }
        if ("vertical", False) in sides:
            room.take_full_size(Box(left - far, low - far, left - near, high + far))
        if ("horizontal", False) in sides:
            room.take_full_size(Box(left - far, low - far, right + far, low - near))
        if ("horizontal", True) in sides:
            room.take_full_size(Box(left - far, high + near, right + far, high + far))

    def _value_where_free(self, item: Dimension, *rooms: Room) -> Dimension:
        """An aligned dimension with its value where it strikes through least."""
        best, least = item, math.inf
        for part in VALUE_PLACES:
            moved = replace(item, text_at=part)
            boxes = self._boxes_of_value(moved)
            covered = rooms[0].covered_mm2(boxes)
            if covered < least - 0.01:
                best, least = moved, covered
        for room in rooms:
            for box in self._boxes_of_value(best):
                room.take(box)
            for each in self._strokes_and_value(best):
                if isinstance(each, Stroke):
                    ends = [each.start_mm, *(part.to_mm for part in each.segments)]
                    full = [(x * self.denominator, y * self.denominator) for x, y in ends]
                    room.take_outline(full)
        return best

    def _boxes_of_value(self, item: Dimension) -> list[Box]:
        made = self._strokes_and_value(item)
        return [box_of(each) for each in made if isinstance(each, Lettering)]

    def _strokes_and_value(self, item: Dimension) -> list[Primitive]:
        layers = {layer.name: layer for layer in ELEVATION_LAYERS}
        return dimension_primitives([item], layers, self.denominator, LETTERING_MM)

    def _add_spans(self) -> None:
        for span in self.facade.spans:
            if span.kind == "distance":
                start, end = span.points_mm
                self._add_distance(start, end, span.id)
                continue
            low = self.drawn.bottom_mm
            for one, other in pairwise(sorted(span.points_mm)):
                if other[0] - one[0] > 0.0:
                    text = _mm(other[0] - one[0])
                    self.items.append(
                        Dimension((one[0], low), (other[0], low), text, -7.0, id=span.id)
                    )

    def _add_distance(self, start: Point, end: Point, id_: str) -> None:
        """Level and plumb ones beside the wall, where they cross nothing."""
        text = _mm(math.dist(start, end))
        across, up = abs(end[0] - start[0]), abs(end[1] - start[1])
        drawn = self.drawn
        if up < 0.02 * across:
            above = start[1] + end[1] > drawn.bottom_mm + drawn.top_mm
            v, off = (drawn.top_mm, 7.0) if above else (drawn.bottom_mm, -7.0)
            ends = (start[0], v), (end[0], v)
            self.items.append(Dimension(*ends, text, off, "horizontal", id=id_))
        elif across < 0.02 * up:
            ends = (drawn.left_mm, start[1]), (drawn.left_mm, end[1])
            self.items.append(Dimension(*ends, text, -6.0, "vertical", id=id_))
        else:
            self.items.append(Dimension(start, end, text, 4.0, "aligned", id=id_))

    def _add_courses(self, id_: str, joints: Sequence[float], gauge_mm: float, count: int) -> None:
        """Bed joints across the wall at the heights found, cut where openings are."""
        if not self.has_course_lines:
            solid = solid_wall(self.items, self.wall)
            for level in joints:
                for part in level_lines(solid, level, self.wall):
                    self.items.append(Polyline("courses", part))
        left = self.drawn.left_mm
        low, high = min(joints), max(joints)
        text = f"{count} × {gauge_mm:.1f}"
        self.items.append(Dimension((left, low), (left, high), text, -6.0, "vertical", id=id_))

    def _add_overall(self) -> None:
        wall = self.wall
        if not self.facade.outlines or wall.width_mm <= 0 or wall.height_mm <= 0:
            return
        wide, high = (size_is_measured(self.facade.outlines[0], axis) for axis in (0, 1))
        low, left = self.drawn.bottom_mm, self.drawn.left_mm
        across = (wall.left_mm, low), (wall.right_mm, low)
        up = (left, wall.bottom_mm), (left, wall.top_mm)
        self.items += [
            Dimension(*across, _mm(wall.width_mm), -15.0, "horizontal", inferred=not wide),
            Dimension(*up, _mm(wall.height_mm), -8.0, "vertical", inferred=not high),
        ]

    def _add_datum(self) -> None:
        """The datum across the wall, but not across its openings."""
        wall = self.wall
        box = shapely.box(wall.left_mm, wall.bottom_mm - 1.0, wall.right_mm, wall.top_mm + 1.0)
        holes = [area_of_item(each.path()) for each in self.facade.openings]
        parts = level_lines(box.difference(shapely.union_all(holes)), 0.0, wall)
        ends = ((wall.left_mm, 0.0), (wall.right_mm, 0.0))
        self.items += [Polyline("datum", part) for part in parts or [ends]]

    def _add_levels(self) -> None:
        """Mark each level once: the datum, those asked for, then sills and heads."""
        marks: list[tuple[float, str, str | None, bool]] = [(0.0, "datum", None, False)]
        marks += [
            (level.v_mm, level.label or level.id, level.id, level.inferred)
            for level in self.facade.levels
        ]
        for each in self.facade.openings:
            marks.append((each.sill_mm, "sill", None, each.inferred))
            marks.append((each.head_mm, "head", None, each.inferred))
        taken: list[float] = []
        close = SAME_LEVEL_PAPER_MM * self.denominator
        for level, name, id_, inferred in marks:
            if any(abs(level - other) < close for other in taken):
                continue
            taken.append(level)
            sign = "±0" if abs(level) < 0.5 else f"{'+' if level > 0 else ''}{_mm(level)}"
            text = f"{name} {sign}"
            self.items.append(
                LevelMark(level, text, self.drawn.right_mm, id=id_, inferred=inferred)
            )


def _corners(box: Box) -> list[Point]:
    """Corners of a box, the first once more at the end."""
    left, low, right, high = box.left_mm, box.bottom_mm, box.right_mm, box.top_mm
    return [(left, low), (right, low), (right, high), (left, high), (left, low)]


def _take_shape(room: Room, item: Item) -> None:
    """Mark a stone or a pipe as taken; of an arch only the arch, not what it spans."""
    box = box_of_item(item)
    if isinstance(item, Polyline | Path) and item.closed:
        area = area_of_item(item)
        if area.area < SLENDER * box.width_mm * box.height_mm:
            for part in shapely.get_parts(area):
                if isinstance(part, shapely.Polygon):
                    room.take_outline([(float(u), float(v)) for u, v in part.exterior.coords])
            return
    elif isinstance(item, Polyline | Path):
        room.take_outline(points_of_item(item))
        return
    room.take_full_size(box)


def _inside(opening: DrawnOpening, box: Box) -> bool:
    middle = box.centre_mm
    across = opening.left_mm < middle[0] < opening.right_mm
    return across and opening.sill_mm < middle[1] < opening.head_mm


def _depth_below(opening: DrawnOpening, details: Iterable[Item]) -> float:
    """Height of the sill stone under an opening, 0 where there is none."""
    for item in details:
        if item.layer == "dressings" and isinstance(item, Polyline) and item.closed:
            box = box_of_item(item)
            under = abs(box.top_mm - opening.sill_mm) < 1.0
            if under and box.left_mm <= opening.centre_mm <= box.right_mm:
                return box.height_mm
    return 0.0


def _mm(value: float) -> str:
    return format_number(value, 0)
