"""Where a detail may be drawn: inside the wall, beside openings, behind what is nearer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from measure.elevation.areas import area_of_item
from measure.elevation.drawing import Circle, Item, Path, Polyline, circle_segments
from measure.elevation.facade import DrawnOpening, Facade
from measure.elevation.outline_shapes import area_of_points
from measure.elevation.path_geometry import Box, Point
from shared.errors import FieldError
from shared.survey_details import LevelAt

#: Two edges of a bar closer than this on paper are drawn as one line.
ONE_LINE_PAPER_MM = 0.35

#: Rounding of areas: what lies over an edge by less than this is inside.
SLACK_MM = 0.05

#: Lines and areas smaller than this are crumbs of cutting.
CRUMB_MM = 1.0

#: A sill no higher than this above the foot of the wall is a threshold.
THRESHOLD_MM = 60.0

#: Where no outline tells the foot of the wall, the lowest openings count as doors only from this
#: height on: a little less than the lowest door leaf in trade (judgement).
LEAST_DOOR_MM = 1_800.0

#: So far past the openings a wall without an outline is taken to go on (judgement).
BEYOND_BOX_MM = 1_000.0

Line = tuple[Point, Point]


@dataclass
class Ground:
    """The wall of one face, and what already covers it.

    Attributes
    ----------
    facade : Facade
    denominator : float
        Of the scale it is drawn for.
    wall : Polygon or MultiPolygon
        Inside the outline, openings taken out.
    stand_in_openings : list
        Areas of mullions and transoms.
    """

    facade: Facade
    denominator: float
    wall: shapely.Geometry = field(init=False)
    stand_in_openings: list[shapely.Geometry] = field(default_factory=list)
    _covered: list[shapely.Geometry] = field(default_factory=list)

    def __post_init__(self) -> None:
        holes = [area_of_opening(each) for each in self.facade.openings]
        self.inside = self.outline_area()
        self.wall = self.inside.difference(shapely.union_all(holes))

    def outline_area(self) -> shapely.Geometry:
        """Area inside the wall's outline, or its box where no outline was measured."""
        if self.facade.outlines:
            return area_of_points(self.facade.outlines[0].points_mm)
        box = self.box
        return shapely.box(box.left_mm, box.bottom_mm, box.right_mm, box.top_mm)

    @property
    def box(self) -> Box:
        """Box of the wall."""
        return self.facade.wall_box

    @property
    def free(self) -> shapely.Geometry:
        """Wall that nothing covers yet."""
        if self._covered:
            return self.wall.difference(shapely.union_all(self._covered))
        return self.wall

    @property
    def free_for_stones(self) -> shapely.Geometry:
        """What is free for sills and lintels: a wall without an outline goes on past its box."""
        if self.facade.outlines:
            return self.free
        around = self.inside.buffer(BEYOND_BOX_MM, join_style="mitre")
        return self.free.union(around.difference(self.inside))

    def cover(self, areas: Sequence[shapely.Geometry]) -> None:
        """Take areas out of what is free."""
        self._covered += list(areas)

    def level(self, at: LevelAt | None, default_mm: float, what: str) -> float:
        """Height of a level that a detail names.

        Raises
        ------
        FieldError
            For a name that nothing bears.
        """
        if at is None:
            return default_mm
        found = self.facade.level_of(at)
        if found is None:
            raise FieldError(
                f"The {what} names the level '{at}', which is not on this face.",
                hint="Name a level measure or a line such as w1.sill, or give millimetres.",
            )
        return found

    def openings(self, names: Sequence[str], what: str) -> list[DrawnOpening]:
        """Openings that a detail names, and what was copied from them; without names, all.

        Raises
        ------
        FieldError
            For a name that no opening bears.
        """
        if not names:
            return list(self.facade.openings)
        found: dict[str, DrawnOpening] = {}
        for name in names:
            opening = self.facade.opening(name)
            if opening is None:
                raise FieldError(
                    f"There is no opening '{name}' on this face for the {what}.",
                    hint="Name one that is measured or completed.",
                )
            copies = [each for each in self.facade.openings if each.id.startswith(f"{name}@")]
            found |= {each.id: each for each in (opening, *copies)}
        return list(found.values())

    def glass(self, opening: DrawnOpening) -> shapely.Geometry:
        """Area of an opening that no mullion or transom stands in front of."""
        return area_of_opening(opening).difference(shapely.union_all(self.stand_in_openings))

    def around_glass(self, frame: Path) -> list[Item]:
        """Inner line of a frame, broken behind mullions and transoms."""
        stone = shapely.union_all(self.stand_in_openings)
        area = area_of_item(frame)
        if not stone.intersects(area):
            return [frame]
        edge = area.boundary.difference(stone)
        merged = shapely.line_merge(edge) if isinstance(edge, shapely.MultiLineString) else edge
        return [
            Polyline(frame.layer, _points_of(part), inferred=frame.inferred)
            for part in shapely.get_parts(merged)
            if part.length > CRUMB_MM
        ]

    def is_threshold(self, opening: DrawnOpening) -> bool:
        """Whether an opening reaches down to the foot of the wall, as a door does."""
        foot_mm = self.box.bottom_mm
        if not self.facade.outlines:
            if opening.head_mm - opening.sill_mm < LEAST_DOOR_MM:
                return False
            foot_mm = min(foot_mm, 0.0)
        return opening.sill_mm <= foot_mm + THRESHOLD_MM

    def drawn_as_one(self, width_mm: float) -> bool:
        """Whether two edges this far apart are one line at the drawing's scale."""
        return width_mm / self.denominator < ONE_LINE_PAPER_MM


