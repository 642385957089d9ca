"""Lines and circular arcs that make up a path, with their exact geometry.

Knows no frame: points are (x, y) in millimetres with y up, whether of the
building or of the paper. An arc is kept as its end point and its sweep, so that
moving and scaling a path leaves the arcs exact, and a player can turn it into a
true arc of its own format.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

Point = tuple[float, float]
"""A point (x, y) in millimetres, x right and y up."""

# Below this sweep an arc of any size on any sheet is a straight line: its bow over a chord of
# one metre is 1e-9 * 1000 / 8 mm.
SMALLEST_SWEEP_RAD = 1e-9


@dataclass(frozen=True, slots=True)
class LineSegment:
    """A straight line from the current point.

    Attributes
    ----------
    to_mm : (float, float)
        Where the line ends.
    """

    to_mm: Point


@dataclass(frozen=True, slots=True)
class ArcSegment:
    """A circular arc from the current point.

    Attributes
    ----------
    to_mm : (float, float)
        Where the arc ends.
    sweep_rad : float
        Angle turned through about the centre; positive is anticlockwise (y up).
        Between -2*pi and 2*pi, both left out; a full circle is two halves.
    """

    to_mm: Point
    sweep_rad: float

    def __post_init__(self) -> None:
        if not SMALLEST_SWEEP_RAD < abs(self.sweep_rad) < math.tau:
            raise ValueError(f"sweep_rad: must be within one turn and not 0, got {self.sweep_rad}")


Segment = LineSegment | ArcSegment


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle in millimetres, y up."""

    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float

    def __post_init__(self) -> None:
        if not (self.left_mm <= self.right_mm and self.bottom_mm <= self.top_mm):
            raise ValueError(f"box is inside out: {self}")

    @property
    def width_mm(self) -> float:
        """Width."""
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        """Height."""
        return self.top_mm - self.bottom_mm

    @property
    def centre_mm(self) -> Point:
        """Point in the middle."""
        return (self.left_mm + self.right_mm) / 2, (self.bottom_mm + self.top_mm) / 2

    def grown(self, by_mm: float) -> Box:
        """Box larger by `by_mm` on every side."""
        return Box(
            self.left_mm - by_mm, self.bottom_mm - by_mm, self.right_mm + by_mm, self.top_mm + by_mm
        )

    def moved(self, dx_mm: float, dy_mm: float) -> Box:
        """Box shifted."""
        return Box(
            self.left_mm + dx_mm, self.bottom_mm + dy_mm, self.right_mm + dx_mm, self.top_mm + dy_mm
        )

    def overlaps(self, other: Box) -> bool:
        """Whether the two boxes share a point."""
        return (
            self.left_mm <= other.right_mm
            and other.left_mm <= self.right_mm
            and self.bottom_mm <= other.top_mm
            and other.bottom_mm <= self.top_mm
        )

    def contains(self, other: Box, slack_mm: float = 1e-9) -> bool:
        """Whether `other` lies inside, edges included."""
        return (
            self.left_mm - slack_mm <= other.left_mm
            and self.bottom_mm - slack_mm <= other.bottom_mm
            and other.right_mm <= self.right_mm + slack_mm
            and other.top_mm <= self.top_mm + slack_mm
        )


def box_around_points(points_mm: Iterable[Point]) -> Box:
    """Smallest box around the points.

    Raises
    ------
    ValueError
        If there is no point.
    """
    points = list(points_mm)
    if not points:
        raise ValueError("points_mm: a box needs at least one point")
    xs = [x for x, _ in points]
    ys = [y for _, y in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


def box_around_boxes(boxes: Iterable[Box]) -> Box:
    """Smallest box around the boxes; raises ValueError where there is none."""
    corners: list[Point] = []
    for box in boxes:
        corners += [(box.left_mm, box.bottom_mm), (box.right_mm, box.top_mm)]
    return box_around_points(corners)


def arc_centre_mm(start_mm: Point, arc: ArcSegment) -> Point:
    """Centre of the arc's circle.

    Examples
    --------
    Half a turn from (1, 0) to (-1, 0) is about the origin.

    >>> x, y = arc_centre_mm((1.0, 0.0), ArcSegment((-1.0, 0.0), math.pi))
    >>> round(x, 12) + 0.0, round(y, 12) + 0.0
    (0.0, 0.0)
    """
    (x0, y0), (x1, y1) = start_mm, arc.to_mm
    # Half the chord, turned a quarter anticlockwise, times cot(sweep/2) leads from its middle.
    cot = 1.0 / math.tan(arc.sweep_rad / 2)
    return (x0 + x1) / 2 - (y1 - y0) / 2 * cot, (y0 + y1) / 2 + (x1 - x0) / 2 * cot


def arc_radius_mm(start_mm: Point, arc: ArcSegment) -> float:
    """Radius of the arc: half the chord over ``sin(sweep/2)``."""
    chord_mm = math.dist(start_mm, arc.to_mm)
    return chord_mm / 2 / abs(math.sin(arc.sweep_rad / 2))


def point_on_arc_mm(start_mm: Point, arc: ArcSegment, turned_rad: float) -> Point:
    """Point of the arc after turning `turned_rad` from its start."""
    cx, cy = arc_centre_mm(start_mm, arc)
    dx, dy = start_mm[0] - cx, start_mm[1] - cy
    cos, sin = math.cos(turned_rad), math.sin(turned_rad)
    return cx + dx * cos - dy * sin, cy + dx * sin + dy * cos


def arc_extremes_mm(start_mm: Point, arc: ArcSegment) -> list[Point]:
    """Points of the arc at due east, north, west and south of its centre, where it reaches them."""
    cx, cy = arc_centre_mm(start_mm, arc)
    from_rad = math.atan2(start_mm[1] - cy, start_mm[0] - cx)
    found = []
    for quarter in range(4):
        turn = (quarter * math.pi / 2 - from_rad) % math.tau
        if arc.sweep_rad < 0:
            turn -= math.tau
        if abs(turn) <= abs(arc.sweep_rad):
            found.append(point_on_arc_mm(start_mm, arc, turn))
    return found


def walk(start_mm: Point, segments: Iterable[Segment]) -> Iterator[tuple[Point, Segment]]:
    """Yield each segment together with the point it starts from."""
    here = start_mm
    for segment in segments:
        yield here, segment
        here = segment.to_mm


def box_around_path(start_mm: Point, segments: Iterable[Segment]) -> Box:
    """Smallest box around a path, with the bow of its arcs."""
    points = [start_mm]
    for here, segment in walk(start_mm, segments):
        points.append(segment.to_mm)
        if isinstance(segment, ArcSegment):
            points += arc_extremes_mm(here, segment)
    return box_around_points(points)


def scaled_segments(
    segments: Iterable[Segment], factor: float, dx_mm: float, dy_mm: float
) -> tuple[Segment, ...]:
    """Multiply every point by `factor`, then shift it; sweeps stay as they are."""
    moved: list[Segment] = []
    for segment in segments:
        to_mm = (segment.to_mm[0] * factor + dx_mm, segment.to_mm[1] * factor + dy_mm)
        if isinstance(segment, ArcSegment):
            moved.append(ArcSegment(to_mm, segment.sweep_rad))
        else:
            moved.append(LineSegment(to_mm))
    return tuple(moved)
