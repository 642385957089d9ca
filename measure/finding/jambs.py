"""Pairs of upright runs with a sill below and perhaps a lintel above: candidates."""

from __future__ import annotations

from dataclasses import dataclass, fields

import cv2
import numpy as np
import numpy.typing as npt

from measure.finding.edges import EdgeMaps, Runs
from measure.finding.picture import BoxMeans, Floats, WallPicture

Array = npt.NDArray[np.float64]

#: Narrowest and widest opening looked for, and the lowest.
NARROW_MM, WIDE_MM, LOW_MM = 380.0, 4200.0, 380.0

#: Both jambs are there over this part of the shorter run at least.
LEAST_OVERLAP = 0.55

#: Marks of a jamb may lie so far to either side of it.
JAMB_MM = 30.0

#: Part of a sill or a lintel that must show as an edge.
LEAST_ACROSS = 0.5

#: How far sill and lintel may lie from where the jambs end.
END_MM = 190.0

#: An opening is this much unlike wall inside; and there is this much wall beside it.
LEAST_INSIDE, LEAST_BESIDE = 0.35, 0.2

#: Candidates that differ by less are one.
TWINS_MM = 40.0

#: Thinner things than this are no place for an opening.
THIN_MM = 230.0

#: So many candidates are looked at closely in one place (a larger place has more), and in all.
A_PLACE, MOST_CANDIDATES = 12, 700

#: What an arch that may be there counts for before it is looked for, as part of a lintel.
MAYBE_ARCHED = 0.9

MOST_PAIRS = 60_000


@dataclass(frozen=True, slots=True, eq=False)
class Candidates:
    """Rectangles, each a row of the arrays, in pixels of the picture (lines between pixels).

    Attributes
    ----------
    box : ndarray, shape (n, 4)
        Left, top, right, bottom. The top is where the jambs end or a lintel begins.
    jambs, sill, lintel : ndarray, shape (n,)
        Part of each that shows as an edge; of the jambs the weaker.
    inside : ndarray, shape (n,)
        How unlike wall the inside is.
    beside : ndarray, shape (n,)
        How like wall it is to either side; the weaker side.
    uneven : ndarray, shape (n,)
        By how much what lies right beside it differs between the sides: 1 with wall on one and
        a shutter on the other.
    """

    box: Array
    jambs: Array
    sill: Array
    lintel: Array
    inside: Array
    beside: Array
    uneven: Array

    def joined(self, other: Candidates) -> Candidates:
        """These and others."""
        return Candidates(
            *(
                np.concatenate([getattr(self, field.name), getattr(other, field.name)])
                for field in fields(Candidates)
            )
        )

    def take(self, which: npt.NDArray[np.generic]) -> Candidates:
        """Some rows."""
        return Candidates(*(getattr(self, field.name)[which] for field in fields(Candidates)))


def find_candidates(
    picture: WallPicture, edges: EdgeMaps, runs: Runs, like_wall: Floats
) -> Candidates:
    """Pair up runs, and close each pair below and above; without those that cannot be."""
    left, right = _pairs(picture, runs)
    across = BoxMeans(_thick(edges.on_level, 1).astype(np.float32))
    wall = BoxMeans(like_wall)
    end, least = picture.px(END_MM, 6), picture.px(LOW_MM, 12)
    boxes: list[tuple[float, float, float, float, float]] = []
    x0, x1 = runs.x[left].astype(float), runs.x[right].astype(float)
    first = np.maximum(runs.top[left], runs.top[right]).astype(float)
    last = np.minimum(runs.low[left], runs.low[right]).astype(float)
    # one look before the long search: unlike wall within, wall beside
    inside = 1.0 - _mean_inside(wall, x0, first, x1, last)
    beside, _ = _beside(picture, wall, x0, first, x1, last)
    keep = np.flatnonzero((inside > 0.8 * LEAST_INSIDE) & (beside > 0.6 * LEAST_BESIDE))
    profiles = _Profiles(edges)
    for i in keep:
        a, b = int(x0[i]), int(x1[i])
        profile = profiles.between(a, b)
        ends = {int(runs.low[left[i]]), int(runs.low[right[i]])}
        lows = _peaks(profile, int(first[i]) + least, max(ends) + end, int(last[i]), end)
        starts = {int(runs.top[left[i]]), int(runs.top[right[i]])}
        for low in lows:
            tops = _peaks(profile, min(starts) - end, low - least, int(first[i]), end)
            boxes += [(a, top, b, low, 0.0) for top in tops if low - top >= least]
            if low - int(first[i]) >= least:
                boxes.append((a, int(first[i]), b, low, 1.0))
    if not boxes:
        return Candidates(np.zeros((0, 4)), *(np.zeros(0) for _ in range(6)))
    table = np.unique(np.array(boxes, dtype=float), axis=0)
    box, arched = table[:, :4], table[:, 4]
    left_x, t, right_x, b = box.T
    jamb = BoxMeans(_wide(edges.on_upright, picture.px(JAMB_MM, 1)).astype(np.float32))
    lintel = across(left_x + 2, t, right_x - 2, t + 1)
    weaker, uneven = _beside(picture, wall, left_x, t, right_x, b)
    return _filtered(
        Candidates(
            box=box,
            jambs=np.minimum(jamb(left_x, t, left_x + 1, b), jamb(right_x, t, right_x + 1, b)),
            sill=across(left_x + 2, b, right_x - 2, b + 1),
            # where the jambs end an arch may spring, and its edge is elsewhere
            lintel=np.maximum(lintel, MAYBE_ARCHED * arched),
            inside=1.0 - _mean_inside(wall, left_x, t, right_x, b),
            beside=weaker,
            uneven=uneven,
        )
    )


