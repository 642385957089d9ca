"""Weighted least squares with conditions between unknowns and observations.

The general case of adjustment: conditions ``g(unknowns, observations) = 0``, each
of which may use any unknown and any observation. One pick may then serve a frame
and a reference at once and is still counted as one pick. Knows no camera: the
level net of a textbook goes through it as well as a street photo.

References
----------
E. M. Mikhail and F. Ackermann, *Observations and Least Squares*, 1976, chapter on
the general least squares problem (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Protocol

import numpy as np

from rectify.solving.adjusted import Adjusted, Conditions, Factor
from shared.errors import NotConvergedError
from shared.jets import Array

#: Steps this small, as part of each unknown's own ±, change nothing that anyone could see.
SMALL_STEP = 1e-3

#: Steps this small are let be where speed counts more: a twentieth of each unknown's ±.
ROUGH_STEP = 0.05

#: Where along a step the conditions are looked at to see how they bend.
BEND_AT = 0.01

#: Parts of a full step that are tried along its bend, before it is damped.
BENT_PARTS = (1.0, 0.5, 0.25, 0.125, 0.0625)

#: Where only damped steps help, parts of full ones are tried again after so many.
PARTS_EVERY = 4


class State(Protocol):
    """The unknowns at one point: a vector with a way to step from it."""

    def stepped(self, step: Array) -> Any:
        """Return a new state `step` (shape (p,)) away."""
        ...

    def distance_from_prior(self) -> Array:
        """Return unknowns minus their prior values, shape (p,)."""
        ...


@dataclass(frozen=True)
class _Point:
    """Everything known at one linearisation.

    `gap` is what the conditions miss by when the observations are put back as observed.
    """

    state: Any
    adjusted: Array
    conditions: Conditions
    factor: Factor
    gap: Array
    prior_weight: Array

    @cached_property
    def chi_square(self) -> float:
        """Weighted sum of squares of the linearised problem, priors included."""
        prior = self.prior_weight @ self.state.distance_from_prior() ** 2
        return float(self.gap @ self.factor.solve(self.gap) + prior)

    @cached_property
    def _weighed(self) -> Array:
        return self.factor.solve(self.conditions.jac_unknowns)

    @cached_property
    def _scaled_normal(self) -> tuple[Array, Array]:
        """Normal matrix with ones on its diagonal, and the scale that makes it so."""
        normal = self.conditions.jac_unknowns.T @ self._weighed + np.diag(self.prior_weight)
        scale = 1.0 / np.sqrt(np.maximum(np.diag(normal), 1e-300))
        return normal * np.outer(scale, scale), scale

    @cached_property
    def cov(self) -> Array:
        """Covariance of the unknowns."""
        normal, scale = self._scaled_normal
        inverse = np.linalg.pinv(normal, rcond=1e-14, hermitian=True)
        return np.asarray(inverse * np.outer(scale, scale))

    @cached_property
    def _slope(self) -> Array:
        prior = self.prior_weight * self.state.distance_from_prior()
        return np.asarray(-(self._weighed.T @ self.gap) - prior)

    @cached_property
    def step(self) -> Array:
        """Full step of Gauss and Newton."""
        return np.asarray(self.cov @ self._slope)

    def damped_step(self, damping: float) -> Array:
        """Step of Levenberg: shorter, and turned towards steepest descent."""
        normal, scale = self._scaled_normal
        damped = normal + damping * np.eye(len(scale))
        return np.asarray(scale * np.linalg.solve(damped, scale * self._slope))

    def length2(self, step: Array, other: Array) -> float:
        """Inner product of two steps in units of the unknowns' ±."""
        normal, scale = self._scaled_normal
        return float((step / scale) @ normal @ (other / scale))


class _Search:
    """One problem: makes points of it."""

    def __init__(
        self,
        linearise: Callable[[Any, Array], Conditions],
        observed: Array,
        u_observed: Array,
        prior_weight: Array,
    ) -> None:
        self.linearise = linearise
        self.observed = np.array(observed, dtype=float)
        self.u_observed = u_observed
        self.prior_weight = prior_weight

    def point(self, state: Any, adjusted: Array) -> _Point | None:
        """Linearise; None where the conditions have no finite value or no observation in them."""
        with np.errstate(all="ignore"):
            conditions = self.linearise(state, adjusted)
        b = conditions.jac_observations
        entries = b if isinstance(b, np.ndarray) else b.data
        finite = np.isfinite(conditions.value).all() and np.isfinite(entries).all()
        if not finite or not np.isfinite(conditions.jac_unknowns).all():
            return None
        gap = conditions.value + b @ (self.observed - adjusted)
        try:
            factor = Factor(b, self.u_observed)
        except (np.linalg.LinAlgError, RuntimeError):
            # a condition that no observation bears on: points of two photos on what is one wall,
            # though it is not said, lie equally deep whatever is picked
            return None
        return _Point(state, adjusted, conditions, factor, gap, self.prior_weight)

    def after(self, point: _Point, step: Array) -> _Point | None:
        """Take a step; None unless it lowers the sum of squares."""
        tried = self.moved(point, step)
        if tried is None or not tried.chi_square <= point.chi_square * (1 + 1e-6) + 1e-4:
            return None
        return tried

    def moved(self, point: _Point, step: Array) -> _Point | None:
        """Take a step, observations along with it."""
        with np.errstate(all="ignore"):
            state = point.state.stepped(step)
            shift = point.factor.solve(point.conditions.jac_unknowns @ step + point.gap)
            pull = point.conditions.jac_observations.T @ shift
        return self.point(state, self.observed - self.u_observed**2 * pull)

    def bend_of(self, point: _Point) -> Array:
        """How far the conditions draw a full step aside, to second order."""
        near = self.point(point.state.stepped(BEND_AT * point.step), point.adjusted)
        if near is None:
            return np.zeros_like(point.step)
        straight = point.gap + BEND_AT * (point.conditions.jac_unknowns @ point.step)
        half_bend = (near.gap - straight) / BEND_AT**2
        weighed = point.factor.solve(half_bend)
        return -np.asarray(point.cov @ (point.conditions.jac_unknowns.T @ weighed))


