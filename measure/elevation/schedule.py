"""The sizes of a building as a table: one row for each thing measured.

Knows no file format. Values are at full size; the model's follow from the scale.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

SIZE_ORDER = (
    "width",
    "height",
    "rise",
    "sill",
    "head",
    "level",
    "length",
    "radius",
    "span",
    "gauge",
    "spacing",
    "depth",
)
"""Order of the columns; names beyond these follow as they first appear."""


@dataclass(frozen=True, slots=True)
class ScheduleSize:
    """One size.

    Attributes
    ----------
    name : str
        Such as "width"; sizes of the same name share a column.
    value_mm : float
        At full size.
    u_mm : float or None
        One standard uncertainty at full size; None where it was not measured.
    """

    name: str
    value_mm: float
    u_mm: float | None = None


@dataclass(frozen=True, slots=True)
class ScheduleRow:
    """One opening, level or other measure.

    Attributes
    ----------
    face, id, label, kind : str
    sizes : tuple of ScheduleSize
        Names differ.
    form : str
        Kind of its head, for an opening.
    inferred : bool
        Mirrored, repeated or assumed.
    notes : str
    """

    face: str
    id: str
    label: str
    kind: str
    sizes: tuple[ScheduleSize, ...]
    form: str = ""
    inferred: bool = False
    notes: str = ""

    def __post_init__(self) -> None:
        names = [size.name for size in self.sizes]
        if len(set(names)) != len(names):
            raise ValueError(f"sizes: names must differ, got {names}")

    def size(self, name: str) -> ScheduleSize | None:
        """Size of that name, if the row has one."""
        return next((size for size in self.sizes if size.name == name), None)


@dataclass(frozen=True, slots=True)
class Schedule:
    """All rows of one building at one scale."""

    rows: tuple[ScheduleRow, ...]
    scale_denominator: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.scale_denominator) and self.scale_denominator > 0):
            raise ValueError(f"scale_denominator: above 0, got {self.scale_denominator}")

    def size_names(self) -> list[str]:
        """Names of all sizes that some row has, in the order of the columns."""
        found: list[str] = []
        for row in self.rows:
            found += [size.name for size in row.sizes if size.name not in found]
        known = [name for name in SIZE_ORDER if name in found]
        return known + [name for name in found if name not in SIZE_ORDER]
