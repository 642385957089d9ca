"""Pieces of edges that run in one direction, joined over gaps into lines of a few points.

A line is told by the plane through the camera that holds it. All lines of one direction
share the axis of these planes, so that the angle about that axis names a line, whatever
the lens, and two pieces are of one line where their angles agree to within a pixel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rectify.guides.edges import EdgePieces
from rectify.guides.line_camera import LineCamera
from shared.jets import Array

#: Pieces are joined where they lie on one line to this many pixels of a photo 1600 px long.
APART_PX = 0.8

#: ... and the gap is no longer than this many times the shorter, or this part of the diagonal.
LONGEST_GAP, GAP_OF_DIAGONAL = 2.0, 0.03

#: Points that a line is told by; the longest have the most.
FEWEST_POINTS, MOST_POINTS = 3, 7

#: A line this long, as part of the diagonal, has one point more than the fewest.
POINT_EACH = 0.07

#: Lines of one direction that may be kept, and cells of the photo, each way, they are spread on.
MOST_LINES, CELLS = 20, 3

#: How far an edge of a building lies out of straight, as part of its length: a millimetre in a
#: metre from end to end (common practice, no source), less at a point between.
OUT_OF_STRAIGHT = 0.0005

#: Of one direction, more than this many are not believed to be independent.
INDEPENDENT_LINES = 12


@dataclass(frozen=True, slots=True, eq=False)
class PhotoLine:
    """One line of known direction.

    Parameters
    ----------
    direction : int
        As in `rectify.guides.line_camera`.
    points_px : ndarray, shape (k, 2)
        Along the line in order; photo pixels.
    u_px : float
        Standard uncertainty of each across the line, with what the real edge is out of straight.
    """

    direction: int
    points_px: Array
    u_px: float

    @property
    def length_px(self) -> float:
        """From the first to the last point."""
        return float(np.hypot(*(self.points_px[-1] - self.points_px[0])))


def angles_about(camera: LineCamera, direction: int, points_px: Array) -> Array:
    """Angle of the plane that holds each point and the direction, in radians."""
    ab = camera.straight_ab(points_px)
    axis = camera.directions[direction]
    ahead = np.array([0.0, 0.0, 1.0]) if abs(axis[2]) < 0.95 else np.array([0.0, 1.0, 0.0])
    first = ahead - (ahead @ axis) * axis
    first /= np.linalg.norm(first)
    second = np.cross(axis, first)
    rays = np.concatenate([ab, np.ones((*ab.shape[:-1], 1))], axis=-1)
    return np.asarray(np.arctan2(rays @ second, rays @ first))


def _wrapped(angles: Array) -> Array:
    """Differences of plane angles: a plane comes round after half a turn."""
    return np.asarray((angles + np.pi / 2) % np.pi - np.pi / 2)


def rad_per_px(camera: LineCamera, direction: int, points_px: Array, across: Array) -> Array:
    """Change of `angles_about` for a pixel across, shape of points without the last axis."""
    step = 0.5
    ahead = angles_about(camera, direction, points_px + step * across)
    behind = angles_about(camera, direction, points_px - step * across)
    return np.abs(_wrapped(ahead - behind)) / (2 * step)


def line_residuals_px(camera: LineCamera, line: PhotoLine) -> Array:
    """How far the points of a line lie from the best line of its direction, shape (k,)."""
    chord = line.points_px[-1] - line.points_px[0]
    across = np.array([-chord[1], chord[0]]) / max(float(np.hypot(*chord)), 1e-9)
    angles = angles_about(camera, line.direction, line.points_px)
    slope = np.maximum(rad_per_px(camera, line.direction, line.points_px, across), 1e-12)
    off = _wrapped(angles - angles[0])
    weight = slope**-2
    off = off - (weight @ off) / weight.sum()
    return np.asarray(off / slope)


def join_pieces(
    pieces: EdgePieces,
    direction_of: npt.NDArray[np.intp],
    camera: LineCamera,
    diagonal_px: float,
) -> list[PhotoLine]:
    """Join pieces to lines and choose those that hold the camera best.

    Parameters
    ----------
    pieces : EdgePieces
    direction_of : ndarray of int, shape (n,)
        -1 for pieces of no direction.
    camera : LineCamera
    diagonal_px : float
        Of the photo.

    Returns
    -------
    list of PhotoLine
        Spread over the photo, the longest of each part first.
    """
    lines: list[PhotoLine] = []
    for direction in range(len(camera.directions)):
        which = np.flatnonzero(direction_of == direction)
        if len(which) == 0:
            continue
        mine = pieces.of(which)
        label = _joined(mine, direction, camera, diagonal_px)
        made = [_line(mine.of(label == one), direction, diagonal_px) for one in np.unique(label)]
        lines += _spread(made)
    return lines


def _joined(
    pieces: EdgePieces, direction: int, camera: LineCamera, diagonal_px: float
) -> npt.NDArray[np.intp]:
    """Number the lines that pieces belong to."""
    ends, lengths = pieces.ends_px, pieces.lengths_px
    count = len(pieces)
    chords = (ends[:, 1] - ends[:, 0]) / lengths[:, None]
    across = np.stack([-chords[:, 1], chords[:, 0]], axis=-1)
    angles = angles_about(camera, direction, ends)
    slope = rad_per_px(camera, direction, ends, across[:, None])
    limit = APART_PX * max(diagonal_px / 2000.0, 1.0)
    # the nearest pair of ends of two pieces
    gap = np.linalg.norm(ends[:, None, :, None] - ends[None, :, None], axis=-1)
    gap = gap.reshape(count, count, 4)
    pair = np.argmin(gap, axis=-1)
    rows, columns = np.indices((count, count))
    off = _wrapped(angles[rows, pair // 2] - angles[columns, pair % 2])
    apart_px = np.abs(off) / np.maximum(slope[rows, pair // 2], 1e-12)
    shorter = np.minimum(lengths[:, None], lengths[None])
    near = gap.min(axis=-1) < np.maximum(LONGEST_GAP * shorter, GAP_OF_DIAGONAL * diagonal_px)
    # one beside the other is two edges of one thing, unless they overlap by their ends only
    joined = near & (apart_px < limit) & ~_beside(ends, chords, lengths)
    label = np.arange(count)
    for _ in range(count):
        least = np.where(joined, label[None], count).min(axis=1)
        least = np.minimum(least, label)
        if np.array_equal(least, label):
            break
        label = least
    return label


def _beside(ends: Array, chords: Array, lengths: Array) -> npt.NDArray[np.bool_]:
    """Pairs of which one lies beside the other over more than a third of the shorter."""
    along = (
        np.einsum("ijk,nk->nij", ends, chords)
        - np.einsum("nk,nk->n", ends[:, 0], chords)[:, None, None]
    )
    low, high = along.min(axis=-1), along.max(axis=-1)
    overlap = np.minimum(high, lengths[:, None]) - np.maximum(low, 0.0)
    shorter = np.minimum(lengths[:, None], lengths[None])
    out: npt.NDArray[np.bool_] = overlap > shorter / 3.0
    np.fill_diagonal(out, False)
    return out


def _line(pieces: EdgePieces, direction: int, diagonal_px: float) -> PhotoLine:
    points = pieces.points_px.reshape(-1, 2)
    spread = points - points.mean(axis=0)
    axis = np.linalg.svd(spread, full_matrices=False)[2][0]
    place = spread @ axis
    order = np.argsort(place)
    points, place = points[order], place[order]
    length_px = float(place[-1] - place[0])
    count = FEWEST_POINTS + int(length_px / (POINT_EACH * diagonal_px))
    count = min(count, MOST_POINTS)
    wanted = np.linspace(place[0], place[-1], count)
    which = np.unique([int(np.argmin(np.abs(place - at))) for at in wanted])
    u_px = math.hypot(float(pieces.u_px.max()), OUT_OF_STRAIGHT * length_px)
    return PhotoLine(direction, points[which], u_px)


def _spread(lines: list[PhotoLine]) -> list[PhotoLine]:
    """Choose lines all over the photo, the longest of each part in turn; weaken what is many."""
    lines = sorted(
        (line for line in lines if len(line.points_px) >= FEWEST_POINTS),
        key=lambda line: -line.length_px,
    )
    if not lines:
        return []
    middles = np.array([line.points_px.mean(axis=0) for line in lines])
    low, high = middles.min(axis=0), middles.max(axis=0)
    cells = np.minimum((middles - low) / np.maximum(high - low, 1.0) * CELLS, CELLS - 1).astype(int)
    waiting: dict[tuple[int, int], list[PhotoLine]] = {}
    for line, cell in zip(lines, cells, strict=True):
        waiting.setdefault((int(cell[0]), int(cell[1])), []).append(line)
    chosen: list[PhotoLine] = []
    while any(waiting.values()) and len(chosen) < MOST_LINES:
        turn = sorted((w for w in waiting.values() if w), key=lambda w: -w[0].length_px)
        for queue in turn[: MOST_LINES - len(chosen)]:
            chosen.append(queue.pop(0))
    wider = math.sqrt(max(1.0, len(chosen) / INDEPENDENT_LINES))
    return [PhotoLine(one.direction, one.points_px, one.u_px * wider) for one in chosen]
