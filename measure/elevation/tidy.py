"""From measured numbers to those of a clean elevation.

Levels, plumb edges, centre lines, widths, heights, rises and spacings that agree within
their ± are given one value each, and everything moves as little as its ± allows. What does
not agree stays apart, so a true difference that the photo can show is not drawn away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.sparse import vstack

from measure.elevation.agreement import (
    MOST_APART,
    NEVER,
    Candidates,
    agreeing_groups,
    chi_square_of_one,
    distances_in_u,
    keep_apart,
    probability_of,
)
from measure.elevation.constraints import Constrained, Imposed
from measure.elevation.elsewhere import Elsewhere
from measure.elevation.face_numbers import make_quantities
from measure.elevation.groups import Forced, Group, check_not_both, find_apart, find_forced
from measure.elevation.implied import let_go, worst_made_one
from measure.elevation.pools import Pool, form_rows, make_pools, make_rows
from measure.elevation.quantities import Quantities
from measure.elevation.twins import Twins, probability_of_twins, same_columns, twin_rows
from measure.results import FaceResult
from rectify.solution import Solution
from shared.errors import FieldError
from shared.jets import Array
from shared.survey import Face, Survey
from shared.survey_drawing import FaceDrawing

#: All groups of a kind together must not be less likely than this, or the worst is let go.
JOINT_LEVEL = 0.001

#: An opening smaller than this is none.
LEAST_OPENING_MM = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Tidied:
    """A face tidied.

    Attributes
    ----------
    measured : Quantities
        As measured.
    numbers : Quantities
        The same numbers, lined up, with their new covariance.
    groups : tuple of Group
        What was given one value.
    chi_square, degrees : float, int
        Of everything together.
    notes : tuple of str
        What the user should know of it.
    moved : dict of str to str
        Numbers that were drawn elsewhere afterwards, and why; see
        :mod:`measure.elevation.moved_lines`.
    twins : tuple of (OpeningColumns, OpeningColumns)
        Openings that were given one value with what another photo shows of them.
    """

    measured: Quantities
    numbers: Quantities
    groups: tuple[Group, ...]
    chi_square: float
    degrees: int
    notes: tuple[str, ...] = ()
    moved: dict[str, str] = field(default_factory=dict)
    twins: tuple[Twins, ...] = ()

    @property
    def probability(self) -> float:
        """Chance of so much disagreement if all that was lined up is truly one."""
        return probability_of(self.chi_square, self.degrees)


def tidy(numbers: Quantities, wishes: FaceDrawing | None = None) -> Tidied:
    """Line up what agrees.

    Parameters
    ----------
    numbers : Quantities
        Of one face.
    wishes : FaceDrawing, optional
        What is to be put together or kept apart whatever the ± say.

    Returns
    -------
    Tidied

    Raises
    ------
    FieldError
        For a wish that names nothing, contradicts another, or leaves an opening without size.

    Notes
    -----
    Each kind of size in turn, levels first, is sorted into groups that agree
    (`measure.elevation.agreement`), both as measured and after what was lined up before, and
    the groups are imposed (`measure.elevation.constraints`). The shares of chi-square of
    the kinds add up to that of all conditions at once.
    """
    return _Tidier(numbers, wishes or FaceDrawing()).tidied()


def tidy_face(
    survey: Survey,
    face: Face,
    solution: Solution,
    result: FaceResult,
    wishes: FaceDrawing | None = None,
    elsewhere: Sequence[Elsewhere] = (),
) -> Tidied:
    """Line up what agrees on a measured face.

    Parameters
    ----------
    survey, face, solution, result
        As for :func:`measure.elevation.face_numbers.make_quantities`.
    wishes : FaceDrawing, optional
        The face's own where left out.
    elsewhere : sequence of Elsewhere, optional
        Openings of the same wall in other photos: what two photos show is given one value first.

    Returns
    -------
    Tidied

    Notes
    -----
    Once to find the groups, and once more with derivatives taken where they are one. The ± that
    are told in the end are those of the second round, by which a pair may lie a little more than
    3 apart.
    """
    wishes = wishes or face.drawing or FaceDrawing()
    measured = make_quantities(survey, face, solution, result, None, elsewhere)
    first = tidy(measured, wishes)
    near = make_quantities(survey, face, solution, result, first.numbers, elsewhere)
    return _Tidier(near, wishes).tidied(first)


def untidied(numbers: Quantities) -> Tidied:
    """Numbers as measured, nothing lined up."""
    return Tidied(numbers, numbers, (), 0.0, 0)


class _Tidier:
    def __init__(self, numbers: Quantities, wishes: FaceDrawing) -> None:
        cov = numbers.cov
        if wishes.out_of_true_mm:
            stray = np.full(len(numbers), wishes.out_of_true_mm**2)
            if numbers.has("datum.level"):
                stray[numbers.place("datum.level")] = 0.0
            cov = cov + np.diag(stray)
            # an opening is out of true by the same in every photo
            for one, other in (pair for each in numbers.twins for pair in same_columns(each)):
                cov[[one, other], [other, one]] += stray[one]
        self.numbers = numbers
        self.pools = make_pools(numbers)
        self.state = Constrained(numbers.values, cov)
        self.forced = find_forced(wishes.together, self.pools, numbers)
        self.apart = find_apart(wishes.apart, self.pools, numbers)
        check_not_both(self.forced, self.apart, self.pools)
        self.far = {pool.what: self._measured_apart(pool) for pool in self.pools}
        self.found: list[tuple[Pool, list[int]]] = []
        self.twins: tuple[Twins, ...] = ()
        self.notes: list[str] = []
        self.chi_square, self.degrees = 0.0, 0

    def tidied(self, first: Tidied | None = None) -> Tidied:
        """Do it all, with the groups of a first round where there was one."""
        self._impose_twins(self.numbers.twins if first is None else first.twins)
        self._impose_forms()
        self._impose_forced()
        for pool in self.pools:
            if first is None:
                self._line_up(pool)
            else:
                at = {member: place for place, member in enumerate(pool.members)}
                found = [group.members for group in first.groups if group.what == pool.what]
                # who stands beside whom may change by lining up, and a spacing go with it
                left = [[at[member] for member in members if member in at] for members in found]
                places = [members for members in left if len(members) > 1]
                self._impose_groups(pool, places, [1.0] * len(places))
        numbers = replace(self.numbers, values=self.state.values, cov=self.state.cov)
        groups = tuple(self._group(pool, members) for pool, members in self.found)
        return Tidied(
            self.numbers,
            numbers,
            groups,
            self.chi_square,
            self.degrees,
            tuple(self.notes),
            twins=self.twins,
        )

    def _impose_twins(self, twins: Sequence[Twins]) -> None:
        """Give one value to what two photos show, unless their ± speak against it."""
        left = list(twins)
        while left:
            rows = twin_rows(left, len(self.numbers))
            trial = self.state.copy()
            done = trial.impose(rows, np.zeros(rows.shape[0]))
            if not done.broken and probability_of(done.chi_square, done.degrees) >= JOINT_LEVEL:
                self.state, self.twins = trial, tuple(left)
                self._count(done)
                break
            likely = [probability_of_twins(self.state, pair) for pair in left]
            left.pop(int(np.argmin(likely)))
        one = {there.id for _, there in self.twins}
        self.notes += [
            f"Photo '{there.photo}' shows opening '{here.id}' otherwise than it is measured here, "
            "by more than their ± allow: check its picks in both."
            for here, there in self.numbers.twins
            if there.id not in one
        ]

    def _impose_forms(self) -> None:
        """Semicircular heads rise half their width, where the picks do not speak against it."""
        openings, rows = form_rows(self.numbers)
        if not openings:
            return
        off = rows @ self.state.values
        u = np.sqrt(np.maximum(np.diagonal(self.state.cov_of(rows)), 0.0))
        sound = np.abs(off) <= np.maximum(MOST_APART * u, 1e-6)
        for each, far in zip(openings, ~sound, strict=True):
            if far:
                words = "half a circle" if each.form == "semicircular" else "a circle"
                self.notes.append(
                    f"Opening '{each.id}' is called {each.form}, but its picks make no {words}: "
                    "pick its head again, or give it another form."
                )
        self._count(self.state.impose(rows[np.flatnonzero(sound)], np.zeros(sound.sum())))

    def _impose_forced(self) -> None:
        if not self.forced:
            return
        before = self.state.copy()
        rows = vstack([group.rows for group in self.forced], format="csr")
        sizes = [group.rows.shape[0] for group in self.forced]
        wanted = np.repeat([group.wanted_mm for group in self.forced], sizes)
        done = self.state.impose(rows, wanted)
        if done.broken:
            _refuse_contradiction(before, self.forced, done.broken[0])
        self._count(done)
        values = self.state.values
        for each in self.numbers.openings:
            width = values[each.right] - values[each.left]
            height = values[each.head] - values[each.sill]
            jamb = values[each.springing] - values[each.sill]
            if min(width, height) < LEAST_OPENING_MM or (each.arched and jamb < 0.0):
                lost = "width" if width < LEAST_OPENING_MM else "height"
                raise FieldError(
                    f"What is put together leaves opening '{each.id}' no {lost}.",
                    hint="Take the group that names it out.",
                )

    def _measured_apart(self, pool: Pool) -> Array:
        """How far the sizes of a kind are measured apart, in ±; `NEVER` for what is kept apart."""
        given = self.state.cov_given(pool.rows)
        distances = distances_in_u(pool.rows @ self.numbers.values, given)
        keep_apart(distances, self.apart.get(pool.what, []))
        return distances

    def _line_up(self, pool: Pool) -> None:
        """Find the groups of one kind of size, and impose them."""
        if len(pool) < 2:
            return
        values = pool.rows @ self.state.values
        cov, given = self.state.cov_of(pool.rows), self.state.cov_given(pool.rows)
        distances = np.maximum(self.far[pool.what], distances_in_u(values, cov, given))
        distances[~pool.may_join] = NEVER
        np.fill_diagonal(distances, 0.0)
        for group in self.forced:
            if group.what == pool.what and group.members:
                distances[np.ix_(group.members, group.members)] = 0.0
        candidates = Candidates(values, cov, given, distances)
        groups = agreeing_groups(candidates)
        likely = [candidates.probability(members) for members in groups]
        self._impose_groups(pool, groups, likely, look_around=True)

    def _impose_groups(
        self,
        pool: Pool,
        groups: list[list[int]],
        likely: list[float],
        *,
        look_around: bool = False,
    ) -> None:
        """Impose the groups of one kind, less those that cannot be met together.

        Where asked to look around, less those too that make one, here or elsewhere, what is
        measured too far apart for it.
        """
        while groups:
            rows = make_rows(_differences(pool, groups), len(self.numbers))
            trial = self.state.copy()
            done = trial.impose(rows, np.zeros(rows.shape[0]))
            if not done.broken and probability_of(done.chi_square, done.degrees) >= JOINT_LEVEL:
                before, after = self.state.values, trial.values
                crossed = look_around and worst_made_one(self.pools, self.far, before, after)
                if not crossed:
                    self.state = trial
                    self._count(done)
                    break
                worst = let_go(pool, groups, self.far[pool.what], crossed)
                if len(groups[worst]) > 1:
                    continue
            else:
                worst = _worst(groups, likely, done.broken)
            del groups[worst], likely[worst]
        self.found += [(pool, members) for members in groups]

    def _count(self, done: Imposed) -> None:
        self.chi_square += done.chi_square
        self.degrees += done.degrees

    def _group(self, pool: Pool, members: Sequence[int]) -> Group:
        row = pool.rows[[members[0]]]
        value = float((row @ self.state.values)[0])
        u = float(np.sqrt(max(self.state.cov_of(row)[0, 0], 0.0)))
        rows = pool.rows[list(members)]
        found = chi_square_of_one(rows @ self.numbers.values, self.state.cov_given(rows))
        forced = any(
            group.what == pool.what and len(set(group.members) & set(members)) > 1
            for group in self.forced
        )
        names = tuple(pool.members[at] for at in members)
        return Group(pool.what, names, value, u, *found, forced)


def _differences(pool: Pool, groups: Sequence[Sequence[int]]) -> list[dict[int, float]]:
    """Each member of a group less its first, as factors of the face's numbers."""
    parts = []
    for members in groups:
        first = _part(pool, members[0])
        for other in members[1:]:
            part = _part(pool, other)
            for column, factor in first.items():
                part[column] = part.get(column, 0.0) - factor
            parts.append(part)
    return parts


