"""Sizes that become one because others did: two heads, by their sills and their heights.

What is measured too far apart to be one, or is kept apart by a wish, must not become one that
way either.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from measure.elevation.agreement import MOST_APART
from measure.elevation.constraints import MET_MM
from measure.elevation.pools import Pool, What, owners_of
from shared.jets import Array

#: Sizes nearer to each other than this are one: what rounding leaves of a condition.
ONE_MM = 10.0 * MET_MM


def worst_made_one(
    pools: Sequence[Pool], far: Mapping[What, Array], before: Array, after: Array
) -> tuple[set[str], set[str]] | None:
    """Find the two sizes farthest apart that conditions have made one.

    Parameters
    ----------
    pools : sequence of Pool
    far : mapping of kind to ndarray, shape (k, k)
        How far the sizes of each pool are measured apart, in ±.
    before, after : ndarray, shape (n,)
        Numbers of the face without the conditions and with them.

    Returns
    -------
    pair of set of str, or None
        The openings that each of the two is a size of; first those of the one that fits its like
        the worst.
    """
    worst, found = MOST_APART, None
    for pool in pools:
        values, given = pool.rows @ after, pool.rows @ before
        order = np.argsort(values)
        ends = np.flatnonzero(np.diff(values[order]) > ONE_MM) + 1
        for one in np.split(order, ends):
            if len(one) < 2:
                continue
            apart = np.abs(given[one][:, None] - given[one]) > ONE_MM
            distances = np.where(apart, far[pool.what][np.ix_(one, one)], 0.0)
            i, j = np.unravel_index(int(np.argmax(distances)), distances.shape)
            if distances[i, j] > worst:
                worst = float(distances[i, j])
                strain = np.sum(distances**2, axis=1)
                first, last = (i, j) if strain[i] > strain[j] else (j, i)
                found = _owners(pool, one[first]), _owners(pool, one[last])
    return found


def let_go(
    pool: Pool,
    groups: list[list[int]],
    far: Array,
    crossed: tuple[set[str], set[str]],
) -> int:
    """Take a member of the first of two out of a group, in place, so that they are not made one.

    Parameters
    ----------
    pool : Pool
    groups : list of list of int
    far : ndarray, shape (k, k)
        How far the pool's sizes are measured apart, in ±.
    crossed : pair of set of str
        As :func:`worst_made_one` gives them.

    Returns
    -------
    int
        The group that it was taken from: of those that both are in, where it is strained most.
    """
    one, other = crossed
    touched: dict[int, list[int]] = {}
    for number, members in enumerate(groups):
        of = {at: _owners(pool, at) for at in members}
        if any(of[at] & other for at in members):
            touched[number] = [at for at in members if of[at] & one]
    if not any(touched.values()):
        touched = dict(enumerate(groups))
    strain = {
        (number, at): float(np.sum(np.minimum(far[at, groups[number]], 1e3) ** 2))
        for number, mine in touched.items()
        for at in mine
    }
    number, at = max(strain, key=lambda key: strain[key])
    groups[number].remove(at)
    return number


def _owners(pool: Pool, at: int) -> set[str]:
    return set(owners_of(pool.members[at]))
