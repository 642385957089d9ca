"""How far across an edge to look, and what a second edge close by does to it.

A painted line, a joint or a glazing bar has two edges so close that their blur
overlaps, which pushes both outwards. Each is fitted within a narrow window only,
where the push is least; the rest is taken off by a rule found on made-up bars,
and part of it enters the ±.

Two steps of the same sense less than three blur widths apart look like one wider
step, and are taken for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np

from rectify.snapping.patch import SMOOTHING_PX, Array, BoolArray
from rectify.snapping.profiles import PROFILE_STEP_PX, find_width

# Slopes of a neighbour, as a share of the edge's own, from which it is reckoned with.
_OPPOSITE_SHARE, _SAME_SHARE = 0.15, 0.25
# A window must hold the steep part of the step, or nothing can be fitted in it.
_NARROWEST_PX = 1.25
# How well the rule for the push is known, as a share of the push.
_PUSH_UNKNOWN = 0.7
# Blur of a sharp photo, smoothing included.
_USUAL_WIDTH_PX = 1.1


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What lies across an edge.

    Attributes
    ----------
    low_px, high_px : float
        How far across to look, to either side.
    width_px : float
        Standard deviation of the blur, smoothing included.
    shift_px, u_shift_px : float
        What the push of neighbours has to be corrected by, across, and how
        uncertain that is.
    """

    low_px: float
    high_px: float
    width_px: float
    shift_px: float = 0.0
    u_shift_px: float = 0.0


def find_surroundings(
    upright: Array,
    seen: BoolArray,
    window: BoolArray,
    across: Array,
    offsets_px: Array,
    sampled_noise: float,
) -> Surroundings:
    """Choose how far across to look: the whole step, but not into a neighbouring one.

    Parameters
    ----------
    upright : ndarray, shape (J, K)
        Profiles turned so that brightness rises across the edge.
    seen, window : ndarray of bool, shape (J, K)
        Samples that the other edge of a corner does not hide, and those fitted so far.
    across : ndarray, shape (K,)
        Pixels across the edge.
    offsets_px : ndarray, shape (J,)
        Place of the step in each profile.
    sampled_noise : float
        Standard deviation of a sample.
    """
    width_px = find_width(upright, window, across, offsets_px)
    counts = seen.sum(axis=0)
    # Places that only a few profiles show are left out: their mean jumps with each profile.
    known = 2 * counts >= counts.max(initial=1)
    core = seen & (np.abs(across) < _NARROWEST_PX)
    middle_levels = (upright * core).sum(axis=1) / np.maximum(core.sum(axis=1), 1)
    levelled = (upright - middle_levels[:, np.newaxis]) * seen
    mean = np.where(known, levelled.sum(axis=0) / np.maximum(counts, 1), np.nan)
    # Differences of neighbouring samples, averaged over stations that share pixels.
    correlation = np.exp(-((PROFILE_STEP_PX / (2.0 * SMOOTHING_PX)) ** 2))
    independent = max(len(upright) / (2.0 * SMOOTHING_PX * np.sqrt(np.pi)), 1.0)
    slope_noise = sampled_noise * float(np.sqrt(2.0 * (1.0 - correlation) / independent))
    reach_px = min(2.2 * width_px + 0.8, float(across[-1]))
    limits = [reach_px, reach_px]
    shift_px = var_shift_px2 = 0.0
    for i, sign in enumerate((-1, 1)):
        neighbour = _find_neighbour(mean, across, sign, reach_px + 1.0, slope_noise)
        if neighbour is not None:
            turn_px, distance_px, share = neighbour
            limits[i] = min(reach_px, max(turn_px - PROFILE_STEP_PX, _NARROWEST_PX))
            push_px = _push(distance_px, abs(share), width_px)
            well_known_px = 0.12 * width_px
            if share < 0:
                shift_px += sign * min(push_px, well_known_px)
            u_push_px = _PUSH_UNKNOWN * push_px
            if push_px > well_known_px:  # so close that the rule itself is in doubt
                u_push_px = max(u_push_px, 0.35 * width_px)
            var_shift_px2 += u_push_px**2
    return Surroundings(-limits[0], limits[1], width_px, shift_px, float(np.sqrt(var_shift_px2)))


def _push(distance_px: float, share: float, width_px: float) -> float:
    """How far a neighbour of opposite sense pushes the fitted edge away from itself.

    A rule fitted to bars of 1.5 to 8 px and blurs of 0 to 2.2 px, where it
    holds to about 30 %; distance, share and width are as they appear.
    """
    # In a narrow window the width comes out too small.
    width_px = max(width_px, _USUAL_WIDTH_PX)
    reduced = distance_px / width_px
    return width_px * min(3.2 * float(np.sqrt(share) * np.exp(-0.277 * reduced**2)), 0.6)


def _find_neighbour(
    mean: Array, across: Array, sign: int, reach_px: float, slope_noise: float
) -> tuple[float, float, float] | None:
    """Find where the mean profile turns back, or rises anew, to one side.

    Returns
    -------
    tuple of float, or None
        Distance of the turn and of the neighbour's steepest place, and its
        slope as a share of the edge's own, negative where brightness falls
        again; None where nothing is within reach.
    """
    slopes = np.diff(mean).tolist()  # plain numbers: there are few, and each is looked at alone
    middles = (across[:-1] + PROFILE_STEP_PX / 2).tolist()
    known = [i for i, slope in enumerate(slopes) if isfinite(slope)]
    peak = max([slopes[i] for i in known if abs(middles[i]) < 1.3], default=0.0)
    peak = max(peak, 1e-9)
    order = [i for i in known[::sign] if middles[i] * sign > 0]
    doubtful = 4.0 * slope_noise / peak
    fallen = False
    for rank, index in enumerate(order):
        turn_px = abs(middles[index])
        if turn_px > reach_px:
            return None
        share = slopes[index] / peak
        fallen = fallen or share < _OPPOSITE_SHARE
        if share < -max(_OPPOSITE_SHARE, doubtful) or (
            fallen and share > max(_SAME_SHARE, doubtful)
        ):
            best = index
            for further in order[rank + 1 :]:  # on to the steepest place of the neighbour
                if slopes[further] * share < slopes[best] * share:
                    break
                best = further
            place_px = abs(middles[best]) + sign * PROFILE_STEP_PX * _summit(slopes, best)
            return turn_px, place_px, slopes[best] / peak
    return None


def _summit(values: Sequence[float], index: int) -> float:
    """Where between samples an extreme lies, from `index`, by a parabola."""
    if not 0 < index < len(values) - 1:
        return 0.0
    before, at, after = values[index - 1 : index + 2]
    bend = before - 2.0 * at + after
    if not isfinite(bend) or bend == 0.0:
        return 0.0
    return min(max(0.5 * (before - after) / bend, -0.5), 0.5)
