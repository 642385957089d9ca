"""Named numbers that share one covariance matrix, and what follows from them.

An `Estimate` holds best values and their covariance. New quantities follow in
two ways: to first order (`propagate`), exact for sums and good for gentle
formulas, and by sampling (`propagate_sampled`), which stays right where a
formula bends within the ±. The two take the same formula.

Knows no units: the names carry them.

References
----------
JCGM 100:2008, *Guide to the expression of uncertainty in measurement* (GUM),
5.2, equation (16). JCGM 101:2008, *Propagation of distributions using a Monte
Carlo method*, clauses 6.4 and 7.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from shared.jets import Array, Number, gradient_of, jets_from_values, value_of
from shared.sampled import SampledEstimate, draw_samples, summarise_samples

Formula = Callable[[Mapping[str, Number]], Mapping[str, Number]]
"""Takes numbers by name and gives numbers by name, with arithmetic and numpy functions only."""

# What rounding may add to a correlation worked out from a covariance matrix.
_CORRELATION_SLACK = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """Best values of n named quantities and their covariance.

    Attributes
    ----------
    names : tuple of str, length n
        Each once; by the rule of the house they carry frame and unit.
    values : ndarray, shape (n,)
        Best values. NaN stands for what the picture cannot give.
    cov : ndarray, shape (n, n)
        Covariance, in the units of the two quantities multiplied.

    Raises
    ------
    ValueError
        If names repeat, shapes disagree, or the covariance is not symmetric,
        has a negative variance or a correlation beyond one.

    Examples
    --------
    >>> two = make_estimate({"sill_mm": (910.0, 3.0), "head_mm": (3011.0, 4.0)})
    >>> height = two.propagate(lambda x: {"height_mm": x["head_mm"] - x["sill_mm"]})
    >>> height.value("height_mm"), height.u("height_mm")
    (2101.0, 5.0)
    """

    names: tuple[str, ...]
    values: Array
    cov: Array

    def __post_init__(self) -> None:
        """Copy, check and lock the arrays."""
        names = tuple(self.names)
        values = np.array(self.values, dtype=float)
        cov = np.array(self.cov, dtype=float)
        _check_parts(names, values, cov)
        cov = 0.5 * (cov + cov.T)
        values.flags.writeable = False
        cov.flags.writeable = False
        object.__setattr__(self, "names", names)
        object.__setattr__(self, "values", values)
        object.__setattr__(self, "cov", cov)

    def __len__(self) -> int:
        return len(self.names)

    def value(self, name: str) -> float:
        """Best value of one quantity."""
        return float(self.values[self._place(name)])

    def u(self, name: str) -> float:
        """Standard uncertainty of one quantity, in its own unit."""
        place = self._place(name)
        return float(np.sqrt(self.cov[place, place]))

    def correlation(self, one: str, other: str) -> float:
        """Correlation of two quantities, from -1 to 1; 0 if either is known exactly."""
        a, b = self._place(one), self._place(other)
        variances = self.cov[a, a] * self.cov[b, b]
        if variances == 0.0:
            return 0.0
        return float(np.clip(self.cov[a, b] / np.sqrt(variances), -1.0, 1.0))

    def take(self, names: Sequence[str]) -> Estimate:
        """Keep some quantities, in the order given, with their covariance."""
        places = [self._place(name) for name in names]
        return Estimate(tuple(names), self.values[places], self.cov[np.ix_(places, places)])

    def join(self, other: Estimate) -> Estimate:
        """Put the quantities of an independent estimate behind these."""
        n, m = len(self), len(other)
        cov = np.zeros((n + m, n + m))
        cov[:n, :n], cov[n:, n:] = self.cov, other.cov
        return Estimate(self.names + other.names, np.concatenate([self.values, other.values]), cov)

    def propagate(self, formula: Formula) -> Estimate:
        """Work out new quantities and their covariance to first order.

        Parameters
        ----------
        formula : callable
            Takes a mapping from each name to a `Jet`, gives a mapping from
            each new name to one number.

        Returns
        -------
        Estimate
            With every correlation between the new quantities. One that rests
            on a quantity of unknown ± has a NaN row in the covariance; the
            others are unaffected.

        Raises
        ------
        ValueError
            If the formula gives arrays instead of single numbers.

        Notes
        -----
        ``cov_new = J cov J^T`` with the exact Jacobian J.
        """
        names, values, jac = self._values_and_jacobian(formula)
        return self.propagate_linear(names, values, jac)

    def propagate_linear(self, names: Sequence[str], values: Array, jac: Array) -> Estimate:
        """Give new quantities their covariance by a Jacobian already worked out.

        Parameters
        ----------
        names : sequence of str, length m
        values : ndarray, shape (m,)
        jac : ndarray, shape (m, n)
            Derivatives of the new quantities by those of this estimate.

        Returns
        -------
        Estimate
        """
        unknown = ~np.isfinite(np.diagonal(self.cov))
        cov = self.cov
        if unknown.any():
            cov = np.where(unknown[:, None] | unknown[None, :], 0.0, cov)
        new = jac @ cov @ jac.T
        lost = (jac[:, unknown] != 0.0).any(axis=1) | ~np.isfinite(jac).all(axis=1)
        new[lost, :] = np.nan
        new[:, lost] = np.nan
        return Estimate(tuple(names), values, new)

    def components(self, formula: Formula) -> dict[str, dict[str, float]]:
        """Share of each input in the standard uncertainty of each new quantity.

        Parameters
        ----------
        formula : callable
            As for :meth:`propagate`.

        Returns
        -------
        dict
            For each new name, by input name, ``c_i u(x_i)`` with its sign (GUM
            5.1.3). Squared and added they give ``u**2`` only if the inputs are
            not correlated.
        """
        names, _, jac = self._values_and_jacobian(formula)
        u = np.sqrt(np.diagonal(self.cov))
        parts = np.where(jac == 0.0, 0.0, jac * u)
        return {
            new: dict(zip(self.names, map(float, row), strict=True))
            for new, row in zip(names, parts, strict=True)
        }

    def propagate_sampled(
        self,
        formula: Formula,
        *,
        seed: int,
        samples: int = 100_000,
        coverage: float = 0.95,
        rectangular: Collection[str] = (),
    ) -> SampledEstimate:
        """Work out new quantities by drawing samples of the inputs.

        Parameters
        ----------
        formula : callable
            As for :meth:`propagate`; here it receives arrays of many samples
            at once.
        seed : int
            The same seed gives the same answer.
        samples : int, optional
            JCGM 101 clause 7.2 takes a million for an end point good to two
            figures; 100 000 give u to about 0.3 %.
        coverage : float, optional
            Probability that the interval holds.
        rectangular : collection of str, optional
            Inputs that may lie with equal probability anywhere within
            ``value ± u * sqrt(3)``; all others are normal.

        Returns
        -------
        SampledEstimate
            Means, covariance and shortest interval of each new quantity.

        Raises
        ------
        ValueError
            If an input has no finite value and ±, the covariance is not
            positive, or a rectangular input is correlated with another.
        """
        for name in rectangular:
            self._place(name)
        blocks: list[list[Array]] = []
        names: tuple[str, ...] = ()
        for inputs in draw_samples(
            self.values, self.cov, [name in rectangular for name in self.names], seed, samples
        ):
            with np.errstate(all="ignore"):
                results = formula(dict(zip(self.names, inputs, strict=True)))
            names = tuple(results)
            blocks.append([np.broadcast_to(r, inputs.shape[1]) for r in results.values()])
        return summarise_samples(names, np.concatenate(blocks, axis=1), coverage)

    def _place(self, name: str) -> int:
        try:
            return self.names.index(name)
        except ValueError:
            raise KeyError(f"no quantity {name!r} in {list(self.names)}") from None

    def _values_and_jacobian(self, formula: Formula) -> tuple[tuple[str, ...], Array, Array]:
        jets: dict[str, Any] = dict(zip(self.names, jets_from_values(self.values), strict=True))
        with np.errstate(all="ignore"):
            results = formula(jets)
        for name, result in results.items():
            if np.shape(value_of(result)) != ():
                raise ValueError(
                    f"{name}: one number wanted, got shape {np.shape(value_of(result))}"
                )
        values = np.array([float(value_of(result)) for result in results.values()])
        rows = [gradient_of(result, len(self)) for result in results.values()]
        return tuple(results), values, np.array(rows).reshape(len(rows), len(self))


def _check_parts(names: tuple[str, ...], values: Array, cov: Array) -> None:
    n = len(names)
    if len(set(names)) != n:
        raise ValueError(f"names: each once, got {list(names)}")
    if values.shape != (n,) or cov.shape != (n, n):
        raise ValueError(
            f"values and cov: shapes ({n},) and ({n}, {n}) wanted for {n} names, "
            f"got {values.shape} and {cov.shape}"
        )
    variances = np.diagonal(cov)
    if (variances < 0.0).any():
        raise ValueError(f"cov: the variance of {names[int(np.nanargmin(variances))]} is negative")
    # In units of both u, so that millimetres beside radians do not hide a fault.
    scale = np.sqrt(np.outer(variances, variances))
    with np.errstate(invalid="ignore"):
        if (np.abs(cov - cov.T) > _CORRELATION_SLACK * scale).any():
            raise ValueError("cov: not symmetric")
        if (np.abs(cov) > (1.0 + _CORRELATION_SLACK) * scale).any():
            raise ValueError("cov: holds a correlation beyond one")


def make_estimate(
    quantities: Mapping[str, tuple[float, float]],
    correlations: Mapping[tuple[str, str], float] | None = None,
) -> Estimate:
    """Make an estimate from values, standard uncertainties and correlations.

    Parameters
    ----------
    quantities : mapping
        From name to (value, standard uncertainty).
    correlations : mapping, optional
        From a pair of names to their correlation; pairs not listed have none.

    Returns
    -------
    Estimate
    """
    names = tuple(quantities)
    values, u = np.array(list(quantities.values()), dtype=float).reshape(-1, 2).T
    if (u < 0.0).any():
        raise ValueError(f"{names[int(np.argmin(u))]}: u must not be negative")
    matrix = np.eye(len(names))
    for (one, other), r in (correlations or {}).items():
        a, b = names.index(one), names.index(other)
        matrix[a, b] = matrix[b, a] = r
    return Estimate(names, values, matrix * np.outer(u, u))
