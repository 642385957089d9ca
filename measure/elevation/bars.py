"""Bar scale of the building, and the two bars that check the printer.

Frame: millimetres of paper, y up.
"""

from __future__ import annotations

import math
from typing import Literal

from measure.elevation import lettering
from measure.elevation.drawing import Layer
from measure.elevation.path_geometry import Box, Point
from measure.elevation.primitives import (
    Lettering,
    Primitive,
    fill_of,
    stroke_around,
    stroke_on,
)

CHECK_BAR_MM = 100.0
BAR_TEXT_MM = 1.8
BORDER_MM = 7.0
"""Width of the border that a check bar with its figures needs."""

MM_PER_FOOT = 304.8
LengthUnit = Literal["m", "ft"]

_CHECK_WORDS = (
    "Check bars: {} mm each way. Lay a rule along both; if they are not {} mm, the printer has "
    "changed the scale.",
    "{} mm each way: lay a rule along both bars to check the printer.",
    "{} mm: check both bars with a rule.",
    "Check both with a rule.",
    "Check both.",
)


def check_bars(layer: Layer, frame: Box) -> list[Primitive]:
    """Two bars of 100 mm in the border below and left of the frame, from its lower left corner.

    Where the frame is too small for 100 mm both are 50 mm long. A printer stretches
    paper differently along and across its feed, so one bar alone proves nothing.
    """
    length_mm = CHECK_BAR_MM if min(frame.width_mm, frame.height_mm) >= CHECK_BAR_MM else 50.0
    x0, y0 = frame.left_mm, frame.bottom_mm
    across_mm, tick_mm, small_mm = 3.2, 2.0, 1.1  # from the frame to the bar, and its ticks
    made: list[Primitive] = []

    def place(along_mm: float, out_mm: float, upright: bool) -> Point:
        return (x0 - out_mm, y0 + along_mm) if upright else (x0 + along_mm, y0 - out_mm)

    for upright in (False, True):
        ends = [place(0.0, across_mm, upright), place(length_mm, across_mm, upright)]
        made.append(stroke_on(layer, ends))
        for number in range(int(length_mm / 10) + 1):
            reach = tick_mm if number % 5 == 0 else small_mm
            along = 10.0 * number
            # Ticks point away from the frame, like the edge of a rule.
            tick = [place(along, across_mm, upright), place(along, across_mm - reach, upright)]
            made.append(stroke_on(layer, tick))
        # The last figure stands left of its tick, out of the way of the words.
        for along in sorted({0.0, 50.0, length_mm}):
            angle = math.pi / 2 if upright else 0.0
            at_mm = place(along, across_mm + 0.8 + (0.0 if upright else BAR_TEXT_MM), upright)
            align: Literal["left", "centre", "right"] = (
                "left" if along == 0.0 else "right" if along == length_mm else "centre"
            )
            words = f"{along:g} mm" if along == length_mm else f"{along:g}"
            made.append(Lettering(layer.name, at_mm, words, BAR_TEXT_MM, angle, align))
    room_mm = frame.width_mm - length_mm - 4.0
    for words in _CHECK_WORDS:
        text = words.format(f"{length_mm:g}", f"{length_mm:g}")
        if lettering.width_mm(text, BAR_TEXT_MM) <= room_mm:
            at_mm = (x0 + length_mm + 4.0, y0 - across_mm - 0.8 - BAR_TEXT_MM)
            made.append(Lettering(layer.name, at_mm, text, BAR_TEXT_MM))
            break
    return made


def bar_scale_length(
    scale_denominator: float, room_mm: float, unit: LengthUnit = "m"
) -> tuple[float, int]:
    """Length of a bar scale and the number of its parts.

    Parameters
    ----------
    scale_denominator : float
    room_mm : float
        Longest bar that the paper has room for.
    unit : {"m", "ft"}

    Returns
    -------
    length : float
        In metres or feet of the building: 1, 2 or 5 times a power of ten.
    parts : int
        Equal parts, each a round number.

    Examples
    --------
    5 m are 33.8 mm on paper at 1:148, and 10 m would be 67.6 mm.

    >>> bar_scale_length(148.0, 60.0)
    (5.0, 5)
    """
    unit_paper_mm = {"m": 1000.0, "ft": MM_PER_FOOT}[unit] / scale_denominator
    most = room_mm / unit_paper_mm
    power = 10.0 ** math.floor(math.log10(most))
    lead = next(lead for lead in (5, 2, 1) if lead * power <= most * (1 + 1e-12))
    return lead * power, {1: 5, 2: 4, 5: 5}[lead]


def bar_scale(
    layer: Layer,
    left_mm: float,
    baseline_mm: float,
    scale_denominator: float,
    room_mm: float,
    unit: LengthUnit = "m",
) -> list[Primitive]:
    """Bar of lengths on the building, its parts filled in turn, figures below it.

    Parameters
    ----------
    layer : Layer
    left_mm, baseline_mm : float
        Left end of the bar, and baseline of the figures.
    scale_denominator : float
    room_mm : float
        Width that bar, figures and the name of the unit may take.
    unit : {"m", "ft"}
    """
    size_mm, height_mm = BAR_TEXT_MM, 1.4
    # Half the last figure and the unit stand beyond the end of the bar.
    tail_mm = lettering.width_mm("1000 ft", size_mm)
    length, parts = bar_scale_length(scale_denominator, max(room_mm - tail_mm, 5.0), unit)
    full_mm = {"m": 1000.0, "ft": MM_PER_FOOT}[unit]
    paper_mm = length * full_mm / scale_denominator
    bottom = baseline_mm + size_mm + 0.9
    bar = Box(left_mm, bottom, left_mm + paper_mm, bottom + height_mm)
    made: list[Primitive] = [stroke_around(layer, bar)]
    step_mm = paper_mm / parts
    for number in range(parts):
        left = left_mm + number * step_mm
        if number % 2 == 0:
            made.append(fill_of(layer, Box(left, bottom, left + step_mm, bottom + height_mm)))
    texts = [f"{length * number / parts:.6g}" for number in range(parts + 1)]
    widest_mm = max(lettering.width_mm(text, size_mm) for text in texts)
    every = 1 if widest_mm + 1.0 < step_mm else parts
    for number, text in enumerate(texts):
        if number % every:
            continue
        at_mm = (left_mm + number * step_mm, baseline_mm)
        align: Literal["left", "centre"] = "left" if number == 0 else "centre"
        made.append(Lettering(layer.name, at_mm, text, size_mm, 0.0, align))
    end_mm = left_mm + paper_mm + lettering.width_mm(texts[-1], size_mm) / 2 + 1.0
    made.append(Lettering(layer.name, (end_mm, baseline_mm), unit, size_mm))
    return made


def register_cross(
    layer: Layer, at_mm: Point, letter: str, size_mm: float = 6.0
) -> list[Primitive]:
    """Cross that is drawn on two sheets and joins them, with its letter."""
    x, y = at_mm
    half = size_mm / 2
    return [
        stroke_on(layer, [(x - half, y), (x + half, y)]),
        stroke_on(layer, [(x, y - half), (x, y + half)]),
        Lettering(layer.name, (x + 1.0, y + 1.0), letter, BAR_TEXT_MM),
    ]
