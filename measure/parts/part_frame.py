"""The sheet that parts are laid on: frame, bars both ways, key to the lines, what it is.

Frame: millimetres of paper, (0, 0) at the lower left corner of the sheet, y up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from measure.elevation import lettering
from measure.elevation.drawing import Layer, circle_segments
from measure.elevation.paper import Paper, safe_area
from measure.elevation.path_geometry import Box, Point
from measure.elevation.primitives import Lettering, Primitive, Stroke, stroke_around, stroke_on
from measure.elevation.title_block import CAUTION
from measure.parts.printer import Correction

PART_LAYERS = (
    Layer("cut", 0.25, "solid", "cut through"),
    Layer("trim", 0.13, "solid", "trim after gluing"),
    Layer("score-face", 0.25, "dashed", "score on the face, fold away"),
    Layer("score-back", 0.25, "dashed", "score on the back, fold towards you; ends ringed"),
    Layer("bevel", 0.13, "dashed", "far edge of a bevelled end"),
    Layer("place", 0.13, "chain", "where something else goes"),
    Layer("glue", 0.13, "solid", "hatched: glue here"),
    Layer("mark", 0.18, "solid", "bars, arrows, marks"),
    Layer("words", 0.18, "solid", "marks and names of parts"),
    Layer("frame", 0.35, "solid", "edge of the sheet's work"),
    Layer("bar", 0.25, "solid", "bars that check the printer"),
)
"""Layers of a sheet of parts: each kind of line by its width, dashes and rings, never by colour."""

LAYER = {layer.name: layer for layer in PART_LAYERS}

BORDER_MM = 7.0
STRIP_MM = 21.0
BAR_MM, SHORT_BAR_MM = 150.0, 100.0
SMALL_MM, TEXT_MM, TITLE_MM = 1.8, 2.5, 3.5
HATCH_MM = 1.4
RING_MM = 0.45

_LEGEND = (
    ("cut", "cut"),
    ("trim", "trim after gluing"),
    ("glue", "glue here"),
    ("score-face", "score the face, fold away"),
    ("score-back", "score the back, fold up"),
    ("bevel", "far edge of a bevel"),
    ("place", "another part goes here"),
)


@dataclass(frozen=True, slots=True)
class PartFrame:
    """An empty sheet of parts.

    Attributes
    ----------
    paper : Paper
    area : Box
        Room for parts.
    items : tuple of Primitive
    """

    paper: Paper
    area: Box
    items: tuple[Primitive, ...]


def part_area(paper: Paper, margin_mm: float, correction: Correction) -> tuple[Box, Box]:
    """Box of the frame and of the room within it, small enough to stay on the sheet corrected."""
    safe = safe_area(paper, margin_mm)
    cx, cy = safe.centre_mm
    half_w = safe.width_mm / 2.0 / max(correction.across, 1.0)
    half_h = safe.height_mm / 2.0 / max(correction.up, 1.0)
    frame = Box(cx - half_w + BORDER_MM, cy - half_h + BORDER_MM, cx + half_w, cy + half_h)
    area = Box(frame.left_mm, frame.bottom_mm + STRIP_MM, frame.right_mm, frame.top_mm)
    return frame, area.grown(-2.0)


def make_part_frame(
    paper: Paper,
    margin_mm: float,
    correction: Correction,
    *,
    title: str,
    holds: str,
    number: int,
    count: int,
    scale: str,
    legend: bool = True,
    grain: bool = True,
) -> PartFrame:
    """Lay out an empty sheet of parts.

    Parameters
    ----------
    paper : Paper
    margin_mm : float
    correction : Correction
    title : str
        Of the building.
    holds : str
        What is on the sheet, such as "folding carton 0.45 mm".
    number, count : int
    scale : str
        In words.
    legend, grain : bool
        Whether the key to the lines and the arrow of the grain are shown.
    """
    frame, area = part_area(paper, margin_mm, correction)
    top = frame.bottom_mm + STRIP_MM
    items: list[Primitive] = [
        stroke_around(LAYER["frame"], frame),
        stroke_on(LAYER["frame"], [(frame.left_mm, top), (frame.right_mm, top)]),
        *long_bars(frame, corrected=not correction.is_none),
    ]
    left = frame.left_mm + 3.0
    middle = frame.left_mm + (0.5 if legend else 0.78) * frame.width_mm
    room = middle - left - 3.0
    for text, size, y in (
        (title, TITLE_MM, top - 5.6),
        (holds, TEXT_MM, top - 10.4),
        (f"{scale} · sheet {number} of {count}, {paper.name}", SMALL_MM, top - 14.2),
    ):
        lines, fitted = lettering.fitted(text, size, room)
        items += [Lettering("words", (left, y), line, fitted) for line in lines]
    lines, size = lettering.fitted(CAUTION, 1.2, frame.width_mm - 6.0, smallest_mm=1.2)
    items += [Lettering("words", (left, frame.bottom_mm + 2.0), line, size) for line in lines]
    if legend:
        items += _legend(middle, top - 3.6, frame.right_mm - 3.0)
    if grain:
        x = frame.right_mm - 4.0
        low = frame.bottom_mm + 6.0
        items += _arrow((x, low), (x, low + 9.0))
        words = Lettering("words", (x - 1.4, low), "grain", SMALL_MM, math.pi / 2)
        items.append(words)
    return PartFrame(paper, area, tuple(items))


def _arrow(foot: Point, tip: Point) -> list[Primitive]:
    x, y = tip
    return [
        stroke_on(LAYER["mark"], [foot, tip]),
        stroke_on(LAYER["mark"], [(x - 1.0, y - 1.8), tip, (x + 1.0, y - 1.8)]),
    ]


def _legend(left: float, top: float, right: float) -> list[Primitive]:
    """One sample of each kind of line with its words, in two columns."""
    items: list[Primitive] = []
    column = (right - left - 8.0) / 2.0
    for number, (name, words) in enumerate(_LEGEND):
        x = left + (number // 4) * column
        y = top - (number % 4) * 4.2
        if name == "glue":
            items += [
                stroke_on(LAYER[name], [(x + at, y - 0.4), (x + at + 2.0, y + 1.6)])
                for at in (0.0, 1.4, 2.8, 4.2, 5.6, 7.0)
            ]
        else:
            sample = stroke_on(LAYER[name], [(x, y + 0.6), (x + 9.0, y + 0.6)])
            items += [sample, *(pricked_ends(sample) if name == "score-back" else ())]
        fitted, size = lettering.fitted(words, 1.6, column - 12.0, most_lines=2, smallest_mm=1.3)
        for row, line in enumerate(fitted):
            items.append(Lettering("words", (x + 10.5, y - 2.1 * row), line, size))
    return items


def pricked_ends(line: Stroke) -> list[Stroke]:
    """Rings that touch both ends of a straight line from outside: prick through, score behind."""
    layer = LAYER["mark"]
    (x0, y0), (x1, y1) = line.start_mm, line.segments[-1].to_mm
    length = math.hypot(x1 - x0, y1 - y0)
    dx, dy = RING_MM * (x1 - x0) / length, RING_MM * (y1 - y0) / length
    return [
        Stroke(layer.name, *circle_segments(centre, RING_MM), layer.width_mm, closed=True)
        for centre in ((x0 - dx, y0 - dy), (x1 + dx, y1 + dy))
    ]


def long_bars(frame: Box, *, corrected: bool = False) -> list[Primitive]:
    """Bars of 150 mm with 100 marked, below and left of a frame; 100 alone where it is small."""
    bar = LAYER["bar"]
    items: list[Primitive] = []
    for upright in (False, True):
        room = frame.height_mm if upright else frame.width_mm
        length = BAR_MM if room >= BAR_MM else SHORT_BAR_MM if room >= SHORT_BAR_MM else 50.0
        name = "up" if upright else "across"

        def place(along: float, out: float, upright: bool = upright) -> Point:
            if upright:
                return frame.left_mm - out, frame.bottom_mm + along
            return frame.left_mm + along, frame.bottom_mm - out

        line = stroke_on(bar, [place(0.0, 3.4), place(length, 3.4)])
        items.append(Stroke(bar.name, line.start_mm, line.segments, bar.width_mm, id=f"bar-{name}"))
        for number in range(int(length / 10.0) + 1):
            along = 10.0 * number
            reach = 2.4 if along in (0.0, SHORT_BAR_MM, BAR_MM) else 1.2
            items.append(stroke_on(bar, [place(along, 3.4), place(along, 3.4 - reach)]))
        angle = math.pi / 2 if upright else 0.0
        for along in (SHORT_BAR_MM, BAR_MM):
            if along <= length:
                at = place(along - 1.0, 4.2 if upright else 4.1 + SMALL_MM)
                items.append(Lettering("bar", at, f"{along:g} mm", SMALL_MM, angle, "right"))
        words = (
            "printed with a correction: both bars should be true now"
            if corrected
            else "measure both bars: give what they show, and the next print is corrected"
        )
        room_mm = (length if length < BAR_MM else SHORT_BAR_MM) - 16.0
        fitted, size = lettering.fitted(words, SMALL_MM, room_mm, smallest_mm=1.3)
        at = place(1.0, 4.2 if upright else 4.1 + SMALL_MM)
        items += [Lettering("bar", at, text, size, angle) for text in fitted[:1]]
    return items
