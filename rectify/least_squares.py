"""Weighted least squares with conditions between unknowns and observations.

The general case of adjustment: conditions ``g(unknowns, observations) = 0``, each
of which may use any unknown and any observation. One pick may then serve a frame
and a reference at once and is still counted as one pick. Knows no camera: the
level net of a textbook goes through it as well as a street photo.

References
----------
E. M. Mikhail and F. Ackermann, *Observations and Least Squares*, 1976, chapter on
the general least squares problem (from memory); W. Baarda, *A testing procedure for
use in geodetic networks*, 1968, for redundancy numbers and the w-test.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Protocol

import numpy as np
from scipy.sparse import diags_array
from scipy.sparse.linalg import splu

from shared.errors import NotConvergedError
from shared.jets import Array


@dataclass(frozen=True, slots=True)
class Conditions:
    """Conditions at one point, with their derivatives.

    Parameters
    ----------
    value : ndarray, shape (c,)
        Zero where the condition holds.
    jac_unknowns : ndarray, shape (c, p)
    jac_observations : ndarray or sparse array, shape (c, n)
    """

    value: Array
    jac_unknowns: Array
    jac_observations: Any


class State(Protocol):
    """The unknowns at one point: a vector with a way to step from it."""

    def stepped(self, step: Array) -> Any:
        """Return a new state `step` (shape (p,)) away."""
        ...

    def distance_from_prior(self) -> Array:
        """Return unknowns minus their prior values, shape (p,)."""
        ...


@dataclass(frozen=True)
class Adjusted:
    """Result of `solve_conditions`.

    Parameters
    ----------
    state : State
    observed, adjusted : ndarray, shape (n,)
        Observations as given and as they fit together.
    u_observed : ndarray, shape (n,)
    conditions : Conditions
        At the solution.
    prior_weight : ndarray, shape (p,)
        One over variance of the prior of each unknown; 0 where there is none.
    cov_unknowns : ndarray, shape (p, p)
    chi_square : float
        Weighted sum of squared residuals, priors included.
    iterations : int
    """

    state: Any
    observed: Array
    adjusted: Array
    u_observed: Array
    conditions: Conditions
    prior_weight: Array
    cov_unknowns: Array
    chi_square: float
    iterations: int

    @cached_property
    def _scaled(self) -> Array:
        """``Sigma B.T`` as a dense array, shape (n, c)."""
        scaled = self.conditions.jac_observations * self.u_observed**2
        return np.asarray(scaled if isinstance(scaled, np.ndarray) else scaled.toarray()).T

    @cached_property
    def _gain(self) -> Array:
        """``Sigma B.T W`` with ``W = (B Sigma B.T)^-1``, shape (n, c)."""
        return self._factor.solve(self._scaled.T).T

    @cached_property
    def _factor(self) -> _Factor:
        return _Factor(self.conditions.jac_observations, self.u_observed)

    @property
    def residuals(self) -> Array:
        """Observed minus adjusted, shape (n,)."""
        return self.observed - self.adjusted

    def cov_adjusted(self, which: Array) -> Array:
        """Covariance of some adjusted observations, shape (len(which),) * 2."""
        gain = self._gain[which]
        push = gain @ self.conditions.jac_unknowns
        cov: Array = np.diag(self.u_observed[which] ** 2) - gain @ self._scaled[which].T
        cov += push @ self.cov_unknowns @ push.T
        return 0.5 * (cov + cov.T)

    def cov_adjusted_unknowns(self, which: Array) -> Array:
        """Covariance of adjusted observations with the unknowns, shape (len(which), p)."""
        push: Array = self._gain[which] @ self.conditions.jac_unknowns
        return -push @ self.cov_unknowns

    @cached_property
    def redundancy_numbers(self) -> Array:
        """Share of each observation that the others check, shape (n,), 0 to 1."""
        a = self.conditions.jac_unknowns
        push = self._gain @ a
        taken = np.einsum("nc,nc->n", self._gain, self._scaled)
        taken -= np.einsum("np,pq,nq->n", push, self.cov_unknowns, push)
        numbers: Array = np.clip(taken / self.u_observed**2, 0.0, 1.0)
        return numbers

    @cached_property
    def w_values(self) -> Array:
        """Standardised residuals, shape (n,); 0 where nothing checks the observation.

        An observation that the others check by less than 1 part in 10 000 is unchecked:
        its residual is rounding.
        """
        r = self.redundancy_numbers
        checked = r > 1e-4
        scale = self.u_observed * np.sqrt(np.where(checked, r, 1.0))
        w: Array = np.where(checked, self.residuals / scale, 0.0)
        return w

    @property
    def degrees_of_freedom(self) -> int:
        """Conditions and priors minus unknowns."""
        c, p = self.conditions.jac_unknowns.shape
        return int(c + np.count_nonzero(self.prior_weight) - p)


class _Factor:
    """``M = B Sigma B.T``, factored once."""

    def __init__(self, jac_observations: Any, u_observed: Array) -> None:
        scaled = jac_observations * u_observed
        matrix = scaled @ scaled.T
        # conditions said twice (a guide along the side of the frame) would make M singular:
        # a part in 10^9 more on its diagonal counts them once and changes nothing else
        more = 1e-9 * matrix.diagonal()
        self._inverse: Array | None = None
        self._lu: Any = None
        if isinstance(matrix, np.ndarray):
            self._inverse = np.linalg.inv(matrix + np.diag(more))
        else:
            self._lu = splu((matrix + diags_array(more)).tocsc())

    def solve(self, right: Array) -> Array:
        """``M^-1`` times a vector or a matrix."""
        if self._inverse is not None:
            return np.asarray(self._inverse @ right)
        return np.asarray(self._lu.solve(np.ascontiguousarray(right)))


def solve_conditions(
    linearise: Callable[[Any, Array], Conditions],
    start: Any,
    observed: Array,
    u_observed: Array,
    prior_weight: Array,
    *,
    max_iterations: int = 60,
) -> Adjusted:
    """Solve for the unknowns and the adjusted observations.

    Parameters
    ----------
    linearise : callable
        ``(state, observations) -> Conditions``.
    start : State
        Where to begin.
    observed, u_observed : ndarray, shape (n,)
        Observations and their standard uncertainties (greater than 0).
    prior_weight : ndarray, shape (p,)
        One over variance of each unknown's prior, 0 for none.
    max_iterations : int
        Steps before giving up.

    Returns
    -------
    Adjusted

    Raises
    ------
    NotConvergedError
        If no step lowers the sum of squares, or the steps do not die out.

    Notes
    -----
    Each round linearises at the current unknowns and the current adjusted observations,
    so the answer is the exact constrained minimum, not its first approximation. Steps are
    damped (Levenberg) only when a full step does not help.
    """
    point = _point(linearise, start, np.array(observed, dtype=float), observed, u_observed)
    if point is None:
        raise NotConvergedError(
            "The first guess of the camera does not see all the picks.",
            hint="Check that every pick lies on the face it belongs to.",
        )
    damping = 0.0
    for iteration in range(1, max_iterations + 1):
        step, cov = _step(point, prior_weight, damping)
        with np.errstate(all="ignore"):
            state = point.state.stepped(step)
            shift = point.factor.solve(point.conditions.jac_unknowns @ step + point.gap)
            pull = point.conditions.jac_observations.T @ shift
            tried = _point(linearise, state, observed - u_observed**2 * pull, observed, u_observed)
        before = point.chi_square(prior_weight)
        after = np.inf if tried is None else tried.chi_square(prior_weight)
        if tried is None or not after <= before * (1 + 1e-9) + 1e-9:
            damping = max(damping * 10.0, 1e-3)
            if damping > 1e10:
                return _finish(point, observed, u_observed, prior_weight, iteration)
            continue
        damping = 0.0 if damping < 1e-3 else damping * 0.1
        point = tried
        small = np.all(np.abs(step) < 1e-4 * np.sqrt(np.diag(cov)) + 1e-12)
        if small and damping == 0.0:
            return _finish(point, observed, u_observed, prior_weight, iteration)
    raise NotConvergedError(
        "The picks do not settle to one camera.",
        hint="Check the frame and the references for a pick on the wrong corner.",
    )


@dataclass(frozen=True, slots=True)
class _Point:
    """Everything known at one linearisation."""

    state: Any
    adjusted: Array
    conditions: Conditions
    factor: _Factor
    gap: Array

    def chi_square(self, prior_weight: Array) -> float:
        """Weighted sum of squares of the linearised problem, priors included."""
        prior = prior_weight @ self.state.distance_from_prior() ** 2
        return float(self.gap @ self.factor.solve(self.gap) + prior)


def _point(
    linearise: Callable[[Any, Array], Conditions],
    state: Any,
    adjusted: Array,
    observed: Array,
    u_observed: Array,
) -> _Point | None:
    """Linearise; None where the conditions have no finite value."""
    with np.errstate(all="ignore"):
        conditions = linearise(state, adjusted)
    b = conditions.jac_observations
    entries = b if isinstance(b, np.ndarray) else b.data
    finite = np.isfinite(conditions.value).all() and np.isfinite(entries).all()
    if not finite or not np.isfinite(conditions.jac_unknowns).all():
        return None
    gap = conditions.value + b @ (observed - adjusted)
    return _Point(state, adjusted, conditions, _Factor(b, u_observed), gap)


def _step(point: _Point, prior_weight: Array, damping: float) -> tuple[Array, Array]:
    """Solve the normal equations: the step and the covariance of the unknowns."""
    a = point.conditions.jac_unknowns
    weighed_a = point.factor.solve(a)
    normal = a.T @ weighed_a + np.diag(prior_weight)
    right = -(weighed_a.T @ point.gap) - prior_weight * point.state.distance_from_prior()
    scale = 1.0 / np.sqrt(np.maximum(np.diag(normal), 1e-300))
    outer = np.outer(scale, scale)
    cov = np.linalg.pinv(normal * outer, rcond=1e-14, hermitian=True) * outer
    if damping:
        damped = normal * outer + damping * np.eye(len(scale))
        return scale * np.linalg.solve(damped, scale * right), cov
    return cov @ right, cov


def _finish(
    point: _Point, observed: Array, u_observed: Array, prior_weight: Array, iterations: int
) -> Adjusted:
    _, cov = _step(point, prior_weight, 0.0)
    return Adjusted(
        state=point.state,
        observed=observed,
        adjusted=point.adjusted,
        u_observed=u_observed,
        conditions=point.conditions,
        prior_weight=prior_weight,
        cov_unknowns=cov,
        chi_square=point.chi_square(prior_weight),
        iterations=iterations,
    )
