"""A flat part: what is cut, scored, folded and glued on one piece of card or paper.

Frame: millimetres of the model on the flat sheet, x right and y up, the face of the
part (what will be seen) towards the reader; the origin is the part's own. Lines say
what the knife does there, not how they look.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely

from measure.elevation import lettering
from measure.elevation.path_geometry import (
    ArcSegment,
    Box,
    LineSegment,
    Point,
    Segment,
    arc_radius_mm,
    box_around_boxes,
    box_around_path,
    point_on_arc_mm,
    walk,
)
from measure.parts.materials import Material

LineUse = Literal["cut", "trim", "score-face", "score-back", "bevel", "place", "glue", "mark"]
"""cut through; trim after gluing; score on the face (folds away) or on the back (folds
towards you); the far edge of a bevelled end; where another part goes; glue here; a mark."""

Grain = Literal["up", "along", "any"]
"""How the fibres should run on the part: up it, along it, or as it comes."""

#: An arc drawn by straight parts leaves its circle by less than this.
FLATNESS_MM = 0.002


@dataclass(frozen=True, slots=True)
class PartLine:
    """One line of a part.

    Attributes
    ----------
    use : str
        One of `LineUse`.
    start_mm : (x, y)
    segments : tuple of LineSegment or ArcSegment
    closed : bool
    id : str or None
        Name by which it is found again in an SVG or DXF.
    """

    use: LineUse
    start_mm: Point
    segments: tuple[Segment, ...]
    closed: bool = False
    id: str | None = None

    @property
    def box(self) -> Box:
        """Box around the line."""
        return box_around_path(self.start_mm, self.segments)


@dataclass(frozen=True, slots=True)
class PartWords:
    """Lettering on a part, centred on its place.

    Attributes
    ----------
    at_mm : (x, y)
        Middle of its baseline.
    text : str
    size_mm : float
        Height of capitals wanted; made smaller where `room_mm` asks for it.
    angle_rad : float
    room_mm : float or None
        Length it has to fit into.
    """

    at_mm: Point
    text: str
    size_mm: float = 1.8
    angle_rad: float = 0.0
    room_mm: float | None = None

    @property
    def fitted_size_mm(self) -> float:
        """Height of capitals at which it fits its room."""
        if self.room_mm is None:
            return self.size_mm
        width = lettering.width_mm(self.text, self.size_mm)
        return self.size_mm * min(1.0, self.room_mm / width) if width > 0 else self.size_mm

    @property
    def area(self) -> shapely.Geometry:
        """Upright box around level lettering."""
        size = self.fitted_size_mm
        half = lettering.width_mm(self.text, size) / 2.0
        x, y = self.at_mm
        return shapely.box(x - half, y - lettering.DESCENT * size, x + half, y + size)


@dataclass(frozen=True, slots=True)
class PartPicture:
    """What of a face's chart is printed on a part.

    Attributes
    ----------
    face : str
    chart : Box
        Part of the chart, at the model's scale.
    origin_mm : (x, y)
        Where the chart's (0, 0) lies on the part.
    along : float
        Millimetres of the part for one of the chart along u; below 1 on a rolled layer.
    """

    face: str
    chart: Box
    origin_mm: Point = (0.0, 0.0)
    along: float = 1.0


@dataclass(frozen=True, slots=True)
class Part:
    """One part.

    Attributes
    ----------
    mark : str
        Such as "A1": the same on part, key and cut list.
    name : str
        In words.
    face : str
        Id of the face that it belongs to.
    role : str
        What it is: carcass, overlay, skin, reveal, sill, band, film, wrap, former ...
    material : Material
    lines : tuple of PartLine
    words : tuple of PartWords
    count : int
        How many are needed.
    grain : {"up", "along", "any"}
    openings : tuple of str
        Ids of the openings that it serves.
    note : str
        One sentence for the cut list.
    pictures : tuple of PartPicture
        What is printed on it.
    """

    mark: str
    name: str
    face: str
    role: str
    material: Material
    lines: tuple[PartLine, ...]
    words: tuple[PartWords, ...] = ()
    count: int = 1
    grain: Grain = "any"
    openings: tuple[str, ...] = ()
    note: str = ""
    pictures: tuple[PartPicture, ...] = ()

    @property
    def box(self) -> Box:
        """Box around everything that is drawn of the part."""
        words = [Box(*words.area.bounds) for words in self.words]
        return box_around_boxes([*(line.box for line in self.lines), *words])

    @property
    def area(self) -> shapely.Geometry:
        """What the part takes of the sheet: its outermost lines and its lettering, no holes."""
        shapes = [polygon_of(line) for line in self.lines if line.closed]
        shapes += [words.area for words in self.words]
        whole = shapely.union_all([shape for shape in shapes if not shape.is_empty])
        solid = [shapely.Polygon(p.exterior) for p in shapely.get_parts(whole) if p.area > 0]
        return shapely.union_all(solid)

    def line(self, id: str) -> PartLine:
        """One line by its id."""
        return next(line for line in self.lines if line.id == id)


def line_through(
    use: LineUse, points_mm: Sequence[Point], *, closed: bool = False, id: str | None = None
) -> PartLine:
    """Straight lines through points."""
    start, *others = points_mm
    return PartLine(use, start, tuple(LineSegment(point) for point in others), closed, id)


def rectangle(
    use: LineUse,
    left_mm: float,
    bottom_mm: float,
    width_mm: float,
    height_mm: float,
    *,
    id: str | None = None,
) -> PartLine:
    """Upright rectangle, anticlockwise from its lower left corner."""
    right, top = left_mm + width_mm, bottom_mm + height_mm
    corners = [(left_mm, bottom_mm), (right, bottom_mm), (right, top), (left_mm, top)]
    return line_through(use, corners, closed=True, id=id)


def circle(use: LineUse, centre_mm: Point, radius_mm: float, *, id: str | None = None) -> PartLine:
    """Full circle in two half turns."""
    x, y = centre_mm
    east, west = (x + radius_mm, y), (x - radius_mm, y)
    return PartLine(use, east, (ArcSegment(west, math.pi), ArcSegment(east, math.pi)), True, id)


def flat_points(start_mm: Point, segments: Iterable[Segment]) -> list[Point]:
    """Points along a path, arcs as straight parts that stay within `FLATNESS_MM`."""
    points = [start_mm]
    for here, segment in walk(start_mm, segments):
        if isinstance(segment, ArcSegment):
            radius = max(arc_radius_mm(here, segment), 1e-6)
            step = 2.0 * math.acos(max(-1.0, 1.0 - FLATNESS_MM / max(radius, FLATNESS_MM)))
            pieces = max(2, math.ceil(abs(segment.sweep_rad) / step))
            turns = np.linspace(0.0, segment.sweep_rad, pieces + 1)[1:-1]
            points += [point_on_arc_mm(here, segment, float(turn)) for turn in turns]
        points.append(segment.to_mm)
    return points


def polygon_of(line: PartLine) -> shapely.Geometry:
    """Area inside a closed line."""
    points = flat_points(line.start_mm, line.segments)
    return shapely.make_valid(shapely.Polygon(points)) if len(points) > 2 else shapely.Polygon()


def lines_of_polygon(
    use: LineUse, shape: shapely.Geometry, id: str, *, holes: bool = True
) -> list[PartLine]:
    """Lines around a polygon, its holes after it."""
    lines: list[PartLine] = []
    polygons = [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon" and p.area > 1e-6]
    for number, polygon in enumerate(polygons):
        name = id if number == 0 else f"{id}.{number + 1}"
        rings = [(polygon.exterior, name)]
        if holes:
            rings += [(ring, f"{name}.hole-{n + 1}") for n, ring in enumerate(polygon.interiors)]
        for ring, ring_id in rings:
            points = [(float(x), float(y)) for x, y in ring.coords[:-1]]
            lines.append(line_through(use, points, closed=True, id=ring_id))
    return lines


def turned_point(point_mm: Point, quarters: int) -> Point:
    """Point turned about the origin by quarter turns anticlockwise."""
    x, y = point_mm
    for _ in range(quarters % 4):
        x, y = -y, x
    return x, y


def moved_line(line: PartLine, quarters: int, dx_mm: float, dy_mm: float) -> PartLine:
    """Line turned by quarter turns about the origin, then shifted."""

    def place(point: Point) -> Point:
        x, y = turned_point(point, quarters)
        return x + dx_mm, y + dy_mm

    segments = tuple(replace(segment, to_mm=place(segment.to_mm)) for segment in line.segments)
    return replace(line, start_mm=place(line.start_mm), segments=segments)


def moved_words(words: PartWords, quarters: int, dx_mm: float, dy_mm: float) -> PartWords:
    """Lettering turned with its part; it never stands on its head."""
    x, y = turned_point(words.at_mm, quarters)
    angle = words.angle_rad + quarters * math.pi / 2
    angle = math.remainder(angle, math.tau)
    if not -math.pi / 2 - 1e-9 <= angle < math.pi / 2 + 1e-9:
        # turned about the middle of the letters, so that they stay on their part
        up = (1.0 - lettering.DESCENT) * words.fitted_size_mm
        x, y = x - up * math.sin(angle), y + up * math.cos(angle)
        angle = math.remainder(angle + math.pi, math.tau)
    return replace(words, at_mm=(x + dx_mm, y + dy_mm), angle_rad=angle)
