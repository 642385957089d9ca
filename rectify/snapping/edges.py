"""One straight edge, located to a few hundredths of a pixel, with its own ±.

Across the edge, a row of profiles is sampled at one-pixel stations along it. To
each profile a blurred step is fitted; where the step lies is an edge point. A
robust straight line through the edge points is the edge. The ± follows from the
noise that the profiles themselves show, and is widened where the edge points
scatter about their line by more than that noise explains.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rectify.snapping.neighbours import Surroundings, find_surroundings
from rectify.snapping.patch import SMOOTHING_PX, Array, BoolArray, Patch
from rectify.snapping.profiles import WIDEST_PX, Steps, fit_steps, sample_profiles

# Stations used on each side: longer edges add little and may be bent. Only where the step is
# faint, below so many times the noise of a sample, do more of them pay.
MOST_STATIONS = 16
MOST_FAINT_STATIONS = 22
FAINT_STEP = 25.0
FEWEST_STATIONS = 4
# What no straight step model knows: pixel shape, brightness curve, uneven sides. Real chessboard
# photos scatter by 0.05 px about a camera model that lets the board bend (tests/outside).
MODEL_U_PX = 0.025
# Errors of corners made with noise and JPEG vary by 1.1 to 1.5 times what first-order theory
# says (blocks of JPEG correlate further than the smoothing; steps near the noise are not
# linear); tests/rectify/test_snap.py holds the outcome.
VARIANCE_ALLOWANCE = 1.25
_FIRST_WIDTH_PX = 1.2


@dataclass(frozen=True, slots=True)
class Edge:
    """A straight edge.

    Attributes
    ----------
    point_px : ndarray, shape (2,)
        The point of the edge nearest to where it was asked for, photo pixels.
    direction : ndarray, shape (2,)
        Unit vector along it.
    var_offset_px2 : float
        Variance of its position across, at `point_px`.
    steps : tuple of two floats
        Step of brightness behind and ahead of `point_px` along `direction`:
        positive where the right-hand side (direction turned from x to y) is
        lighter; 0 where there is no edge.
    width_px : float
        Standard deviation of its blur, with that of the smoothing.
    signal : float
        Step over noise, both after averaging along the edge.
    station_count : int
        Number of edge points that hold it.
    gap_px : float
        How much later than it could have, the edge starts beside `point_px`.
    """

    point_px: Array
    direction: Array
    var_offset_px2: float
    steps: tuple[float, float]
    width_px: float
    signal: float
    station_count: int
    gap_px: float

    @property
    def normal(self) -> Array:
        """Unit vector across it, `direction` turned from x to y."""
        return np.array([-self.direction[1], self.direction[0]])


def fit_edge(
    patch: Patch,
    origin_px: Array,
    direction: Array,
    other_direction: Array | None = None,
    width_px: float | None = None,
) -> Edge | None:
    """Fit one edge through (almost) a point, or return None where there is none.

    Parameters
    ----------
    patch : Patch
        Surroundings of the click.
    origin_px : ndarray, shape (2,)
        Rough point on the edge: the corner, or the foot of the click.
    direction : ndarray, shape (2,)
        Rough direction, unit.
    other_direction : ndarray, optional
        Direction of the other edge through `origin_px`; what lies near that
        edge or beyond it is not looked at, so that it cannot pull this one.
    width_px : float, optional
        The edge's blur where it has been fitted before; found here where not.
    """
    rounds = 3 if width_px is None else 2
    width_px = _FIRST_WIDTH_PX if width_px is None else width_px
    profiles = sample_profiles(patch, origin_px, direction, other_direction, width_px)
    along, across, levels = profiles.along_px, profiles.across_px, profiles.levels
    surroundings = Surroundings(low_px=-2.5, high_px=2.5, width_px=width_px)
    for remaining in range(rounds - 1, -1, -1):
        width_px = surroundings.width_px
        seen = profiles.inside & (profiles.clear_px > _hidden_px(width_px))
        window = seen & (across >= surroundings.low_px) & (across <= surroundings.high_px)
        steps = fit_steps(levels, across, window, width_px, patch.sampled_noise)
        behind, ahead = _follow_sides(steps, 4.0 + 2.5 * width_px)
        used = behind | ahead
        if np.count_nonzero(used) < FEWEST_STATIONS:
            return None
        if remaining:
            upright = levels[used] * np.sign(steps.heights[used])[:, np.newaxis]
            surroundings = find_surroundings(
                upright, seen[used], window[used], across, steps.offsets_px[used], steps.noise
            )
            if surroundings.width_px > WIDEST_PX:
                return None  # slow shading
    offset_px, slope, var_offset_px2 = fit_line_to_edge_points(
        along[used], steps.offsets_px[used], steps.var_offsets_px2[used]
    )
    normal = np.array([-direction[1], direction[0]])
    turned = direction + slope * normal
    heights = [
        float(np.mean(steps.heights[side])) if side.any() else 0.0 for side in (behind, ahead)
    ]
    count = int(np.count_nonzero(used))
    return Edge(
        point_px=origin_px + (offset_px + surroundings.shift_px) * normal,
        direction=turned / np.hypot(*turned),
        var_offset_px2=var_offset_px2 + MODEL_U_PX**2 + surroundings.u_shift_px**2,
        steps=(heights[0], heights[1]),
        width_px=width_px,
        signal=float(np.mean(np.abs(steps.heights[used])) / steps.noise * np.sqrt(count)),
        station_count=count,
        gap_px=_measure_gap(behind, ahead, other_direction, direction, width_px),
    )


def _measure_gap(
    behind: BoolArray,
    ahead: BoolArray,
    other_direction: Array | None,
    direction: Array,
    width_px: float,
) -> float:
    """Compare where the edge starts with where the other edge stops hiding it."""
    middle = len(behind) // 2
    starts = np.abs(np.flatnonzero(behind | ahead) - middle)
    hidden_px = 0.0
    if other_direction is not None:
        sine = abs(direction[0] * other_direction[1] - direction[1] * other_direction[0])
        # A profile needs a pixel to either side, and leans towards the other edge there.
        lean_px = abs(float(direction @ other_direction))
        hidden_px = (_hidden_px(width_px) + lean_px) / max(float(sine), 0.1)
    return max(float(starts.min()) - hidden_px, 0.0)


def _hidden_px(width_px: float) -> float:
    """Distance from another edge within which its blur is not to be looked at."""
    return 1.8 * width_px + 0.3


def _follow_sides(steps: Steps, start_px: float) -> tuple[BoolArray, BoolArray]:
    """Choose the stations behind and ahead that belong to the edge, from the middle outwards.

    A side starts within `start_px` of the middle or not at all. It ends where
    three stations in a row show no step, or one of the other sense: there
    another thing begins.
    """
    middle = len(steps.heights) // 2
    behind = _follow_side(steps, range(middle - 1, -1, -1), start_px)
    ahead = _follow_side(steps, range(middle, len(steps.heights)), start_px)
    return behind, ahead


def _follow_side(steps: Steps, order: range, start_px: float) -> BoolArray:
    heights, usable = steps.heights.tolist(), steps.usable.tolist()
    side = np.zeros(len(heights), dtype=bool)
    first = [heights[i] for i in order if usable[i]][:8]
    if not first:
        return side
    sense = 1.0 if sum(1 if height > 0 else -1 for height in first[:5]) > 0 else -1.0
    typical = sorted(abs(height) for height in first)[len(first) // 2]
    most = MOST_STATIONS if typical > FAINT_STEP * steps.noise else MOST_FAINT_STATIONS
    kept: list[int] = []
    missed = 0
    for distance_px, i in enumerate(order):
        if not kept and distance_px > start_px:
            break
        if usable[i] and sense * heights[i] > 0.35 * typical:
            kept.append(i)
            missed = 0
        elif kept:
            missed += 1
        if missed == 3 or len(kept) == most:
            break
    if len(kept) >= FEWEST_STATIONS - 1:
        side[kept] = True
    return side


def fit_line_to_edge_points(
    along: Array, offsets_px: Array, var_px2: Array
) -> tuple[float, float, float]:
    """Robust line through edge points: offset and slope at 0, and the offset's variance.

    Neighbouring edge points share smoothed pixels, so their errors correlate;
    the variance allows for that and for a scatter larger than the noise says.
    """
    deviations: Array = np.asarray(np.sqrt(var_px2))
    design = np.stack([np.ones_like(along), along], axis=-1)
    weights = 1.0 / var_px2
    for _ in range(3):
        weighted = design.T * weights
        solver = np.linalg.inv(weighted @ design) @ weighted
        residuals = (offsets_px - design @ (solver @ offsets_px)) / deviations
        sizes = np.abs(residuals)
        spread = max(1.0, 1.4826 * float(np.sort(sizes)[len(sizes) // 2]))
        weights = np.minimum(1.0, 2.0 * spread / np.maximum(sizes, 1e-9)) / var_px2
    correlation = np.exp(-((along[:, np.newaxis] - along) ** 2) / (4.0 * SMOOTHING_PX**2))
    cov_points = correlation * deviations[:, np.newaxis] * deviations
    scale = _excess_scatter(design, solver, residuals, correlation, deviations)
    offset_px, slope = solver @ offsets_px
    var_offset_px2 = float((solver @ cov_points @ solver.T)[0, 0]) * scale * VARIANCE_ALLOWANCE
    return float(offset_px), float(slope), var_offset_px2


def _excess_scatter(
    design: Array, solver: Array, residuals: Array, correlation: Array, deviations: Array
) -> float:
    """Ratio of the scatter seen to the scatter expected, drawn towards 1 when points are few."""
    reduced = np.eye(len(design)) - (design @ solver) * deviations / deviations[:, np.newaxis]
    expected = reduced @ correlation @ reduced.T
    mean = float(np.trace(expected))
    freedom = mean**2 / float(np.sum(expected * expected.T))
    ratio = float(residuals @ residuals) / mean
    return max((2.0 + freedom * ratio) / (2.0 + freedom), 0.5)
