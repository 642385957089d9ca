"""The display list of an elevation: what is drawn, in millimetres of the real building.

Frame: the chart of a face, u to the right and v up, at FULL SIZE. Only lettering
and the distance of a dimension from what it measures are in millimetres of
paper, because they keep their size at every scale. Knows no paper, no scale and
no file format: :mod:`measure.elevation.annotate` turns items into strokes and
lettering, :mod:`measure.elevation.page` sets them on sheets.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from measure.elevation.path_geometry import (
    ArcSegment,
    Box,
    LineSegment,
    Point,
    Segment,
    box_around_boxes,
    box_around_path,
    box_around_points,
)

LineKind = Literal["solid", "dashed", "chain"]
HorizontalAlign = Literal["left", "centre", "right"]
VerticalAlign = Literal["baseline", "middle", "top"]
DimensionDirection = Literal["horizontal", "vertical", "aligned"]

LINE_WIDTHS_MM = (0.13, 0.18, 0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0)
"""Widths of lines after ISO 128-2:2020 (series with ratio root two)."""

LETTERING_MM = (1.8, 2.5, 3.5, 5.0, 7.0, 10.0, 14.0, 20.0)
"""Heights of capitals after ISO 3098-1 (from memory)."""


def wide_line_mm(narrow_mm: float) -> float:
    """The wide line that goes with a narrow one: two steps up the series, about twice as wide."""
    return LINE_WIDTHS_MM[min(LINE_WIDTHS_MM.index(narrow_mm) + 2, len(LINE_WIDTHS_MM) - 1)]


_LAYER_NAME = re.compile(r"[a-z][a-z0-9-]*\Z")


@dataclass(frozen=True, slots=True)
class Layer:
    """A named set of items drawn with one kind of line.

    Attributes
    ----------
    name : str
        Small letters, digits and hyphens; becomes the group of an SVG and the layer of a DXF.
    width_mm : float
        Width of its lines on paper, one of `LINE_WIDTHS_MM`.
    line_kind : {"solid", "dashed", "chain"}
    holds : str
        What belongs on it, in one line.
    shown : bool
        Whether it is seen until somebody turns it off; otherwise it is there to be turned on.
    """

    name: str
    width_mm: float
    line_kind: LineKind = "solid"
    holds: str = ""
    shown: bool = True

    def __post_init__(self) -> None:
        if not _LAYER_NAME.match(self.name):
            raise ValueError(f"name: small letters, digits and hyphens, got {self.name!r}")
        if self.width_mm not in LINE_WIDTHS_MM:
            raise ValueError(f"width_mm: one of {LINE_WIDTHS_MM}, got {self.width_mm}")


ELEVATION_LAYERS = (
    Layer("ground", 0.7, "solid", "the line the building stands on"),
    Layer("outline", 0.5, "solid", "edges of the wall against the sky"),
    Layer("openings", 0.35, "solid", "doors, windows, loading doors"),
    Layer("joinery", 0.18, "solid", "frames, glazing bars, mullions, panels of doors"),
    Layer("dressings", 0.25, "solid", "sills, lintels, voussoirs, quoins"),
    Layer("bands", 0.25, "solid", "plinth, string courses, cornice"),
    Layer("pipes", 0.25, "solid", "rainwater pipes"),
    Layer("courses", 0.13, "solid", "bed joints and perpends"),
    Layer(
        "as-picked", 0.13, "dashed", "where things were picked, before they were lined up", False
    ),
    Layer("datum", 0.25, "chain", "the level from which heights are taken"),
    Layer("levels", 0.18, "solid", "heights above the datum"),
    Layer("dimensions", 0.18, "solid", "sizes"),
    Layer("notes", 0.18, "solid", "lettering"),
)
"""Layers of an elevation, in the order in which they are drawn."""

SHEET_LAYERS = (
    Layer("frame", 0.35, "solid", "edge of the drawing and of its title block"),
    Layer("title", 0.18, "solid", "lettering and rules of the title block"),
    Layer("bar", 0.25, "solid", "bar scale and the two bars that check the printer"),
    Layer("register", 0.18, "solid", "crosses that join one sheet to the next"),
)
"""Layers that a sheet adds around a drawing."""


@dataclass(frozen=True, slots=True)
class Polyline:
    """Straight lines through points.

    Attributes
    ----------
    layer : str
        Name of its layer.
    points_mm : tuple of (u, v)
        At least two.
    closed : bool
    id : str or None
        Id of the measure it draws, if it draws one.
    inferred : bool
        Mirrored, repeated or assumed, not measured: drawn dashed.
    inferred_edges : frozenset of int
        Single edges that are, each by the point it starts from.
    """

    layer: str
    points_mm: tuple[Point, ...]
    closed: bool = False
    id: str | None = None
    inferred: bool = False
    inferred_edges: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        if len(self.points_mm) < 2:
            raise ValueError(f"points_mm: at least 2 points, got {len(self.points_mm)}")


@dataclass(frozen=True, slots=True)
class Path:
    """Lines and true arcs, one after the other.

    Attributes
    ----------
    layer : str
    start_mm : (u, v)
    segments : tuple of LineSegment or ArcSegment
    closed : bool
        Joins the last point to the first by a line where they differ.
    id, inferred
        As for :class:`Polyline`.
    """

    layer: str
    start_mm: Point
    segments: tuple[Segment, ...]
    closed: bool = False
    id: str | None = None
    inferred: bool = False

    def __post_init__(self) -> None:
        if not self.segments:
            raise ValueError("segments: at least 1, got 0")


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle."""

    layer: str
    centre_mm: Point
    radius_mm: float
    id: str | None = None
    inferred: bool = False

    def __post_init__(self) -> None:
        if not self.radius_mm > 0:
            raise ValueError(f"radius_mm: must be above 0, got {self.radius_mm}")


