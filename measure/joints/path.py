"""Thread a run of joints through the peaks of one sampling.

Every peak is a joint or not; a run of joints starts near one pick, ends near the other, and its
spacings follow what is asked of the wall: even (a pitch, give or take), or uneven (any height
within a factor of seven). All runs are summed, not just the best one taken, so the outcome also
says how likely the runner-up counts are. A joint that is hidden (by a peak that is missing, or a
strip cut at the pick) may be stepped over in an even wall, at a price.

The sum over all runs of the product of their factors is one triangular system of equations with a
narrow band; marking every course with a root of unity gives the likelihood of each count.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.linalg import blas

from measure.joints.profile import Array, middle
from measure.joints.response import Peaks, Sampling

PICK_SCATTER = 0.17  # deviation of a pick from its joint, in courses; a third is the limit
PLACE_SCATTER = 0.04  # deviation of a peak from its joint, in courses
UNEVEN_SCATTER = 0.45  # deviation of log height in an uneven wall: 2:1 is common
N_ROOTS = 16  # counts are told apart modulo this
MOST_SPREAD = 0.3  # deviation of joints' heights, in their mean: wider is not one kind of thing
PRIOR_WEIGHT = 4.0  # peaks' worth of belief in what noise looks like


@dataclass(frozen=True, slots=True)
class Looks:
    """How high joints and other peaks are in this strip: mean and deviation of each."""

    joint: float
    u_joint: float
    other: float
    u_other: float
    blocks: float  # number of blocks these hold for; peaks on fewer scatter more


@dataclass(frozen=True, slots=True)
class Run:
    """A run of joints from one pick to the other.

    Attributes
    ----------
    joints : ndarray, shape (n,)
        Positions in samples, from the top.
    used : ndarray of int
        Indices into `peaks` of the joints that are peaks.
    steps : ndarray of int, shape (n - 1,)
        Courses from each joint to the next: more than 1 steps over hidden joints.
    count : int
    log_odds : float
        Of the best description with joints against one without any.
    pitch : float
        Samples in a course that the hypothesis started from.
    """

    peaks: Peaks
    looks: Looks
    joints: Array
    used: npt.NDArray[np.intp]
    steps: npt.NDArray[np.intp]
    count: int
    log_odds: float
    pitch: float
    scatter: float
    even: bool
    sign: int
    ways: _Ways

    def sureness(self) -> float:
        """Share of this count among all counts, under this hypothesis."""
        return _share_of_count(self.ways, self.count)


@dataclass(frozen=True, slots=True)
class _Ways:
    """All runs of a web at once: their matrix, the factors of first and last joint, their sum."""

    matrix: Array
    first: Array
    last: Array
    courses: npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class _Web:
    """Peaks and picks in order, with the factor of each step between them.

    Row k - 1, column i of `gap`, `factor` and `courses` belongs to the step from node i to
    node i + k; the factor is zero where there is no such node.
    """

    at: Array
    start: int
    end: int
    peak_nodes: npt.NDArray[np.intp]
    gap: Array
    factor: Array
    courses: npt.NDArray[np.intp]
    entry: Array
    leave: Array


def thread_run(
    sampling: Sampling, peaks: Peaks, pitch: float, scatter: float, *, even: bool, sign: int
) -> Run | None:
    """Find the run of joints for one pitch, or None where there is none.

    Parameters
    ----------
    sampling : Sampling
    peaks : Peaks
    pitch : float
        Samples in a course; for an uneven wall the middle of the range.
    scatter : float
        Deviation of a course height in pitches (even), or of its logarithm (uneven).
    even : bool
    sign : int
        Kept in the result: 1 lighter, -1 darker, 0 either.
    """
    reach = 0.62 * pitch
    peaks = peaks.pick((peaks.at > sampling.top - reach) & (peaks.at < sampling.bottom + reach))
    if len(peaks.at) < 2:
        return None
    n_likely = max(2, round((sampling.bottom - sampling.top) / pitch))
    usual = middle(np.sort(peaks.height)[::-1][:n_likely])
    if not even:
        usual = _upper_class(peaks.height)
    looks = Looks(
        max(usual, 0.5),
        max(0.4 * usual, 0.15),
        0.1,
        0.2,
        middle(peaks.blocks),
    )
    web = _make_web(sampling, peaks, pitch, scatter, even)
    density = max(len(peaks.at) / (sampling.bottom - sampling.top + 2 * reach), 0.5 / pitch)
    for i in range(3):
        gain, tilt = _gains(web, sampling, peaks, looks, density, pitch, even)
        ways = _make_ways(web, gain, tilt)
        solved = _sum_runs(web, ways, tilt)
        if solved is None:
            return None
        share, log_total = solved
        if i < 2:
            looks = _learn_looks(peaks, np.clip(share[web.peak_nodes], 0.0, 1.0), pitch, looks)
    chosen = np.flatnonzero(share > 0.5)
    joints = web.at[chosen]
    if len(joints) < 2:
        return None
    gaps = np.diff(joints)
    steps = (
        np.maximum(1, np.round(gaps / pitch)).astype(np.intp)
        if even
        else np.ones(len(gaps), np.intp)
    )
    count = int(steps.sum())
    place = {int(node): i for i, node in enumerate(web.peak_nodes)}
    used = np.array([place[int(node)] for node in chosen if int(node) in place], np.intp)
    return Run(
        peaks=peaks,
        looks=looks,
        joints=joints,
        used=used,
        steps=steps,
        count=count,
        log_odds=log_total,
        pitch=pitch,
        scatter=scatter,
        even=even,
        sign=sign,
        ways=ways,
    )


def _upper_class(heights: Array) -> float:
    """Mean of the upper of two classes that part the heights best (least variance within)."""
    ordered = np.sort(heights)
    n = np.arange(1, len(ordered))
    low = np.cumsum(ordered)[:-1] / n
    high = (ordered.sum() - np.cumsum(ordered)[:-1]) / (len(ordered) - n)
    between = n * (len(ordered) - n) * (high - low) ** 2
    return float(high[int(np.argmax(between))])


def log_ratio(height: Array, blocks: Array, looks: Looks, invisible: float) -> Array:
    """Log of how much likelier a height is for a joint than for any other peak."""
    wider = np.sqrt(np.clip(looks.blocks / np.maximum(blocks, 0.5), 0.7, 12.0))
    u_other = looks.u_other * wider
    u_joint = np.sqrt(looks.u_joint**2 + np.maximum(u_other**2 - looks.u_other**2, 0.0))
    other = np.logaddexp(
        np.log(0.98) + _log_normal(height, looks.other, u_other),
        np.log(0.02) + _log_normal(height, looks.other + 2 * u_other, 3 * u_other),
    )
    capped = np.minimum(height, looks.joint)  # clearer than usual is as good as usual
    joint = np.logaddexp(
        np.log(1.0 - invisible) + _log_normal(capped, looks.joint, u_joint),
        np.log(invisible) + _log_normal(height, looks.other, u_other),
    )
    return np.asarray(joint - other)


def _log_normal(x: Array, mean: Array | float, deviation: Array | float) -> Array:
    return np.asarray(-0.5 * ((x - mean) / deviation) ** 2 - np.log(deviation) - 0.919)


def _normal(x: Array, mean: Array | float, deviation: Array | float) -> Array:
    return np.asarray(np.exp(-0.5 * ((x - mean) / deviation) ** 2) / (deviation * 2.5066))


def _make_web(sampling: Sampling, peaks: Peaks, pitch: float, scatter: float, even: bool) -> _Web:
    """Lay out the nodes and the likelihood of each spacing between them."""
    everything = np.concatenate([[sampling.top], peaks.at, [sampling.bottom]])
    order = np.argsort(everything, kind="stable")
    at = everything[order]
    start, end = int(np.flatnonzero(order == 0)[0]), int(np.flatnonzero(order == len(at) - 1)[0])
    nodes = np.empty(len(peaks.at), np.intp)
    inner = (order > 0) & (order < len(at) - 1)
    nodes[order[inner] - 1] = np.flatnonzero(inner)
    seen = np.interp(
        at,
        np.arange(sampling.n_samples + 1),
        np.concatenate([[0.0], np.cumsum(sampling.sight)]),
    )
    reach = (3.5 if even else 2.9) * pitch
    ahead = np.searchsorted(at, at + reach, side="right") - np.arange(len(at)) - 1
    n_bands = int(np.clip(ahead.max(initial=1), 1, min(60, len(at) - 1)))
    here = np.arange(len(at))
    there = here + np.arange(1, n_bands + 1)[:, None]
    absent = (there >= len(at)) | (here == end) | (there == start)
    there = np.minimum(there, len(at) - 1)
    gap = np.maximum(at[there] - at, 1e-6)
    sight = np.clip((seen[there] - seen) / gap, 0.0, 1.0)
    taken = np.maximum(1, np.rint(gap / pitch)).astype(np.intp)
    if even:
        most = np.where(sight < 0.35, 25, 3)
        deviation = np.sqrt(taken * scatter**2 + 2 * PLACE_SCATTER**2) * pitch
        factor = _normal(gap, taken * pitch, deviation) * 0.02 ** (sight * (taken - 1))
        factor[taken > most] = 0.0
    else:
        taken = np.minimum(taken, np.where(sight < 0.35, 2, 1))
        middle = np.log(gap / (pitch * taken))
        factor = _normal(middle, 0.0, scatter) / gap * 3e-5 ** (sight * (taken - 1))
        factor[(gap < 0.4 * pitch) | (gap > 2.8 * pitch * taken)] = 0.0
    ways = [(np.arange(n_bands), np.full(n_bands, start))]
    back = np.arange(min(n_bands, end))
    ways.append((back, end - 1 - back))
    for way in ways:  # a pick lies off its joint by more than a peak does
        wide = np.hypot(PICK_SCATTER, (scatter if even else 0.4) * np.sqrt(taken[way])) * pitch
        loose = _normal(gap[way], taken[way] * pitch, wide)
        loose = loose * 0.02 ** (sight[way] * (taken[way] - 1))
        loose[(gap[way] < 0.3 * pitch) | (taken[way] > 3)] = 0.0
        factor[way] = loose
    absent[end - start - 1 : end - start, start] = True  # not straight from pick to pick
    factor[absent] = 0.0
    entry, leave = np.zeros(len(at)), np.zeros(len(at))
    entry[nodes] = _near_pick(peaks.at - sampling.top, pitch)
    leave[nodes] = _near_pick(peaks.at - sampling.bottom, pitch)
    entry[start] = leave[end] = 1.0
    return _Web(at, start, end, nodes, gap, factor, taken, entry, leave)


def _near_pick(away: Array, pitch: float) -> Array:
    """Density of a joint at this distance from its pick."""
    part = np.abs(away) / pitch
    density = 0.95 * _normal(part, 0.0, PICK_SCATTER) + 0.05 * (part < 0.45)
    return np.asarray(np.where(part < 0.6, density / pitch, 0.0))


def _gains(
    web: _Web,
    sampling: Sampling,
    peaks: Peaks,
    looks: Looks,
    density: float,
    pitch: float,
    even: bool,
) -> tuple[Array, float]:
    """Factor of each node, and the growth per sample that keeps products within range."""
    ratio = log_ratio(peaks.height, peaks.blocks, looks, 0.03 if even else 3e-4)
    log_gain = np.zeros(len(web.at))
    log_gain[web.peak_nodes] = ratio - np.log(density)
    for node, place in ((web.start, sampling.top), (web.end, sampling.bottom)):
        i = int(np.clip(place, 1, sampling.n_samples - 2))
        hidden = 1.0 - float(sampling.sight[i - 1 : i + 2].mean())
        log_gain[node] = np.log(0.04 + 0.6 * hidden)
    span = sampling.bottom - sampling.top
    best = np.sort(log_gain)[::-1][: max(1, int(span / pitch))]
    return np.exp(log_gain), max(0.0, float(best.sum())) / span


def _make_ways(web: _Web, gain: Array, tilt: float) -> _Ways:
    """Lay out the unit lower triangular band matrix whose solution sums over all runs."""
    n_bands, n = web.factor.shape
    there = np.minimum(np.arange(n) + np.arange(1, n_bands + 1)[:, None], n - 1)
    matrix = np.ones((n_bands + 1, n))
    matrix[1:] = -web.factor * np.exp(-tilt * web.gap) * gain[there]
    first = web.entry * gain * np.exp(-tilt * (web.at - web.at[web.start]))
    last = web.leave * np.exp(-tilt * (web.at[web.end] - web.at))
    return _Ways(matrix, first, last, web.courses)


def _sum_runs(web: _Web, ways: _Ways, tilt: float) -> tuple[Array, float] | None:
    """Share of all runs that pass through each node, and the log of their sum."""
    n_bands = len(ways.matrix) - 1
    forward = blas.dtbsv(n_bands, ways.matrix, ways.first, lower=1, diag=1)
    backward = blas.dtbsv(n_bands, ways.matrix, ways.last, lower=1, trans=1, diag=1)
    total = float(forward @ ways.last)
    if not (np.isfinite(total) and total > 1e-280):
        return None
    log_total = float(np.log(total) + tilt * (web.at[web.end] - web.at[web.start]))
    return forward * backward / total, log_total


def _share_of_count(ways: _Ways, count: int) -> float:
    """Share of all runs that have this count (modulo N_ROOTS)."""
    n_bands = len(ways.matrix) - 1
    total = float(blas.dtbsv(n_bands, ways.matrix, ways.first, lower=1, diag=1) @ ways.last)
    marked = ways.matrix.astype(complex)
    start = ways.first.astype(complex)
    part = total / N_ROOTS
    turns = np.exp(2j * np.pi * np.arange(N_ROOTS) / N_ROOTS)
    courses = ways.courses % N_ROOTS
    for k in range(1, N_ROOTS // 2 + 1):
        marked[1:] = ways.matrix[1:] * turns[(k * courses) % N_ROOTS]
        value = complex(blas.ztbsv(n_bands, marked, start, lower=1, diag=1) @ ways.last)
        twice = 1.0 if k == N_ROOTS // 2 else 2.0
        part += twice * (value * turns[-(k * count) % N_ROOTS]).real / N_ROOTS
    return float(np.clip(part / total, 0.0, 1.0)) if np.isfinite(part / total) else 0.0


def _learn_looks(peaks: Peaks, share: Array, pitch: float, looks: Looks) -> Looks:
    """How high joints and other peaks are, from the joints found so far."""
    sure = peaks.at[share > 0.5]
    other = 1.0 - share
    if len(sure):
        other = np.where(np.abs(peaks.at[:, None] - sure).min(axis=1) < 0.25 * pitch, 0.0, other)
    n_other, n_joint = other.sum() + PRIOR_WEIGHT, share.sum() + 1.0
    mean_other = (other @ peaks.height + PRIOR_WEIGHT * 0.1) / n_other
    var_other = (other @ (peaks.height - mean_other) ** 2 + PRIOR_WEIGHT * 0.2**2) / n_other
    mean_joint = (share @ peaks.height + 0.8) / n_joint
    var_joint = (share @ (peaks.height - mean_joint) ** 2 + 0.2**2) / n_joint
    u_other = max(float(np.sqrt(var_other)), 0.08)
    return replace(
        looks,
        joint=max(float(mean_joint), float(mean_other) + u_other, 0.3),
        u_joint=min(max(float(np.sqrt(var_joint)), 0.08), MOST_SPREAD * float(mean_joint)),
        other=float(mean_other),
        u_other=u_other,
    )
