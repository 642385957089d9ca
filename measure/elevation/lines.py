"""Lines of an elevation that can be taken hold of: levels, and jambs one above the other.

What stands on one line of the drawing is one line, whether it was lined up, moved there or
measured so: it is moved as one. Frame: that of the drawing, millimetres of the building.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from measure.elevation.build import Composed
from measure.elevation.quantities import Quantities

#: Places closer than this are one line.
SAME_LINE_MM = 0.01

#: An edge of the outline that leaves its line by less than this lies on it.
STRAIGHT_MM = 0.5


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """One level or plumb line.

    Attributes
    ----------
    what : {"level", "plumb"}
    at_mm : float
        Above the datum, or from the left edge of the drawing as lined up.
    measured_mm : float
        The mean of what was measured there.
    members : tuple of str
        Numbers of the face that stand on it, such as "w1.sill".
    pieces : tuple of (from, to)
        Where on the line something stands.
    owners : tuple of str
        What stands there, piece by piece: the member.
    moved : bool
        Drawn elsewhere by the user.
    fixed : bool
        The datum: it cannot be moved.
    """

    what: Literal["level", "plumb"]
    at_mm: float
    measured_mm: float
    members: tuple[str, ...]
    pieces: tuple[tuple[float, float], ...]
    owners: tuple[str, ...]
    moved: bool
    fixed: bool


@dataclass(frozen=True, slots=True)
class _Stand:
    """One number on a line, and the piece of the line that it takes; None for a lone pick."""

    name: str
    value_mm: float
    measured_mm: float
    piece: tuple[float, float] | None


def drawn_lines(done: Composed, edges_mm: tuple[float, float]) -> tuple[DrawnLine, ...]:
    """Lines of a composed elevation, levels upwards, then plumb lines to the right.

    Parameters
    ----------
    done : Composed
        What completing or fitting moved on offers no line.
    edges_mm : pair of float
        Left edge as measured and as lined up, on the chart.
    """
    found: list[DrawnLine] = []
    kinds: tuple[Literal["level", "plumb"], ...] = ("level", "plumb")
    for what in kinds:
        lines: list[list[_Stand]] = []
        for each in sorted(_stands(done, what, edges_mm), key=lambda each: each.value_mm):
            if not lines or each.value_mm - lines[-1][0].value_mm > SAME_LINE_MM:
                lines.append([])
            lines[-1].append(each)
        # what only lone picks stand on is no line to take hold of
        drawn = [line for line in lines if any(each.piece is not None for each in line)]
        found += [_line(what, line, done.tidied.moved) for line in drawn]
    return tuple(found)


def _line(what: Literal["level", "plumb"], line: list[_Stand], moved: dict[str, str]) -> DrawnLine:
    pieces = [(each.piece, each.name) for each in line if each.piece is not None]
    names = tuple(each.name for each in line)
    return DrawnLine(
        what,
        line[0].value_mm,
        float(np.mean([each.measured_mm for each in line])),
        names,
        tuple(piece for piece, _ in pieces),
        tuple(name for _, name in pieces),
        any(name in moved for name in names),
        "datum.level" in names,
    )


def _stands(
    done: Composed, what: Literal["level", "plumb"], edges_mm: tuple[float, float]
) -> Iterator[_Stand]:
    before, after = done.tidied.measured, done.tidied.numbers
    off = edges_mm if what == "plumb" else (0.0, 0.0)

    def stand(column: int, piece: tuple[float, float] | None) -> _Stand:
        value, measured = float(after.values[column]), float(before.values[column])
        return _Stand(after.names[column], value - off[1], measured - off[0], piece)

    stays = {each.id: each.box for each in done.measured.openings_left_by(done.facade)}
    for each in after.openings:
        box = stays.get(each.id)
        if box is None:
            continue
        if what == "plumb":
            yield stand(each.left, (box.bottom_mm, box.top_mm))
            yield stand(each.right, (box.bottom_mm, box.top_mm))
        else:
            for column in dict.fromkeys((each.sill, each.springing, each.head)):
                yield stand(column, (box.left_mm, box.right_mm))
    wall = done.facade.wall_box
    if what == "level":
        for level in after.levels:
            yield stand(level.v, (wall.left_mm, wall.right_mm))
    for points in after.points:
        if points.kind == "outline":
            columns, others = (points.v, points.u) if what == "level" else (points.u, points.v)
            shift = edges_mm[1] if what == "level" else 0.0
            for at, column in enumerate(columns):
                yield stand(column, _edge(after, columns, others, at, shift))
        elif points.kind in ("spacing", "distance"):
            for column in points.v if what == "level" else points.u:
                yield stand(column, None)


def _edge(
    numbers: Quantities,
    columns: tuple[int, ...],
    others: tuple[int, ...],
    at: int,
    shift_mm: float,
) -> tuple[float, float]:
    """Edge of an outline that leaves a corner along its line, else the corner itself."""
    after = (at + 1) % len(columns)
    here, there = numbers.values[columns[at]], numbers.values[columns[after]]
    start = float(numbers.values[others[at]]) - shift_mm
    end = float(numbers.values[others[after]]) - shift_mm
    if abs(there - here) > STRAIGHT_MM:
        end = start
    return min(start, end), max(start, end)
