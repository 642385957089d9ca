"""The evidence of all runs of joints -> one count, and how far to trust it.

Every run gets a score, a weighted sum of what speaks for and against it; the probability of
a count is the share of its runs in the sum of the exponentials of all scores and of one more
that stands for none of them. The weights were fitted (maximum likelihood, with a ridge) to 2000
drawn strips whose joints are known; tests/bench/bench_courses.py draws others to test them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from measure.joints.evidence import Evidence, weigh_trial
from measure.joints.search import Search, Trial

#: Confidence from which a count is given as sure.
SURE = 0.93

#: Score at which a run is as likely as none at all.
NONE = 4.21

#: Of each number: its mean and deviation over all runs, and its weight once so scaled.
WEIGHTS = {
    "most": (1.445, 0.478, -1.687),
    "gauge_off": (0.098, 0.277, -1.259),
    "finer_other": (0.804, 0.831, -0.93),
    "few": (0.123, 0.321, -0.975),
    "ends_far": (0.101, 0.209, -0.786),
    "rivals": (-1.748, 1.909, -0.609),
    "uneven_log_count": (2.258, 2.189, -0.471),
    "hidden": (0.083, 0.141, -0.549),
    "uneven_most": (0.967, 0.917, -0.474),
    "end_off": (0.242, 0.209, -0.415),
    "width": (0.322, 0.18, -0.475),
    "ends_off": (0.333, 0.288, -0.455),
    "joint_tone": (1.23, 1.28, -0.447),
    "n_hidden": (0.568, 0.853, -0.396),
    "lasting_gap_all": (-0.078, 0.603, -0.311),
    "uneven_rivals": (-0.308, 0.647, -0.358),
    "overtone_4": (-3.146, 1.791, -0.341),
    "parity": (0.218, 0.56, -0.246),
    "blind_fit": (0.271, 0.381, 0.387),
    "either_sign": (0.17, 0.376, 0.345),
    "gap_all": (-0.044, 0.614, 0.373),
    "uneven": (0.575, 0.494, 0.429),
    "uneven_sep": (-0.165, 0.999, 0.47),
    "sep": (-0.446, 1.417, 0.571),
    "skew": (0.352, 0.793, 0.468),
    "log_count": (3.915, 1.392, 0.543),
    "uneven_least": (0.364, 0.348, 0.437),
    "spectrum": (0.56, 0.336, 0.494),
    "local_variation": (0.168, 0.149, 0.599),
    "log_odds": (3.188, 3.408, 0.676),
    "least": (0.732, 0.202, 0.962),
    "variety_score": (0.664, 2.401, 1.132),
}

#: A number counts no further than this many deviations from its mean.
FARTHEST = 4.0

#: Below this height of a course, half as high ones could not be seen, and the middles of every
#: other course may pass for joints: then both picks lie a quarter of a course off.
HALVES_SEEN_PX, QUARTERS_OFF = 9.0, 0.42

#: Courses of such unlike heights, where their mean is lower than this, are not told one by one.
UNEVEN_LEAST, UNEVEN_PX = 0.75, 5.0


@dataclass(frozen=True, slots=True)
class Verdict:
    """The likeliest run, None where there is none, and the probability of its count.

    ``why`` says in a clause what speaks against it, and is empty where nothing does.
    """

    trial: Trial | None
    confidence: float
    why: str


def judge_runs(search: Search, rows_per_strip_row: float, mm_per_strip_row: float) -> Verdict:
    """Weigh all runs of a strip.

    Parameters
    ----------
    search : Search
    rows_per_strip_row : float
        As in the profile.
    mm_per_strip_row : float

    Returns
    -------
    Verdict
    """
    weighed = [
        (trial, evidence)
        for trial in search.trials
        if (evidence := weigh_trial(trial, search.guess, rows_per_strip_row, mm_per_strip_row))
    ]
    if not weighed:
        return Verdict(None, 0.0, "no bed joints stand out there")
    scores = np.array([_score(evidence) for _, evidence in weighed])
    highest = max(float(scores.max()), 0.0)
    shares = np.exp(scores - highest)
    shares = shares / (float(shares.sum()) + float(np.exp(-highest)))
    counts = np.array([trial.run.count for trial, _ in weighed])
    of_count = {int(count): float(shares[counts == count].sum()) for count in np.unique(counts)}
    ranked = sorted(of_count, key=lambda count: -of_count[count])
    best = ranked[0]
    chosen = max(np.flatnonzero(counts == best), key=lambda i: float(shares[i]))
    trial, evidence = weighed[int(chosen)]
    confidence = of_count[best]
    doubt = _doubt(evidence)
    if doubt:
        return Verdict(trial, min(confidence, 0.5), f"{best} is likeliest, but {doubt}")
    if confidence >= SURE:
        return Verdict(trial, confidence, "")
    if len(ranked) > 1 and of_count[ranked[1]] > 0.02:
        doubt = f"it could be {ranked[1]}"
    else:
        doubt = "the joints do not stand out enough"
    return Verdict(trial, confidence, f"{best} is likeliest, but {doubt}")


def _score(evidence: Evidence) -> float:
    return (
        sum(
            weight * float(np.clip((evidence[name] - mean) / deviation, -FARTHEST, FARTHEST))
            for name, (mean, deviation, weight) in WEIGHTS.items()
        )
        - NONE
    )


def _doubt(evidence: Evidence) -> str:
    """Doubt that no weight can lift, or nothing."""
    course_px = evidence["course_px"]
    if evidence["ends_off"] > QUARTERS_OFF and course_px < HALVES_SEEN_PX:
        return "both picks lie off its joints, so it may be twice as many"
    if evidence["least"] < UNEVEN_LEAST and evidence["uneven"] and course_px < UNEVEN_PX:
        return f"uneven courses of {course_px:.0f} px are too small to tell one by one"
    return ""
