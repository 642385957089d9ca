"""What speaks for and against one run of joints, as a short row of plain numbers.

Each number is one that a mason would look at: do the joints stand out from everything else, do
all of them, is anything as strong left over between them, do the picks lie on joints, are every
other joint and every joint alike (or is this half or twice the pitch), is the joint the thin
part of the course, is the mortar of one tone while the units vary, could another joint hide
behind what covers the wall, are the courses as high as courses are, is each stone in one course
and no other. `verdict.py` weighs them.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from measure.joints.likeness import NOTHING_ALIKE, is_narrow, measure_likeness
from measure.joints.path import Run, away_from
from measure.joints.profile import Array, middle
from measure.joints.response import Sampling
from measure.joints.search import Trial

N_PHASES = 16

#: Courses lower or higher than these are rare (common practice, no source).
LEAST_GAUGE_MM, MOST_GAUGE_MM = 40.0, 450.0

#: Both picks together this far from their joints, in courses, make one look again.
FAR_ENDS = 0.35

#: Fewer courses than 2 to this power are told apart from chance with less ease.
FEW_LOG_COUNT = 2.6

Evidence = dict[str, float]


def weigh_trial(trial: Trial, mm_per_strip_row: float) -> Evidence | None:
    """Describe a run of joints.

    Parameters
    ----------
    trial : Trial
    mm_per_strip_row : float

    Returns
    -------
    dict of str to float, or None
        None for a run with fewer than two joints that were seen.
    """
    run, profile = trial.run, trial.profile
    if len(run.used) < 2 or run.count < 1:
        return None
    gaps = np.diff(run.joints) / run.steps
    mean_gap = float(gaps.mean())
    course_px = mean_gap * trial.sampling.rows_per_sample / profile.rows_per_strip_row
    gauge_mm = course_px * mm_per_strip_row
    uneven = float(not run.even)
    rows, single = trial.sampling.rows(run.joints), run.steps == 1
    trust = trial.sampling.trust_at(0.5 * (run.joints[:-1] + run.joints[1:])[single])
    found = (
        _heights(trial, gaps)
        | _spacing(trial.sampling, run, gaps)
        | _shape(trial.sampling, run)
        | measure_likeness(profile.summed, rows[:-1][single], rows[1:][single], trust)
        | {
            "finer_other": trial.finer_other,
            "rivals": float(np.log10(max(1.0 - run.sureness(), 1e-5))),
            "log_odds": run.log_odds / (run.count + 1),
            "log_count": float(np.log2(run.count)),
            "few": max(FEW_LOG_COUNT - float(np.log2(run.count)), 0.0),
            "spectrum": trial.guess.spectrum_at(float(run.count)),
            "gauge_off": float(
                max(np.log(gauge_mm / MOST_GAUGE_MM), 0.0)
                + max(np.log(LEAST_GAUGE_MM / gauge_mm), 0.0)
            ),
            "course_px": course_px,
            "uneven": uneven,
            "either_sign": float(run.sign == 0),
            "half": float(profile.aside != 0.0),
        }
    )
    if is_narrow(profile.summed):
        found |= NOTHING_ALIKE
    found["sep"] = _separation(found)
    for name in ("log_count", "most", "least", "rivals", "sep"):
        found[f"uneven_{name}"] = uneven * found[name]
    return found


def _heights(trial: Trial, gaps: Array) -> Evidence:
    """How the joints stand out from the lines between them."""
    run, peaks, joints = trial.run, trial.run.peaks, trial.run.joints
    mean_gap = float(gaps.mean())
    heights, lasting = peaks.height[run.used], peaks.lasting[run.used]
    usual = max(middle(heights), 0.05)
    usual_lasting = max(middle(lasting), 0.05)
    away = away_from(peaks.at[run.used], peaks.at)
    inside = (peaks.at > joints[0]) & (peaks.at < joints[-1]) & (away > 0.22 * mean_gap)
    strongest = float(peaks.height[inside].max(initial=0.0))
    strongest_lasting = float(peaks.lasting[inside].max(initial=0.0))
    fits = inside & (away > 0.45 * max(float(gaps.min()), 0.5 * mean_gap))
    n_hidden = run.count + 1 - len(run.used)
    unlike = 1.0 - np.maximum(peaks.alike, 0.0)
    alike = np.maximum(peaks.alike[run.used], 0.0)
    return {
        "height": usual,
        "gap_all": (float(heights.min()) - strongest) / usual,
        "lasting_gap_all": (float(lasting.min()) - strongest_lasting) / usual_lasting,
        "weakest": float(lasting.min()),
        "other_fit": float(peaks.lasting[fits].max(initial=0.0)),
        "sides_alike": float(alike.mean()),
        "sides_most_alike": float(alike.max()),
        "split": float((unlike * peaks.lasting)[inside].max(initial=0.0)) / usual_lasting,
        "joined": float(((1.0 - alike) * lasting).min()) / usual_lasting,
        "hidden": n_hidden / (run.count + 1),
        "n_hidden": float(np.log1p(max(n_hidden, 0))),
        "parity": abs(float(heights[::2].mean() - heights[1::2].mean())) / usual,
    }


def _spacing(sampling: Sampling, run: Run, gaps: Array) -> Evidence:
    """How the joints are spaced, how the picks lie to them, and where one more could hide."""
    mean_gap = float(gaps.mean())
    local = gaps / ndimage.uniform_filter1d(gaps, min(5, len(gaps)), mode="nearest")
    ends = np.abs(run.joints[[0, -1]] - (sampling.top, sampling.bottom)) / mean_gap
    return {
        "least": float(gaps.min()) / mean_gap,
        "most": float(gaps.max()) / mean_gap,
        "local_variation": float(local.std()),
        "end_off": float(ends.max()),
        "ends_off": float(ends.sum()),
        "ends_far": max(float(ends.sum()) - FAR_ENDS, 0.0),
        "blind_fit": _room(sampling.sight < 0.2, run.joints) / mean_gap,
    }


def _separation(found: Evidence) -> float:
    """Log of the weakest joint against the strongest line that is none, within +-3."""
    height = max(found["height"], 0.1)
    other = max(found["other_fit"], found["finer_other"] * height, 0.1)
    return min(max(math.log(max(found["weakest"], 0.05) / other), -3.0), 3.0)


def _room(hidden: npt.NDArray[np.bool_], joints: Array) -> float:
    """Most samples from a hidden row to the nearest joint: room for one more joint."""
    at = np.flatnonzero(hidden) + 0.5
    at = at[(at > joints[0]) & (at < joints[-1])]
    return float(away_from(joints, at).max(initial=0.0))


def _at(signal: Array, samples: Array) -> Array:
    return np.asarray(np.interp(samples - 0.5, np.arange(len(signal)), signal))


def _shape(sampling: Sampling, run: Run) -> Evidence:
    """Describe one course, laid over all others: is its edge the thin part, is it of one tone."""
    single = run.steps == 1
    upper, lower = run.joints[:-1][single], run.joints[1:][single]
    if not len(upper):
        return dict.fromkeys(("skew", "width", "joint_tone", "variety_score", "overtone_4"), 0.0)
    phases = np.arange(N_PHASES) / N_PHASES
    courses = _at(sampling.mean, upper[:, None] + (lower - upper)[:, None] * phases)
    courses = courses - courses.sum(axis=1, keepdims=True) / N_PHASES
    courses *= run.signs[:-1][single, None]
    courses.sort(axis=0)
    half = len(courses) // 2
    usual = 0.5 * (courses[half] + courses[-1 - half])
    one = usual - usual.sum() / N_PHASES
    scale = float(np.sqrt(one @ one / N_PHASES)) + 1e-9
    above = one > 0.5 * (one[0] + middle(one))
    fall = _at(sampling.variety, 0.5 * (upper + lower)) - _at(sampling.variety, upper)
    variety = float(fall.mean() / (fall.std() / np.sqrt(len(fall)) + 0.05))
    tones = np.abs(np.fft.rfft(one)) + 1e-9
    return {
        "skew": float((one**3).sum()) / N_PHASES / scale**3,
        "width": float(above.sum()) / N_PHASES,
        "joint_tone": float(one[0]) / scale,
        "variety_score": min(max(variety, -20.0), 20.0),
        "overtone_4": float(np.log2(tones[4] / tones[1])),
    }