@dataclass(frozen=True, slots=True)
class Text:
    """One line of lettering.

    Attributes
    ----------
    layer : str
    at_mm : (u, v)
        Anchor at full size.
    text : str
    size_paper_mm : float
        Height of its capitals on paper.
    angle_rad : float
        Anticlockwise from level.
    horizontal, vertical
        Which point of the lettering sits on the anchor.
    offset_paper_mm : (float, float)
        Shift from the anchor on paper, right and up.
    room_mm : float or None
        Full-size length into which the lettering is made to fit by making it smaller
        (as for a label inside an opening); None leaves it alone.
    """

    layer: str
    at_mm: Point
    text: str
    size_paper_mm: float = 2.5
    angle_rad: float = 0.0
    horizontal: HorizontalAlign = "left"
    vertical: VerticalAlign = "baseline"
    offset_paper_mm: Point = (0.0, 0.0)
    room_mm: float | None = None
    id: str | None = None
    inferred: bool = False

    def __post_init__(self) -> None:
        if not self.size_paper_mm > 0:
            raise ValueError(f"size_paper_mm: must be above 0, got {self.size_paper_mm}")


@dataclass(frozen=True, slots=True)
class Dimension:
    """The distance of two points, with its value in words.

    Attributes
    ----------
    start_mm, end_mm : (u, v)
    text : str
        What stands above the line, such as "1 204".
    offset_paper_mm : float
        How far the dimension line stands off the outer of the two points, on paper.
        Horizontal: positive is above them, negative below. Vertical: positive is to the
        right, negative to the left. Aligned: positive is to the left of start -> end.
        Lines that would crowd each other are moved further out.
    direction : {"horizontal", "vertical", "aligned"}
        What is dimensioned: the difference in u, in v, or the straight distance.
    text_at : float
        Where along an aligned one the value stands, from 0 at its start to 1 at its end.
    """

    start_mm: Point
    end_mm: Point
    text: str
    offset_paper_mm: float = 8.0
    direction: DimensionDirection = "horizontal"
    layer: str = "dimensions"
    id: str | None = None
    inferred: bool = False
    text_at: float = 0.5

    def __post_init__(self) -> None:
        axis = {"horizontal": 0, "vertical": 1}.get(self.direction)
        same = (
            self.start_mm == self.end_mm
            if axis is None
            else self.start_mm[axis] == self.end_mm[axis]
        )
        if same:
            raise ValueError(f"a {self.direction} dimension needs two places, got one")


