"""Counts worth trying: what the spectrum and the autocorrelation of a profile say.

Neither decides. A spectrum is drawn to half a pitch by a joint with a lit edge, an
autocorrelation to twice a pitch by bonds whose courses alternate; so both give candidates, half and
double are always added, and each candidate is then held against the joints themselves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage, signal

from measure.joints.profile import Array, StripProfile

MOST_COURSES = 130
FEWEST_ROWS = 1.9  # a course cannot be told from its neighbour below two pixels
SAME_COUNT = 0.025  # candidates closer than this (in log count) are one
HARMONIC_WEIGHTS = ((1, 1.0), (2, 0.7), (3, 0.5))


@dataclass(frozen=True, slots=True)
class PitchGuess:
    """Candidates for the number of courses between the picks, and what supports them.

    Attributes
    ----------
    counts : tuple of float
        Candidates, the likeliest first; not whole numbers.
    spectrum_counts, spectrum : ndarray
        Support of each count by the spectrum and two overtones.
    """

    counts: tuple[float, ...]
    spectrum_counts: Array
    spectrum: Array

    def spectrum_at(self, count: float) -> float:
        """Support of a count by the spectrum, the strongest being 1."""
        best = float(self.spectrum.max()) or 1.0
        near = np.abs(np.log(self.spectrum_counts / count)) < 0.02
        return float(self.spectrum[near].max(initial=0.0)) / best


def guess_pitch(profile: StripProfile, counts_allowed: tuple[float, float]) -> PitchGuess:
    """List the counts that the profile's repetition supports.

    Parameters
    ----------
    profile : StripProfile
    counts_allowed : (float, float)
        Fewest and most courses, from a hint or from the rows there are.
    """
    span = profile.span_rows
    n_rows = profile.blocks.shape[1]
    first = max(0, int(profile.top_row - 0.1 * span))
    last = min(n_rows, int(np.ceil(profile.bottom_row + 0.1 * span)))
    part = profile.blocks[:, first:last]
    part = part - ndimage.uniform_filter1d(part, max(3, int(span / 3)), axis=1)
    n_blocks, length = part.shape
    padded = 1 << int(np.ceil(np.log2(4 * length)))
    blocks = np.fft.rfft(part * np.hanning(length), padded)
    frequency = np.fft.rfftfreq(padded)
    power = np.abs(blocks.sum(axis=0)) ** 2
    single = (np.abs(blocks) ** 2).sum(axis=0) + 1e-12
    shared = np.clip((power / single - 1.0) / max(n_blocks - 1.0, 1.0), 0.0, 1.0)
    floor = np.exp(ndimage.uniform_filter1d(np.log(power + 1e-12), max(5, padded // length * 12)))
    white = np.log1p(power / (floor + 1e-12)) * shared
    fewest, most = counts_allowed
    counts = np.exp(np.linspace(np.log(fewest), np.log(max(most, fewest * 1.05)), 600))
    support = np.zeros_like(counts)
    for harmonic, weight in HARMONIC_WEIGHTS:
        at = harmonic * counts / span
        support += weight * np.where(at < 0.5, np.interp(at, frequency, white), 0.0)
    found = _strongest(counts, support, 5)
    correlation = np.fft.irfft(power * shared, padded)[: padded // 2]
    correlation = correlation / max(float(correlation[0]), 1e-12)
    lag = np.arange(1, len(correlation))
    lag = lag[(lag >= FEWEST_ROWS) & (lag <= span / fewest)]
    by_lag = _strongest(lag.astype(float), correlation[lag], 3) if len(lag) > 2 else []
    candidates = [*found, *(span / at for at in by_lag)]
    if found:
        candidates += [found[0] * 2.0, found[0] / 2.0]
    kept: list[float] = []
    for count in candidates:
        new = all(abs(np.log(count / other)) > SAME_COUNT for other in kept)
        if fewest <= count <= most and new:
            kept.append(float(count))
    return PitchGuess(tuple(kept), counts, support)


def _strongest(x: Array, y: Array, n: int) -> list[float]:
    """Sub-sample positions of the n highest peaks of y(x)."""
    at = signal.find_peaks(y)[0]
    at = at[np.argsort(-y[at])][:n]
    bend = y[at - 1] - 2.0 * y[at] + y[at + 1]
    shift = np.where(bend < 0, 0.5 * (y[at - 1] - y[at + 1]) / np.where(bend < 0, bend, -1.0), 0)
    return [float(np.interp(i, np.arange(len(x)), x)) for i in at + shift]
