"""The evidence of a run as one row of numbers, and the score that a fitted net gives it.

The net is small: the scaled numbers go straight to the score, and again through a few bent sums.
`tests/bench/fit_courses.py` fits it and writes ``score.json`` beside this file, and
``score_narrow.json`` for narrow strips.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from measure.joints.evidence import Evidence
from measure.joints.profile import Array

FILE = Path(__file__).with_name("score.json")
#: Of strips too narrow for stones to be likened: fitted without that.
NARROW_FILE = Path(__file__).with_name("score_narrow.json")

#: A number counts no further than this many deviations from its mean.
FARTHEST = 4.0

#: Courses lower than these, in log2 of pixels, lose their joints, and half of their courses.
JOINTS_SEEN, HALVES_SEEN, ALL_SEEN = 2.0, 3.0, 4.0


@dataclass(frozen=True, slots=True)
class Net:
    """Weights of the score.

    Attributes
    ----------
    mean, deviation : ndarray, shape (n,)
        Of each number over all runs.
    straight : ndarray, shape (n,)
    inner : ndarray, shape (n, h)
    shift, outer : ndarray, shape (h,)
        Of the bent sums.
    none : float
        Score at which a run is as likely as none at all.
    """

    mean: Array
    deviation: Array
    straight: Array
    inner: Array
    shift: Array
    outer: Array
    none: float

    def score(self, rows: Array) -> Array:
        """Scores of runs, rows of `numbers_of`: logarithms of their odds against none."""
        scaled = np.clip((rows - self.mean) / self.deviation, -FARTHEST, FARTHEST)
        bent = np.tanh(scaled @ self.inner + self.shift) @ self.outer
        return np.asarray(scaled @ self.straight + bent - self.none)


@cache
def read_net(file: Path) -> Net:
    """Read the fitted weights."""
    kept = json.loads(file.read_text("utf-8"))
    none = float(kept.pop("none"))
    return Net(**{name: np.array(value) for name, value in kept.items()}, none=none)


def numbers_of(evidence: Evidence) -> Array:
    """Numbers of one run: its evidence, how small its courses are, and all again if uneven."""
    course_px = float(np.log2(evidence["course_px"]))
    least_px = float(np.log2(max(evidence["course_px"] * evidence["least"], 0.5)))
    small = max(0.0, HALVES_SEEN - course_px)
    few = 2.0 ** (-0.5 * evidence["log_count"])
    found = [evidence[name] for name in sorted(evidence)]
    found += [
        max(0.0, JOINTS_SEEN - least_px),
        max(0.0, HALVES_SEEN - least_px),
        max(0.0, ALL_SEEN - course_px),
        small,
        *(small * evidence[name] for name in ("ends_off", "width", "parity", "overtone_4")),
        small * float(np.clip(evidence["variety_score"], -5.0, 5.0)),
        min(evidence["finer_other"], 1.0),
        min(evidence["n_hidden"], 0.7),
        min(evidence["blind_fit"], 0.5),
        min(evidence["gap_all"], 0.3),
        min(evidence["other_fit"], 0.5),
        *(
            part * evidence[f"like_{name}"]
            for part in (small, few)
            for name in ("within", "across")
        ),
        max(0.0, evidence["like_across"]),
    ]
    return np.array([*found, *(evidence["uneven"] * number for number in found)])
