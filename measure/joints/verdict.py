"""The evidence of all runs of joints -> one count, and how far to trust it.

Every run gets a score, a weighted sum of what speaks for and against it; the probability of
a count is the share of its runs in the sum of the exponentials of all scores and of one more
that stands for none of them. The weights were fitted to drawn strips whose joints are known
(tests/bench/bench_courses.py draws others to test them).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from measure.joints.evidence import NAMES, weigh_trial
from measure.joints.search import Search, Trial

#: Confidence from which a count is given as sure.
SURE = 0.96

#: A score at which a run is as likely as none.
NONE = 6.34

WEIGHTS = {
    "hidden": -5.092,
    "most": -3.83,
    "least": 4.519,
    "finer_other": -1.318,
    "variety_dip": 4.203,
    "rivals": -0.533,
    "uneven": 2.424,
    "parity": -0.369,
    "spread_dip": -0.505,
    "end_off": -4.289,
    "variation": 0.133,
    "weakest": 1.086,
    "lasting_10": 0.384,
    "spectrum": 1.34,
    "other_fit": -0.711,
    "repeat_noise": -0.196,
    "log_odds": 0.075,
    "height_10": 0.276,
    "log_count": 1.094,
    "skew": 0.481,
}


@dataclass(frozen=True, slots=True)
class Verdict:
    """The likeliest run, None where there is none, and the probability of its count."""

    trial: Trial | None
    confidence: float
    why: str


def judge_runs(search: Search, rows_per_strip_row: float) -> Verdict:
    """Weigh all runs of a strip.

    Parameters
    ----------
    search : Search
    rows_per_strip_row : float
        As in the profile.

    Returns
    -------
    Verdict
    """
    weighed = [
        (trial, evidence)
        for trial in search.trials
        if (evidence := weigh_trial(trial, search.guess, rows_per_strip_row)) is not None
    ]
    if not weighed:
        return Verdict(None, 0.0, "no bed joints stand out there")
    weights = np.array([WEIGHTS.get(name, 0.0) for name in NAMES])
    scores = np.array([float(evidence @ weights) for _, evidence in weighed]) - NONE
    shares = np.exp(scores - max(float(scores.max()), 0.0))
    total = float(shares.sum() + np.exp(-max(float(scores.max()), 0.0)))
    counts = np.array([trial.run.count for trial, _ in weighed])
    of_count = {int(count): float(shares[counts == count].sum()) for count in np.unique(counts)}
    ranked = sorted(of_count, key=lambda count: -of_count[count])
    best = ranked[0]
    confidence = of_count[best] / total
    chosen = max(np.flatnonzero(counts == best), key=lambda i: shares[i])
    why = ""
    if confidence < SURE:
        why = f"{best} is likeliest"
        if len(ranked) > 1 and of_count[ranked[1]] > 0.02 * total:
            why += f", but it could be {ranked[1]}"
        else:
            why += ", but the joints do not stand out enough"
    return Verdict(weighed[int(chosen)][0], confidence, why)