@dataclass(frozen=True, slots=True)
class LevelMark:
    """A height above the datum, marked beside the elevation.

    Attributes
    ----------
    v_mm : float
        The level.
    text : str
        Its words, such as "string course +4 215".
    u_mm : float
        Where on the building the mark starts from: the edge on its side.
    side : {"left", "right"}
        On which side of the elevation it stands.
    """

    v_mm: float
    text: str
    u_mm: float
    side: Literal["left", "right"] = "right"
    layer: str = "levels"
    id: str | None = None
    inferred: bool = False


Item = Polyline | Path | Circle | Text | Dimension | LevelMark


@dataclass(frozen=True, slots=True)
class Drawing:
    """An elevation at full size.

    Attributes
    ----------
    title : str
    layers : tuple of Layer
        In drawing order; names differ.
    items : tuple of Item
        Each on one of the layers.
    extent : Box or None
        The part of the chart that the drawing is about; None takes the box around its lines.
    subtitle : str
        Which face it is, such as "Street front".
    lettering_mm : float
        Height of capitals, on paper, of dimensions and level marks: one height to a drawing
        (ISO 129-1).
    remarks : tuple of str
        Sentences that should stand beside the drawing.
    """

    title: str
    layers: tuple[Layer, ...]
    items: tuple[Item, ...]
    extent: Box | None = None
    subtitle: str = ""
    lettering_mm: float = 2.5
    remarks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        names = [layer.name for layer in self.layers]
        if len(set(names)) != len(names):
            raise ValueError(f"layers: names must differ, got {names}")
        unknown = sorted({item.layer for item in self.items} - set(names))
        if unknown:
            raise ValueError(f"items: on layers that the drawing does not have: {unknown}")

    @property
    def box(self) -> Box:
        """`extent`, or else the box around the lines; raises ValueError for an empty drawing."""
        return self.extent if self.extent is not None else box_around_items(self.items)


def box_of_item(item: Item) -> Box:
    """Box around the full-size geometry of one item; lettering counts as its anchor."""
    if isinstance(item, Polyline):
        return box_around_points(item.points_mm)
    if isinstance(item, Path):
        return box_around_path(item.start_mm, item.segments)
    if isinstance(item, Circle):
        (u, v), r = item.centre_mm, item.radius_mm
        return Box(u - r, v - r, u + r, v + r)
    if isinstance(item, Text):
        return box_around_points([item.at_mm])
    if isinstance(item, Dimension):
        return box_around_points([item.start_mm, item.end_mm])
    return box_around_points([(item.u_mm, item.v_mm)])


def box_around_items(items: tuple[Item, ...]) -> Box:
    """Box around the full-size geometry of the items; raises ValueError where there is none."""
    return box_around_boxes(box_of_item(item) for item in items)


def circle_segments(centre_mm: Point, radius_mm: float) -> tuple[Point, tuple[Segment, ...]]:
    """Start point and two half turns of a circle, anticlockwise from due east."""
    u, v = centre_mm
    east, west = (u + radius_mm, v), (u - radius_mm, v)
    return east, (ArcSegment(west, math.pi), ArcSegment(east, math.pi))


def polyline_segments(item: Polyline) -> tuple[Point, tuple[Segment, ...]]:
    """Start point and lines of a polyline."""
    return item.points_mm[0], tuple(LineSegment(point) for point in item.points_mm[1:])
