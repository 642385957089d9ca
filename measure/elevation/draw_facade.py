"""A facade as a drawing: outline, openings, levels, dimensions, courses, words.

Draws what the facade says, where it says; lining up, completing and fitting were done before.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from measure.elevation.areas import level_lines, solid_wall
from measure.elevation.drawing import (
    ELEVATION_LAYERS,
    Dimension,
    Drawing,
    HorizontalAlign,
    Item,
    LevelMark,
    Polyline,
    Text,
    box_of_item,
)
from measure.elevation.facade import DrawnMark, DrawnOpening, Facade
from measure.elevation.path_geometry import Box, Point
from shared.number_text import format_number

#: Levels closer than this, at paper size, share one mark.
SAME_LEVEL_PAPER_MM = 1.2

#: An opening narrower than this on paper carries its id alone.
ROOM_FOR_WORDS_PAPER_MM = 22.0


def draw_facade(
    facade: Facade,
    denominator: float,
    *,
    title: str,
    subtitle: str = "",
    details: Sequence[Item] = (),
    ghost: Facade | None = None,
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
    )


def ghost_items(facade: Facade) -> list[Item]:
    """Outlines and openings on the layer for places as picked, without ids."""
    layer = "as-picked"
    items: list[Item] = [
        Polyline(layer, outline.points_mm, closed=True) for outline in facade.outlines
    ]
    items += [each.path(layer, "") for each in facade.openings]
    return items


class _Builder:
    """Gathers the items of one drawing."""

    def __init__(self, facade: Facade, denominator: float, details: Sequence[Item]) -> None:
        self.facade = facade
        self.denominator = denominator
        self.details = list(details)
        self.items: list[Item] = []
        self.wall = facade.wall_box
        joinery = [item for item in details if item.layer == "joinery"]
        self.filled = [box_of_item(item) for item in joinery]
        self.has_course_lines = any(item.layer == "courses" for item in details)

    def add_all(self) -> None:
        """Add everything, outline first."""
        for number, outline in enumerate(self.facade.outlines):
            layer = "outline" if number == 0 else "bands"
            self.items.append(
                Polyline(
                    layer,
                    outline.points_mm,
                    closed=True,
                    id=outline.id,
                    inferred_edges=outline.inferred_edges,
                )
            )
        for opening in self.facade.openings:
            self._add_opening(opening)
        self.items += self.details
        self._add_spans()
        for mark in self.facade.marks:
            self._add_mark(mark)
        for courses in self.facade.courses:
            self._add_courses(courses.id, courses.joints_mm, courses.gauge_mm, courses.count)
        self._add_overall()
        self._add_levels()
        left, right = self.wall.left_mm, self.wall.right_mm
        self.items.append(Polyline("datum", ((left, 0.0), (right, 0.0))))

    def _add_opening(self, opening: DrawnOpening) -> None:
        self.items.append(opening.path())
        width, height = opening.width_mm, opening.height_mm
        roomy = width / self.denominator >= ROOM_FOR_WORDS_PAPER_MM
        size = f"{_mm(width)} × {_mm(height)}"
        words = (opening.label or opening.id, f"({size})" if opening.inferred else size)
        lines = words if roomy else (opening.id,)
        at: Point = (opening.centre_mm, opening.sill_mm + height * 0.45)
        below = any(_inside(opening, box) for box in self.filled)
        for line, text in enumerate(lines):
            size_mm = 2.5 if line == 0 and roomy else 1.8
            if below:
                # bars or panels fill the opening: its words stand under its sill
                stone = _depth_below(opening, self.details)
                at = (opening.centre_mm, opening.sill_mm - stone)
                off = (0.0, -0.8 - (3.4 * line if roomy else 0.0))
            else:
                off = (0.0, 1.6 - 3.4 * line if roomy else 0.0)
            self.items.append(
                Text(
                    "notes",
                    at,
                    text,
                    size_mm,
                    horizontal="centre",
                    vertical="top" if below else "middle",
                    offset_paper_mm=off,
                    room_mm=width * 0.92,
                    inferred=opening.inferred,
                )
            )

    def _add_spans(self) -> None:
        for span in self.facade.spans:
            if span.kind == "distance":
                start, end = span.points_mm
                self._add_distance(start, end, span.id)
                continue
            low = self.wall.bottom_mm
            for one, other in pairwise(sorted(span.points_mm)):
                if other[0] - one[0] > 0.0:
                    text = _mm(other[0] - one[0])
                    self.items.append(
                        Dimension((one[0], low), (other[0], low), text, -7.0, id=span.id)
                    )

    def _add_distance(self, start: Point, end: Point, id_: str) -> None:
        text = _mm(math.dist(start, end))
        across, up = abs(end[0] - start[0]), abs(end[1] - start[1])
        if up < 0.02 * across:
            self.items.append(Dimension(start, end, text, 6.0, "horizontal", id=id_))
        elif across < 0.02 * up:
            self.items.append(Dimension(start, end, text, 6.0, "vertical", id=id_))
        else:
            self.items.append(Dimension(start, end, text, 4.0, "aligned", id=id_))

    def _add_mark(self, mark: DrawnMark) -> None:
        off: dict[str, Point] = {"above": (0.0, 1.0), "left": (-1.2, 0.8), "right": (1.2, 0.8)}
        align: dict[str, HorizontalAlign] = {"above": "centre", "left": "right", "right": "left"}
        self.items.append(
            Text(
                "notes",
                mark.at_mm,
                mark.text,
                2.5 if mark.kind == "slope" else 1.8,
                horizontal=align[mark.side],
                offset_paper_mm=off[mark.side],
                id=mark.id if mark.kind == "arc" else None,
            )
        )

    def _add_courses(self, id_: str, joints: Sequence[float], gauge_mm: float, count: int) -> None:
        """Bed joints across the wall at the heights found, cut where openings are."""
        if not self.has_course_lines:
            solid = solid_wall(self.items, self.wall)
            for level in joints:
                for part in level_lines(solid, level, self.wall):
                    self.items.append(Polyline("courses", part))
        left = self.wall.left_mm
        low, high = min(joints), max(joints)
        text = f"{count} × {gauge_mm:.1f}"
        self.items.append(Dimension((left, low), (left, high), text, -6.0, "vertical", id=id_))

    def _add_overall(self) -> None:
        wall = self.wall
        if not self.facade.outlines or wall.width_mm <= 0 or wall.height_mm <= 0:
            return
        inferred = bool(self.facade.outlines[0].inferred_edges)
        low, left = wall.bottom_mm, wall.left_mm
        for end, text, off, direction in (
            ((wall.right_mm, low), _mm(wall.width_mm), -15.0, "horizontal"),
            ((left, wall.top_mm), _mm(wall.height_mm), -8.0, "vertical"),
        ):
            across = direction == "horizontal"
            self.items.append(
                Dimension(
                    (left, low),
                    end,
                    text,
                    off,
                    "horizontal" if across else "vertical",
                    inferred=inferred,
                )
            )

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
            self.items.append(LevelMark(level, text, self.wall.right_mm, id=id_, inferred=inferred))


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
