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
N_ROOTS = 8  # counts are told apart modulo this
MOST_SPREAD = 0.3  # deviation of joints' heights, in their mean: wider is not one kind of thing
LOG_USUAL, LOG_FREAK = np.log(0.98), np.log(0.02 / 3.0)  # a peak that is none, or is a mark
LOG_SKIP = np.log(0.02)  # price of each joint in sight that an even wall steps over
LOG_SKIP_UNEVEN = np.log(3e-5)
MOST_ALIKE = 2.5  # log of the most that the likeness of its sides says of a line
PRIOR_WEIGHT = 4.0  # peaks' worth of belief in what noise looks like


@dataclass(frozen=True, slots=True)
class Looks:
    """How high joints and other peaks are in this strip: mean and deviation of each."""

    joint: float
    u_joint: float
    other: float
    u_other: float
    blocks: float  # number of blocks these hold for; peaks on fewer scatter more
    alike: tuple[float, float, float, float] = (0.0, 1.0, 0.0, 1.0)  # the same of their sides


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

    @property
    def signs(self) -> Array:
        """Sign of each joint; of one that is no peak, the nearest one's."""
        signs = self.peaks.sign[self.used]
        nearest = np.searchsorted(self.peaks.at[self.used], self.joints)
        return np.asarray(signs[np.minimum(nearest, len(signs) - 1)])

    def sureness(self) -> float:
        """Share of this count among all counts, under this hypothesis."""
        return _share_of_count(self.ways, self.count)


@dataclass(frozen=True, slots=True)
class _Ways:
    """All runs of a web at once: their matrix, the factors of first and last joint, their sum."""

    matrix: Array
    first: Array
    last: Array
    courses: Array


