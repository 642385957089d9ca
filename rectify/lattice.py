"""Photo positions for a whole tile of a picture at little cost.

Exact every few pixels, cubic between those, with the largest miss measured on the way.
Also says how many photo pixels go into one pixel of the picture, from which follows the
level of the photo's pyramid to read. Touches no pixel values.

Positions are kept as two planes, x and y, of shape (2, rows, columns).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from rectify.target_map import TargetMap
from rectify.tiles import Tile
from shared.jets import Array

#: Pixels of a level for one pixel of the picture, at most: above it the next smaller level
#: is faded in. A little over 1, because photos hold next to nothing at their finest pitch.
STEP_LIMIT = 1.06

#: Levels fade into each other over this part of the way from one to the next.
_FADE = 0.25

#: Exact nodes stand this many fine cells apart.
REFINE = 4


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
        means a pixel for every two of the photo's. See `levels_blended`.
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

    @property
    def levels(self) -> tuple[int, int]:
        """Finest and coarsest level that this tile reads."""
        asked = self.coarseness[self.near] if self.near.any() else self.coarseness
        finest, coarsest = levels_blended(np.array([asked.min(), asked.max()], np.float32))
        return math.floor(finest), math.ceil(coarsest)

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
        across = _cubic_weights(-(-self.tile.width // fine), self.nodes_px.shape[2])
        down = _cubic_weights(-(-self.tile.height // fine), self.nodes_px.shape[1])
        positions: Array = down @ (self.nodes_px @ across.T)
        return positions


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


def levels_blended(coarseness: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Which levels to draw from: 2 is level 2, 2.5 half of level 2 and half of level 3.

    Examples
    --------
    A picture a little coarser than level 2 draws half from level 3; soon all of it.

    >>> levels_blended(np.array([2.0, 2.125, 2.25, 2.9], np.float32)).tolist()
    [2.0, 2.5, 3.0, 3.0]
    """
    below = np.floor(coarseness)
    share = np.minimum((coarseness - below) / np.float32(_FADE), np.float32(1.0))
    return np.asarray(below + share, dtype=np.float32)


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


@lru_cache(maxsize=64)
def _cubic_weights(count: int, node_count: int) -> Array:
    """Cubic interpolation from cell middles to the middles of cells REFINE times finer.

    Row i belongs to fine cell ``i - 1``, column j to node ``j - 2``; each row takes the
    four nodes about it (Lagrange's polynomial), so straight lines stay straight.
    """
    weights = np.zeros((count + 2, node_count))
    at = (np.arange(-1, count + 1) + 0.5) / REFINE - 0.5 + 2.0
    first = np.floor(at).astype(int) - 1
    t = at - first
    rows = np.arange(count + 2)
    weights[rows, first] = -(t - 1.0) * (t - 2.0) * (t - 3.0) / 6.0
    weights[rows, first + 1] = t * (t - 2.0) * (t - 3.0) / 2.0
    weights[rows, first + 2] = -t * (t - 1.0) * (t - 3.0) / 2.0
    weights[rows, first + 3] = t * (t - 1.0) * (t - 2.0) / 6.0
    return weights


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
