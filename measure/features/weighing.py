"""Best linear values from redundant chart points: the weights of least squares."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from shared.jets import Array, Number


def best_weights(design: Array, cov: Array) -> Array:
    """Weights that make the best unbiased values out of correlated numbers.

    Parameters
    ----------
    design : ndarray, shape (n, p)
        ``numbers = design @ values`` apart from their ±.
    cov : ndarray, shape (n, n)
        Covariance of the numbers; may be singular where some are tied together.

    Returns
    -------
    ndarray, shape (p, n)
        ``values = weights @ numbers``.

    References
    ----------
    Gauss-Markov theorem in Aitken's form (generalised least squares), A. C. Aitken,
    "On least squares and linear combinations of observations", 1935.
    """
    size = float(np.trace(cov)) / len(cov)
    inverse = np.linalg.inv(cov + 1e-9 * max(size, 1e-12) * np.eye(len(cov)))
    normal = design.T @ inverse @ design
    return np.asarray(np.linalg.solve(normal, design.T @ inverse), dtype=float)


def weighed(weights: Array, numbers: Sequence[Number]) -> Number:
    """Sum of numbers times weights, shape (n,) both."""
    total: Number = float(weights[0]) * numbers[0]
    for weight, number in zip(weights[1:], numbers[1:], strict=True):
        total = total + float(weight) * number
    return total
