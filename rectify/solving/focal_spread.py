"""Every camera that the picks leave possible, where they leave the focal length open.

A photo that does not say its focal length, taken nearly upright, fixes it to no better
than the prior does, and widths against heights depend on it in a curve. One solution
with straight-line ± would then be too sure of itself. So the photo is solved again for
a row of focal lengths, each with the probability that the picks and the prior give it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from rectify.solving.adjusted import Adjusted
from rectify.solving.unknowns import Unknowns
from shared.errors import GeometryError
from shared.jets import Array

#: Relative ± of the focal length above which straight-line ± is not trusted.
OPEN_FOCAL = 0.06

#: Distance between neighbouring focal lengths, and the width of the window that each stands
#: for, in units of the ± of log focal: overlapping windows add up to nearly the same
#: everywhere (to 1 part in 1000).
SPACING, WINDOW = 0.8, 0.7

#: Likelihood, beside the best, at which the row ends, and how many steps it goes at most.
UNLIKELY, MOST_STEPS = 1e-3, 8

Solve = Callable[[Unknowns, Array], Adjusted]


def possible_cameras(best: Adjusted, at: int, solve: Solve) -> list[tuple[float, Adjusted]]:
    """Solve again along the focal lengths that the picks leave possible.

    Parameters
    ----------
    best : Adjusted
        The likeliest solution.
    at : int
        Which unknown the logarithm of the focal length is.
    solve : callable
        Solves from a start, with given prior weights.

    Returns
    -------
    list of (float, Adjusted)
        Probabilities, which add up to 1, and solutions.

    Notes
    -----
    With windows ``W_k`` that add up to a constant, ``p(x) ~ sum p(x) W_k(x)``; each term is
    solved by itself, and its probability is Laplace's
    ``exp(-chi2_k / 2) sqrt(det cov_k)``.
    """
    u = float(np.sqrt(best.cov_unknowns[at, at]))
    found: list[tuple[float, Adjusted]] = []
    top = -np.inf
    for direction in (1, -1):
        start: Unknowns = best.state
        for step in range(0 if direction == 1 else 1, MOST_STEPS + 1):
            centre = float(best.state.values[at]) + direction * step * SPACING * u
            try:
                adjusted, log_weight = _windowed(best, start, at, centre, WINDOW * u, solve)
            except GeometryError:
                break
            found.append((log_weight, adjusted))
            top = max(top, log_weight)
            if log_weight < top + np.log(UNLIKELY):
                break
            start = adjusted.state
    weights = np.exp(np.array([log_weight for log_weight, _ in found]) - top)
    weights /= weights.sum()
    return [(float(w), adjusted) for w, (_, adjusted) in zip(weights, found, strict=True)]


def _windowed(
    best: Adjusted, start: Unknowns, at: int, centre: float, u_window: float, solve: Solve
) -> tuple[Adjusted, float]:
    """Solve within one window; the logarithm of its probability but for a constant."""
    weight, window = best.prior_weight.copy(), 1.0 / u_window**2
    prior = start.prior.copy()
    own = float(best.state.prior[at])
    joint = weight[at] + window
    # the product of two normal curves is a normal curve between them, times a constant
    apart = weight[at] * window / joint * (own - centre) ** 2
    prior[at] = (weight[at] * own + window * centre) / joint
    weight[at] = joint
    near = start.stepped(_along(len(prior), at, centre - float(start.values[at])))
    adjusted = solve(replace(near, prior=prior), weight)
    scale = np.sqrt(np.diag(best.cov_unknowns))
    _, log_det = np.linalg.slogdet(adjusted.cov_unknowns / np.outer(scale, scale))
    return adjusted, -0.5 * (adjusted.chi_square + apart) + 0.5 * float(log_det)


def _along(size: int, at: int, step: float) -> Array:
    out = np.zeros(size)
    out[at] = step
    return out
