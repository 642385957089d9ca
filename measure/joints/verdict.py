"""The evidence of all runs of joints -> one count, and how far to trust it.

Every run gets a score from what speaks for and against it (`score.py`); the probability of
a count is the share of its runs in the sum of the exponentials of all scores and of one more
that stands for none of them. `tests/bench/bench_courses.py` puts it to the test.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from measure.joints.evidence import Evidence, weigh_trial
from measure.joints.score import numbers_of, read_net
from measure.joints.search import Search, Trial

#: Confidence from which a count is given as sure.
SURE = 0.97

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
    scores = read_net().score(np.stack([numbers_of(evidence) for _, evidence in weighed]))
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


def _doubt(evidence: Evidence) -> str:
    """Doubt that no weight can lift, or nothing."""
    course_px = evidence["course_px"]
    if evidence["ends_off"] > QUARTERS_OFF and course_px < HALVES_SEEN_PX:
        return "both picks lie off its joints, so it may be twice as many"
    if evidence["least"] < UNEVEN_LEAST and evidence["uneven"] and course_px < UNEVEN_PX:
        return f"uneven courses of {course_px:.0f} px are too small to tell one by one"
    return ""
