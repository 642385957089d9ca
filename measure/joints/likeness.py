"""Whether the two halves of a course are alike, and those on either side of a joint are not.

A brick or stone keeps its tone over the whole height of its course, and those above and below
have tones of their own. Where a count is half of what it should be, the halves of what is
taken for a course belong to different stones; where it is twice too high, a joint has the same
stone on both sides. This needs no joint to be seen, only stones that differ along the course.
"""

from __future__ import annotations

import numpy as np
from scipy import ndimage

from measure.joints.profile import Array

UPPER, LOWER = (0.14, 0.46), (0.54, 0.86)  # halves of a course without its joints
AROUND = 7  # courses whose mean is taken off: shade, windows and plants last longer than a course
CLIP = 3.0  # a block differs from the others by at most this many times what is usual
FEWEST_COURSES = 3
FEWEST_BLOCKS = 6  # fewer, as along a single course of bricks, hold one stone or two
OWN = 0.3  # part of the usual power that a single course is credited with, so none is divided by 0

NAMES = ("within", "across", "next", "least_within", "most_across", "either_across")
OF_LINES = ("sides_alike", "sides_most_alike", "split", "joined")  # told from single lines
NOTHING_ALIKE = {f"like_{name}": 0.0 for name in NAMES} | dict.fromkeys(OF_LINES, 0.0)


def is_narrow(summed: Array) -> bool:
    """Whether a strip has too few blocks for likeness to tell anything."""
    return int(summed.shape[2]) < FEWEST_BLOCKS


def measure_likeness(summed: Array, upper: Array, lower: Array, trust: Array) -> dict[str, float]:
    """Correlations, over all blocks, of the tones of halves of courses.

    Parameters
    ----------
    summed : ndarray, shape (n_rows + 1, n_tones, n_blocks)
        As in the profile.
    upper, lower : ndarray, shape (n,)
        Rows of the upper and lower joint of each course, downwards.
    trust : ndarray, shape (n, n_blocks)
        How far each block of each course is taken to be wall.

    Returns
    -------
    dict of str to float
        Of the halves `like_within` a course; `like_across` its lower joint; the same halves of it
        and the `like_next` course; the least of single courses, the most of single joints, and
        the higher mean of every other joint. All are 0 where there is too little to liken.
    """
    if len(upper) < FEWEST_COURSES or is_narrow(summed):
        return {f"like_{name}": 0.0 for name in NAMES}
    height = lower - upper
    edges = _sums_at(summed, upper + np.array([*UPPER, *LOWER])[:, None] * height)
    halves = edges[1::2] - edges[::2]  # a scale common to all tells nothing
    halves /= height[:, None, None]
    halves -= _mean_over_blocks(halves, trust)
    halves -= ndimage.uniform_filter1d(
        0.5 * (halves[0] + halves[1]), min(AROUND, len(upper)), axis=0
    )
    size = np.abs(halves.swapaxes(0, 2)).reshape(halves.shape[2], -1)
    half = size.shape[1] // 2
    size.partition(half, axis=1)
    limit = CLIP * size[:, half, None] + 1e-6
    first, second = np.minimum(np.maximum(halves, -limit), limit) * np.sqrt(trust)[:, None]
    power, within, across, beside = (
        np.einsum("ijk,ijk->ij", a, b)
        for a, b in (
            (first, first),
            (first, second),
            (second[:-1], first[1:]),
            (first[:-1], first[1:]),
        )
    )
    power = 0.5 * (power + np.einsum("ijk,ijk->ij", second, second))
    beside = 0.5 * (beside + np.einsum("ijk,ijk->ij", second[:-1], second[1:]))
    whole = power.mean(axis=0) + 1e-12
    own = power + OWN * whole
    found = (
        within.mean(axis=0) / whole,
        across.mean(axis=0) / whole,
        beside.mean(axis=0) / whole,
        (within / own).min(axis=0),
        (across / np.sqrt(own[:-1] * own[1:])).max(axis=0),
        np.maximum(across[::2].mean(axis=0), across[1::2].mean(axis=0)) / whole,
    )
    return {f"like_{name}": float(x.mean()) for name, x in zip(NAMES, found, strict=True)}


def liken_sides(summed: Array, rows: Array, near: float, far: float, trust: Array) -> Array:
    """Correlation over all blocks of what lies just above and just below each row: 0 at a joint.

    Parameters
    ----------
    summed : ndarray, shape (n_rows + 1, n_tones, n_blocks)
    rows : ndarray, shape (n,)
    near, far : float
        Rows from each to where the sides begin and end.
    trust : ndarray, shape (n, n_blocks)

    Returns
    -------
    ndarray, shape (n,)
        All 0 where there is too little to liken.
    """
    if not len(rows) or is_narrow(summed):
        return np.zeros(len(rows))
    at = np.array([-far, -near, near, far, -AROUND * far, AROUND * far])
    edges = _sums_at(summed, rows + at[:, None])
    sides = edges[[1, 3]] - edges[[0, 2]]
    sides -= (edges[5] - edges[4]) * ((far - near) / (2.0 * AROUND * far))
    sides -= _mean_over_blocks(sides, trust)
    limit = CLIP * np.abs(sides).mean(axis=(0, 1, 3))[:, None] + 1e-6
    above, below = np.minimum(np.maximum(sides, -limit), limit) * np.sqrt(trust)[:, None]
    both = np.einsum("ijk,ijk->ij", above, below)
    power = 0.5 * (np.einsum("ijk,ijk->ij", above, above) + np.einsum("ijk,ijk->ij", below, below))
    return np.asarray((both / (power + OWN * power.mean(axis=0) + 1e-12)).mean(axis=1))


def _mean_over_blocks(tones: Array, trust: Array) -> Array:
    """Mean over the blocks that are trusted, shape (..., n, n_tones, 1)."""
    share = trust / (trust.sum(axis=1, keepdims=True) + 1e-9)
    return np.asarray(np.einsum("...ijk,ik->...ij", tones, share)[..., None])


def _sums_at(summed: Array, rows: Array) -> Array:
    """Sums of the rows above fractional rows, of which each gives (n_tones, n_blocks)."""
    rows = np.minimum(np.maximum(rows, 0.0), len(summed) - 1.001)
    whole = rows.astype(np.intp)
    part = (rows - whole)[..., None, None]
    return np.asarray(summed[whole] * (1.0 - part) + summed[whole + 1] * part)