def _filtered(found: Candidates) -> Candidates:
    keep = (
        (found.inside >= LEAST_INSIDE)
        & (found.beside >= LEAST_BESIDE)
        & (found.jambs >= 0.45)
        & (found.sill >= LEAST_ACROSS)
    )
    return found.take(np.flatnonzero(keep))


def best_in_each_place(picture: WallPicture, found: Candidates, like_wall: Floats) -> Candidates:
    """Of near twins the better; in each place that is not wall, the best few."""
    size = (found.box[:, 2] - found.box[:, 0]) * (found.box[:, 3] - found.box[:, 1])
    worth = found.jambs * found.inside * np.sqrt(found.sill * found.beside) * size**0.3
    worth = worth * (0.7 + 0.3 * found.lintel)
    order = np.argsort(-worth)
    cell = np.round(found.box[order] / picture.px(TWINS_MM, 3)).astype(int)
    _, first = np.unique(cell, axis=0, return_index=True)
    found = found.take(order[np.sort(first)])
    place, area = _places(picture, like_wall)
    mine = _place_of(place, found.box)
    left = np.maximum(A_PLACE, A_PLACE * area * picture.mm_per_px**2 / 2e6).astype(int)
    chosen = []
    for i, at in enumerate(mine):
        if left[at] > 0:
            left[at] -= 1
            chosen.append(i)
    return found.take(np.array(chosen[:MOST_CANDIDATES], dtype=int))


def _places(
    picture: WallPicture, like_wall: Floats
) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.int32]]:
    """Pieces that are not wall, without pipes, cables and string courses; their areas."""
    unlike = (like_wall < 0.5).astype(np.uint8)
    size = picture.px(THIN_MM, 3)
    solid = cv2.morphologyEx(unlike, cv2.MORPH_OPEN, np.ones((size, size), np.uint8))
    _, labels, stats, _ = cv2.connectedComponentsWithStats(solid, connectivity=4)
    return labels, stats[:, cv2.CC_STAT_AREA]


def _place_of(labels: npt.NDArray[np.int32], box: Array) -> npt.NDArray[np.int64]:
    """Piece in which each box lies: that of its middle, else one near its middle."""
    mine = np.zeros(len(box), int)
    for x, y in ((0.5, 0.5), (0.5, 0.25), (0.5, 0.75), (0.25, 0.5), (0.75, 0.5)):
        column = (box[:, 0] + x * (box[:, 2] - box[:, 0])).astype(int)
        row = (box[:, 1] + y * (box[:, 3] - box[:, 1])).astype(int)
        found = labels[np.clip(row, 0, len(labels) - 1), np.clip(column, 0, labels.shape[1] - 1)]
        mine = np.where(mine == 0, found, mine)
    return mine


