"""The evidence of all runs of joints -> one count, and how far to trust it.

Every run gets a score from what speaks for and against it (`score.py`); the probability of
a count is the share of its runs in the sum of the exponentials of all scores and of one more
that stands for none of them. `tests/bench/bench_courses.py` puts it to the test.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from measure.joints.evidence import Evidence, weigh_trial
from measure.joints.likeness import is_narrow
from measure.joints.profile import Array
from measure.joints.score import FILE, NARROW_FILE, numbers_of, read_net
from measure.joints.search import Trial

#: A run and what speaks for and against it.
Weighed = tuple[Trial, Evidence]

#: Confidence from which a count is given as sure. By the cross-validation of
#: `tests/bench/fit_courses.py` no more than 0.25 % are sure and wrong from 0.90 on, of narrow
#: strips from 0.94; strips that the net never saw are a little harder than that: on the 2,500 of
#: `VALIDATION` 0.93 left 7 wrong, 0.90 left 11.
SURE, SURE_NARROW = 0.93, 0.94


@dataclass(frozen=True, slots=True)
class Verdict:
    """The likeliest run, None where there is none, and the probability of its count.

    ``why`` says in a clause what speaks against it, and is empty where nothing does.
    """

    trial: Trial | None
    confidence: float
    why: str


def weigh_runs(trials: tuple[Trial, ...], mm_per_strip_row: float) -> tuple[Weighed, ...]:
    """Find what speaks for and against each run; those that too little is seen of are left out.

    Parameters
    ----------
    trials : tuple of Trial
    mm_per_strip_row : float

    Returns
    -------
    tuple of (Trial, Evidence)
    """
    return tuple(
        (trial, evidence) for trial in trials if (evidence := weigh_trial(trial, mm_per_strip_row))
    )


def judge_runs(weighed: tuple[Weighed, ...]) -> Verdict:
    """Judge all runs of a strip by their evidence.

    Parameters
    ----------
    weighed : tuple of (Trial, Evidence)
        As `weigh_runs` gives them, those of the whole strip first.

    Returns
    -------
    Verdict
    """
    if not weighed:
        return Verdict(None, 0.0, "no bed joints stand out there")
    narrow = is_narrow(weighed[0][0].profile.summed)
    net, least = (read_net(NARROW_FILE), SURE_NARROW) if narrow else (read_net(FILE), SURE)
    scores = net.score(np.stack([numbers_of(evidence) for _, evidence in weighed]))
    chosen, of_count = rank_counts(scores, np.array([trial.run.count for trial, _ in weighed]))
    trial = weighed[chosen][0]
    ranked = list(of_count)
    best, confidence = ranked[0], of_count[ranked[0]]
    if confidence >= least:
        return Verdict(trial, confidence, "")
    if len(ranked) > 1 and of_count[ranked[1]] > 0.02:
        doubt = f"it could be {ranked[1]}"
    else:
        doubt = "the joints do not stand out enough"
    return Verdict(trial, confidence, f"{best} is likeliest, but {doubt}")


def rank_counts(scores: Array, counts: npt.NDArray[np.intp]) -> tuple[int, dict[int, float]]:
    """Likeliest run of the likeliest count, and the probability of every count, highest first."""
    highest = max(float(scores.max()), 0.0)
    shares = np.exp(scores - highest)
    shares = shares / (float(shares.sum()) + float(np.exp(-highest)))
    of_count = {int(count): float(shares[counts == count].sum()) for count in np.unique(counts)}
    ranked = sorted(of_count, key=lambda count: -of_count[count])
    chosen = max(np.flatnonzero(counts == ranked[0]), key=lambda i: float(shares[i]))
    return int(chosen), {count: of_count[count] for count in ranked}
