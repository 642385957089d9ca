"""A picture to draw invented fronts on, in millimetres from its lower left corner."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import cv2
import numpy as np

Colour = tuple[float, float, float]
Box = tuple[float, float, float, float]


class Canvas:
    """RGB in 0 to 1, so many millimetres to the pixel."""

    def __init__(self, width_mm: float, height_mm: float, mm_per_px: float) -> None:
        self.mm_per_px = mm_per_px
        size = (2 * round(height_mm / mm_per_px / 2), 2 * round(width_mm / mm_per_px / 2))
        self.height_mm = size[0] * mm_per_px
        self.pixels = np.zeros((*size, 3), np.float32)

    def place(self, points_mm: np.ndarray) -> np.ndarray:
        """Pixel places of points, in sixteenths as OpenCV draws them."""
        points = np.asarray(points_mm, dtype=float).reshape(-1, 2)
        x = points[:, 0] / self.mm_per_px - 0.5
        y = (self.height_mm - points[:, 1]) / self.mm_per_px - 0.5
        return np.round(16 * np.column_stack([x, y])).astype(np.int32)

    def _window(self, points_mm: np.ndarray, more_px: int = 2) -> tuple[slice, slice, np.ndarray]:
        """Rows and columns round a polygon, and how far each pixel there lies inside it."""
        places = self.place(points_mm)
        shape = np.array(self.pixels.shape[1::-1])
        low = np.clip(places.min(axis=0) // 16 - more_px, 0, shape)
        high = np.clip(places.max(axis=0) // 16 + more_px + 1, low, shape)
        mask = np.zeros((high[1] - low[1], high[0] - low[0]), np.uint8)
        if mask.size:
            cv2.fillPoly(mask, [places - 16 * low.astype(np.int32)], 255, cv2.LINE_AA, shift=4)
        rows, columns = slice(low[1], high[1]), slice(low[0], high[0])
        return rows, columns, mask.astype(np.float32) / 255.0

    @contextmanager
    def within(self, points_mm: np.ndarray) -> Iterator[None]:
        """Whatever is drawn meanwhile shows inside a polygon only."""
        rows, columns, mask = self._window(points_mm, 60)
        before = self.pixels[rows, columns].copy()
        yield
        share = mask[..., None]
        self.pixels[rows, columns] = share * self.pixels[rows, columns] + (1 - share) * before

    def polygon(
        self,
        points_mm: np.ndarray | Sequence[Sequence[float]],
        colour: Colour | np.ndarray,
        *,
        grain: float = 0.0,
        rng: np.random.Generator | None = None,
        opacity: float = 1.0,
    ) -> None:
        """Fill a polygon."""
        rows, columns, mask = self._window(np.asarray(points_mm, dtype=float))
        if not mask.size:
            return
        share = opacity * mask[..., None]
        paint = np.broadcast_to(np.asarray(colour, np.float32), (*mask.shape, 3))
        if grain and rng is not None:
            paint = paint + rng.normal(0, grain, (*mask.shape, 1)).astype(np.float32)
        part = self.pixels[rows, columns]
        self.pixels[rows, columns] = part * (1 - share) + share * paint

    def rectangle(self, box: Box, colour: Colour | np.ndarray, **more: object) -> None:
        """Fill left, bottom, right, top."""
        left, low, right, high = box
        corners = [(left, low), (right, low), (right, high), (left, high)]
        self.polygon(corners, colour, **more)  # type: ignore[arg-type]

    def darken(self, points_mm: np.ndarray, factor: float | np.ndarray, soft_px: float = 0) -> None:
        """Multiply what lies inside a polygon."""
        rows, columns, mask = self._window(points_mm, 2 + int(4 * soft_px))
        if not mask.size:
            return
        if soft_px:
            mask = cv2.GaussianBlur(mask, (0, 0), soft_px)
        self.pixels[rows, columns] *= 1 - mask[..., None] * (1 - np.asarray(factor, np.float32))

    def line(self, points_mm: np.ndarray, colour: Colour, width_mm: float) -> None:
        """Draw an open line."""
        thick = max(1, round(width_mm / self.mm_per_px))
        places = [self.place(points_mm)]
        cv2.polylines(self.pixels, places, False, colour, thick, cv2.LINE_AA, 4)

    def write(self, text: str, at_mm: tuple[float, float], height_mm: float, ink: Colour) -> None:
        """Write capitals, from their lower left corner."""
        size = height_mm / self.mm_per_px / 22.0
        thick = max(1, round(height_mm / self.mm_per_px / 7))
        x, y = self.place(np.array([at_mm]))[0] // 16
        mask = np.zeros(self.pixels.shape[:2], np.uint8)
        font = cv2.FONT_HERSHEY_SIMPLEX
        cv2.putText(mask, text, (int(x), int(y)), font, size, 255, thick, cv2.LINE_AA)
        self.pixels[mask > 127] = ink


def outline(
    left: float, right: float, sill: float, springing: float, top: float, head: str
) -> np.ndarray:
    """Polygon of an opening, from its lower left corner."""
    middle, half, rise = (left + right) / 2, (right - left) / 2, top - springing
    if head == "round":
        turn = np.linspace(0, 2 * np.pi, 65)[:-1]
        return np.column_stack([middle + half * np.cos(turn), sill + half * (1 + np.sin(turn))])
    foot = [(left, sill), (right, sill)]
    if head == "flat" or rise <= 0:
        return np.array([*foot, (right, top), (left, top)])
    if head == "pointed":
        # struck from centres on the springing line, through springing and point
        radius = (half**2 + rise**2) / (2 * half)
        turn = np.linspace(0, np.arctan2(rise, radius - half), 17)
        right_side = np.column_stack(
            [right - radius + radius * np.cos(turn), springing + radius * np.sin(turn)]
        )
        left_side = np.column_stack([2 * middle - right_side[::-1, 0], right_side[::-1, 1]])
        return np.concatenate([foot, right_side, left_side])
    radius = (half**2 + rise**2) / (2 * rise)
    reach = np.arcsin(min(1.0, half / radius))
    turn = np.linspace(reach, -reach, 33)
    arc = np.column_stack([middle + radius * np.sin(turn), top - radius + radius * np.cos(turn)])
    return np.concatenate([foot, arc])
