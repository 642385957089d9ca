"""Which observation spoils the fit: one at a time, the likeliest first.

Candidates are picks (both coordinates), known sizes, and openings as a whole. Each is
asked: were it wrong and the rest right, how much better would the rest fit? The answer
has as many degrees of freedom as the candidate has coordinates that the rest checks, so
that an opening with four corners must explain more than one corner does.

References
----------
W. Baarda, *A testing procedure for use in geodetic networks*, 1968 (data snooping); for
several coordinates at once P. J. G. Teunissen, *Testing theory*, 2000 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import gammaincc, gammaln

from rectify.solving.adjusted import Adjusted
from shared.jets import Array

#: Chance of suspecting a sound observation, for each: |w| > 3.29 for a single number.
ALPHA = 0.001

#: Candidates less likely than the best by less than this (a factor of 150) may as well be it.
RIVAL = 5.0

#: A coordinate that the others check by less than this part is unchecked.
UNCHECKED = 1e-4

Candidate = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """One candidate that the rest contradicts.

    Parameters
    ----------
    candidate : tuple of int
        Its observations.
    statistic : float
        Square of the standardised length by which it is off.
    log_chance : float
        Logarithm of the probability of as much by chance.
    off : ndarray, shape (len(candidate),)
        By how much it is off, as the others have it: observed minus wanted.
    rivals : tuple of candidates
        Others that would explain the same nearly as well: either end of a leaning side.
    """

    candidate: Candidate
    statistic: float
    log_chance: float
    off: Array
    rivals: tuple[Candidate, ...] = ()


def contradicted(
    adjusted: Adjusted, candidates: Sequence[Candidate], most: int = 5
) -> list[Finding]:
    """Find what the rest contradicts beyond chance.

    Parameters
    ----------
    adjusted : Adjusted
    candidates : sequence of tuple of int
        Sets of observations that may be wrong together.
    most : int
        How many to look for; each is looked for with those before it set aside.

    Returns
    -------
    list of Finding
        The likeliest first.
    """
    residuals, cov = adjusted.residuals, adjusted.cov_residuals
    u = adjusted.u_observed
    batches = _batches(candidates)
    found: list[Finding] = []
    while len(found) < most:
        best: Finding | None = None
        tested = [_tested(batch, residuals, cov, u) for batch in batches]
        # the smaller candidates first: a size, unless a pick is clearly likelier
        for findings in tested:
            first = min(findings, key=lambda finding: finding.log_chance)
            if best is None or first.log_chance < 1.01 * best.log_chance - 0.1:
                best = first
        if best is None or best.log_chance > math.log(ALPHA):
            break
        limit = best.log_chance + RIVAL
        rivals = sorted(
            (f for findings in tested for f in findings if f.log_chance < limit),
            key=lambda finding: finding.log_chance,
        )
        apart = [f.candidate for f in rivals if not set(f.candidate) & set(best.candidate)]
        best = replace(best, rivals=tuple(apart))
        found.append(best)
        at = list(best.candidate)
        # what is left of residuals and their covariance once this candidate may move freely
        inverse, _ = _checked_inverse(cov[np.ix_(at, at)][None], u[at][None])
        pull = cov[:, at] @ inverse[0]
        residuals, cov = residuals - pull @ residuals[at], cov - pull @ cov[at]
        batches = _batches([c for batch in batches for c in batch if not set(c) & set(at)])
    return found


def _batches(candidates: Sequence[Candidate]) -> list[list[Candidate]]:
    """Candidates sorted by their size, so that each size is tested at one go."""
    by_size: dict[int, list[Candidate]] = {}
    for candidate in sorted(candidates, key=len):
        by_size.setdefault(len(candidate), []).append(candidate)
    return list(by_size.values())


def _tested(batch: Sequence[Candidate], residuals: Array, cov: Array, u: Array) -> list[Finding]:
    at = np.array(batch)
    inverse, freedom = _checked_inverse(cov[at[:, :, None], at[:, None, :]], u[at])
    pull = np.einsum("mij,mj->mi", inverse, residuals[at])
    statistic = np.einsum("mi,mi->m", residuals[at], pull)
    chance, off = log_chance(freedom, statistic), u[at] ** 2 * pull
    return [
        Finding(batch[i], float(statistic[i]), float(chance[i]), off[i]) for i in range(len(batch))
    ]


def _checked_inverse(cov: Array, u: Array) -> tuple[Array, Array]:
    """Inverses of blocks of the residuals' covariance, each on the part that is checked.

    Shapes (m, k, k) and (m, k); returns the inverses and how many directions are checked.
    """
    values, vectors = np.linalg.eigh(cov / (u[:, :, None] * u[:, None, :]))
    checked = values > UNCHECKED
    kept = vectors / u[:, :, None]
    share = np.where(checked, 1.0 / np.where(checked, values, 1.0), 0.0)
    return np.einsum("mik,mk,mjk->mij", kept, share, kept), checked.sum(axis=1)


def log_chance(freedom: Array, statistic: Array) -> Array:
    """Logarithm of the chance that chi-square of `freedom` exceeds `statistic`."""
    half, shape = 0.5 * np.maximum(statistic, 1e-300), 0.5 * np.maximum(freedom, 1)
    with np.errstate(divide="ignore"):
        plain = np.log(gammaincc(shape, half))
    # far out the function underflows; its leading term does not
    tail = (shape - 1.0) * np.log(half) - half - gammaln(shape)
    return np.where(freedom == 0, 0.0, np.where(half > 300.0, tail, plain))
