"""What of an elevation may be lined up with what.

A pool is a set of like sizes, each a sum of numbers of a face: all heights above the datum,
all widths, all centre lines. It says which of them may be one at all: a sill is never
put on the line of a head, two windows side by side never share a centre line. Whether they
agree is not asked here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from measure.elevation.quantities import OpeningColumns, Quantities
from shared.jets import Array

What = Literal["level", "plumb", "centre", "width", "height", "rise", "spacing"]

#: Single picks that may lie on a line of the wall.
_MARKS = {
    "v": ("outline", "frame", "reference", "spacing", "distance"),
    "u": ("outline", "frame", "spacing", "distance"),
}

#: A pick lies on a jamb up to this part of the opening's height above its head or below its sill.
BEYOND_JAMB = 0.05

#: Two openings are neighbours where the lower of them shares at least this part of its height.
SIDE_BY_SIDE = 0.6

# Kinds of level. A corner of the outline or a level by itself may lie on any line.
_ANY, _SILL, _FLAT_HEAD, _SPRINGING, _CROWN, _ROUND_FOOT = range(6)
_LINES_UP = np.zeros((6, 6), dtype=bool)
for _one, _other in (
    *((_ANY, kind) for kind in range(6)),
    (_SILL, _SILL),
    (_FLAT_HEAD, _FLAT_HEAD),
    (_FLAT_HEAD, _SPRINGING),
    (_FLAT_HEAD, _CROWN),
    (_SPRINGING, _SPRINGING),
    (_CROWN, _CROWN),
    (_ROUND_FOOT, _ROUND_FOOT),
):
    _LINES_UP[_one, _other] = _LINES_UP[_other, _one] = True


@dataclass(frozen=True, slots=True, eq=False)
class Pool:
    """Like sizes of one face.

    Attributes
    ----------
    what : str
    members : tuple of str, length k
        Such as ``w1.sill``, ``w1.width``, ``w1 to w2``.
    rows : sparse array, shape (k, n)
        Each size as a sum of the face's numbers.
    may_join : ndarray of bool, shape (k, k)
    """

    what: What
    members: tuple[str, ...]
    rows: csr_array
    may_join: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.members)


def make_pools(numbers: Quantities) -> tuple[Pool, ...]:
    """All pools of a face, in the order in which they are tidied."""
    return (
        level_pool(numbers),
        centre_pool(numbers),
        width_pool(numbers),
        plumb_pool(numbers),
        height_pool(numbers),
        rise_pool(numbers),
        spacing_pool(numbers),
    )


def level_pool(numbers: Quantities) -> Pool:
    """Heights above the datum: sills, springings, heads, levels, single picks."""
    members: list[str] = []
    columns: list[int] = []
    kinds: list[int] = []
    owners: list[int] = []

    def add(name: str, column: int, kind: int, owner: int) -> None:
        members.append(name)
        columns.append(column)
        kinds.append(kind)
        owners.append(owner)

    for owner, each in enumerate(numbers.openings):
        add(f"{each.id}.sill", each.sill, _ROUND_FOOT if each.form == "round" else _SILL, owner)
        if each.arched:
            add(f"{each.id}.springing", each.springing, _SPRINGING, owner)
        flat = each.form == "flat"
        add(f"{each.id}.head", each.head, _FLAT_HEAD if flat else _CROWN, owner)
    for number, level in enumerate(numbers.levels):
        add(f"{level.id}.level", level.v, _ANY, -1 - number)
    for column in _mark_columns(numbers, "v"):
        add(numbers.names[column], column, _ANY, -1 - len(members))
    kind, owner_of = np.array(kinds, dtype=int), np.array(owners, dtype=int)
    may_join = _LINES_UP[kind[:, None], kind[None, :]]
    may_join &= owner_of[:, None] != owner_of[None, :]
    return _pool("level", numbers, members, [{column: 1.0} for column in columns], may_join)


def plumb_pool(numbers: Quantities) -> Pool:
    """Places along the wall: left jambs, right jambs, single picks.

    A left jamb is never put on the line of a right one, nor one opening's on that of another
    beside it, nor a pick on that of a jamb which it lies above or below.
    """
    left, right = _edges(numbers)
    marks = _mark_columns(numbers, "u")
    n, m = len(left), len(marks)
    columns = [each.left for each in numbers.openings] + [each.right for each in numbers.openings]
    members = _names(numbers, "left") + _names(numbers, "right")
    members += [numbers.names[column] for column in marks]
    may_join = np.ones((2 * n + m, 2 * n + m), dtype=bool)
    beside = right[:, None] <= left[None, :]
    above = ~(beside | beside.T)
    may_join[:n, :n] = may_join[n : 2 * n, n : 2 * n] = above
    may_join[:n, n : 2 * n] = may_join[n : 2 * n, :n] = False
    low, high = _sills_and_heads(numbers)
    over = BEYOND_JAMB * (high - low)
    v = numbers.values[_mark_columns(numbers, "v", _MARKS["u"])]
    on = (v[:, None] >= low - over) & (v[:, None] <= high + over)
    may_join[2 * n :, : 2 * n] = np.hstack([on, on])
    may_join[: 2 * n, 2 * n :] = may_join[2 * n :, : 2 * n].T
    parts = [{column: 1.0} for column in [*columns, *marks]]
    return _pool("plumb", numbers, members, parts, may_join)


def centre_pool(numbers: Quantities) -> Pool:
    """Centre lines of openings; those side by side are kept apart."""
    parts = [{each.left: 0.5, each.right: 0.5} for each in numbers.openings]
    left, right = _edges(numbers)
    beside = right[:, None] <= left[None, :]
    return _pool("centre", numbers, _names(numbers, "centre"), parts, ~(beside | beside.T))


def width_pool(numbers: Quantities) -> Pool:
    """Widths of openings."""
    parts = [{each.right: 1.0, each.left: -1.0} for each in numbers.openings]
    return _pool("width", numbers, _names(numbers, "width"), parts)


def height_pool(numbers: Quantities) -> Pool:
    """Heights of openings from sill to head, like forms with like."""
    parts = [{each.head: 1.0, each.sill: -1.0} for each in numbers.openings]
    same = _same_form(numbers.openings)
    return _pool("height", numbers, _names(numbers, "height"), parts, same)


def rise_pool(numbers: Quantities) -> Pool:
    """Rises of arched heads, like forms with like."""
    arched = [each for each in numbers.openings if each.arched]
    parts = [{each.head: 1.0, each.springing: -1.0} for each in arched]
    names = [f"{each.id}.rise" for each in arched]
    return _pool("rise", numbers, names, parts, _same_form(arched))


def spacing_pool(numbers: Quantities) -> Pool:
    """From centre line to centre line of neighbours, and from pick to pick of spacings."""
    members: list[str] = []
    parts: list[dict[int, float]] = []
    for i, j in neighbours(numbers):
        one, other = numbers.openings[i], numbers.openings[j]
        members.append(f"{one.id} to {other.id}")
        parts.append({one.left: -0.5, one.right: -0.5, other.left: 0.5, other.right: 0.5})
    for measure in numbers.points:
        if measure.kind == "spacing":
            order = sorted(measure.u, key=lambda column: float(numbers.values[column]))
            for number, (first, second) in enumerate(pairwise(order), start=1):
                members.append(f"{measure.id}.{number}")
                parts.append({first: -1.0, second: 1.0})
    return _pool("spacing", numbers, members, parts)


def neighbours(numbers: Quantities) -> list[tuple[int, int]]:
    """Pairs of openings next to each other on a storey, left one first.

    Returns
    -------
    list of (int, int)
        Positions among the openings. Each opening has one neighbour to its right at most: the
        nearest that shares most of its height.
    """
    left, right = _edges(numbers)
    low, high = _sills_and_heads(numbers)
    if not len(left):
        return []
    shared = np.minimum(high[:, None], high) - np.maximum(low[:, None], low)
    lower = np.minimum((high - low)[:, None], high - low)
    level = shared >= SIDE_BY_SIDE * lower
    gap = np.where(level, left[None, :] - right[:, None], -1.0)
    gap = np.where(gap >= 0.0, gap, np.inf)
    nearest = np.argmin(gap, axis=1)
    return [(i, int(j)) for i, j in enumerate(nearest) if np.isfinite(gap[i, j])]


def form_rows(numbers: Quantities) -> tuple[list[OpeningColumns], csr_array]:
    """What the form of an opening says of its own numbers, as rows that should be nought.

    A semicircular head rises half its width; a round opening is as high as it is wide.
    """
    found = [each for each in numbers.openings if each.form in ("semicircular", "round")]
    parts = []
    for each in found:
        if each.form == "round":
            parts.append({each.head: 1.0, each.sill: -1.0, each.right: -1.0, each.left: 1.0})
        else:
            parts.append({each.head: 1.0, each.springing: -1.0, each.right: -0.5, each.left: 0.5})
    return found, make_rows(parts, len(numbers))


def make_rows(parts: Sequence[dict[int, float]], n: int) -> csr_array:
    """Sparse rows from the factors of each."""
    row = [i for i, part in enumerate(parts) for _ in part]
    column = [at for part in parts for at in part]
    factor = [value for part in parts for value in part.values()]
    return csr_array((factor, (row, column)), shape=(len(parts), n), dtype=float)


def _pool(
    what: What,
    numbers: Quantities,
    members: Sequence[str],
    parts: Sequence[dict[int, float]],
    may_join: NDArray[np.bool_] | None = None,
) -> Pool:
    k = len(members)
    if may_join is None:
        may_join = np.ones((k, k), dtype=bool)
    return Pool(what, tuple(members), make_rows(parts, len(numbers)), may_join)


def _names(numbers: Quantities, part: str) -> list[str]:
    return [f"{each.id}.{part}" for each in numbers.openings]


def _edges(numbers: Quantities) -> tuple[Array, Array]:
    left = np.array([numbers.values[each.left] for each in numbers.openings], dtype=float)
    right = np.array([numbers.values[each.right] for each in numbers.openings], dtype=float)
    return left, right


def _same_form(openings: Sequence[OpeningColumns]) -> NDArray[np.bool_]:
    forms = np.array([each.form for each in openings], dtype=object)
    return np.asarray(forms[:, None] == forms[None, :], dtype=bool)


def _sills_and_heads(numbers: Quantities) -> tuple[Array, Array]:
    low = np.array([numbers.values[each.sill] for each in numbers.openings], dtype=float)
    high = np.array([numbers.values[each.head] for each in numbers.openings], dtype=float)
    return low, high


def _mark_columns(
    numbers: Quantities, axis: Literal["u", "v"], kinds: Sequence[str] | None = None
) -> list[int]:
    return [
        column
        for measure in numbers.points
        if measure.kind in (kinds or _MARKS[axis])
        for column in (measure.u if axis == "u" else measure.v)
    ]


def owners_of(member: str) -> list[str]:
    """What a member called so belongs to: one thing, or the two that a spacing lies between."""
    parts = member.split(" to ")
    return parts if len(parts) > 1 else [member.rpartition(".")[0]]
