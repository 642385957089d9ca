"""How clear it is that a rectangle is an opening: its evidence, weighed.

The weights are those of a logistic curve, fitted on candidates from invented fronts
(``python -m tests.bench.fit_clearness``) so that a right rectangle outweighs those that overlap
it, the method of conditional logits (from memory: D. McFadden, "Conditional logit analysis of
qualitative choice behavior", 1974). No photograph and no demo had a part in it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from measure.finding.heads import Heads
from measure.finding.jambs import Candidates, outline_evidence, weigh

Array = npt.NDArray[np.float64]

#: Of the terms of `evidence`.
WEIGHTS = {
    "constant": -10.47,
    "jambs": 1.63,
    "sill": 2.03,
    "inside": 1.19,
    "beside": 0.76,
    "inside and beside": 0.88,
    "uneven": -1.31,
    "unalike": -1.34,
    "apart": 1.41,
    "runs on": -3.11,
    "near": 0.66,
    "rim": 0.01,
    "step": 0.87,
    "wide": 0.99,
    "wide squared": -1.04,
    "slim": 2.81,
    "slim squared": -1.42,
    "head": 1.67,
    "curved": -0.38,
    "jambs and head": 3.47,
}


def evidence(found: Candidates, heads: Heads, box: Array, mm_per_px: float) -> dict[str, Array]:
    """Terms of evidence, each of shape (n,); `box` is the candidate with its head."""
    return {
        **outline_evidence(found, box, mm_per_px),
        "head": heads.shown,
        "curved": (heads.shape > 0).astype(float),
        "jambs and head": found.jambs * heads.shown,
    }


def clearness(found: Candidates, heads: Heads, box: Array, mm_per_px: float) -> Array:
    """Logit of being an opening for each candidate, shape (n,)."""
    return weigh(evidence(found, heads, box, mm_per_px), WEIGHTS)
