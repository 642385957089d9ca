"""What an adjustment by least squares gives: values, covariance, and how well all is checked.

Knows no camera. The conditions ``g(unknowns, observations) = 0`` that it rests on come
from `rectify.solving.least_squares`.

References
----------
W. Baarda, *A testing procedure for use in geodetic networks*, 1968, for redundancy
numbers and the w-test.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from scipy.sparse import diags_array
from scipy.sparse.linalg import splu
from scipy.special import chdtrc

from shared.jets import Array

#: A sum of squares that chance exceeds this rarely means worse picks than their ± say.
MISFIT_CHANCE = 0.01


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


class Factor:
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


@dataclass(frozen=True)
class Adjusted:
    """Result of `rectify.solving.least_squares.solve_conditions`.

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
    def _factor(self) -> Factor:
        return Factor(self.conditions.jac_observations, self.u_observed)

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
    def sources(self) -> tuple[Array, Array]:
        """Where the ± comes from: observations and priors, each drawn by itself with ± 1.

        Returns
        -------
        by_unknowns : ndarray, shape (p, q)
        by_observations : ndarray, shape (n, q)
            What q independent numbers of variance 1 do to the unknowns and to the adjusted
            observations; each times its own transpose is a covariance.
        """
        a = self.conditions.jac_unknowns
        b = self.conditions.jac_observations * self.u_observed
        gain = self._gain
        by_picks = -self.cov_unknowns @ (a.T @ (gain / self.u_observed[:, None]).T)
        believed = np.flatnonzero(self.prior_weight)
        by_priors = self.cov_unknowns[:, believed] * np.sqrt(self.prior_weight[believed])
        unknowns = np.hstack([by_picks, by_priors])
        observations = -(gain @ a) @ unknowns
        count = len(self.u_observed)
        own = np.asarray(gain @ (b if isinstance(b, np.ndarray) else b.toarray()))
        observations[:, :count] += np.diag(self.u_observed) - own
        return unknowns, observations

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

    @cached_property
    def cov_residuals(self) -> Array:
        """Covariance of the residuals, shape (n, n): what the adjustment took off."""
        push = self._gain @ self.conditions.jac_unknowns
        cov: Array = self._gain @ self._scaled.T - push @ self.cov_unknowns @ push.T
        return 0.5 * (cov + cov.T)

    @cached_property
    def misfit(self) -> float:
        """How many times worse all fits than the ± allow, where that is beyond chance; else 1.

        Every ± that comes out of the adjustment is multiplied by it.
        """
        freedom = self.degrees_of_freedom
        if freedom <= 0 or chdtrc(float(freedom), self.chi_square) > MISFIT_CHANCE:
            return 1.0
        return max(1.0, math.sqrt(self.chi_square / freedom))

    @property
    def degrees_of_freedom(self) -> int:
        """Conditions and priors minus unknowns."""
        c, p = self.conditions.jac_unknowns.shape
        return int(c + np.count_nonzero(self.prior_weight) - p)
