"""One photo's share of an adjustment of several photos, as if it had been adjusted alone."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from rectify.solving.adjusted import Adjusted, Conditions
from shared.jets import Array


@dataclass(frozen=True)
class PartAdjusted(Adjusted):
    """A photo's unknowns and observations, with the covariance that all photos together give.

    Parameters
    ----------
    whole : Adjusted
        Of all photos.
    unknowns_at, observations_at : slice
        Where this photo's stand in it.
    """

    whole: Adjusted
    unknowns_at: slice
    observations_at: slice

    def cov_adjusted(self, which: Array) -> Array:
        """Covariance of some adjusted observations; see `Adjusted`."""
        return self.whole.cov_adjusted(which + self.observations_at.start)

    def cov_adjusted_unknowns(self, which: Array) -> Array:
        """Covariance of adjusted observations with the unknowns; see `Adjusted`."""
        cov = self.whole.cov_adjusted_unknowns(which + self.observations_at.start)
        return cov[:, self.unknowns_at]

    @cached_property
    def sources(self) -> tuple[Array, Array]:
        """Where the ± comes from; see `Adjusted`."""
        unknowns, observations = self.whole.sources
        return unknowns[self.unknowns_at], observations[self.observations_at]

    @cached_property
    def redundancy_numbers(self) -> Array:
        """Share of each observation that the others check; see `Adjusted`."""
        return self.whole.redundancy_numbers[self.observations_at]

    @cached_property
    def w_values(self) -> Array:
        """Standardised residuals; see `Adjusted`."""
        return self.whole.w_values[self.observations_at]

    @cached_property
    def cov_residuals(self) -> Array:
        """Covariance of the residuals; see `Adjusted`."""
        at = self.observations_at
        return self.whole.cov_residuals[at, at]

    @cached_property
    def misfit(self) -> float:
        """How many times worse all photos together fit than their ± allow."""
        return self.whole.misfit


def part_of(
    whole: Adjusted, state: Any, conditions: Conditions, unknowns_at: slice, observations_at: slice
) -> PartAdjusted:
    """Cut one photo's share out of an adjustment of several."""
    return PartAdjusted(
        state=state,
        observed=whole.observed[observations_at],
        adjusted=whole.adjusted[observations_at],
        u_observed=whole.u_observed[observations_at],
        conditions=conditions,
        prior_weight=whole.prior_weight[unknowns_at],
        cov_unknowns=whole.cov_unknowns[unknowns_at, unknowns_at],
        chi_square=whole.chi_square,
        iterations=whole.iterations,
        whole=whole,
        unknowns_at=unknowns_at,
        observations_at=observations_at,
    )