def _pairs(picture: WallPicture, runs: Runs) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    wide = runs.x[None, :] - runs.x[:, None]
    both = np.minimum(runs.low[None], runs.low[:, None]) - np.maximum(
        runs.top[None], runs.top[:, None]
    )
    length = runs.low - runs.top
    shorter = np.minimum(length[None], length[:, None])
    fit = (wide >= picture.px(NARROW_MM, 10)) & (wide <= picture.px(WIDE_MM))
    fit &= (both >= LEAST_OVERLAP * shorter) & (both >= picture.px(LOW_MM, 10) * 0.7)
    left, right = np.nonzero(fit)
    if len(left) > MOST_PAIRS:
        clear = np.minimum(runs.strength[left], runs.strength[right])
        best = np.argsort(-clear)[:MOST_PAIRS]
        left, right = left[best], right[best]
    return left, right


class _Profiles:
    """Part of each row between two columns that shows a level edge."""

    def __init__(self, edges: EdgeMaps) -> None:
        marks = _thick(edges.on_level, 1).astype(np.int32)
        self._sums = np.concatenate(
            [np.zeros((1, marks.shape[0]), np.int32), np.cumsum(marks.T, axis=0, dtype=np.int32)]
        )

    def between(self, left: int, right: int) -> Array:
        inner = (left + 2, right - 2)
        return np.asarray((self._sums[inner[1]] - self._sums[inner[0]]) / (inner[1] - inner[0]))


def _peaks(profile: Array, start: int, stop: int, expected: int, end: int) -> list[int]:
    """Rows where an edge runs across: those near where the jambs end, and the clearest others."""
    start, stop = max(start, 1), min(stop, len(profile) - 1)
    if stop <= start:
        return []
    part = profile[start:stop]
    peak = (part >= profile[start - 1 : stop - 1]) & (part > profile[start + 1 : stop + 1])
    rows = np.flatnonzero(peak & (part >= LEAST_ACROSS)) + start
    if not len(rows):
        return []
    near = rows[np.abs(rows - expected) <= end]
    far = rows[(np.abs(rows - expected) > end) & (profile[rows] > 0.8)]
    best = sorted(near, key=lambda row: -profile[row])[:3]
    best += sorted(far, key=lambda row: -profile[row])[:2]
    return [int(row) for row in best]


def _mean_inside(wall: BoxMeans, left: Array, top: Array, right: Array, low: Array) -> Array:
    """Likeness to wall within, away from the edges, of the strip most like it."""
    x0, y0 = left + 0.08 * (right - left), top + 0.08 * (low - top)
    wide, high = 0.84 * (right - left), 0.84 * (low - top)
    strips = [wall(x0 + i / 4 * wide, y0, x0 + (i + 1) / 4 * wide, y0 + high) for i in range(4)]
    strips += [wall(x0, y0 + i / 3 * high, x0 + wide, y0 + (i + 1) / 3 * high) for i in range(3)]
    return np.asarray(np.nan_to_num(np.max(strips, axis=0), nan=1.0))


def _beside(
    picture: WallPicture, wall: BoxMeans, left: Array, top: Array, right: Array, low: Array
) -> tuple[Array, Array]:
    """Likeness to wall to the left and right, near or behind a dressing: the weaker side.

    And how much the sides differ nearby.
    """
    dy, wide = 0.1 * (low - top), right - left
    sides: list[tuple[Array, Array]] = []
    for near, far in (
        (picture.px(60.0, 4), picture.px(160.0, 9)),
        (picture.px(260.0), picture.px(380.0)),
        # behind shutters that stand open, each half as wide as the opening
        (0.5 * wide + picture.px(90.0), 0.5 * wide + picture.px(190.0)),
    ):
        on_left = np.nan_to_num(wall(left - far, top + dy, left - near, low - dy))
        on_right = np.nan_to_num(wall(right + near, top + dy, right + far, low - dy))
        sides.append((on_left, on_right))
    lefts, rights = zip(*sides, strict=True)
    weaker = np.minimum(np.max(lefts, axis=0), np.max(rights, axis=0))
    return np.asarray(weaker), np.abs(lefts[0] - rights[0])


def _thick(marks: npt.NDArray[np.bool_], by: int) -> npt.NDArray[np.bool_]:
    """Marks made thicker up and down."""
    out = marks.copy()
    for shift in range(1, by + 1):
        out[shift:] |= marks[:-shift]
        out[:-shift] |= marks[shift:]
    return out


def _wide(marks: npt.NDArray[np.bool_], by: int) -> npt.NDArray[np.bool_]:
    return np.ascontiguousarray(_thick(marks.T, by).T)
