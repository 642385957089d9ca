"""Best linear values from redundant chart points: the weights of least squares."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from shared.jets import Array, Jet, Number


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


def weighed(weights: Array, numbers: Sequence[Number]) -> list[Number]:
    """Sums of numbers times weights.

    Parameters
    ----------
    weights : ndarray, shape (p, n)
    numbers : sequence of number, length n
        All scalar jets, or all arrays of samples or plain numbers.

    Returns
    -------
    list of number, length p
    """
    if all(isinstance(number, Jet) and number.value.ndim == 0 for number in numbers):
        values = weights @ np.array([number.value for number in numbers])
        gradients = weights @ np.array([number.gradient for number in numbers])
        return [Jet(*pair) for pair in zip(values, gradients, strict=True)]
    return list(weights @ np.stack(np.broadcast_arrays(*numbers)))