@dataclass(frozen=True, slots=True)
class _Web:
    """Peaks and picks in order, with the factor of each step between them.

    Row k - 1, column i of `there`, `gap`, `log_factor` and `courses` belongs to the step from
    node i to node i + k; the factor is zero where there is no such node.
    """

    at: Array
    start: int
    end: int
    peak_nodes: npt.NDArray[np.intp]
    there: npt.NDArray[np.intp]
    gap: Array
    log_factor: Array
    courses: Array
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
    span = sampling.bottom - sampling.top
    n_best = max(1, int(span / pitch))
    wider = np.sqrt(np.minimum(np.maximum(looks.blocks / np.maximum(peaks.blocks, 0.5), 0.7), 12.0))
    log_gain = np.zeros(len(web.at))
    log_gain[[web.start, web.end]] = _log_hidden(sampling)
    log_density = np.log(max(len(peaks.at) / (span + 2 * reach), 0.5 / pitch))
    for i in range(2):
        ratio = log_ratio(peaks.height, wider, looks, 0.03 if even else 3e-4)
        log_gain[web.peak_nodes] = ratio + _log_alike(peaks.alike, looks) - log_density
        tilt = max(0.0, float(np.sort(log_gain)[-n_best:].sum())) / span
        ways = _make_ways(web, log_gain, tilt)
        solved = _sum_runs(web, ways, tilt)
        if solved is None:
            return None
        share, log_total = solved
        if i < 1:
            looks = _learn_looks(peaks, share[web.peak_nodes], pitch, looks)
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
    place = np.full(len(web.at), -1)
    place[web.peak_nodes] = np.arange(len(peaks.at))
    used = place[chosen]
    return Run(
        peaks=peaks,
        looks=looks,
        joints=joints,
        used=used[used >= 0],
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


def log_ratio(height: Array, wider: Array, looks: Looks, invisible: float) -> Array:
    """Log of how much likelier a height is for a joint than for any other peak.

    `wider` is by how much each peak scatters more than one on all blocks.
    """
    u_other = looks.u_other * wider
    u_joint = np.sqrt(looks.u_joint**2 + np.maximum(u_other**2 - looks.u_other**2, 0.0))
    off = (height - looks.other) / u_other
    usual = -0.5 * off * off  # logarithms of densities, all times u_other
    other = np.logaddexp(LOG_USUAL + usual, LOG_FREAK - (off - 2.0) ** 2 / 18.0)
    capped = np.minimum(height, looks.joint)  # clearer than usual is as good as usual
    joint = np.log((1.0 - invisible) * u_other / u_joint)
    joint -= 0.5 * ((capped - looks.joint) / u_joint) ** 2
    return np.asarray(np.logaddexp(joint, np.log(invisible) + usual) - other)


def _log_alike(alike: Array, looks: Looks) -> Array:
    """Log of how much likelier it is for a joint that its sides are so alike."""
    joint, u_joint, other, u_other = looks.alike
    ratio = _log_normal(alike - joint, u_joint) - _log_normal(alike - other, u_other)
    return np.minimum(np.maximum(ratio, -MOST_ALIKE), MOST_ALIKE)


def _log_normal(off: Array, deviation: Array | float) -> Array:
    return np.asarray(-0.5 * (off / deviation) ** 2 - np.log(deviation * 2.5066))


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
    n_bands = int(min(max(ahead.max(initial=1), 1), 60, len(at) - 1))
    here = np.arange(len(at))
    there = here + np.arange(1, n_bands + 1)[:, None]
    absent = (there >= len(at)) | (here == end) | (there == start)
    there = np.minimum(there, len(at) - 1)
    gap = np.maximum(at[there] - at, 1e-6)
    sight = np.minimum((seen[there] - seen) / gap, 1.0)
    taken = np.maximum(1.0, np.rint(gap / pitch))
    if even:
        deviation = np.sqrt(taken * scatter**2 + 2 * PLACE_SCATTER**2) * pitch
        log_factor = _log_normal(gap - taken * pitch, deviation) + LOG_SKIP * sight * (taken - 1)
        log_factor[taken > np.where(sight < 0.35, 25, 3)] = -np.inf
    else:
        taken = np.minimum(taken, np.where(sight < 0.35, 2.0, 1.0))
        log_gap = np.log(gap)
        log_factor = _log_normal(log_gap - np.log(pitch * taken), scatter) - log_gap
        log_factor += LOG_SKIP_UNEVEN * sight * (taken - 1)
        log_factor[(gap < 0.4 * pitch) | (gap > 2.8 * pitch * taken)] = -np.inf
    back = np.arange(min(n_bands, end))
    for way in ((slice(None), start), (back, end - 1 - back)):
        # a pick lies off its joint by more than a peak does
        wide = np.hypot(PICK_SCATTER, (scatter if even else 0.4) * np.sqrt(taken[way])) * pitch
        loose = _log_normal(gap[way] - taken[way] * pitch, wide)
        loose += LOG_SKIP * sight[way] * (taken[way] - 1)
        loose[(gap[way] < 0.3 * pitch) | (taken[way] > 3)] = -np.inf
        log_factor[way] = loose
    absent[end - start - 1 : end - start, start] = True  # not straight from pick to pick
    log_factor[absent] = -np.inf
    entry, leave = np.zeros(len(at)), np.zeros(len(at))
    entry[nodes] = _near_pick(peaks.at - sampling.top, pitch)
    leave[nodes] = _near_pick(peaks.at - sampling.bottom, pitch)
    entry[start] = leave[end] = 1.0
    return _Web(at, start, end, nodes, there, gap, log_factor, taken, entry, leave)


def _near_pick(away: Array, pitch: float) -> Array:
    """Density of a joint at this distance from its pick."""
    part = np.abs(away) / pitch
    density = 0.95 * _normal(part, 0.0, PICK_SCATTER) + 0.05 * (part < 0.45)
    return np.asarray(np.where(part < 0.6, density / pitch, 0.0))


def _log_hidden(sampling: Sampling) -> list[float]:
    """Log factors of the picks themselves as ends of the run: their joints may be hidden."""
    found = []
    for place in (sampling.top, sampling.bottom):
        i = min(max(int(place), 1), sampling.n_samples - 2)
        hidden = 1.0 - float(sampling.sight[i - 1 : i + 2].sum()) / 3.0
        found.append(float(np.log(0.04 + 0.6 * hidden)))
    return found


def _make_ways(web: _Web, log_gain: Array, tilt: float) -> _Ways:
    """Lay out the unit lower triangular band matrix whose solution sums over all runs."""
    n_bands, n = web.log_factor.shape
    matrix = np.ones((n_bands + 1, n))
    matrix[1:] = -np.exp(web.log_factor - tilt * web.gap + log_gain[web.there])
    first = web.entry * np.exp(log_gain - tilt * (web.at - web.at[web.start]))
    last = web.leave * np.exp(-tilt * (web.at[web.end] - web.at))
    return _Ways(matrix, first, last, web.courses)


def _sum_runs(web: _Web, ways: _Ways, tilt: float) -> tuple[Array, float] | None:
    """Share of all runs that pass through each node, and the log of their sum."""
    n_bands = len(ways.matrix) - 1
    forward = blas.dtbsv(n_bands, ways.matrix, ways.first, lower=1, diag=1)
    total = float(forward @ ways.last)
    if not (np.isfinite(total) and total > 1e-280):
        return None
    backward = blas.dtbsv(n_bands, ways.matrix, ways.last, lower=1, trans=1, diag=1)
    log_total = float(np.log(total) + tilt * (web.at[web.end] - web.at[web.start]))
    return forward * backward / total, log_total


def _share_of_count(ways: _Ways, count: int) -> float:
    """Share of all runs that have this count (modulo N_ROOTS)."""
    n_bands = len(ways.matrix) - 1
    courses = ways.courses.astype(np.intp) % N_ROOTS
    marked = ways.matrix.copy()
    marked[1:] *= 1.0 - 2.0 * (courses % 2)
    total, alternating = (
        float(blas.dtbsv(n_bands, matrix, ways.first, lower=1, diag=1) @ ways.last)
        for matrix in (ways.matrix, marked)
    )
    part = total + (-1) ** count * alternating
    turns = np.exp(2j * np.pi * np.arange(N_ROOTS) / N_ROOTS)
    turned = ways.matrix.astype(complex)
    start = ways.first.astype(complex)
    for k in range(1, N_ROOTS // 2):
        turned[1:] = ways.matrix[1:] * turns[(k * courses) % N_ROOTS]
        value = complex(blas.ztbsv(n_bands, turned, start, lower=1, diag=1) @ ways.last)
        part += 2.0 * (value * turns[-(k * count) % N_ROOTS]).real
    share = part / total / N_ROOTS
    return min(max(share, 0.0), 1.0) if np.isfinite(share) else 0.0


def _learn_looks(peaks: Peaks, share: Array, pitch: float, looks: Looks) -> Looks:
    """How high joints and other peaks are, from the joints found so far."""
    share = np.minimum(np.maximum(share, 0.0), 1.0)
    other = np.where(away_from(peaks.at[share > 0.5], peaks.at) < 0.25 * pitch, 0.0, 1.0 - share)
    n_other, n_joint = other.sum() + PRIOR_WEIGHT, share.sum() + 1.0
    mean_other = (other @ peaks.height + PRIOR_WEIGHT * 0.1) / n_other
    var_other = (other @ (peaks.height - mean_other) ** 2 + PRIOR_WEIGHT * 0.2**2) / n_other
    mean_joint = (share @ peaks.height + 0.8) / n_joint
    var_joint = (share @ (peaks.height - mean_joint) ** 2 + 0.2**2) / n_joint
    u_other = max(float(np.sqrt(var_other)), 0.08)
    alike = []
    for weight in (share, other):
        total = weight.sum() + PRIOR_WEIGHT
        mean = float(weight @ peaks.alike) / total
        spread = weight @ (peaks.alike - mean) ** 2 + PRIOR_WEIGHT * 0.3**2
        alike += [mean, max(float(np.sqrt(spread / total)), 0.1)]
    return replace(
        looks,
        joint=max(float(mean_joint), float(mean_other) + u_other, 0.3),
        u_joint=min(max(float(np.sqrt(var_joint)), 0.08), MOST_SPREAD * float(mean_joint)),
        other=float(mean_other),
        u_other=u_other,
        alike=(alike[0], alike[1], alike[2], alike[3]),
    )


def away_from(joints: Array, at: Array) -> Array:
    """Distance from each place to the nearest joint; joints go up; infinite where there is none."""
    fenced = np.concatenate([[-np.inf], joints, [np.inf]])
    after = np.searchsorted(joints, at)
    return np.asarray(np.minimum(at - fenced[after], fenced[after + 1] - at))
