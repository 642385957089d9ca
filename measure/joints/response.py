"""How much each row of a profile looks like a joint, at one sampling, and where it peaks.

A joint is a thin line that differs the same way from both sides, in every block that shows the
wall. One sampling looks for lines of one thickness; samplings a factor of the square root of two
apart cover courses from two pixels to the whole strip.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from measure.joints.likeness import liken_sides
from measure.joints.profile import Array, Array32, StripProfile, middle, resample_rows

DWARFING = 2.6  # a step this many times a clear joint hides what lies at it
PAD = 24  # samples added at each end: room for a joint just outside the strip
SIDE = 4  # samples from a joint's centre to the flanks it is compared with
ENOUGH = 256  # samples along a strip, of all blocks, that tell what is usual
FLOOR = 1e-3  # a response below a thousandth of the brightness is rounding
NEAR, FAR = 2.5, 7.0  # samples from a line to where the stones on either side are likened
CLIP = 2.5  # a block counts at most this many times its usual response
WORTH, TURNED = 0.2, 1.25  # peaks that count, and by how much more there must be, for a turn
TRUST_SAMPLES = (97, 49)  # lengths over which a block must agree with the others, in turn


@dataclass(frozen=True, slots=True)
class Sampling:
    """A profile resampled so that the picks lie `n_span` samples apart.

    Attributes
    ----------
    line : ndarray, shape (n,)
        Weighted mean response of the blocks, positive for a line lighter than both sides, in
        units of one block's usual response.
    step : ndarray, shape (n,)
        How much of it is a step rather than a line; taken off for either sign.
    blocks, block_line, trust : ndarray, shape (n_blocks, n)
        Signal, response and weight of each block.
    sight : ndarray, shape (n,)
        Part of the strip that can be seen there, 0 to 1.
    mean, variety : ndarray, shape (n,)
        Mean signal, and contrast along the row.
    summed : ndarray
        That of the profile.
    top, bottom : float
        The picks in samples (0 is the upper edge of sample 0).
    rows_per_sample, first_row : float
        Profile rows: ``row = (sample - PAD) * rows_per_sample + first_row``.
    """

    line: Array
    step: Array
    blocks: Array32
    block_line: Array32
    trust: Array32
    sight: Array
    mean: Array
    variety: Array
    summed: Array
    top: float
    bottom: float
    rows_per_sample: float
    first_row: float

    @property
    def n_samples(self) -> int:
        """Samples with the padding."""
        return len(self.line)

    def trust_at(self, samples: Array) -> Array:
        """Trust of each block at samples, shape (n, n_blocks)."""
        at = np.minimum(np.maximum(samples.astype(np.intp), 0), self.n_samples - 1)
        return np.asarray(self.trust[:, at].T, float)

    def rows(self, samples: Array) -> Array:
        """Profile rows of samples."""
        return np.asarray((samples - PAD) * self.rows_per_sample + self.first_row)


@dataclass(frozen=True, slots=True)
class Peaks:
    """Rows that look like a joint.

    Attributes
    ----------
    at : ndarray, shape (n,)
        Position in samples.
    height : ndarray, shape (n,)
        Mean of the response and of its lower quartile over the blocks: high only where the
        line runs right across.
    blocks : ndarray, shape (n,)
        Number of blocks that it rests on.
    sign : ndarray, shape (n,)
        1 for a line lighter than its sides, -1 for a darker one.
    lasting : ndarray, shape (n,)
        Mean height over this sampling and its two neighbours: marks fade, joints stay.
    alike : ndarray, shape (n,)
        How alike the stones above and below are, block by block: joints part stones.
    """

    at: Array
    height: Array
    blocks: Array
    sign: Array
    lasting: Array
    alike: Array

    def pick(self, which: npt.NDArray[np.bool_] | npt.NDArray[np.intp]) -> Peaks:
        """Return the chosen peaks."""
        return Peaks(
            self.at[which],
            self.height[which],
            self.blocks[which],
            self.sign[which],
            self.lasting[which],
            self.alike[which],
        )


def make_sampling(profile: StripProfile, n_span: int) -> Sampling:
    """Resample a profile and weigh its rows.

    Parameters
    ----------
    profile : StripProfile
    n_span : int
        Samples between the picks; courses of 11 to 23 samples are read best.
    """
    first, last = _rows_around(profile)
    n = max(8, round((last - first) * n_span / profile.span_rows))
    per_row = n / (last - first)
    part = slice(first, last)
    signal = _padded(resample_rows(profile.blocks[:, part], n), "edge")
    seen = _padded(resample_rows(profile.seen[:, part], n), "constant") > 0.5
    variety = _padded(resample_rows(profile.variety[None, part], n), "edge")[0]
    above, below = _sides(signal)
    raw_step, both = above - below, 0.5 * (above + below)
    raw_line = both
    few = slice(None, None, max(1, both.shape[1] // ENOUGH))
    usual = middle(np.abs(both[:, few][seen[:, few]])) if seen[:, few].any() else 1.0
    power = ndimage.uniform_filter1d(np.minimum(both**2, 20.0 * usual**2), 65, axis=1)
    scale = np.sqrt(power + 1e-4 * usual**2 + FLOOR**2)
    above, below = (np.clip(side / scale, -CLIP, CLIP) for side in (above, below))
    both = 0.5 * (above + below)
    trust = _trust(both, seen)
    total = trust.sum(axis=0) + 1e-6
    mean_above, mean_below = ((side * trust).sum(axis=0) / total for side in (above, below))
    apart = np.abs(mean_above - mean_below)
    blind = _blind_rows(raw_line, raw_step, trust, total)
    mean = (signal * trust).sum(axis=0) / total
    part_seen = seen.mean(axis=0)
    return Sampling(
        line=np.asarray(0.5 * (mean_above + mean_below), float),
        step=0.5 * np.maximum(0.0, apart - 1.5 * middle(apart)),
        blocks=signal,
        block_line=both,
        trust=trust,
        sight=ndimage.uniform_filter1d(part_seen, 7) ** 2 * (part_seen > 0.1) * ~blind,
        mean=np.asarray(mean, float),
        variety=np.asarray(variety, float),
        summed=profile.summed,
        top=(profile.top_row - first) * per_row + PAD,
        bottom=(profile.bottom_row - first) * per_row + PAD,
        rows_per_sample=1.0 / per_row,
        first_row=float(first),
    )


def merge_peaks(lighter: Peaks, darker: Peaks) -> Peaks:
    """Peaks of either sign; of those closer than a joint's own width only the highest."""
    merged = _joined(lighter, darker)
    near = np.abs(merged.at[:, None] - merged.at) < 4.5
    best = np.where(near, merged.height, -np.inf).max(axis=1, initial=-np.inf)
    return merged.pick(merged.height >= best)


