"""Which of several numbers agree within their ±, and may be given one value.

Three rules hold together. No two numbers of a group may differ by more than 3 standard
uncertainties of their difference (complete linkage: every member with every other). None may
differ from the mean of the others by more than 3 of its ±, which finds one stray among many.
And all together must pass a chi-square test of being one number. Every correlation counts.
Knows no openings and no drawing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.cluster.hierarchy import linkage
from scipy.spatial.distance import squareform
from scipy.stats import chi2

from measure.elevation.constraints import MET_MM, SETTLED
from shared.jets import Array

#: No pair further apart than this many of its ± is given one value.
MOST_APART = 3.0

#: Level of the chi-square test: of pairs that are one, this share is left apart by mistake.
TEST_LEVEL = 0.01

#: Part of a group that may be let go so that the rest agrees.
MOST_LET_GO = 0.34

#: A branch with numbers further apart than this many ± is several groups: nothing is let go.
WORTH_TRYING = 15.0

#: Let go from a group, a number further off than this many ± may belong to another one.
FAR_OFF = 4.0

#: Stands for "never", as a distance that can be sorted.
NEVER = 1e9


def distances_in_u(values: Array, cov: Array, cov_given: Array | None = None) -> Array:
    """How far numbers lie apart, in standard uncertainties of their differences.

    Parameters
    ----------
    values : ndarray, shape (k,)
    cov : ndarray, shape (k, k)
    cov_given : ndarray, shape (k, k), optional
        Covariance before conditions were imposed; a difference of which nothing is left of it
        is settled: 0 where the numbers are the same, `NEVER` where they are not.

    Returns
    -------
    ndarray, shape (k, k)
    """
    variance = _variances_of_differences(cov)
    given = variance if cov_given is None else _variances_of_differences(cov_given)
    difference = np.abs(values[:, None] - values[None, :])
    settled = variance <= np.maximum(SETTLED * given, MET_MM**2)
    scale = np.sqrt(np.where(settled, 1.0, variance))
    same = difference <= MET_MM + np.sqrt(SETTLED * np.maximum(given, 0.0))
    return np.where(settled, np.where(same, 0.0, NEVER), np.minimum(difference / scale, NEVER))


def _variances_of_differences(cov: Array) -> Array:
    diagonal = np.diagonal(cov)
    return np.asarray(diagonal[:, None] + diagonal[None, :] - 2.0 * cov)


def chi_square_of_one(
    values: Array, cov: Array, cov_given: Array | None = None
) -> tuple[float, int]:
    """Test statistic for several numbers being one.

    Parameters
    ----------
    values : ndarray, shape (k,)
    cov : ndarray, shape (k, k)
    cov_given : ndarray, shape (k, k), optional
        As for :func:`distances_in_u`.

    Returns
    -------
    chi_square : float
        ``d' S^-1 d`` of the differences d to the first number; infinite where the numbers
        are settled and differ.
    degrees : int
        Rank of S; k - 1 unless conditions already tie some of them.

    Examples
    --------
    Two readings 10 apart with ± 4 each: 100 / 32.

    >>> chi_square, degrees = chi_square_of_one(np.array([900.0, 910.0]), np.diag([16.0, 16.0]))
    >>> round(chi_square, 9), degrees
    (3.125, 1)
    """
    d = values[1:] - values[0]
    s = _cov_of_differences(cov)
    given = s if cov_given is None else _cov_of_differences(cov_given)
    scale = np.sqrt(np.maximum(np.diagonal(given), MET_MM**2))
    spread, axes = np.linalg.eigh(s / np.outer(scale, scale))
    along = axes.T @ (d / scale)
    live = spread > SETTLED * max(len(d), 1)
    if (np.abs(along[~live]) > 10 * np.sqrt(SETTLED) + MET_MM / scale.min()).any():
        return float("inf"), int(live.sum())
    return float(np.sum(along[live] ** 2 / spread[live])), int(live.sum())


def _cov_of_differences(cov: Array) -> Array:
    return np.asarray(cov[1:, 1:] - cov[1:, :1] - cov[:1, 1:] + cov[0, 0])


def probability_of(chi_square: float, degrees: int) -> float:
    """Chance of a chi-square at least as large, if what was tested is true."""
    return float(chi2.sf(chi_square, degrees)) if degrees else float(chi_square < NEVER)


@dataclass(frozen=True, slots=True, eq=False)
class Candidates:
    """Numbers that may agree.

    Attributes
    ----------
    values : ndarray, shape (k,)
    cov, cov_given : ndarray, shape (k, k)
        As for :func:`distances_in_u`.
    distances : ndarray, shape (k, k)
        In ±; `NEVER` for pairs that must stay apart, 0 for pairs that belong together.
    """

    values: Array
    cov: Array
    cov_given: Array
    distances: Array

    def chi_square(self, members: Sequence[int]) -> tuple[float, int]:
        """Test statistic for some of them being one, and its degrees of freedom."""
        at = np.ix_(members, members)
        return chi_square_of_one(self.values[list(members)], self.cov[at], self.cov_given[at])

    def probability(self, members: Sequence[int]) -> float:
        """Chance of so much disagreement if they are one."""
        return probability_of(*self.chi_square(members))

    def agree(self, members: Sequence[int]) -> bool:
        """Whether all rules hold."""
        if self.distances[np.ix_(members, members)].max() > MOST_APART:
            return False
        if self.probability(members) < TEST_LEVEL:
            return False
        return len(members) < 3 or max(self.strays(members)) <= MOST_APART

    def strays(self, members: Sequence[int]) -> Array:
        """How far each of some numbers lies from the mean of the others, in its ±."""
        k = len(members)
        less_mean = np.full((k, k), -1.0 / (k - 1))
        np.fill_diagonal(less_mean, 1.0)
        at = np.ix_(members, members)
        variance = np.einsum("ij,jk,ik->i", less_mean, self.cov[at], less_mean)
        given = np.einsum("ij,jk,ik->i", less_mean, self.cov_given[at], less_mean)
        off = np.abs(less_mean @ self.values[list(members)])
        settled = variance <= np.maximum(SETTLED * given, MET_MM**2)
        return np.where(settled, 0.0, off / np.sqrt(np.where(settled, 1.0, variance)))


def agreeing_groups(candidates: Candidates) -> list[list[int]]:
    """Sort numbers into groups that agree.

    Parameters
    ----------
    candidates : Candidates

    Returns
    -------
    list of list of int
        Groups of two or more, members in ascending order, groups by their first member.

    Notes
    -----
    Numbers are joined nearest first. From the top of that tree, a branch that breaks a rule
    is parted where it was joined last, until every branch passes. Of twenty numbers that are
    truly one, the two farthest apart break the rule for pairs every fourth time; parting the
    twenty into the high and the low ones would then bend what follows. So a branch that
    passes when at most a third of it is let go keeps the rest. Those let go stay single,
    unless they lie so far off that they may be a group of their own.
    """
    groups: list[list[int]] = []
    left = list(range(len(candidates.values)))
    while len(left) > 1:
        found, let_go = _branches_that_agree(candidates, left)
        groups += found
        if not found:
            break
        left = let_go
    return sorted(groups)


def _branches_that_agree(
    candidates: Candidates, numbers: Sequence[int]
) -> tuple[list[list[int]], list[int]]:
    """Groups among some numbers, and the numbers let go from them."""
    k = len(numbers)
    distances = candidates.distances[np.ix_(numbers, numbers)]
    tree = linkage(squareform(np.minimum(distances, NEVER), checks=False), method="complete")
    groups: list[list[int]] = []
    let_go: list[int] = []
    waiting = [2 * k - 2]
    while waiting:
        node = waiting.pop()
        if node < k:
            continue
        one, other, apart, _ = tree[node - k]
        if apart <= WORTH_TRYING:
            members = sorted(numbers[leaf] for leaf in _leaves(tree, node, k))
            kept = _trimmed(candidates, members)
            if kept:
                groups.append(kept)
                for far in sorted(set(members) - set(kept)):
                    if candidates.strays([*kept, far])[-1] > FAR_OFF:
                        let_go.append(far)
                continue
        waiting += [int(one), int(other)]
    return groups, let_go


def _trimmed(candidates: Candidates, members: list[int]) -> list[int]:
    """Members less as few as must go for the rest to agree; none if that is over a third."""
    kept = list(members)
    least = max(len(members) - int(MOST_LET_GO * len(members)), 2)
    while len(kept) >= least:
        if candidates.agree(kept):
            return kept
        distances = candidates.distances[np.ix_(kept, kept)]
        strain = np.sum(distances**2, axis=1)
        tied = (distances == 0.0).sum(axis=1) > 1
        strain[tied] = -1.0  # belongs together with another: never parted from it
        kept.pop(int(np.argmax(strain)))
    return []


def _leaves(tree: Array, node: int, k: int) -> list[int]:
    found: list[int] = []
    waiting = [node]
    while waiting:
        at = waiting.pop()
        if at < k:
            found.append(at)
        else:
            waiting += [int(tree[at - k, 0]), int(tree[at - k, 1])]
    return found


def keep_apart(distances: Array, pairs: Sequence[tuple[int, int]]) -> None:
    """Mark pairs as never to be joined, in place."""
    for i, j in pairs:
        distances[i, j] = distances[j, i] = NEVER
