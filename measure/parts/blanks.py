"""What is laid on sheets: copies of parts by their shapes, and their places.

Frame: millimetres of the sheet's free area, (0, 0) at its lower left corner. The grain of a
sheet runs up it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import affinity

from measure.parts.part import Grain, Part

#: Quarter turns at which parts are laid, by their grain; half a turn more changes no grain.
TURNS: dict[Grain, tuple[int, ...]] = {"up": (0,), "along": (1,), "any": (0, 1)}


@dataclass(frozen=True, slots=True)
class Blank:
    """One thing to be laid: the shape of a part, how it may be turned, which copy it is."""

    number: int
    shape: shapely.Geometry
    turns: tuple[int, ...]
    copy_number: int = 1

    def turned(self, quarters: int) -> shapely.Geometry:
        """Shape turned, its box's lower left corner at (0, 0)."""
        shape = (
            affinity.rotate(self.shape, 90 * quarters, origin=(0, 0)) if quarters else self.shape
        )
        left, low, _, _ = shape.bounds
        return affinity.translate(shape, -left, -low)

    def placed(self, place: Placement) -> shapely.Geometry:
        """What it takes of its sheet."""
        return affinity.translate(self.turned(place.quarters), place.left_mm, place.bottom_mm)


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a blank lies.

    Attributes
    ----------
    number : int
        Of the blank, as given.
    sheet : int
    quarters : int
        Quarter turns anticlockwise.
    left_mm, bottom_mm : float
        Lower left corner of its box after turning.
    """

    number: int
    sheet: int
    quarters: int
    left_mm: float
    bottom_mm: float


def blanks_of(parts: Sequence[Part]) -> tuple[list[Blank], list[Part]]:
    """One blank for each copy of each part, and which part it is."""
    blanks: list[Blank] = []
    owners: list[Part] = []
    for part in parts:
        shape = part.area
        for copy_number in range(1, part.count + 1):
            blanks.append(Blank(len(blanks), shape, TURNS[part.grain], copy_number))
            owners.append(part)
    return blanks, owners
