"""Try the strip at every sampling, for both signs of joint and every pitch worth trying.

And each half of it alone: windows, ivy or a pipe often cover one side of a strip, where the other
is plain wall.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from measure.joints.likeness import FEWEST_BLOCKS
from measure.joints.path import UNEVEN_SCATTER, Run, away_from, thread_run
from measure.joints.pitch import FEWEST_ROWS, MOST_COURSES, PitchGuess, guess_pitch
from measure.joints.profile import BLOCK_PX, StripProfile, make_strip_profile, middle
from measure.joints.response import (
    Peaks,
    Sampling,
    add_lasting,
    find_peaks,
    make_sampling,
    merge_peaks,
    turn_peaks,
)

EVEN_SCATTER = 0.05  # brickwork keeps its gauge to a few per cent; a drift of the scale adds to it
UNEVEN_PITCH = 16.0  # samples; the samplings half an octave apart do the rest
SMALL_PX = 7.0
STRONG = 0.7  # height of a peak that hardly anything but a joint reaches
FIRST_SPAN = 45.25
FEWEST_WEIGHED = 14


@dataclass(frozen=True, slots=True)
class Trial:
    """One run and where it was found; `finer_other` tells of lines seen more closely.

    Attributes
    ----------
    finer_other : float
        Highest line that is none of its joints at the next two finer samplings, in joints.
    """

    profile: StripProfile
    guess: PitchGuess
    sampling: Sampling
    run: Run
    finer_other: float


def search_halves(
    strip: npt.NDArray[np.uint8],
    top_row: float,
    bottom_row: float,
    valid: npt.NDArray[np.bool_] | None = None,
) -> tuple[Trial, ...]:
    """Thread runs through either half of a strip alone; none where a half would be too narrow.

    Parameters as of `make_strip_profile`.
    """
    n_columns = strip.shape[1]
    half = n_columns // 2
    if half < FEWEST_BLOCKS * BLOCK_PX:
        return ()
    trials: tuple[Trial, ...] = ()
    for first, last in ((0, half), (half, n_columns)):
        part = np.ascontiguousarray(strip[:, first:last])
        seen = None if valid is None else np.ascontiguousarray(valid[:, first:last])
        profile = make_strip_profile(part, top_row, bottom_row, seen)
        trials += search_runs(replace(profile, aside=0.5 * (n_columns - first - last)))
    return trials


def search_runs(profile: StripProfile) -> tuple[Trial, ...]:
    """Thread runs through a profile under every hypothesis worth trying."""
    span = profile.span_rows
    most = min(MOST_COURSES, span / FEWEST_ROWS)
    guess = guess_pitch(profile, (1.95, max(most, 2.1)))
    samplings: list[Sampling] = []
    peaks: list[dict[int, Peaks]] = []
    n_span = FIRST_SPAN
    while n_span <= min(2.0**11.1, 6.0 * span):
        samplings.append(make_sampling(profile, round(n_span)))
        peaks.append({sign: find_peaks(samplings[-1], sign) for sign in (1, -1)})
        n_span *= 2.0**0.5
    peaks = [_with_lasting(peaks, samplings, level) for level in range(len(peaks))]
    for signed, sampling in zip(peaks, samplings, strict=True):
        turned = turn_peaks(signed[1], signed[-1])
        if turned is None and _wants_either(signed, sampling, profile):
            turned = merge_peaks(signed[1], signed[-1])
        if turned is not None:
            signed[0] = turned
    found: list[tuple[int, Run]] = []
    for level, sampling in enumerate(samplings):
        for sign, chosen in peaks[level].items():
            found += [
                (level, run)
                for run in _runs(sampling, chosen, sign, guess, profile.rows_per_strip_row)
                if run is not None and 0.5 <= run.count <= most + 0.5
            ]
    trials = []
    for level, run in _worth_weighing(found):
        closer = [
            (peaks[i].get(run.sign, peaks[i][1]), samplings[i])
            for i in range(level + 1, min(level + 3, len(samplings)))
        ]
        other = _finer_other(samplings[level], run, closer)
        trials.append(Trial(profile, guess, samplings[level], run, other))
    return tuple(trials)


def _with_lasting(
    peaks: list[dict[int, Peaks]], samplings: list[Sampling], level: int
) -> dict[int, Peaks]:
    beside = [i for i in (level - 1, level + 1) if 0 <= i < len(peaks)]
    return {
        sign: add_lasting(found, samplings[level], [(peaks[i][sign], samplings[i]) for i in beside])
        for sign, found in peaks[level].items()
    }


def _finer_other(sampling: Sampling, run: Run, closer: list[tuple[Peaks, Sampling]]) -> float:
    """Highest line seen more closely that a run leaves out, against the joints it has."""
    rows = sampling.rows(run.joints)
    gap = middle(np.diff(rows) / run.steps)
    highest = 0.0
    for peaks, finer in closer:
        found = finer.rows(peaks.at)
        away = away_from(rows, found)
        joints = peaks.height[away < 0.1 * gap]
        others = peaks.height[(away > 0.28 * gap) & (found > rows[0]) & (found < rows[-1])]
        if len(joints) and len(others):
            highest = max(highest, float(others.max()) / max(middle(joints), 0.2))
    return highest


def _wants_either(signed: dict[int, Peaks], sampling: Sampling, profile: StripProfile) -> bool:
    """Whether lines of both signs abound: a wall repointed in part, or mortar of middling tone.

    Not where courses are so small that the middle of a course looks like a line itself.
    """
    few, many = sorted(_count_strong(chosen, sampling) for chosen in signed.values())
    course_px = UNEVEN_PITCH * sampling.rows_per_sample / profile.rows_per_strip_row
    return few >= max(3.0, 0.2 * many) and course_px >= 6.0


def _runs(
    sampling: Sampling, peaks: Peaks, sign: int, guess: PitchGuess, rows_per_strip_row: float
) -> list[Run | None]:
    """Even runs at each pitch this sampling is right for, and one uneven run.

    Small courses are tried at more samplings than one: their joints are seen well at few.
    """
    span = sampling.bottom - sampling.top
    course_px = UNEVEN_PITCH * sampling.rows_per_sample / rows_per_strip_row
    least, most = (11.3, 22.7) if course_px < SMALL_PX else (12.7, 20.2)
    runs = [
        thread_run(sampling, peaks, span / count, EVEN_SCATTER, even=True, sign=sign)
        for count in guess.counts
        if least <= span / count < most
    ]
    runs.append(thread_run(sampling, peaks, UNEVEN_PITCH, UNEVEN_SCATTER, even=False, sign=sign))
    return runs


def _worth_weighing(found: list[tuple[int, Run]]) -> list[tuple[int, Run]]:
    """Leave out runs that explain next to nothing beside the best."""
    ordered = sorted(found, key=lambda one: -one[1].log_odds)
    if not ordered:
        return []
    least = 0.05 * ordered[0][1].log_odds
    return [one for i, one in enumerate(ordered) if i < FEWEST_WEIGHED or one[1].log_odds >= least]


def _count_strong(peaks: Peaks, sampling: Sampling) -> int:
    inside = (peaks.at > sampling.top) & (peaks.at < sampling.bottom)
    return int((inside & (peaks.height > STRONG)).sum())
