"""A wall as strips of openings and of solid wall between them, along it or up it.

Along the wall the strips are bays and piers, up the wall rows and what is between rows.
Shortening a wall means taking strips out, or making the solid ones narrower; openings stay
as they are.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from measure.elevation.facade import DrawnOpening


@dataclass(frozen=True, slots=True)
class Strip:
    """Openings that share a part of the wall.

    Attributes
    ----------
    low_mm, high_mm : float
        From the first edge to the last.
    openings : tuple of DrawnOpening
    """

    low_mm: float
    high_mm: float
    openings: tuple[DrawnOpening, ...]


@dataclass(frozen=True, slots=True)
class Strips:
    """All strips of a wall in order, and the ends of the wall.

    Attributes
    ----------
    low_mm, high_mm : float
    strips : tuple of Strip
        Apart from each other.
    """

    low_mm: float
    high_mm: float
    strips: tuple[Strip, ...]

    @property
    def solids_mm(self) -> list[tuple[float, float]]:
        """Solid wall between strips and at the ends; none has less than no width."""
        edges = [self.low_mm]
        for strip in self.strips:
            edges += [strip.low_mm, strip.high_mm]
        edges.append(self.high_mm)
        return [(a, max(a, b)) for a, b in zip(edges[0::2], edges[1::2], strict=True)]

    @property
    def solid_mm(self) -> float:
        """Sum of all solid wall."""
        return sum(high - low for low, high in self.solids_mm)

    def without(self, number: int) -> Callable[[float], float]:
        """Map that takes a strip out with the solid wall before it, or behind the first."""
        strip = self.strips[number]
        if number == 0:
            start = strip.low_mm
            end = self.strips[1].low_mm if len(self.strips) > 1 else strip.high_mm
        else:
            start, end = self.strips[number - 1].high_mm, strip.high_mm
        length = end - start
        return lambda at: at if at <= start else start if at <= end else at - length

    def narrowed(self, factor: float) -> Callable[[float], float]:
        """Map that multiplies all solid wall by a factor and leaves openings as they are.

        The far end of the wall at `low_mm` stays where it is.
        """
        before: list[float] = [self.low_mm]
        after: list[float] = [self.low_mm]
        for number, (low, high) in enumerate(self.solids_mm):
            before.append(high)
            after.append(after[-1] + factor * (high - low))
            if number < len(self.strips):
                strip = self.strips[number]
                before.append(strip.high_mm)
                after.append(after[-1] + strip.high_mm - strip.low_mm)
        xs, ys = np.array(before), np.array(after)

        def moved(at: float) -> float:
            if at <= xs[0]:
                return at - float(xs[0] - ys[0])
            if at >= xs[-1]:
                return at - float(xs[-1] - ys[-1])
            place = bisect_right(before, at) - 1
            run = xs[place + 1] - xs[place]
            share = 0.0 if run == 0.0 else (at - xs[place]) / run
            return float(ys[place] + share * (ys[place + 1] - ys[place]))

        return moved


def strips_along(openings: Sequence[DrawnOpening], low_mm: float, high_mm: float) -> Strips:
    """Bays of a wall: openings above one another, from left to right."""
    return _strips([(each.left_mm, each.right_mm, each) for each in openings], low_mm, high_mm)


def strips_up(openings: Sequence[DrawnOpening], low_mm: float, high_mm: float) -> Strips:
    """Rows of a wall: openings beside one another, from the foot up."""
    return _strips([(each.sill_mm, each.head_mm, each) for each in openings], low_mm, high_mm)


def _strips(
    spans: Sequence[tuple[float, float, DrawnOpening]], low_mm: float, high_mm: float
) -> Strips:
    found: list[Strip] = []
    for low, high, opening in sorted(spans, key=lambda span: span[:2]):
        if found and low < found[-1].high_mm:
            last = found.pop()
            both = (*last.openings, opening)
            found.append(Strip(last.low_mm, max(last.high_mm, high), both))
        else:
            found.append(Strip(low, high, (opening,)))
    return Strips(
        min(low_mm, *(s.low_mm for s in found), low_mm),
        max(high_mm, *(s.high_mm for s in found), high_mm),
        tuple(found),
    )