def area_of_opening(opening: DrawnOpening) -> shapely.Geometry:
    """Area of an opening, its arcs as fine polygons."""
    return area_of_item(opening.path())


def area_of_shape(item: Polyline | Path | Circle) -> shapely.Geometry:
    """Area inside a closed item."""
    if isinstance(item, Circle):
        start, segments = circle_segments(item.centre_mm, item.radius_mm)
        return area_of_item(Path(item.layer, start, segments, True))
    return area_of_item(item)


def shape_items(
    item: Polyline | Path | Circle, free: shapely.Geometry
) -> tuple[list[Item], shapely.Geometry]:
    """A closed shape as far as it is free, and the area it takes.

    A shape wholly free stays as it is, with its true arcs; another is cut.
    """
    area = area_of_shape(item)
    if free.buffer(SLACK_MM).covers(area):
        return [item], area
    made: list[Item] = []
    cut = area.intersection(free)
    for part in shapely.get_parts(cut):
        if isinstance(part, shapely.Polygon) and part.area > CRUMB_MM**2:
            points = tuple((float(u), float(v)) for u, v in part.exterior.coords[:-1])
            made.append(Polyline(item.layer, points, closed=True, inferred=item.inferred))
    return made, cut


def line_items(
    layer: str, lines: Sequence[Line], free: shapely.Geometry, *, inferred: bool = False
) -> list[Item]:
    """Straight lines as far as they are free."""
    if not lines:
        return []
    every = shapely.linestrings(np.array(lines, dtype=float))
    shapely.prepare(free)
    whole = shapely.covers(free, every)
    made: list[Item] = [
        Polyline(layer, line, inferred=inferred)
        for line, keep in zip(lines, whole, strict=True)
        if keep
    ]
    cut = shapely.get_parts(shapely.intersection(every[~whole], free))
    for part in cut:
        if isinstance(part, shapely.LineString) and part.length > CRUMB_MM:
            points = _points_of(part)
            made.append(Polyline(layer, (points[0], points[-1]), inferred=inferred))
    return made


def _points_of(line: shapely.LineString) -> tuple[Point, ...]:
    return tuple((float(u), float(v)) for u, v in line.coords)


def rectangle(
    layer: str, left: float, bottom: float, right: float, top: float, *, inferred: bool = False
) -> Polyline:
    """Closed upright rectangle."""
    corners = ((left, bottom), (right, bottom), (right, top), (left, top))
    return Polyline(layer, corners, closed=True, inferred=inferred)
