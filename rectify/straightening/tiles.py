"""Rectangles of a picture, in whole pixels, and how they are cut up for the work."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Tile:
    """A rectangle of the picture, in pixels: left, top, width, height."""

    x: int
    y: int
    width: int
    height: int

    @property
    def longest(self) -> int:
        """Longer side."""
        return max(self.width, self.height)

    @property
    def area(self) -> int:
        """Number of pixels."""
        return self.width * self.height

    @property
    def inside(self) -> tuple[slice, slice]:
        """Rows and columns of the picture."""
        return slice(self.y, self.y + self.height), slice(self.x, self.x + self.width)

    def parts(self, width: int, height: int) -> list[Tile]:
        """Cut into tiles of at most this size."""
        return [
            Tile(x, y, min(width, self.x + self.width - x), min(height, self.y + self.height - y))
            for y in range(self.y, self.y + self.height, height)
            for x in range(self.x, self.x + self.width, width)
        ]

    def halves(self, multiple: int) -> tuple[Tile, Tile]:
        """Cut the longer side in two, a multiple of so many pixels from its start."""
        half = max(multiple, self.longest // 2 // multiple * multiple)
        if self.width >= self.height:
            return (
                Tile(self.x, self.y, half, self.height),
                Tile(self.x + half, self.y, self.width - half, self.height),
            )
        return (
            Tile(self.x, self.y, self.width, half),
            Tile(self.x, self.y + half, self.width, self.height - half),
        )