def solve_conditions(
    linearise: Callable[[Any, Array], Conditions],
    start: Any,
    observed: Array,
    u_observed: Array,
    prior_weight: Array,
    *,
    max_iterations: int = 60,
    rough: bool = False,
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
    rough : bool
        Stop within a twentieth of each unknown's ± of the minimum.

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
    so the answer is the exact constrained minimum, not its first approximation. A full
    step comes first, stretched where the steps have been shrinking by a steady factor
    (Aitken); where it does not help, parts of it, straight or bent to second order,
    whichever lower the sum more (M. K. Transtrum and
    J. P. Sethna, "Improvements to the Levenberg-Marquardt algorithm for nonlinear
    least-squares minimization", 2012: geodesic acceleration), then damped ones.
    """
    search = _Search(linearise, observed, u_observed, prior_weight)
    point = search.point(start, search.observed)
    if point is None:
        raise NotConvergedError(
            "The first guess of the camera does not see all the picks.",
            hint="Check that every pick lies on the face it belongs to.",
        )
    last: Array | None = None
    damped = 0  # steps in a row
    for iteration in range(1, max_iterations + 1):
        step, u = point.step, np.sqrt(np.diag(point.cov))
        if rough and np.all(np.abs(step) < ROUGH_STEP * u + 1e-12):
            return _finished(search, point, iteration)
        if np.all(np.abs(step) < SMALL_STEP * u + 1e-12):
            # so near that this last step is as good as exact
            point = search.after(point, step) or point
            return _finished(search, point, iteration)
        tried, last = _undamped(search, point, last, parts=damped % PARTS_EVERY == 0)
        damped = 0 if tried else damped + 1
        point = tried or _damped(search, point)
    raise _not_settled()


def _undamped(
    search: _Search, point: _Point, last: Array | None, *, parts: bool
) -> tuple[_Point | None, Array | None]:
    """Find a lower sum of squares by a full step or `parts` of it; and the full step taken."""
    step = point.step
    stretch = _stretch(point, last)
    tried = search.after(point, stretch * step) if stretch != 1.0 else None
    if tried is not None:
        return tried, None
    tried = search.after(point, step)
    if tried is not None:
        return tried, step
    if not parts:
        return None, None
    bend = search.bend_of(point)
    for part in BENT_PARTS:
        lower = [
            each
            for bent in (part**2 * bend, 0.0)
            if (each := search.after(point, part * step + bent)) is not None
        ]
        if lower:
            return min(lower, key=lambda each: each.chi_square), None
    return None, None


def _damped(search: _Search, point: _Point) -> _Point:
    """Find a lower sum of squares by a shorter step, turned towards steepest descent."""
    damping, tried = 1e-3, None
    while tried is None and damping < 1e10:
        tried = search.after(point, point.damped_step(damping))
        damping *= 10.0
    # where nothing helps the sum was told too low, the observations not having followed yet
    tried = tried or search.moved(point, np.zeros_like(point.step))
    if tried is None:
        raise _not_settled()
    return tried


def _not_settled() -> NotConvergedError:
    return NotConvergedError(
        "The picks do not settle to one camera.",
        hint="Check the frame and the known sizes for a pick on the wrong corner.",
    )


def _stretch(point: _Point, last: Array | None) -> float:
    """Factor for a full step that follows `last` in a steady row."""
    if last is None:
        return 1.0
    step = point.step
    along, before, now = (
        point.length2(step, last),
        point.length2(last, last),
        point.length2(step, step),
    )
    ratio = along / before
    steady = along**2 > 0.8 * before * now and 0.2 < abs(ratio) < 0.95
    return 1.0 / (1.0 - ratio) if steady else 1.0


def _finished(search: _Search, point: _Point, iterations: int) -> Adjusted:
    return Adjusted(
        state=point.state,
        observed=search.observed,
        adjusted=point.adjusted,
        u_observed=search.u_observed,
        conditions=point.conditions,
        prior_weight=search.prior_weight,
        cov_unknowns=point.cov,
        chi_square=point.chi_square,
        iterations=iterations,
    )
