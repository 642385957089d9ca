"""Photo positions for a whole tile of a picture at little cost.

Exact every few pixels, cubic between those, with the largest miss measured on the way.
Also says how many photo pixels go into one pixel of the picture, from which follows the
level of the photo's pyramid to read. Touches no pixel values.

Positions are kept as two planes, x and y, of shape (2, rows, columns).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rectify.straightening.target_map import TargetMap
from rectify.straightening.tiles import Tile
from shared.jets import Array

#: Pixels of a level for one pixel of the picture, at most: above it the next smaller level
#: is faded in. A little over 1, because photos hold next to nothing at their finest pitch.
STEP_LIMIT = 1.06

#: Levels fade into each other over this part of the way from one to the next: wide enough
#: to hide the change, narrow because both are drawn there.
_FADE = 0.125

#: Exact nodes stand this many fine cells apart.
REFINE = 8


@dataclass(frozen=True, slots=True, eq=False)
class Lattice:
    """Exact photo positions at the middle of every cell of a tile, and round about.

    Parameters
    ----------
    tile : Tile
    step : int
        Cell size in pixels.
    nodes_px : ndarray, shape (2, rows + 4, columns + 4)
        Photo positions; two cells more than the tile on every side.
    coarseness : ndarray of float32, shape (rows + 2, columns + 2)
        Which level the picture asks for, one cell more than the tile on every side: 2
        means a pixel for every two of the photo's. See `share_of_level`.
    near : ndarray of bool, shape (rows + 2, columns + 2)
        Whether the photo may be met within a cell or so.
    gaps : bool
        Whether some position has no answer.
    """

    tile: Tile
    step: int
    nodes_px: Array
    coarseness: npt.NDArray[np.float32]
    near: npt.NDArray[np.bool_]
    gaps: bool

    def level_columns(self) -> list[tuple[int, int, int]]:
        """Levels that this tile reads, finest first, each with the columns it is read in.

        Returns
        -------
        list of (level, start, stop)
            `start` and `stop` in pixels from the tile's left edge; two levels overlap
            where one fades into the other. Never empty.
        """
        node = self.coarseness[1:-1, 1:-1]
        beside = self.near[:, :-2] | self.near[:, 1:-1] | self.near[:, 2:]
        near = beside[:-2] | beside[1:-1] | beside[2:]
        if not near.any():
            near = np.ones_like(near)
        corner = self._corners()
        around = (corner[:-1, :-1], corner[:-1, 1:], corner[1:, :-1], corner[1:, 1:])
        low, high = node, node
        for value in around:
            low, high = np.minimum(low, value), np.maximum(high, value)
        least, most = float(low[near].min()), float(high[near].max())
        finest = math.floor(least) + (least - math.floor(least) >= _FADE)
        coarsest = max(finest, math.ceil(most))
        found = []
        for index in range(finest, coarsest + 1):
            read = near & (low < index + _FADE)
            if index > finest:
                read &= high > index - 1
            columns = np.flatnonzero(read.any(axis=0))
            if len(columns):
                stop = min((int(columns[-1]) + 1) * self.step, self.tile.width)
                found.append((index, int(columns[0]) * self.step, stop))
        return found

    def _corners(self) -> npt.NDArray[np.float32]:
        """Coarseness at the corners of the tile's cells."""
        c = self.coarseness
        return np.asarray(0.25 * (c[:-1, :-1] + c[:-1, 1:] + c[1:, :-1] + c[1:, 1:]), np.float32)

    def crop(self, tile: Tile) -> Lattice:
        """The lattice of a tile within this one that starts at a whole cell."""
        column, row = (tile.x - self.tile.x) // self.step, (tile.y - self.tile.y) // self.step
        columns, rows = -(-tile.width // self.step), -(-tile.height // self.step)
        slim = np.s_[row : row + rows + 2, column : column + columns + 2]
        nodes = self.nodes_px[:, row : row + rows + 4, column : column + columns + 4]
        gaps = self.gaps and bool(np.isnan(nodes).any())
        return Lattice(tile, self.step, nodes, self.coarseness[slim], self.near[slim], gaps)

    def fine_px(self) -> Array:
        """Photo positions every ``step / REFINE`` pixels, one cell more on every side."""
        fine = self.step // REFINE
        across = _refined(np.swapaxes(self.nodes_px, 1, 2), -(-self.tile.width // fine) + 2)
        by_rows = np.ascontiguousarray(np.swapaxes(across, 1, 2))
        return _refined(by_rows, -(-self.tile.height // fine) + 2)


def make_lattice(
    target: TargetMap, tile: Tile, step: int, photo_size_px: tuple[int, int], last_level: int
) -> Lattice:
    """Work out the lattice of one tile.

    Parameters
    ----------
    target : TargetMap
    tile : Tile
    step : int
    photo_size_px : tuple of two ints
        Width and height.
    last_level : int
        Coarsest level there is.
    """
    x = tile.x + (np.arange(-2, -(-tile.width // step) + 2) + 0.5) * step
    y = tile.y + (np.arange(-2, -(-tile.height // step) + 2) + 0.5) * step
    nodes = target.photo_px(x, y)
    gap = np.isnan(nodes[0])
    with np.errstate(invalid="ignore", over="ignore", divide="ignore"):
        spread = _photo_px_per_target_px(nodes, step)
        coarseness = 2.0 * np.log2(np.fmax(spread / STEP_LIMIT, 1.0))
        reach = 1.5 * step * spread
        near = np.ones(spread.shape, bool)
        for plane, side in zip(nodes[:, 1:-1, 1:-1], photo_size_px, strict=True):
            near &= (plane >= -reach) & (plane <= side + reach)
    # beside a gap the photo is drawn together without end: the coarsest level, and near
    beside = np.isnan(spread) & ~gap[1:-1, 1:-1]
    coarseness = np.where(np.isfinite(spread), np.minimum(coarseness, last_level), last_level)
    return Lattice(tile, step, nodes, coarseness.astype(np.float32), near | beside, bool(gap.any()))


def share_of_level(index: int, coarseness: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """How much of level `index` to lay over the finer ones, 0 to 1.

    Examples
    --------
    A picture a little coarser than level 2 draws half from level 3, soon all of it.

    >>> share_of_level(3, np.array([1.5, 2.0, 2.0625, 2.125, 3.5], np.float32)).tolist()
    [0.0, 0.0, 0.5, 1.0, 1.0]
    """
    share = np.clip((coarseness - np.float32(index - 1)) * np.float32(1.0 / _FADE), 0.0, 1.0)
    return np.asarray(share, dtype=np.float32)


def _photo_px_per_target_px(nodes_px: Array, step: int) -> Array:
    """Largest stretch of the map at each inner node, by central differences."""
    xa, ya = (nodes_px[:, 1:-1, 2:] - nodes_px[:, 1:-1, :-2]) / (2.0 * step)
    xd, yd = (nodes_px[:, 2:, 1:-1] - nodes_px[:, :-2, 1:-1]) / (2.0 * step)
    squares = xa * xa + ya * ya + xd * xd + yd * yd
    area = xa * yd - ya * xd
    stretch: Array = np.sqrt(
        0.5 * (squares + np.sqrt(np.maximum(squares * squares - 4.0 * area * area, 0.0)))
    )
    return stretch


def _refined(nodes: Array, count: int) -> Array:
    """Cubic interpolation along the middle axis, REFINE values to a cell.

    The first value belongs to the fine cell before the tile, the first node to the second
    cell before it; each value takes the four nodes about it (Lagrange's polynomial), so
    straight lines stay straight. Written as sums of slices and not as a product of
    matrices: those would be handed to the linear algebra library's own threads, which on
    a busy machine wait for each other for longer than everything here takes.
    """
    values = np.empty((nodes.shape[0], count, nodes.shape[2]))
    for phase in range(REFINE):
        at = (phase - 0.5) / REFINE + 1.5
        first = math.floor(at) - 1
        t = at - first
        weights = (
            -(t - 1.0) * (t - 2.0) * (t - 3.0) / 6.0,
            t * (t - 2.0) * (t - 3.0) / 2.0,
            -t * (t - 1.0) * (t - 3.0) / 2.0,
            t * (t - 1.0) * (t - 2.0) / 6.0,
        )
        part = values[:, phase::REFINE]
        length = part.shape[1]
        np.multiply(nodes[:, first : first + length], weights[0], out=part)
        for k in (1, 2, 3):
            part += weights[k] * nodes[:, first + k : first + k + length]
    return values


def largest_miss_px(target: TargetMap, lattice: Lattice, fine_px: Array) -> float:
    """How far positions interpolated in a straight line between fine ones miss, at most.

    Looked at halfway between fine positions along x and along y (a straight line misses
    most there), once in each cell, where the photo is met or nearly so.

    Parameters
    ----------
    target, lattice : TargetMap, Lattice
    fine_px : ndarray
        `Lattice.fine_px` of it.

    Returns
    -------
    float
        In pixels of the photo or of the picture, whichever are larger.
    """
    fine = lattice.step // REFINE
    corner = fine_px[:, 1:-1:REFINE, 1:-1:REFINE]
    rows, columns = corner.shape[1:]
    right = fine_px[:, 1:-1:REFINE, 2::REFINE][:, :, :columns]
    below = fine_px[:, 2::REFINE, 1:-1:REFINE][:, :rows]
    x = lattice.tile.x + np.arange(columns) * lattice.step
    y = lattice.tile.y + np.arange(rows) * lattice.step
    miss = np.zeros((rows, columns))
    spread = np.ones((rows, columns))
    for other, dx, dy in ((right, 1.0, 0.5), (below, 0.5, 1.0)):
        exact = target.photo_px(x + dx * fine, y + dy * fine)
        miss += np.hypot(*(0.5 * (corner + other) - exact))
        spread = np.fmax(spread, np.hypot(*(other - corner)) / fine)
    looked_at = lattice.near[1:-1, 1:-1] & np.isfinite(miss)
    return float(np.max(miss / spread, where=looked_at, initial=0.0))
