"""What stands around a rectangle: others like it in line, parts of it, wholes that it is part of.

Openings come in rows and columns of equals that look alike within. Panes look alike too, but
stand within something larger that is as clear; and the pier between two windows begins where one
ends and ends where the other begins.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from measure.finding.picture import WallPicture

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

#: Equals agree within this, or within this part of their size; at least so many pixels.
LIKE_MM, LIKE_PART, LIKE_PX = 45.0, 0.05, 2

#: Boxes no farther apart are one.
SAME_PX = 2.0

#: What is less likely an opening is no company.
LIKELY = 0.1

#: Company counts once within this part of its own width.
PLACE = 0.5

#: More equals in a row, and in a column, say no more; nor do more parts.
MOST_IN_ROW, MOST_IN_COLUMN, MOST_PARTS = 4.0, 3.0, 3.0

#: A part has this part of the whole's area.
PART = (0.08, 0.75)

#: Sides nearer than this are one and the same.
SHARED_MM = 80.0


@dataclass(frozen=True, slots=True, eq=False)
class Company:
    """Of n rectangles; each array of shape (n,).

    Attributes
    ----------
    row, column : ndarray
        How many equals stand in its row, and above and below it, each counted by how likely it is
        an opening and how alike it looks.
    parts : ndarray
        How many likely openings lie within it.
    part_of : ndarray
        How likely the likeliest is that it is part of.
    flanked : ndarray
        How likely others end where it begins on both sides.
    """

    row: Array
    column: Array
    parts: Array
    part_of: Array
    flanked: Array


def find_company(
    picture: WallPicture, box: Array, likely: Array, pattern: npt.NDArray[np.float32]
) -> Company:
    """Look for the company of each rectangle.

    Parameters
    ----------
    picture : WallPicture
    box : ndarray, shape (n, 4)
        Left, top, right, bottom.
    likely : ndarray, shape (n,)
        How likely each is an opening, as far as it is known by itself.
    pattern : ndarray, shape (n, k)
        As in `Traits`.
    """
    among = np.flatnonzero(likely >= LIKELY)
    other, p = box[among], likely[among]
    left, top, right, low = (box[:, None, i] for i in range(4))
    o_left, o_top, o_right, o_low = (other[None, :, i] for i in range(4))
    wide, high, o_wide, o_high = right - left, low - top, o_right - o_left, o_low - o_top
    like = np.maximum(picture.px(LIKE_MM, LIKE_PX), LIKE_PART * np.maximum(wide, high))
    across = np.minimum(right, o_right) - np.maximum(left, o_left)
    up = np.minimum(low, o_low) - np.maximum(top, o_top)
    alike = np.clip(pattern @ pattern[among].T, 0.0, 1.0) * p
    level = (np.abs(top - o_top) <= like) & (np.abs(low - o_low) <= like) & (across <= 0)
    level &= np.abs(wide - o_wide) <= like
    plumb = (np.abs(left - o_left) <= like) & (np.abs(right - o_right) <= like) & (up <= 0)
    shared = np.maximum(across, 0.0) * np.maximum(up, 0.0)
    area, o_area = wide * high, o_wide * o_high
    lesser = (o_area >= PART[0] * area) & (o_area <= PART[1] * area)
    within = (shared >= 0.93 * o_area) & lesser
    greater = (area >= PART[0] * o_area) & (area <= PART[1] * o_area)
    whole = (shared >= 0.93 * area) & greater
    near = picture.px(SHARED_MM, 3)
    beside = up >= 0.7 * np.maximum(high, 0.6 * o_high)
    before = np.max(np.where(beside & (np.abs(o_right - left) <= near), p, 0.0), 1, initial=0.0)
    after = np.max(np.where(beside & (np.abs(o_left - right) <= near), p, 0.0), 1, initial=0.0)
    step = PLACE * np.maximum(other[:, 2] - other[:, 0], 1.0)
    columns = np.round(other[:, 0] / step).astype(int)
    storeys = np.round(other[:, 1] / (PLACE * np.maximum(other[:, 3] - other[:, 1], 1.0)))
    places = 10_000 * columns + storeys.astype(int)
    return Company(
        row=np.minimum(_once_a_place(level * alike, places), MOST_IN_ROW),
        column=np.minimum(_once_a_place(plumb * alike, places), MOST_IN_COLUMN),
        parts=np.minimum(_once_a_place(within * p, places), MOST_PARTS),
        part_of=np.max(whole * p, axis=1, initial=0.0),
        flanked=before * after,
    )


def places_in_line(picture: WallPicture, box: Array) -> Array:
    """Where rows of openings cross columns of others, and where a row's even steps lead.

    Parameters
    ----------
    picture : WallPicture
    box : ndarray, shape (n, 4)
        Openings that are rather sure.

    Returns
    -------
    ndarray, shape (m, 4)
        Places where there may be more like them, none of them near one of `box`.
    """
    wide, middle = box[:, 2] - box[:, 0], 0.5 * (box[:, 0] + box[:, 2])
    high = box[:, 3] - box[:, 1]
    near = picture.px(LIKE_MM, LIKE_PX)
    level = (np.abs(box[:, None, 3] - box[None, :, 3]) <= near) & (
        np.abs(high[:, None] - high) <= np.maximum(near, 0.1 * high)
    )
    equal = np.abs(wide[:, None] - wide) <= np.maximum(near, 0.12 * wide)
    i, j = np.nonzero(equal & ~level)
    spots = [(i, middle[j])]
    # in a row: as far again to either side, and half way between
    i, j = np.nonzero(equal & level & ~np.eye(len(box), dtype=bool))
    spots += [(i, 2.0 * middle[i] - middle[j]), (i, 0.5 * (middle[i] + middle[j]))]
    which = np.concatenate([i for i, _ in spots])
    at = np.concatenate([x for _, x in spots])
    half = 0.5 * wide[which]
    there = np.column_stack([at - half, box[which, 1], at + half, box[which, 3]])
    there = there[(there[:, 0] >= 1) & (there[:, 2] <= picture.shape[1] - 1)]
    if not len(there):
        return there
    _, first = np.unique(np.round(there / near), axis=0, return_index=True)
    there = np.round(there[np.sort(first)])
    off = np.abs(there[:, None] - box[None]).max(axis=-1)
    return np.asarray(there[off.min(axis=1) > SAME_PX])


def _once_a_place(counts: Array, places: npt.NDArray[np.int64]) -> Array:
    """Sum over places of the greatest count in each."""
    order = np.argsort(places, kind="stable")
    if not len(order):
        return np.zeros(len(counts))
    starts = np.flatnonzero(np.append(True, np.diff(places[order]) != 0))
    return np.asarray(np.maximum.reduceat(counts[:, order], starts, axis=1).sum(axis=1))
