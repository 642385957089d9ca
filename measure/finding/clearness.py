"""How clear it is that a rectangle is an opening: its evidence, weighed.

The weights are those of a logistic curve, fitted on candidates from invented fronts
(``python -m tests.bench.fit_clearness``) so that a right rectangle outweighs those that overlap
it, the method of conditional logits (from memory: D. McFadden, "Conditional logit analysis of
qualitative choice behavior", 1974). No photograph and no demo had a part in it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from measure.finding.company import Company
from measure.finding.jambs import outline_evidence, weigh
from measure.finding.pool import Pool

Array = npt.NDArray[np.float64]

#: Of the terms of `evidence`.
WEIGHTS = {
    "constant": -22.47,
    "jambs": 0.24,
    "sill": 4.22,
    "inside": 0.47,
    "beside": 1.66,
    "inside and beside": 0.30,
    "uneven": -1.88,
    "unalike": -1.92,
    "apart": 0.99,
    "runs on": -2.80,
    "near": -0.66,
    "rim": 0.10,
    "step": 0.53,
    "wide": 0.43,
    "wide squared": 0.28,
    "slim": 2.59,
    "slim squared": -2.36,
    "head": 3.37,
    "curved": 0.12,
    "jambs and head": 2.82,
    "faint": 10.36,
    "weakest": -1.05,
    "above": 0.30,
    "inside and above": 0.61,
    "apart above": 0.84,
    "apart below": 0.62,
    "darker": 0.11,
    "busier": 0.50,
    "busier squared": -0.01,
}

#: Of the same terms and those of `company_evidence`.
WEIGHTS_IN_COMPANY = {
    "constant": -19.44,
    "jambs": 1.03,
    "sill": 3.65,
    "inside": 0.90,
    "beside": 2.14,
    "inside and beside": -0.74,
    "uneven": -1.83,
    "unalike": -1.81,
    "apart": 0.81,
    "runs on": -2.44,
    "near": -1.17,
    "rim": 0.06,
    "step": 0.31,
    "wide": 0.71,
    "wide squared": 0.03,
    "slim": 2.33,
    "slim squared": -2.36,
    "head": 2.36,
    "curved": 0.07,
    "jambs and head": 1.31,
    "faint": 9.09,
    "weakest": -0.63,
    "above": 0.31,
    "inside and above": 0.40,
    "apart above": 0.97,
    "apart below": 0.73,
    "darker": 0.12,
    "busier": 0.38,
    "busier squared": 0.09,
    "row": 0.17,
    "any row": 1.23,
    "column": -0.76,
    "any column": 3.00,
    "parts": -2.09,
    "any parts": 2.06,
    "part of": 0.32,
    "flanked": -3.77,
}


def evidence(pool: Pool, mm_per_px: float) -> dict[str, Array]:
    """Terms of evidence, each of shape (n,)."""
    found, heads, traits = pool.found, pool.heads, pool.traits
    return {
        **outline_evidence(found, pool.box, mm_per_px),
        "head": heads.shown,
        "curved": (heads.shape > 0).astype(float),
        "jambs and head": found.jambs * heads.shown,
        "faint": traits.faint,
        "weakest": np.minimum(np.minimum(found.jambs, found.sill), heads.shown),
        "above": traits.above,
        "inside and above": np.clip(found.inside, 0.0, 1.0) * traits.above,
        "apart above": np.sqrt(np.minimum(traits.apart_above, 30.0) / 10.0),
        "apart below": np.sqrt(np.minimum(traits.apart_below, 30.0) / 10.0),
        "darker": np.clip(traits.darker, -30.0, 30.0) / 10.0,
        "busier": traits.busier,
        "busier squared": traits.busier**2,
    }


def company_evidence(company: Company) -> dict[str, Array]:
    """Terms of evidence of what stands around, each of shape (n,)."""
    return {
        "row": company.row,
        "any row": np.minimum(company.row, 1.0),
        "column": company.column,
        "any column": np.minimum(company.column, 1.0),
        "parts": company.parts,
        "any parts": np.minimum(company.parts, 1.0),
        "part of": company.part_of,
        "flanked": company.flanked,
    }


def clearness(terms: dict[str, Array]) -> Array:
    """Logit of being an opening for each candidate by its `evidence` alone, shape (n,)."""
    return weigh(terms, WEIGHTS)


def clearness_in_company(terms: dict[str, Array], company: Company) -> Array:
    """Logit of being an opening, knowing what stands around, shape (n,)."""
    return weigh({**terms, **company_evidence(company)}, WEIGHTS_IN_COMPANY)
