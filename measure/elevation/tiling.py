"""A drawing too large for one sheet, cut into windows that overlap.

Frame: millimetres of paper at the drawing's scale, in the drawing's own place
(not yet shifted onto a sheet), y up.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from measure.elevation.bars import register_cross
from measure.elevation.drawing import Layer
from measure.elevation.path_geometry import Box, Point
from measure.elevation.primitives import Primitive
from shared.errors import FieldError

LEAST_OVERLAP_MM = 10.0
CROSS_MM = 6.0


@dataclass(frozen=True, slots=True)
class Tile:
    """What one sheet shows."""

    column: int
    row: int
    window: Box


@dataclass(frozen=True, slots=True)
class Tiling:
    """Windows in columns and rows.

    Attributes
    ----------
    left_mm, top_mm : float
        Upper left corner of the first window.
    width_mm, height_mm : float
        Of each window.
    columns, rows : int
    overlap_mm : float
    """

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    columns: int
    rows: int
    overlap_mm: float

    @property
    def count(self) -> int:
        """Number of windows."""
        return self.columns * self.rows

    def window(self, column: int, row: int) -> Box:
        """Window of that column and row, counted from the upper left."""
        left = self.left_mm + column * (self.width_mm - self.overlap_mm)
        top = self.top_mm - row * (self.height_mm - self.overlap_mm)
        return Box(left, top - self.height_mm, left + self.width_mm, top)

    def tiles(self) -> Iterator[Tile]:
        """Windows from left to right and top to bottom."""
        for row in range(self.rows):
            for column in range(self.columns):
                yield Tile(column, row, self.window(column, row))


@dataclass(frozen=True, slots=True)
class RegisterMark:
    """A place shown on two sheets or more, by which they are joined."""

    at_mm: Point
    letters: str

    @property
    def box(self) -> Box:
        """Room of the cross."""
        x, y = self.at_mm
        return Box(x, y, x, y).grown(CROSS_MM / 2)

    def primitives(self, layer: Layer) -> list[Primitive]:
        """Cross and letters."""
        return register_cross(layer, self.at_mm, self.letters, CROSS_MM)


def lay_tiles(content: Box, area: Box, overlap_mm: float) -> Tiling:
    """Fewest windows of the size of `area` that cover `content` and overlap.

    Raises
    ------
    FieldError
        If the overlap has no room for the crosses, or is wider than half a window.
    """
    if not (math.isfinite(overlap_mm) and overlap_mm >= LEAST_OVERLAP_MM):
        raise FieldError(
            f"Sheets that overlap by {overlap_mm:g} mm have no room for the crosses that join "
            f"them; give {LEAST_OVERLAP_MM:g} mm or more."
        )
    if overlap_mm > min(area.width_mm, area.height_mm) / 2:
        raise FieldError(
            f"An overlap of {overlap_mm:g} mm is more than half of what a sheet shows; give less."
        )

    def needed(length_mm: float, window_mm: float) -> int:
        return max(1, math.ceil((length_mm - overlap_mm) / (window_mm - overlap_mm) - 1e-9))

    columns = needed(content.width_mm, area.width_mm)
    rows = needed(content.height_mm, area.height_mm)
    covered_width = columns * area.width_mm - (columns - 1) * overlap_mm
    covered_height = rows * area.height_mm - (rows - 1) * overlap_mm
    x, y = content.centre_mm
    return Tiling(
        x - covered_width / 2,
        y + covered_height / 2,
        area.width_mm,
        area.height_mm,
        columns,
        rows,
        overlap_mm,
    )


def register_marks(tiling: Tiling) -> list[RegisterMark]:
    """Two crosses on each seam between two sheets, a fifth of the seam from its ends."""
    places: list[Point] = []
    for tile in tiling.tiles():
        window = tile.window
        if tile.column + 1 < tiling.columns:
            x = window.right_mm - tiling.overlap_mm / 2
            places += [(x, window.top_mm - share * window.height_mm) for share in (0.2, 0.8)]
        if tile.row + 1 < tiling.rows:
            y = window.bottom_mm + tiling.overlap_mm / 2
            places += [(window.left_mm + share * window.width_mm, y) for share in (0.2, 0.8)]
    return [RegisterMark(place, _letters(number)) for number, place in enumerate(places)]


def _letters(number: int) -> str:
    """A to Z, then AA, AB ..."""
    letters = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
