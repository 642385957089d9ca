"""Drawing correlated samples, and what is read off the results.

Follows JCGM 101:2008, *Propagation of distributions using a Monte Carlo
method*: 6.4.2 rectangular and 6.4.8 multivariate normal inputs, 7.6 mean and
covariance, 7.7 the shortest interval.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Samples evaluated at a time: keeps a formula of a hundred inputs under 20 MB.
_BLOCK = 20_000
# An eigenvalue of a correlation matrix below this is a fault, not rounding.
_SMALLEST_EIGENVALUE = -1e-6


@dataclass(frozen=True, slots=True, eq=False)
class SampledEstimate:
    """What many samples of m quantities say.

    Attributes
    ----------
    names : tuple of str, length m
    means : ndarray, shape (m,)
        NaN where fewer than two samples could be worked out.
    cov : ndarray, shape (m, m)
    low, high : ndarray, shape (m,)
        Ends of the shortest interval that holds `coverage` of the samples.
    coverage : float
    share_lost : float
        Share of the samples for which some quantity could not be worked out,
        0 to 1; they are left out of all of the above.
    """

    names: tuple[str, ...]
    means: Array
    cov: Array
    low: Array
    high: Array
    coverage: float
    share_lost: float

    def value(self, name: str) -> float:
        """Mean of one quantity."""
        return float(self.means[self.names.index(name)])

    def u(self, name: str) -> float:
        """Standard deviation of one quantity."""
        place = self.names.index(name)
        return float(np.sqrt(self.cov[place, place]))

    def correlation(self, one: str, other: str) -> float:
        """Correlation of two quantities; 0 if either does not vary."""
        covariance = float(self.cov[self.names.index(one), self.names.index(other)])
        spread = self.u(one) * self.u(other)
        return covariance / spread if spread else 0.0

    def interval(self, name: str) -> tuple[float, float]:
        """Ends of the shortest interval of one quantity."""
        place = self.names.index(name)
        return float(self.low[place]), float(self.high[place])


def draw_samples(
    values: Array, cov: Array, rectangular: Sequence[bool], seed: int, samples: int
) -> Iterator[Array]:
    """Draw samples of n quantities, a block at a time.

    Parameters
    ----------
    values : ndarray, shape (n,)
    cov : ndarray, shape (n, n)
        May be singular.
    rectangular : sequence of bool, length n
        True for a rectangular distribution of that variance, else normal.
    seed : int
    samples : int
        Two or more.

    Yields
    ------
    ndarray, shape (n, block)

    Raises
    ------
    ValueError
        If values or variances are not finite, the covariance is not positive
        semi-definite, or a rectangular quantity is correlated with another.
    """
    if samples < 2:
        raise ValueError(f"samples: two or more, got {samples}")
    if not (np.isfinite(values).all() and np.isfinite(cov).all()):
        raise ValueError("values and cov: all must be finite to draw samples")
    u = np.sqrt(np.diagonal(cov))
    flat = np.asarray(rectangular, dtype=bool)
    scale = np.where(u > 0.0, u, 1.0)
    correlation = cov / np.outer(scale, scale)
    if (np.abs(correlation - np.diag(np.diagonal(correlation)))[flat] > 0.0).any():
        raise ValueError("rectangular: a rectangular quantity cannot be correlated with another")
    # Eigenvalues of the correlation, not of the covariance: millimetres beside
    # radians would drown the small ones. A square root by Cholesky would
    # refuse a singular matrix.
    eigenvalues, axes = np.linalg.eigh(correlation)
    if eigenvalues.size and eigenvalues[0] < _SMALLEST_EIGENVALUE:
        raise ValueError(f"cov: not positive, smallest eigenvalue {eigenvalues[0]:.3g}")
    root = u[:, None] * axes * np.sqrt(np.clip(eigenvalues, 0.0, None))
    root[flat, :] = 0.0
    random = np.random.default_rng(seed)
    for start in range(0, samples, _BLOCK):
        block = min(_BLOCK, samples - start)
        normal = random.standard_normal((len(values), block))
        level = random.uniform(-1.0, 1.0, (int(flat.sum()), block))
        drawn = values[:, None] + root @ normal
        drawn[flat] += u[flat, None] * np.sqrt(3.0) * level
        yield drawn


def summarise_samples(names: tuple[str, ...], results: Array, coverage: float) -> SampledEstimate:
    """Read means, covariance and shortest intervals off samples.

    Parameters
    ----------
    names : tuple of str, length m
    results : ndarray, shape (m, samples)
        A sample with a NaN or an infinity in any row is left out.
    coverage : float
        Between 0 and 1.

    Returns
    -------
    SampledEstimate
    """
    if not 0.0 < coverage < 1.0:
        raise ValueError(f"coverage: between 0 and 1, got {coverage}")
    kept = results[:, np.isfinite(results).all(axis=0)]
    share_lost = 1.0 - kept.shape[1] / results.shape[1]
    m = len(names)
    if kept.shape[1] < 2:
        none = np.full(m, np.nan)
        return SampledEstimate(
            names, none, np.full((m, m), np.nan), none, none, coverage, share_lost
        )
    ends = [shortest_interval(row, coverage) for row in kept]
    return SampledEstimate(
        names=names,
        means=kept.mean(axis=1),
        cov=np.atleast_2d(np.cov(kept)),
        low=np.array([low for low, _ in ends]),
        high=np.array([high for _, high in ends]),
        coverage=coverage,
        share_lost=share_lost,
    )


def shortest_interval(samples: Array, coverage: float = 0.95) -> tuple[float, float]:
    """Shortest interval that holds a share of the samples (JCGM 101, 7.7.4).

    Parameters
    ----------
    samples : ndarray, shape (n,)
        Two or more, finite.
    coverage : float, optional

    Returns
    -------
    tuple of float
        Lower and upper end.

    Examples
    --------
    Of 0, 10, 11, 12, 13 the four last lie closest together.

    >>> shortest_interval(np.array([0.0, 10.0, 11.0, 12.0, 13.0]), 0.6)
    (10.0, 13.0)
    """
    ordered = np.sort(samples)
    apart = min(max(round(coverage * len(ordered)), 1), len(ordered) - 1)
    widths = ordered[apart:] - ordered[:-apart]
    first = int(np.argmin(widths))
    return float(ordered[first]), float(ordered[first + apart])
