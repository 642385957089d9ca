"""Straight edges of a photo, each as a few points along it with their own ±.

OpenCV's detector of line segments says roughly where edges are, on a smaller copy of
the photo. Across each, the step of brightness is then placed to a fraction of a pixel at
many stations. An edge bent by the lens comes in pieces; nothing here knows of cameras.

References
----------
R. Grompone von Gioi, J. Jakubowicz, J.-M. Morel, G. Randall, "LSD: a line segment
detector", Image Processing On Line 2, 2012: the method of OpenCV's detector.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from shared.jets import Array

#: Longer side of the copies on which edges are looked for, and placed.
DETECT_SIDE_PX, PLACE_SIDE_PX = 1600, 3200

#: Shorter pieces say too little of their direction, as part of the photo's diagonal.
SHORTEST = 0.016

#: Never looked at more than this many pieces, the longest.
MOST_PIECES = 700

#: Points that a piece is told by.
KNOTS = 5

#: Stations along a piece, for each knot.
_STATIONS = 7

#: How far across a piece is looked, in pixels of the copy on which it is placed.
_REACH_PX = 4

#: Smoothing of that copy: with it a step of one pixel is seen at three.
_SMOOTHING_PX = 0.8

#: What no station's scatter knows: pixel shape, brightness curve, shadow along an edge.
_U_MODEL_PX = 0.08

#: More scatter than this, in pixels of the copy, is a hedge and no edge.
_MOST_SCATTER_PX = 0.7


@dataclass(frozen=True, slots=True, eq=False)
class EdgePieces:
    """Straight pieces of edges, n of them.

    Parameters
    ----------
    points_px : ndarray, shape (n, KNOTS, 2)
        Along each piece in order; photo pixels.
    u_px : ndarray, shape (n,)
        Standard uncertainty of each of those points across the piece.
    """

    points_px: Array
    u_px: Array

    @property
    def ends_px(self) -> Array:
        """First and last points, shape (n, 2, 2)."""
        return self.points_px[:, [0, -1]]

    @property
    def lengths_px(self) -> Array:
        """Lengths, shape (n,)."""
        ends = self.ends_px
        return np.asarray(np.hypot(*(ends[:, 1] - ends[:, 0]).T))

    def __len__(self) -> int:
        return len(self.u_px)

    def of(self, which: npt.NDArray[np.intp] | npt.NDArray[np.bool_]) -> EdgePieces:
        """Some of the pieces."""
        return EdgePieces(self.points_px[which], self.u_px[which])


def find_edge_pieces(pixels: npt.NDArray[np.uint8]) -> EdgePieces:
    """Find the straight edges of a photo, the longest first.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (H, W, 3) or (H, W)
        Upright photo.

    Returns
    -------
    EdgePieces
        May be empty.
    """
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY) if pixels.ndim == 3 else pixels
    placed_on = _no_longer_than(grey, PLACE_SIDE_PX)
    looked_at = _no_longer_than(placed_on, DETECT_SIDE_PX)
    found = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD).detect(looked_at)[0]
    if found is None:
        return EdgePieces(np.zeros((0, KNOTS, 2)), np.zeros(0))
    ends = np.asarray(found, dtype=float).reshape(-1, 2, 2)
    lengths = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    least_px = SHORTEST * float(np.hypot(*looked_at.shape[:2]))
    order = np.argsort(-lengths)[:MOST_PIECES]
    ends = ends[order[lengths[order] >= least_px]]
    if len(ends) == 0:
        return EdgePieces(np.zeros((0, KNOTS, 2)), np.zeros(0))
    # pixel centres are at whole numbers in arrays and at halves in the photo's frame
    ends = (ends + 0.5) * _ratio(placed_on, looked_at) - 0.5
    smooth = cv2.GaussianBlur(placed_on, (0, 0), _SMOOTHING_PX)
    points, u_px = _place(smooth, ends)
    ratio = _ratio(grey, placed_on)
    pieces = EdgePieces((points + 0.5) * ratio, u_px * float(ratio.mean()))
    return pieces.of(np.argsort(-pieces.lengths_px, kind="stable"))


def _no_longer_than(grey: npt.NDArray[np.generic], side_px: int) -> npt.NDArray[np.generic]:
    height, width = grey.shape[:2]
    share = side_px / max(height, width)
    if share >= 1.0:
        return grey
    size = (max(1, round(width * share)), max(1, round(height * share)))
    return np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA))


def _ratio(large: npt.NDArray[np.generic], small: npt.NDArray[np.generic]) -> Array:
    return np.array([large.shape[1] / small.shape[1], large.shape[0] / small.shape[0]], dtype=float)


def _place(grey: npt.NDArray[np.generic], ends: Array) -> tuple[Array, Array]:
    """Place pieces on the steps of brightness: knots (n, KNOTS, 2) and their ±.

    Pieces along which no steady step is found are left out.
    """
    lengths = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    along = (ends[:, 1] - ends[:, 0]) / np.maximum(lengths, 1e-9)[:, None]
    across = np.stack([-along[:, 1], along[:, 0]], axis=-1)
    count = KNOTS * _STATIONS
    share = np.linspace(0.03, 0.97, count)
    feet = ends[:, :1] + share[None, :, None] * (ends[:, 1:] - ends[:, :1])
    offsets = np.arange(-_REACH_PX - 1, _REACH_PX + 2, dtype=float)
    at = feet[:, :, None] + offsets[None, None, :, None] * across[:, None, None, :]
    at = at.reshape(len(ends), -1, 2).astype(np.float32)
    levels = _sampled(grey, at).reshape(len(ends), count, len(offsets))
    slopes = 0.5 * (levels[..., 2:] - levels[..., :-2])
    sense = np.sign(slopes[..., _REACH_PX - 1 : _REACH_PX + 2].sum(axis=(1, 2)))
    slopes = slopes * sense[:, None, None]
    where, height = _peaks(slopes)
    usual = np.median(height, axis=1, keepdims=True)
    sound = (height > 0.4 * usual) & (usual > 0.7) & np.isfinite(where)
    place = share - 0.5
    where, sound, scatter = _follow(place, where, sound)
    knots = np.zeros((len(ends), KNOTS, 2))
    u_px = np.zeros(len(ends))
    fewest = np.full(len(ends), _STATIONS)
    for knot in range(KNOTS):
        mine = slice(knot * _STATIONS, (knot + 1) * _STATIONS)
        held = sound[:, mine]
        n = held.sum(axis=1)
        fewest = np.minimum(fewest, n)
        with np.errstate(invalid="ignore", divide="ignore"):
            t = (held * share[mine]).sum(axis=1) / n
            off = np.where(held, where[:, mine], 0.0).sum(axis=1) / n
        knots[:, knot] = ends[:, 0] + t[:, None] * (ends[:, 1] - ends[:, 0])
        knots[:, knot] += off[:, None] * across
    u_px = np.hypot(scatter / np.sqrt(np.maximum(fewest, 1)), _U_MODEL_PX)
    good = (fewest >= 2) & (sound.mean(axis=1) > 0.6) & (scatter < _MOST_SCATTER_PX)
    good &= np.isfinite(knots).all(axis=(1, 2))
    return knots[good], u_px[good]


def _sampled(grey: npt.NDArray[np.generic], at: npt.NDArray[np.float32]) -> Array:
    """Brightness at places; OpenCV takes at most 32 766 rows at once, and there are fewer."""
    out = cv2.remap(grey, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(out, dtype=float)


def _peaks(slopes: Array) -> tuple[Array, Array]:
    """Steepest place across, to a fraction of a sample, and how steep it is there.

    Nearer the middle counts more, so that the other side of a thin joint is not taken.
    """
    offsets = np.arange(slopes.shape[-1]) - _REACH_PX
    favoured = slopes * (1.0 - 0.5 * (np.abs(offsets) / _REACH_PX) ** 2)
    best = np.argmax(favoured, axis=-1)
    inner = np.clip(best, 1, slopes.shape[-1] - 2)
    take = np.take_along_axis
    left, mid, right = (take(slopes, (inner + d)[..., None], -1)[..., 0] for d in (-1, 0, 1))
    bend = left - 2.0 * mid + right
    with np.errstate(invalid="ignore", divide="ignore"):
        shift = 0.5 * (left - right) / bend
    inside = (best == inner) & (bend < 0.0) & (np.abs(shift) <= 1.0)
    return np.where(inside, inner - _REACH_PX + shift, np.nan), mid


def _follow(
    place: Array, where: Array, sound: npt.NDArray[np.bool_]
) -> tuple[Array, npt.NDArray[np.bool_], Array]:
    """Keep the stations that lie on one slightly bent line; give their scatter about it."""
    design = np.stack([np.ones_like(place), place, place**2], axis=-1)
    filled = np.where(sound, where, 0.0)
    limit = np.full(len(where), 2.5)
    scatter = np.full(len(where), np.inf)
    for _ in range(4):
        weights = sound.astype(float)
        normal = np.einsum("nk,ki,kj->nij", weights, design, design) + 1e-6 * np.eye(3)
        right = np.einsum("nk,ki,nk->ni", weights, design, filled)
        line = np.einsum("ni,ki->nk", np.linalg.solve(normal, right[..., None])[..., 0], design)
        off = np.where(sound, np.abs(filled - line), np.nan)
        with np.errstate(all="ignore"):
            count = np.maximum(sound.sum(axis=1) - 3, 1)
            scatter = np.sqrt(np.nansum(off**2, axis=1) / count)
        limit = np.maximum(2.5 * scatter, 0.15)
        sound = sound & (np.nan_to_num(off, nan=np.inf) <= limit[:, None])
    return filled, sound, scatter