def turn_peaks(lighter: Peaks, darker: Peaks) -> Peaks | None:
    """Lighter peaks above a row and darker ones below, or the other way about.

    For a wall repointed up to there. None where no row parts them so that they are clearly more
    than those of one sign.
    """
    both = _joined(lighter, darker)
    worth = np.where(both.height > WORTH, both.height**2, 0.0)
    of_one = np.array([worth[both.sign == sign].sum() for sign in (-1, 1)])
    ahead = np.cumsum(worth * both.sign)  # by how much lighter ones lead, down to there
    if not len(ahead):
        return None
    lighter_first, darker_first = of_one[0] + ahead.max(), of_one[1] - ahead.min()
    if max(lighter_first, darker_first) < TURNED * of_one.max():
        return None
    above = 1 if lighter_first > darker_first else -1
    last = int(np.argmax(above * ahead))
    return both.pick(both.sign == np.where(np.arange(len(ahead)) <= last, above, -above))


def add_lasting(peaks: Peaks, sampling: Sampling, others: list[tuple[Peaks, Sampling]]) -> Peaks:
    """Fill in how high each peak is on average over this and the neighbouring samplings."""
    total = peaks.height.copy()
    rows = sampling.rows(peaks.at)
    for other, other_sampling in others:
        if not len(other.at) or not len(rows):
            continue
        other_rows = other_sampling.rows(other.at)
        after = np.clip(np.searchsorted(other_rows, rows), 1, max(len(other_rows) - 1, 1))
        pair = np.stack([after - 1, np.minimum(after, len(other_rows) - 1)])
        away = np.abs(other_rows[pair] - rows)
        nearest = np.take_along_axis(pair, away.argmin(axis=0)[None], 0)[0]
        close = away.min(axis=0) < 2.5 * sampling.rows_per_sample
        total += np.where(close, other.height[nearest], 0.0)
    return replace(peaks, lasting=total / (len(others) + 1))


