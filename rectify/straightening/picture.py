"""Drawing a straightened picture: cuts it into tiles and reads the photo for each.

This is the only place, with `rectify.photos.pyramid`, where half a pixel is taken off for
OpenCV, which counts from pixel centres and not from outer corners.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
import numpy.typing as npt

from rectify.photos.pixels import RgbPixels
from rectify.photos.pyramid import Level, Pyramid
from rectify.straightening.homography_spans import visible_spans
from rectify.straightening.lattice import (
    REFINE,
    Lattice,
    largest_miss_px,
    make_lattice,
    share_of_level,
)
from rectify.straightening.target_map import TargetMap
from rectify.straightening.tiles import Tile
from shared.jets import Array

#: Largest miss of a position against the exact map, in pixels of photo or picture,
#: whichever are larger; far below what the eye or a pick can tell.
POSITION_TOLERANCE_PX = 0.02

# Sizes of work, in pixels: a band drawn by one homography (width, area); a tile whose
# lattice is made at once; rows of it whose map (8 bytes a pixel) stays in the cache, or
# that are drawn from several levels; a tile worked out pixel by pixel.
_BAND = (8192, 4_000_000)
_LATTICE_TILE = (4096, 1024)
_STRIP_ROWS = 128
_EXACT_TILE = 128

_PLANE_STEP = 64
_STEPS = (64, 32, 16)

Plane32 = npt.NDArray[np.float32]
Reader = Callable[[Level, int, int, RgbPixels | None], RgbPixels]


@dataclass(frozen=True, eq=False)
class Picture:
    """A picture being drawn.

    Parameters
    ----------
    target : TargetMap
    pyramid : Pyramid
    flag : int
        OpenCV's name for the interpolation.
    rgb : ndarray of uint8, shape (h, w, 3)
    visible : ndarray of uint8, shape (h, w)
        Both start as zeros.
    one_level : bool
        Whether all is read from one level.
    """

    target: TargetMap
    pyramid: Pyramid
    flag: int
    rgb: RgbPixels
    visible: RgbPixels
    one_level: bool = False

    @property
    def photo_size_px(self) -> tuple[int, int]:
        """Width and height of the photo."""
        height, width = self.pyramid.pixels.shape[:2]
        return width, height

    def draw(self) -> Iterator[Tile]:
        """Draw all of it; yields each tile when it is done."""
        whole = Tile(0, 0, self.visible.shape[1], self.visible.shape[0])
        seen = self.target.seen_columns()
        if not seen.any():
            yield whole
            return
        homography = self.target.homography()
        if homography is not None:
            yield from self._draw_plane(homography, whole)
            return
        for tile in whole.parts(*_LATTICE_TILE):
            rows, columns = tile.inside
            shown = np.flatnonzero(seen[columns])
            if len(shown):
                left, right = int(shown[0]), int(shown[-1]) + 1
                self._draw_mapped(Tile(tile.x + left, tile.y, right - left, tile.height))
                if len(shown) < right - left:  # a window that goes round the tower
                    self.rgb[rows, columns][:, ~seen[columns]] = 0
                    self.visible[rows, columns][:, ~seen[columns]] = 0
            yield tile

    def _lattice(self, tile: Tile, step: int) -> Lattice:
        lattice = make_lattice(self.target, tile, step, self.photo_size_px, self.pyramid.last)
        if self.one_level:
            lattice.coarseness[...] = self._level_of_all
        return lattice

    @cached_property
    def _level_of_all(self) -> int:
        """The level that suits most of the picture."""
        whole = Tile(0, 0, self.visible.shape[1], self.visible.shape[0])
        every = make_lattice(self.target, whole, _PLANE_STEP, self.photo_size_px, self.pyramid.last)
        asked = every.coarseness[every.near] if every.near.any() else every.coarseness
        return round(float(np.median(asked)))

    # -- by one homography

    def _draw_plane(self, homography: Array, whole: Tile) -> Iterator[Tile]:
        first, end = visible_spans(homography, whole.width, whole.height, self.photo_size_px)
        width = min(whole.width, _BAND[0])
        for band in whole.parts(width, max(1, _BAND[1] // width)):
            rows, _ = band.inside
            starts = np.clip(first[rows], band.x, band.x + band.width)
            stops = np.clip(end[rows], band.x, band.x + band.width)
            seen = np.flatnonzero(stops > starts)
            if len(seen):
                left, top = int(starts[seen].min()), band.y + int(seen[0])
                right, bottom = int(stops[seen].max()), band.y + int(seen[-1]) + 1
                tile = Tile(left, top, right - left, bottom - top)
                self._warp(homography, self._lattice(tile, _PLANE_STEP))
                rows, _ = tile.inside
                self._clear_outside(tile, first[rows], end[rows])
            yield band

    def _warp(self, homography: Array, lattice: Lattice) -> None:
        tile = lattice.tile
        if len(lattice.level_columns()) > 1 and tile.height > _STRIP_ROWS:
            for strip in tile.parts(tile.width, _STRIP_ROWS):
                self._warp(homography, lattice.crop(strip))
            return

        def read(level: Level, start: int, stop: int, out: RgbPixels | None) -> RgbPixels:
            (sx, sy), (ox, oy) = level.scale, level.offset_px
            centre_from_photo = np.array([[sx, 0, ox - 0.5], [0, sy, oy - 0.5], [0, 0, 1]])
            x, y = tile.x + start + 0.5, tile.y + 0.5
            target_from_centre = np.array([[1, 0, x], [0, 1, y], [0, 0, 1]])
            drawn = cv2.warpPerspective(
                level.pixels,
                centre_from_photo @ homography @ target_from_centre,
                (stop - start, tile.height),
                dst=out,
                flags=self.flag | cv2.WARP_INVERSE_MAP,
                borderMode=cv2.BORDER_REPLICATE,
            )
            return np.asarray(drawn, dtype=np.uint8)

        self._read_levels(lattice, read)

    def _clear_outside(
        self, tile: Tile, first: npt.NDArray[np.int64], end: npt.NDArray[np.int64]
    ) -> None:
        """Mark what is visible of a drawn tile and blacken the rest, row by row."""
        rgb, visible = self.rgb[tile.inside], self.visible[tile.inside]
        visible[...] = 255
        starts = np.clip(first - tile.x, 0, tile.width)
        stops = np.clip(end - tile.x, starts, tile.width)
        for row in np.flatnonzero(starts > 0):
            rgb[row, : starts[row]] = 0
            visible[row, : starts[row]] = 0
        for row in np.flatnonzero(stops < tile.width):
            rgb[row, stops[row] :] = 0
            visible[row, stops[row] :] = 0

    # -- by a map

    def _draw_mapped(self, tile: Tile) -> None:
        for step in _STEPS:
            lattice = self._lattice(tile, step)
            if not lattice.near.any():
                return
            if lattice.gaps:
                break
            fine_px = lattice.fine_px()
            if largest_miss_px(self.target, lattice, fine_px) <= POSITION_TOLERANCE_PX:
                self._remap(lattice, fine_px.astype(np.float32))
                return
        if tile.longest > _EXACT_TILE:
            for half in tile.halves(_STEPS[0]):
                self._draw_mapped(half)
            return
        x = tile.x + np.arange(tile.width) + 0.5
        y = tile.y + np.arange(tile.height) + 0.5
        exact_px = self.target.photo_px(x, y).astype(np.float32)
        self._read_mapped(self._lattice(tile, _STEPS[-1]), exact_px, 1)

    def _remap(self, lattice: Lattice, fine_px: Plane32) -> None:
        """Draw a tile in strips."""
        tile, fine = lattice.tile, lattice.step // REFINE
        for strip in tile.parts(tile.width, _STRIP_ROWS):
            row, rows = (strip.y - tile.y) // fine, -(-strip.height // fine) + 2
            self._read_mapped(lattice.crop(strip), fine_px[:, row : row + rows], fine)

    def _read_mapped(self, lattice: Lattice, positions_px: Plane32, fine: int) -> None:
        """Draw a tile from photo positions `fine` pixels apart, with a cell all round.

        With `fine` 1 the positions are those of the pixels, with nothing round them.
        """
        if not lattice.near.any():
            return
        tile = lattice.tile
        x_px, y_px = positions_px

        def map_px(level: Level) -> Plane32:
            (sx, sy), (ox, oy) = level.scale, level.offset_px
            coarse = cv2.merge([x_px * sx + (ox - 0.5), y_px * sy + (oy - 0.5)])
            return _enlarged(coarse, fine, tile)

        latest: list[tuple[Level, Plane32]] = []  # two levels in turn may share a size

        def read(level: Level, start: int, stop: int, out: RgbPixels | None) -> RgbPixels:
            if not latest or latest[0][0].scale != level.scale:
                latest[:] = [(level, map_px(level))]
            drawn = cv2.remap(
                level.pixels,
                latest[0][1][:, start:stop],
                None,
                self.flag,
                dst=out,
                borderMode=cv2.BORDER_REPLICATE,
            )
            return np.asarray(drawn, dtype=np.uint8)

        self._read_levels(lattice, read)
        width, height = self.photo_size_px
        visible, rgb = self.visible[tile.inside], self.rgb[tile.inside]
        if x_px.min() >= 0.0 and x_px.max() <= width and y_px.min() >= 0.0 and y_px.max() <= height:
            visible[...] = 255
            return
        level, position_px = latest[0]
        (sx, sy), (ox, oy) = level.scale, level.offset_px
        low = (ox - 0.5, oy - 0.5)
        high = (width * sx + low[0], height * sy + low[1])
        visible[...] = cv2.inRange(position_px, low, high)
        rgb[...] = cv2.bitwise_and(rgb, cv2.merge([visible, visible, visible]))

    # -- from one level or several

    def _read_levels(self, lattice: Lattice, read: Reader) -> None:
        """Draw a tile from its level, or from several fading into each other."""
        rgb = self.rgb[lattice.tile.inside]
        (index, start, stop), *coarser = lattice.level_columns()
        read(self.pyramid.level(index), start, stop, rgb[:, start:stop])
        if not coarser:
            return
        coarseness = _enlarged(lattice.coarseness, lattice.step, lattice.tile)
        for index, start, stop in coarser:
            drawn = read(self.pyramid.level(index), start, stop, None)
            share = share_of_level(index, coarseness[:, start:stop])
            out = rgb[:, start:stop]
            out[...] = cv2.blendLinear(out, drawn, 1.0 - share, share)


def _enlarged(coarse: npt.NDArray[np.generic], factor: int, tile: Tile) -> Plane32:
    """Values at the pixels of a tile from values at cell middles, one cell all round."""
    if factor == 1:
        return np.asarray(coarse, dtype=np.float32)
    rows, columns = coarse.shape[:2]
    fine = cv2.resize(coarse, (columns * factor, rows * factor), interpolation=cv2.INTER_LINEAR)
    cut = fine[factor : factor + tile.height, factor : factor + tile.width]
    return np.asarray(cut, dtype=np.float32)
