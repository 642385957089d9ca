"""Rows and columns of like openings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

#: Openings of a row agree in sill, head and width within this part of their width.
ALIKE = 0.09

#: Middles of a column lie within this part of a width.
IN_LINE = 0.2


@dataclass(frozen=True, slots=True)
class Place:
    """One opening for grouping: left, bottom, right, top on the chart, and its head."""

    left: float
    low: float
    right: float
    top: float
    head: str


def group_rows(places: Sequence[Place]) -> list[list[int]]:
    """Group like openings at one level, from the bottom up, each from left to right.

    Examples
    --------
    >>> window = Place(0, 900, 1000, 2400, "flat")
    >>> other = Place(3000, 905, 4010, 2395, "flat")
    >>> group_rows([other, window, Place(6000, 0, 900, 2100, "flat")])
    [[2], [1, 0]]
    """
    rows: list[list[int]] = []
    for i in sorted(range(len(places)), key=lambda i: places[i].left):
        row = next((row for row in rows if _alike(places[row[0]], places[i])), None)
        if row is None:
            rows.append([i])
        else:
            row.append(i)
    return sorted(rows, key=lambda row: (places[row[0]].low, places[row[0]].left))


def group_columns(places: Sequence[Place]) -> list[list[int]]:
    """Group openings that stand above each other, from left to right, each from the bottom up."""
    columns: list[list[int]] = []
    for i in sorted(range(len(places)), key=lambda i: places[i].left + places[i].right):
        one = places[i]
        for column in columns:
            other = places[column[0]]
            wide = 0.5 * (one.right - one.left + other.right - other.left)
            off = 0.5 * abs(one.left + one.right - other.left - other.right)
            if off <= IN_LINE * wide:
                column.append(i)
                break
        else:
            columns.append([i])
    return [sorted(column, key=lambda i: places[i].low) for column in columns]


def _alike(one: Place, other: Place) -> bool:
    slack = ALIKE * max(one.right - one.left, other.right - other.left)
    gaps = (
        one.low - other.low,
        one.top - other.top,
        (one.right - one.left) - (other.right - other.left),
    )
    return one.head == other.head and all(abs(gap) <= slack for gap in gaps)
