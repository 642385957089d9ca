"""Groups of sizes that are one, and what the user wishes to be one or never one.

Finds the sizes that a wish names among the pools of a face; says in one sentence what is
wrong with a wish that names nothing or contradicts another.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from scipy.sparse import csr_array

from measure.elevation.pools import Pool, What, make_rows
from measure.elevation.quantities import Quantities
from shared.errors import FieldError
from shared.survey_drawing import Apart, Together

_POOL_OF: dict[str, What] = {
    "sill": "level",
    "springing": "level",
    "head": "level",
    "level": "level",
    "plumb": "plumb",
    "centre": "centre",
    "width": "width",
    "height": "height",
    "rise": "rise",
    "spacing": "spacing",
}


@dataclass(frozen=True, slots=True)
class Group:
    """Sizes given one value.

    Attributes
    ----------
    what : str
        level, plumb, centre, width, height, rise or spacing.
    members : tuple of str
        Such as ``w1.sill``.
    value_mm, u_mm : float
        The one value; of a plumb or centre line its place on the chart.
    chi_square : float
        How far the members were apart, all correlations considered.
    degrees : int
    forced : bool
        Put together by the user.
    """

    what: What
    members: tuple[str, ...]
    value_mm: float
    u_mm: float
    chi_square: float
    degrees: int
    forced: bool = False

    @property
    def name(self) -> str:
        """Its kind and its first members, for a reason given in a table."""
        kinds = {member.rpartition(".")[2] for member in self.members}
        kind = kinds.pop() if self.what == "level" and len(kinds) == 1 else self.what
        kind = self.what if kind == "v" else kind
        endings = (f".{kind}", ".u", ".v")  # a corner of an outline is named by its number
        shown = [
            next((m.removesuffix(end) for end in endings if m.endswith(end)), m)
            for m in self.members
        ]
        more = f" and {len(shown) - 3} more" if len(shown) > 4 else ""
        return f"{kind} of {', '.join(shown[: 3 if more else 4])}{more}"


@dataclass(frozen=True, slots=True)
class Forced:
    """A wish to put sizes together, found among the pools.

    Attributes
    ----------
    wish : Together
    what : str
        The pool.
    members : tuple of int
        Positions in the pool; none for spacings across several openings.
    rows : sparse array, shape (m, n)
    wanted_mm : float
        What each row is to be: 0 for differences.
    """

    wish: Together
    what: What
    members: tuple[int, ...]
    rows: csr_array
    wanted_mm: float


def find_forced(
    wishes: Iterable[Together], pools: Sequence[Pool], numbers: Quantities
) -> list[Forced]:
    """Find what is wished to be one.

    Raises
    ------
    FieldError
        For a name that nothing bears.
    """
    by_what = {pool.what: pool for pool in pools}
    found = []
    for wish in wishes:
        what = _POOL_OF[wish.what]
        parts = _parts_of(wish, by_what[what], numbers)
        if wish.at_mm is None:
            first = parts[0]
            rows = [_minus(part, first) for part in parts[1:]]
        else:
            rows = parts
        members: tuple[int, ...] = ()
        if wish.what != "spacing":
            members = tuple(_places(wish.what, wish.of, by_what[what], numbers))
        made = make_rows(rows, len(numbers))
        found.append(Forced(wish, what, members, made, wish.at_mm or 0.0))
    return found


def find_apart(
    wishes: Iterable[Apart], pools: Sequence[Pool], numbers: Quantities
) -> dict[What, list[tuple[int, int]]]:
    """Pairs of members, by pool, that are never to be one."""
    by_what = {pool.what: pool for pool in pools}
    pairs: dict[What, list[tuple[int, int]]] = {}
    for wish in wishes:
        what = _POOL_OF[wish.what]
        if wish.what == "spacing":
            pool = by_what[what]
            places = [
                at
                for one, other in pairwise(wish.of)
                for at, name in enumerate(pool.members)
                if name in (f"{one} to {other}", f"{other} to {one}")
            ]
        else:
            places = _places(wish.what, wish.of, by_what[what], numbers)
        pairs.setdefault(what, []).extend(combinations(places, 2))
    return pairs


def check_not_both(
    forced: Sequence[Forced], apart: dict[What, list[tuple[int, int]]], pools: Sequence[Pool]
) -> None:
    """Refuse a pair that is to be put together and kept apart.

    Raises
    ------
    FieldError
    """
    by_what = {pool.what: pool for pool in pools}
    for group in forced:
        for i, j in combinations(group.members, 2):
            if (i, j) in apart.get(group.what, []) or (j, i) in apart.get(group.what, []):
                one, other = (by_what[group.what].members[at] for at in (i, j))
                raise FieldError(
                    f"{one} and {other} are both put together and kept apart.",
                    hint="Take one of the two wishes out.",
                )


def _places(what: str, names: Sequence[str], pool: Pool, numbers: Quantities) -> list[int]:
    """Positions in a pool of the sizes named; each once."""
    at = {member: place for place, member in enumerate(pool.members)}
    flat = {each.id for each in numbers.openings if not each.arched}
    places: list[int] = []
    for name in names:
        ending = "head" if what == "springing" and name in flat else what
        tried = [f"{name}.{ending}", name]
        if what == "plumb":
            tried = [f"{name}.u", name]
        elif what == "level":
            tried = [f"{name}.level", name, f"{name}.v"]
        place = next((at[each] for each in tried if each in at), None)
        if place is None:
            raise FieldError(
                f"There is no {what} of '{name}' on this face to line up.",
                hint=_hint(what, numbers),
            )
        if place not in places:
            places.append(place)
    return places


def _parts_of(wish: Together, pool: Pool, numbers: Quantities) -> list[dict[int, float]]:
    if wish.what == "spacing":
        by_id = {each.id: each for each in numbers.openings}
        unknown = [name for name in wish.of if name not in by_id]
        if unknown:
            raise FieldError(
                f"There is no opening '{unknown[0]}' on this face to space evenly.",
                hint=_hint("spacing", numbers),
            )
        every = [by_id[name] for name in wish.of]
        return [
            {one.left: -0.5, one.right: -0.5, other.left: 0.5, other.right: 0.5}
            for one, other in pairwise(every)
        ]
    parts = []
    for place in _places(wish.what, wish.of, pool, numbers):
        start, end = pool.rows.indptr[place : place + 2]
        columns = pool.rows.indices[start:end].tolist()
        parts.append(dict(zip(columns, pool.rows.data[start:end].tolist(), strict=True)))
    return parts


def _minus(one: dict[int, float], other: dict[int, float]) -> dict[int, float]:
    out = dict(one)
    for at, factor in other.items():
        out[at] = out.get(at, 0.0) - factor
    return out


def _hint(what: str, numbers: Quantities) -> str:
    ids = [each.id for each in numbers.openings]
    if what == "level":
        ids = [each.id for each in numbers.levels] + [f"{id_}.sill" for id_ in ids]
    elif what == "plumb":
        outlines = [each for each in numbers.points if each.kind == "outline"]
        ids = [f"{each.id}.{n + 1}" for each in outlines for n in range(len(each.u))]
    elif what == "rise":
        ids = [each.id for each in numbers.openings if each.arched]
    if not ids:
        return "Measure it first."
    more = ", ..." if len(ids) > 8 else ""
    return f"Name one of {', '.join(ids[:8])}{more}."
