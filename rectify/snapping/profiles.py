"""Brightness across an edge, profile by profile, and the blurred step in each.

Knows how to fit one step to many profiles; :mod:`rectify.snapping.neighbours` takes
away what a second edge close by adds, :mod:`rectify.snapping.edges` decides which
profiles belong to the edge.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from rectify.snapping.patch import LEAST_NOISE, SMOOTHING_PX, Array, BoolArray, Patch

# How far along the edge, and across it, brightness is looked at.
STATION_REACH_PX = 24
PROFILE_REACH_PX = 8.0
PROFILE_STEP_PX = 0.5
_ROOT_TWO_PI = float(np.sqrt(2.0 * np.pi))
_WIDTH_RATIO = 1.2
# From the smoothing alone to a blur of 3.3 px; the widest stand for slow shading.
WIDTHS_PX = np.array([0.8 * _WIDTH_RATIO**i for i in range(10)])
WIDEST_PX = 3.4


@dataclass(frozen=True, slots=True)
class Profiles:
    """Brightness along (rows) and across (columns) an edge, and where it may be looked at."""

    along_px: Array
    across_px: Array
    levels: Array
    inside: BoolArray
    clear_px: Array


@dataclass(frozen=True, slots=True)
class Steps:
    """Steps fitted to profiles: offset (towards increasing s), height, and which to trust."""

    offsets_px: Array
    heights: Array
    var_offsets_px2: Array
    noise: float
    usable: BoolArray


def sample_profiles(
    patch: Patch,
    origin_px: Array,
    direction: Array,
    other_direction: Array | None,
    width_px: float,
) -> Profiles:
    """Sample brightness on a grid along and across the edge."""
    reach_px = min(2.2 * width_px + 2.5, PROFILE_REACH_PX)
    half_count = int(reach_px / PROFILE_STEP_PX)
    across: Array = PROFILE_STEP_PX * np.arange(-half_count, half_count + 1, dtype=float)
    along = np.arange(-STATION_REACH_PX, STATION_REACH_PX + 1.0)
    normal = np.array([-direction[1], direction[0]])
    x_px = origin_px[0] + along[:, np.newaxis] * direction[0] + across * normal[0]
    y_px = origin_px[1] + along[:, np.newaxis] * direction[1] + across * normal[1]
    levels = patch.sample(x_px, y_px)
    inside = np.isfinite(levels)
    if other_direction is None:
        clear_px = np.full(levels.shape, np.inf)
    else:
        other_normal = np.array([-other_direction[1], other_direction[0]])
        cross = direction @ other_normal
        side = np.sign(along * cross)[:, np.newaxis]
        clear_px = side * (along[:, np.newaxis] * cross + across * (normal @ other_normal))
    return Profiles(along, across, np.where(inside, levels, 0.0), inside, clear_px)


def fit_steps(
    levels: Array, across: Array, window: BoolArray, width_px: float, sampled_noise: float
) -> Steps:
    """Fit ``a + b * Phi((s - d) / width)`` to every profile by three Gauss-Newton steps.

    The linear problem in a, b and b * d is solved by making its three columns
    orthogonal one after the other, for all profiles at once.

    Parameters
    ----------
    levels : ndarray, shape (J, K)
        One profile a row.
    across : ndarray, shape (K,)
        Where its samples lie, in pixels across the edge.
    window : ndarray of bool, shape (J, K)
        Samples to look at.
    width_px : float
        Standard deviation of the blur, smoothing included.
    sampled_noise : float
        Standard deviation of a sample as estimated from the patch; the
        residuals of the profiles themselves may raise it.
    """
    looked_at = window.any(axis=0)
    levels, across, window = levels[:, looked_at], across[looked_at], window[:, looked_at]
    weights = window.astype(float)
    count = weights.sum(axis=1)
    enough = (weights @ (across < -0.4) >= 2) & (weights @ (across > 0.4) >= 2) & (count >= 5)
    count = np.maximum(count, 1.0)
    centred_levels = (levels - (_dot(weights, levels) / count)[:, np.newaxis]) * weights
    offsets = np.zeros(len(levels))
    for _ in range(3):
        reduced = (across - offsets[:, np.newaxis]) / width_px
        bell, step = np.exp(-0.5 * reduced**2) * weights, ndtr(reduced) * weights
        # The columns, made orthogonal: their sums say enough until the offsets are found.
        mean_step, mean_bell = step.sum(axis=1) / count, bell.sum(axis=1) / count
        step_length = _root(_dot(step, step) - count * mean_step**2)
        overlap = (_dot(bell, step) - count * mean_bell * mean_step) / step_length
        bell_length = _root(_dot(bell, bell) - count * mean_bell**2 - overlap**2)
        by_step = _dot(step, centred_levels) / step_length
        by_bell = (_dot(bell, centred_levels) - overlap * by_step) / bell_length
        # The derivative of b Phi((s - d) / width) by d is -b bell / (width sqrt(2 pi)).
        bell_height = by_bell / bell_length
        heights = (by_step - overlap * bell_height) / step_length
        moves = np.zeros_like(heights)
        np.divide(-bell_height * (width_px * _ROOT_TWO_PI), heights, moves, where=heights != 0.0)
        moves = np.clip(moves, -1.0, 1.0)
        offsets = np.clip(offsets + moves, -2.5, 2.5)
    step = (step - mean_step[:, np.newaxis]) * weights / step_length[:, np.newaxis]
    bell = (bell - mean_bell[:, np.newaxis]) * weights - overlap[:, np.newaxis] * step
    bell /= bell_length[:, np.newaxis]
    separation = across[:, np.newaxis] - across
    correlation = np.exp(-(separation**2) / (4.0 * SMOOTHING_PX**2))
    # Variances of the three orthogonal coefficients, for noise of 1.
    flat = weights / np.sqrt(count)[:, np.newaxis]
    var_flat, var_step, var_bell = (
        _dot(column @ correlation, column) for column in (flat, step, bell)
    )
    residual_squares = _dot(centred_levels, centred_levels) - by_step**2 - by_bell**2
    freedom = np.maximum(count - var_flat - var_step - var_bell, 0.5)
    noise = max(
        _robust_root_mean(np.maximum(residual_squares / freedom, 0.0)[enough]),
        LEAST_NOISE / (2.0 * SMOOTHING_PX * np.sqrt(np.pi)),
        0.7 * sampled_noise,
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        var_offsets = (noise * width_px * _ROOT_TWO_PI / (bell_length * heights)) ** 2 * var_bell
    certain = np.abs(by_step) > 3.5 * noise * np.sqrt(var_step)
    usable = enough & certain & (np.abs(offsets) < 2.0) & (np.abs(moves) < 0.5)
    usable &= np.isfinite(var_offsets)
    return Steps(offsets, heights, var_offsets, noise, usable)


def _robust_root_mean(squares: Array) -> float:
    """Root of the mean, in which a few profiles across something else count little."""
    if len(squares) == 0:
        return 0.0
    in_order = np.sort(squares)
    median = 0.5 * (in_order[len(squares) // 2] + in_order[(len(squares) - 1) // 2])
    return float(np.sqrt(np.minimum(squares, 4.0 * median).mean()))


def _dot(left: Array, right: Array) -> Array:
    """Scalar product, row by row."""
    product: Array = np.einsum("jk,jk->j", left, right)
    return product


def _root(squares: Array) -> Array:
    """Length of each row, never 0."""
    return np.asarray(np.sqrt(np.maximum(squares, 1e-12)))


def find_width(upright: Array, window: BoolArray, across: Array, offsets_px: Array) -> float:
    """Find the blur that explains the profiles best."""
    weights = window.astype(float)
    reduced = (across - offsets_px[:, np.newaxis]) / WIDTHS_PX[:, np.newaxis, np.newaxis]
    step = ndtr(reduced)
    count = weights.sum(1)
    sum_step = np.einsum("jk,wjk->wj", weights, step)
    sum_level = (weights * upright).sum(1)
    step_step = np.einsum("jk,wjk->wj", weights, step**2) - sum_step**2 / count
    step_level = np.einsum("jk,wjk->wj", weights * upright, step) - sum_step * sum_level / count
    # What a step of the best height explains of the profiles' spread.
    explained = np.sum(step_level**2 / np.maximum(step_step, 1e-9), axis=1)
    best = int(np.argmax(explained))
    if not 0 < best < len(WIDTHS_PX) - 1:
        return float(WIDTHS_PX[best])
    before, at, after = explained[best - 1 : best + 2]
    shift = 0.5 * (before - after) / (before - 2.0 * at + after)
    return float(WIDTHS_PX[best] * _WIDTH_RATIO**shift)