def find_peaks(sampling: Sampling, sign: int) -> Peaks:
    """Rows that peak as a lighter (1) or darker (-1) line; `lasting` is still the height."""
    response = sign * sampling.line - sampling.step
    left, here, right = response[:-2], response[1:-1], response[2:]
    at = np.flatnonzero((here > left) & (here >= right) & (here > 0.05)) + 1
    at = at[(at >= PAD) & (at < sampling.n_samples - PAD)]
    left, here, right = response[at - 1], response[at], response[at + 1]
    bend = left - 2.0 * here + right
    shift = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, -1.0), 0.0)
    trust = sampling.trust[:, at]
    low = _lower_quartile(sign * sampling.block_line[:, at], trust) - sampling.step[at]
    total = trust.sum(axis=0)
    blocks = total**2 / ((trust**2).sum(axis=0) + 1e-6)
    height = 0.5 * (here - 0.25 * (left - right) * shift + low)
    return Peaks(
        at=np.asarray(at + 0.5 + shift, float),
        height=height,
        blocks=np.where(sampling.sight[at] > 0.0, blocks, 0.5),
        sign=np.full(len(at), float(sign)),
        lasting=height,
        alike=liken_sides(
            sampling.summed,
            sampling.rows(np.asarray(at + 0.5 + shift, float)),
            NEAR * sampling.rows_per_sample,
            FAR * sampling.rows_per_sample,
            np.asarray(trust.T, float),
        ),
    )


def _joined(lighter: Peaks, darker: Peaks) -> Peaks:
    """Peaks of both signs in order."""
    order = np.argsort(np.concatenate([lighter.at, darker.at]))
    pairs = ((getattr(lighter, each.name), getattr(darker, each.name)) for each in fields(Peaks))
    return Peaks(*(np.concatenate(pair)[order] for pair in pairs))


def _rows_around(profile: StripProfile) -> tuple[int, int]:
    """Rows worth looking at: the span and a good part of a course beyond it."""
    margin = 0.3 * profile.span_rows + 3.0
    n_rows = profile.blocks.shape[1]
    first = int(np.clip(profile.top_row - margin, 0, n_rows - 1))
    return first, int(np.clip(np.ceil(profile.bottom_row + margin), first + 1, n_rows))


def _padded(signal: Array32, mode: str) -> Array32:
    return np.pad(signal, ((0, 0), (PAD, PAD)), mode=mode)  # type: ignore[call-overload, no-any-return]


def _sides(signal: Array32) -> tuple[Array32, Array32]:
    """Centre minus the flank before it, and minus the flank after it."""
    centre = ndimage.correlate1d(signal, [0.25, 0.5, 0.25], axis=1)
    flank = ndimage.correlate1d(signal, [0.15, 0.2, 0.3, 0.2, 0.15], axis=1)
    before, after = np.empty_like(flank), np.empty_like(flank)
    before[:, SIDE:], before[:, :SIDE] = flank[:, :-SIDE], flank[:, :1]
    after[:, :-SIDE], after[:, -SIDE:] = flank[:, SIDE:], flank[:, -1:]
    return centre - before, centre - after


def _trust(both: Array32, seen: npt.NDArray[np.bool_]) -> Array32:
    """Weight of each block at each sample: how well it agrees with the others around there."""
    trust = seen.astype(np.float32)
    for length in TRUST_SAMPLES:
        weighted = both * trust
        others = weighted.sum(axis=0) - weighted
        agree, own, their = (
            ndimage.uniform_filter1d(product, length, axis=1)
            for product in (both * others, both**2, others**2)
        )
        agree = agree / (np.sqrt(np.maximum(own * their, 0.0)) + 1e-9)
        agree = ndimage.uniform_filter1d(agree, min(3, len(agree)), axis=0)
        trust = np.asarray(np.clip(agree, 0.03, 1.0) * seen, np.float32)
    return trust


def _blind_rows(
    line: Array32, step: Array32, trust: Array32, total: Array32
) -> npt.NDArray[np.bool_]:
    """Rows at a level step that dwarfs the joints: the edge of a shadow can hide one."""
    line_mean = np.abs((line * trust).sum(axis=0) / total)[PAD:-PAD]
    step_mean = np.abs((step * trust).sum(axis=0) / total)
    clear = int(0.95 * (len(line_mean) - 1))
    blind = step_mean > DWARFING * float(np.partition(line_mean, clear)[clear])
    return np.asarray(ndimage.binary_dilation(blind, iterations=1))


def _lower_quartile(values: Array32, weights: Array32) -> Array:
    """Weighted lower quartile down each column."""
    order = np.argsort(values, axis=0)
    values = np.take_along_axis(values, order, 0)
    share = np.cumsum(np.take_along_axis(weights, order, 0), axis=0)
    first = np.argmax(share >= 0.25 * share[-1:], axis=0)
    return np.asarray(np.take_along_axis(values, first[None], 0)[0], float)
