"""What speaks for and against one run of joints, as a short row of plain numbers.

Each number is one that a mason would look at: do the joints stand out from everything else, do
all of them, does the line run right across, is anything as strong left over between them, are every
other joint and every joint alike (or is this half or twice the pitch), is the joint the thin
part of the course, is the mortar of one tone while the units vary, do spectrum and
autocorrelation agree. `verdict.py` weighs them.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from measure.joints.path import Run
from measure.joints.pitch import PitchGuess
from measure.joints.profile import Array
from measure.joints.response import Sampling
from measure.joints.search import Trial

N_PHASES = 16
NAMES = (
    "height_10",
    "height",
    "other_1",
    "other_90",
    "gap_10",
    "gap_all",
    "hidden",
    "n_hidden",
    "rivals",
    "log_odds",
    "log_count",
    "log_px",
    "variation",
    "local_variation",
    "least",
    "most",
    "parity",
    "middle",
    "middle_90",
    "end_off",
    "ends_off",
    "skew",
    "width",
    "middle_tone",
    "joint_tone",
    "repeat_noise",
    "variety_dip",
    "variety_score",
    "spread_dip",
    "spectrum",
    "spectrum_rival",
    "correlation",
    "correlation_half",
    "blocks",
    "lasting_10",
    "lasting_gap_10",
    "lasting_gap_all",
    "weakest",
    "other_fit",
    "fit_gap",
    "seen_10",
    "seen_least",
    "overtone_2",
    "overtone_3",
    "overtone_4",
    "blind_gap",
    "blind_fit",
    "murk_fit",
    "finer_other",
    "finer",
    "uneven",
    "either_sign",
)


def weigh_trial(trial: Trial, guess: PitchGuess, rows_per_strip_row: float) -> Array | None:
    """Describe a run of joints by the numbers in `NAMES`.

    Parameters
    ----------
    trial : Trial
    guess : PitchGuess
    rows_per_strip_row : float
        As in the profile.

    Returns
    -------
    ndarray, shape (len(NAMES),), or None
        None for a run with fewer than two joints that were seen.
    """
    sampling, run = trial.sampling, trial.run
    if len(run.used) < 2 or run.count < 1:
        return None
    peaks, joints = run.peaks, run.joints
    heights = peaks.height[run.used]
    usual = max(float(np.median(heights)), 0.05)
    gaps = np.diff(joints) / run.steps
    mean_gap = float(gaps.mean())
    away = np.abs(peaks.at[:, None] - peaks.at[run.used]).min(axis=1)
    inside = (peaks.at > joints[0]) & (peaks.at < joints[-1]) & (away > 0.22 * mean_gap)
    others = peaks.height[inside]
    strongest = float(others.max(initial=0.0))
    other_90 = float(np.quantile(others, 0.9)) if len(others) else 0.0
    low = float(np.quantile(heights, 0.1))
    n_hidden = run.count + 1 - len(run.used)
    local = gaps / ndimage.uniform_filter1d(gaps, min(5, len(gaps)), mode="nearest")
    response = (
        np.abs(sampling.line) if run.sign == 0 else run.sign * sampling.line
    ) - sampling.step
    single = run.steps == 1
    upper, lower = joints[:-1][single], joints[1:][single]
    middles = _at(response, 0.5 * (upper + lower)) if single.any() else np.zeros(1)
    lasting = peaks.lasting[run.used]
    usual_lasting = max(float(np.median(lasting)), 0.05)
    other_lasting = float(peaks.lasting[inside].max(initial=0.0))
    fits = inside & (away > 0.45 * max(float(gaps.min()), 0.5 * mean_gap))
    other_fit = float(peaks.lasting[fits].max(initial=0.0))
    first, last = (int(np.clip(joints[i], 0, sampling.n_samples - 1)) for i in (0, -1))
    seen = ndimage.uniform_filter1d(sampling.trust.mean(axis=0), 9)[first : last + 1]
    ends = np.abs(np.array([joints[0] - sampling.top, joints[-1] - sampling.bottom])) / mean_gap
    count = float(run.count)
    spectrum = guess.spectrum_at(count)
    correlation = guess.autocorrelation_at(count)
    values = {
        "height_10": low,
        "height": usual,
        "other_1": strongest,
        "other_90": other_90,
        "gap_10": (low - strongest) / usual,
        "gap_all": (float(heights.min()) - strongest) / usual,
        "hidden": n_hidden / (count + 1),
        "n_hidden": np.log1p(max(n_hidden, 0)),
        "rivals": np.log10(max(1.0 - run.sureness, 1e-5)),
        "log_odds": run.log_odds / (count + 1),
        "log_count": np.log2(count),
        "log_px": np.log2(mean_gap * sampling.rows_per_sample / rows_per_strip_row),
        "variation": float(gaps.std()) / mean_gap,
        "local_variation": float(local.std()),
        "least": float(gaps.min()) / mean_gap,
        "most": float(gaps.max()) / mean_gap,
        "parity": abs(float(heights[::2].mean() - heights[1::2].mean())) / usual,
        "middle": float(middles.mean()) / usual,
        "middle_90": float(np.quantile(middles, 0.9)) / usual,
        "end_off": float(ends.max()),
        "ends_off": float(ends.sum()),
        "spectrum": spectrum,
        "spectrum_rival": spectrum
        - max(guess.spectrum_at(count / 2), guess.spectrum_at(count * 2)),
        "correlation": correlation,
        "correlation_half": correlation - guess.autocorrelation_at(2 * count),
        "blocks": np.log2(run.looks.blocks + 1.0),
        "lasting_10": float(np.quantile(lasting, 0.1)),
        "lasting_gap_10": (float(np.quantile(lasting, 0.1)) - other_lasting) / usual_lasting,
        "lasting_gap_all": (float(lasting.min()) - other_lasting) / usual_lasting,
        "weakest": float(lasting.min()),
        "other_fit": other_fit,
        "fit_gap": (float(lasting.min()) - other_fit) / usual_lasting,
        "seen_10": float(np.quantile(seen, 0.1)),
        "seen_least": float(seen.min()),
        "blind_fit": _room(sampling.sight < 0.2, joints) / mean_gap,
        "murk_fit": _room(sampling.discord > 1.5 * _at_median(sampling, joints), joints) / mean_gap,
        "finer_other": trial.finer_other,
        "finer": trial.finer,
        "blind_gap": _longest_blind(sampling, run) / mean_gap,
        "uneven": float(not run.even),
        "either_sign": float(run.sign == 0),
    } | _shape(sampling, run, upper, lower)
    return np.array([values[name] for name in NAMES])


def _room(hidden: npt.NDArray[np.bool_], joints: Array) -> float:
    """Most samples from a hidden row to the nearest joint: room for one more joint."""
    at = np.flatnonzero(hidden) + 0.5
    at = at[(at > joints[0]) & (at < joints[-1])]
    if not len(at):
        return 0.0
    after = np.clip(np.searchsorted(joints, at), 1, len(joints) - 1)
    return float(np.minimum(at - joints[after - 1], joints[after] - at).max())


def _at_median(sampling: Sampling, joints: Array) -> float:
    first, last = (int(np.clip(joints[i], 0, sampling.n_samples - 1)) for i in (0, -1))
    return float(np.median(sampling.discord[first : last + 1]))


def _longest_blind(sampling: Sampling, run: Run) -> float:
    """Most samples out of sight between two joints that could hide another."""
    dark = np.concatenate([[0.0], np.cumsum(sampling.sight < 0.2)])
    hidden = np.diff(np.interp(run.joints, np.arange(len(dark)), dark))
    return float(np.max(np.where(run.steps == 1, hidden, 0.0), initial=0.0))


def _at(signal: Array, samples: Array) -> Array:
    return np.asarray(np.interp(samples - 0.5, np.arange(len(signal)), signal))


def _shape(sampling: Sampling, run: Run, upper: Array, lower: Array) -> dict[str, float]:
    """Describe one course, laid over all others: is its edge the thin part, is it of one tone."""
    names = ("skew", "width", "middle_tone", "joint_tone", "repeat_noise")
    dips = ("variety_dip", "variety_score", "spread_dip", "overtone_2", "overtone_3", "overtone_4")
    if not len(upper):
        return dict.fromkeys((*names, *dips), 0.0)
    phases = np.arange(N_PHASES) / N_PHASES
    courses = _at(sampling.mean, upper[:, None] + (lower - upper)[:, None] * phases)
    courses = courses - courses.mean(axis=1, keepdims=True)
    usual = np.median(courses, axis=0)
    one = (run.sign or 1) * (usual - usual.mean())
    scale = float(np.sqrt((one**2).mean())) + 1e-9
    above = one > 0.5 * (one[0] + float(np.median(one)))
    middle = 0.5 * (upper + lower)
    fall = _at(sampling.variety, middle) - _at(sampling.variety, upper)
    tones = np.abs(np.fft.rfft(one))
    spread = _at(sampling.spread, upper) - _at(sampling.spread, middle)
    return {
        "skew": float((one**3).mean()) / scale**3,
        "width": float(above.mean()),
        "middle_tone": float(one[N_PHASES // 2]) / scale,
        "joint_tone": float(one[0]) / scale,
        "repeat_noise": min(float((courses - usual).std()) / scale, 5.0),
        "variety_dip": float(fall.mean()),
        "variety_score": float(
            np.clip(fall.mean() / (fall.std() / np.sqrt(len(fall)) + 0.05), -20, 20)
        ),
        "spread_dip": float(spread.mean()),
    } | {f"overtone_{k}": float(np.log2((tones[k] + 1e-9) / (tones[1] + 1e-9))) for k in (2, 3, 4)}