def _part(pool: Pool, at: int) -> dict[int, float]:
    start, end = pool.rows.indptr[at : at + 2]
    columns, factors = pool.rows.indices[start:end], pool.rows.data[start:end]
    return dict(zip(columns.tolist(), factors.tolist(), strict=True))


def _worst(groups: list[list[int]], likely: list[float], broken: Sequence[int]) -> int:
    """The group to let go: one that cannot be met, else the least likely."""
    if broken:
        ends = np.cumsum([len(members) - 1 for members in groups])
        candidates = sorted({int(np.searchsorted(ends, at, side="right")) for at in broken})
        return min(candidates, key=lambda at: likely[at])
    return int(np.argmin(likely))


def _refuse_contradiction(state: Constrained, forced: Sequence[Forced], broken: int) -> None:
    """Say which of the groups put together cannot be met beside those before it.

    Where rounding hides it from one group after the other, it is that of the row `broken`.
    """
    ends = np.cumsum([group.rows.shape[0] for group in forced])
    refused = forced[int(np.searchsorted(ends, broken, side="right"))]
    for group in forced:
        wanted = np.full(group.rows.shape[0], group.wanted_mm)
        if state.impose(group.rows, wanted).broken:
            refused = group
            break
    at = "" if refused.wish.at_mm is None else f" at {refused.wish.at_mm:g} mm"
    shown = ", ".join(refused.wish.of[:4]) + (", ..." if len(refused.wish.of) > 4 else "")
    raise FieldError(
        f"The {refused.wish.what} of {shown} cannot be put together{at}: what was put "
        "together before makes it otherwise.",
        hint="Take one of the groups out.",
    )
