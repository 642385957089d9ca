"""What every file format can draw: a stroked path, a filled path, a line of lettering.

Frame: millimetres of paper, x right and y up, (0, 0) at the lower left corner of
the sheet. Everything that stands on a sheet is reduced to these three, once, so
that the writers of files need no judgement of their own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from measure.elevation import lettering
from measure.elevation.drawing import HorizontalAlign, Layer, LineKind
from measure.elevation.path_geometry import (
    Box,
    LineSegment,
    Point,
    Segment,
    box_around_boxes,
    box_around_path,
    box_around_points,
    scaled_segments,
)


@dataclass(frozen=True, slots=True)
class Stroke:
    """A path drawn with a line.

    Attributes
    ----------
    layer : str
    start_mm : (x, y)
    segments : tuple of LineSegment or ArcSegment
    width_mm : float
        Width of the line.
    line_kind : {"solid", "dashed", "chain"}
    closed : bool
    id : str or None
        Id of the measure that it draws.
    inferred : bool
        Not measured: mirrored, repeated or assumed.
    """

    layer: str
    start_mm: Point
    segments: tuple[Segment, ...]
    width_mm: float
    line_kind: LineKind = "solid"
    closed: bool = False
    id: str | None = None
    inferred: bool = False


@dataclass(frozen=True, slots=True)
class Fill:
    """A closed path filled with ink."""

    layer: str
    start_mm: Point
    segments: tuple[Segment, ...]


@dataclass(frozen=True, slots=True)
class Lettering:
    """One line of text on its baseline.

    Attributes
    ----------
    layer : str
    at_mm : (x, y)
        Point of the baseline.
    text : str
    size_mm : float
        Height of capitals.
    angle_rad : float
        Anticlockwise from level.
    align : {"left", "centre", "right"}
        Which part of the text stands at the point.
    id : str or None
    inferred : bool
    """

    layer: str
    at_mm: Point
    text: str
    size_mm: float
    angle_rad: float = 0.0
    align: HorizontalAlign = "left"
    id: str | None = None
    inferred: bool = False

    @property
    def width_mm(self) -> float:
        """Width of the text."""
        return lettering.width_mm(self.text, self.size_mm)

    @property
    def left_end_mm(self) -> Point:
        """Point of the baseline where the text begins."""
        back = {"left": 0.0, "centre": 0.5, "right": 1.0}[self.align] * self.width_mm
        x, y = self.at_mm
        return x - back * math.cos(self.angle_rad), y - back * math.sin(self.angle_rad)


Primitive = Stroke | Fill | Lettering


def dash_lengths_mm(line_kind: LineKind, width_mm: float) -> tuple[float, ...]:
    """Lengths of dash and gap in turn; empty for a solid line.

    References
    ----------
    ISO 128-2:2020 gives them in widths of the line: long dash 24, gap 3, dot half a
    width, dash 12 (from memory). The dash here is 6: at a model's scale a window is only a
    few millimetres wide and would lose its corners (judgement).
    """
    in_widths = {"solid": (), "dashed": (6.0, 3.0), "chain": (24.0, 3.0, 0.5, 3.0)}[line_kind]
    return tuple(length * width_mm for length in in_widths)


def stroke_on(
    layer: Layer, points_mm: Iterable[Point], *, closed: bool = False, width_mm: float | None = None
) -> Stroke:
    """Straight lines through points, in the layer's own line."""
    start, *others = points_mm
    segments = tuple(LineSegment(point) for point in others)
    return Stroke(layer.name, start, segments, width_mm or layer.width_mm, layer.line_kind, closed)


def stroke_around(layer: Layer, box: Box, *, width_mm: float | None = None) -> Stroke:
    """Closed rectangle."""
    corners = [
        (box.left_mm, box.bottom_mm),
        (box.right_mm, box.bottom_mm),
        (box.right_mm, box.top_mm),
        (box.left_mm, box.top_mm),
    ]
    return stroke_on(layer, corners, closed=True, width_mm=width_mm)


def fill_of(layer: Layer, box: Box) -> Fill:
    """Filled rectangle."""
    return Fill(
        layer.name,
        (box.left_mm, box.bottom_mm),
        (
            LineSegment((box.right_mm, box.bottom_mm)),
            LineSegment((box.right_mm, box.top_mm)),
            LineSegment((box.left_mm, box.top_mm)),
        ),
    )


def scaled(item: Primitive, factor: float, dx_mm: float, dy_mm: float) -> Primitive:
    """Multiply places by `factor`, then shift them; widths and lettering grow by it too."""
    if isinstance(item, Lettering):
        x, y = item.at_mm
        at_mm = (x * factor + dx_mm, y * factor + dy_mm)
        return replace(item, at_mm=at_mm, size_mm=item.size_mm * factor)
    x, y = item.start_mm
    start_mm = (x * factor + dx_mm, y * factor + dy_mm)
    segments = scaled_segments(item.segments, factor, dx_mm, dy_mm)
    if isinstance(item, Fill):
        return replace(item, start_mm=start_mm, segments=segments)
    return replace(item, start_mm=start_mm, segments=segments, width_mm=item.width_mm * factor)


def moved(item: Primitive, dx_mm: float, dy_mm: float) -> Primitive:
    """Shift one primitive."""
    return scaled(item, 1.0, dx_mm, dy_mm)


def box_of(item: Primitive) -> Box:
    """Box around the ink of a primitive: half the line's width, and the height of the letters."""
    if isinstance(item, Lettering):
        x, y = item.left_end_mm
        cos, sin = math.cos(item.angle_rad), math.sin(item.angle_rad)
        low, high = -lettering.DESCENT * item.size_mm, lettering.ASCENT * item.size_mm
        return box_around_points(
            (x + along * cos - up * sin, y + along * sin + up * cos)
            for along in (0.0, item.width_mm)
            for up in (low, high)
        )
    box = box_around_path(item.start_mm, item.segments)
    return box.grown(item.width_mm / 2) if isinstance(item, Stroke) else box


def box_around(items: Iterable[Primitive]) -> Box:
    """Box around the ink of all primitives; raises ValueError where there are none."""
    return box_around_boxes(box_of(item) for item in items)
