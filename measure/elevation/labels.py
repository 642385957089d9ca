"""Places for lettering on an elevation where it strikes through nothing.

Frame: millimetres of paper at the scale the drawing is made for, the chart's origin at
(0, 0). Each label has places it would like, the best first; it takes the first that is free.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from measure.elevation import lettering
from measure.elevation.drawing import HorizontalAlign, Text
from measure.elevation.path_geometry import Box, Point
from measure.elevation.primitives import Lettering, box_of

#: Paper kept free around lettering.
CLEAR_MM = 0.25

#: From the middle of one line of a label to that of the next.
LINE_STEP_MM = 3.4

#: So much of a label may lie over something else, in square millimetres.
HARMLESS_MM2 = 0.05


@dataclass(frozen=True, slots=True)
class Place:
    """A place for a label.

    Attributes
    ----------
    at_mm : (u, v)
        What it belongs to, at full size.
    offset_paper_mm : (x, y)
        From there to the label: the middle of its height.
    size_mm : float
        Most that its lettering may be high.
    horizontal : {"left", "centre", "right"}
    angle_rad : float
    """

    at_mm: Point
    offset_paper_mm: Point
    size_mm: float
    horizontal: HorizontalAlign = "centre"
    angle_rad: float = 0.0


@dataclass(frozen=True, slots=True)
class Label:
    """Lines of lettering that stand together.

    Attributes
    ----------
    lines : tuple of (str, float)
        Text and height of capitals, from the top.
    owner : str
        What is drawn under this name is not in its way.
    id : str or None
    inferred : bool
    """

    lines: tuple[tuple[str, float], ...]
    owner: str = ""
    id: str | None = None
    inferred: bool = False


class Room:
    """What is taken on the paper.

    Parameters
    ----------
    denominator : float
        Full size over paper.
    """

    def __init__(self, denominator: float) -> None:
        self.denominator = denominator
        self._within: shapely.Geometry | None = None
        self._boxes: list[tuple[float, float, float, float]] = []
        self._owners: list[str] = []
        self._array = np.zeros((0, 4))

    @property
    def taken(self) -> int:
        """How many boxes are taken."""
        return len(self._boxes)

    def free_from(self, count: int) -> None:
        """Give back all boxes but the first `count`."""
        del self._boxes[count:], self._owners[count:]

    def keep_within(self, area: shapely.Geometry) -> None:
        """Leave only an area free, given at full size."""
        factor = 1.0 / self.denominator
        self._within = shapely.transform(area, lambda at: at * factor)
        shapely.prepare(self._within)

    def take(self, box: Box, owner: str = "") -> None:
        """Mark a box on paper as taken."""
        self._boxes.append((box.left_mm, box.bottom_mm, box.right_mm, box.top_mm))
        self._owners.append(owner)

    def take_full_size(self, box: Box, owner: str = "") -> None:
        """Mark a box given at full size as taken."""
        factor = 1.0 / self.denominator
        edges = (box.left_mm, box.bottom_mm, box.right_mm, box.top_mm)
        self.take(Box(*(edge * factor for edge in edges)), owner)

    def take_line(self, start_mm: Point, end_mm: Point, width_mm: float = 0.4) -> None:
        """Mark a line given at full size as taken: as small boxes along it."""
        (x0, y0), (x1, y1) = (
            (u / self.denominator, v / self.denominator) for u, v in (start_mm, end_mm)
        )
        level, plumb = abs(y1 - y0) < width_mm, abs(x1 - x0) < width_mm
        steps = 1 if level or plumb else max(1, math.ceil(math.dist((x0, y0), (x1, y1)) / width_mm))
        for number in range(min(steps, 400)):
            a, b = number / steps, (number + 1) / steps
            xs = sorted((x0 + a * (x1 - x0), x0 + b * (x1 - x0)))
            ys = sorted((y0 + a * (y1 - y0), y0 + b * (y1 - y0)))
            self.take(Box(xs[0], ys[0], xs[1], ys[1]).grown(width_mm / 2.0))

    def take_outline(self, points_mm: Sequence[Point]) -> None:
        """Mark the lines through points given at full size as taken."""
        for start, end in pairwise(points_mm):
            self.take_line(start, end)

    def covered_mm2(self, boxes: Sequence[Box], owner: str = "") -> float:
        """How much of some boxes is taken, save by `owner`, or lies where nothing may stand."""
        total = 0.0
        if self._within is not None:
            for box in boxes:
                shape = shapely.box(box.left_mm, box.bottom_mm, box.right_mm, box.top_mm)
                if not self._within.covers(shape):
                    total += float(shape.area - shape.intersection(self._within).area)
        if len(self._array) != len(self._boxes):
            self._array = np.array(self._boxes).reshape(-1, 4)
        if not len(self._array):
            return total
        left, bottom, right, top = self._array.T
        for box in boxes:
            across = np.minimum(right, box.right_mm) - np.maximum(left, box.left_mm)
            up = np.minimum(top, box.top_mm) - np.maximum(bottom, box.bottom_mm)
            area = np.maximum(across, 0.0) * np.maximum(up, 0.0)
            for at in np.flatnonzero(area):
                if not owner or self._owners[at] != owner:
                    total += float(area[at])
        return total


def first_free(
    label: Label, places: Iterable[Place], rooms: Sequence[Room], *, always: bool = False
) -> list[Text]:
    """Put a label where nothing is in its way, and take the place.

    Parameters
    ----------
    label : Label
    places : iterable of Place
        The best first.
    rooms : sequence of Room
        The first is asked what is free; the place is taken in all.
    always : bool
        Take the least crowded place where none is free.

    Returns
    -------
    list of Text
        Empty where none is free.
    """
    room = rooms[0]
    best: tuple[float, Place, list[Box]] | None = None
    for place in places:
        boxes = [box.grown(CLEAR_MM) for box in boxes_of_label(label, place, room.denominator)]
        covered = room.covered_mm2(boxes, label.owner)
        if best is None or covered < best[0]:
            best = covered, place, boxes
        if covered <= HARMLESS_MM2:
            break
    if best is None or (best[0] > HARMLESS_MM2 and not always):
        return []
    for each in rooms:
        for box in best[2]:
            each.take(box)
    return texts_of_label(label, best[1])


def boxes_of_label(label: Label, place: Place, denominator: float) -> list[Box]:
    """Boxes around the lines of a label on paper."""
    made = []
    for text in texts_of_label(label, place):
        x = text.at_mm[0] / denominator + text.offset_paper_mm[0]
        y = text.at_mm[1] / denominator + text.offset_paper_mm[1]
        drop = text.size_paper_mm / 2.0
        x += drop * math.sin(text.angle_rad)
        y -= drop * math.cos(text.angle_rad)
        size, angle = text.size_paper_mm, text.angle_rad
        made.append(box_of(Lettering(text.layer, (x, y), text.text, size, angle, text.horizontal)))
    return made


def texts_of_label(label: Label, place: Place) -> list[Text]:
    """Lines of a label at a place."""
    made = []
    middle = (len(label.lines) - 1) / 2.0
    for number, (words, size_mm) in enumerate(label.lines):
        step = (middle - number) * LINE_STEP_MM
        x, y = place.offset_paper_mm
        cos, sin = math.cos(place.angle_rad), math.sin(place.angle_rad)
        made.append(
            Text(
                "notes",
                place.at_mm,
                words,
                min(size_mm, place.size_mm),
                angle_rad=place.angle_rad,
                horizontal=place.horizontal,
                vertical="middle",
                offset_paper_mm=(x - step * sin, y + step * cos),
                id=label.id if number == 0 else None,
                inferred=label.inferred,
            )
        )
    return made


def width_of_label_mm(label: Label, size_mm: float) -> float:
    """Width of its longest line, no letter higher than `size_mm`."""
    return max(lettering.width_mm(words, min(size, size_mm)) for words, size in label.lines)


def height_of_label_mm(label: Label, size_mm: float) -> float:
    """From the foot of its last line to the top of its first."""
    first, last = label.lines[0][1], label.lines[-1][1]
    ends = (min(first, size_mm) + min(last, size_mm)) / 2.0
    return ends + (len(label.lines) - 1) * LINE_STEP_MM
