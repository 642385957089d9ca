"""Fit anew the weights by which candidates are judged openings, on invented fronts.

Run with ``python -m tests.bench.fit_clearness [fronts]``; prints the weights of
`measure.finding.clearness` and of `measure.finding.jambs`, which are then entered by hand. Uses
seeds from 0, never those of the tests (200 on) and of the benches (300 on): street fronts of both
kinds, and half as many plain ones. What is fitted first tells which candidates are looked at again,
so it is run again until little changes.

Two ends are served at once: a right rectangle shall outweigh the others that lie over the same
opening (conditional logit), and every right one shall outweigh every wrong one (logistic curve).
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import minimize

from measure.finding.choose import company_of_chosen, gather
from measure.finding.circles import find_circles
from measure.finding.clearness import (
    WEIGHTS,
    WEIGHTS_IN_COMPANY,
    company_evidence,
    evidence,
)
from measure.finding.edges import find_edges, upright_runs
from measure.finding.jambs import PROMISE, find_candidates, outline_evidence
from measure.finding.picture import make_picture
from measure.finding.pool import Looker
from measure.finding.wall_tone import wall_likeness
from tests.support.finder_losses import true_boxes
from tests.support.front_matches import RIGHT, overlap
from tests.support.invented_fronts import InventedFront, make_front
from tests.support.seen_fronts import make_seen_front
from tests.support.street_fronts import make_street_front, picked_core

#: Shared area from which a rectangle is the one meant, and below which it is another opening's.
MEANT, SAME_PLACE = 0.75, 0.12

#: Part of the conditional logits, and what large weights cost.
CONDITIONAL, RIDGE = 0.8, 1e-3


@dataclass(frozen=True)
class Lot:
    """Candidates of one front: terms with and without heads, shared area with each opening.

    The `first` of them are weighed by themselves, all in company: `company` gives the terms of
    what stands around, from the logits of all by themselves.
    """

    terms: np.ndarray
    bare_terms: np.ndarray
    shared: np.ndarray
    first: int
    company: Callable[[np.ndarray], np.ndarray]


def make_lot(front: InventedFront, core: np.ndarray | None) -> Lot | None:
    """Candidates of a front; None where it has none, or no opening to be seen."""
    picture = make_picture(front.rgb, None, front.mm_per_px)
    like, edges = wall_likeness(picture, core), find_edges(picture)
    looker = Looker(picture, edges, like)
    every = find_candidates(picture, edges, upright_runs(picture, edges), looker.meter)
    truth = [true.box for true in true_boxes(front)]
    if not len(every.box) or not truth:
        return None
    circles = find_circles(picture, looker.fine, like)
    pool, mm = gather(looker, every, circles), front.mm_per_px
    bare = {**outline_evidence(pool.found, pool.found.box, mm), "lintel": pool.found.lintel}
    # company asks of a picture only how large its pixels are
    small = replace(picture, lab=picture.lab[:1, :1], seen=picture.seen[:1, :1])

    def company(logit: np.ndarray) -> np.ndarray:
        around = company_of_chosen(small, pool, logit[: pool.first], circles)
        return np.column_stack(list(company_evidence(around).values()))

    one = np.ones(len(pool.box))
    return Lot(
        np.column_stack([one, *evidence(pool, mm).values()]),
        np.column_stack([one, *bare.values()]),
        np.array([[overlap(tuple(box), true) for true in truth] for box in pool.box]),
        pool.first,
        company,
    )


def fit(terms: list[np.ndarray], lots: list[Lot], conditional: float) -> np.ndarray:
    """Weights, the constant first."""
    x = np.concatenate(terms)
    scale = np.where(x.std(axis=0) > 0.0, x.std(axis=0), 1.0)
    x = x / scale
    right = np.concatenate([lot.shared.max(axis=1) > RIGHT for lot in lots])
    weight = np.concatenate([np.full(len(t), len(t) ** -0.5) for t in terms])
    weight = np.where(right, weight / weight[right].sum(), weight / weight[~right].sum())
    groups, start = [], 0
    for lot in lots:
        for shared in lot.shared.T:
            here = np.flatnonzero(shared > SAME_PLACE)
            meant = shared[here] > MEANT
            if meant.any() and not meant.all():
                groups.append((start + here, meant, lot.shared.shape[1] ** -0.5))
        start += len(lot.shared)
    total = sum(share for _, _, share in groups) or 1.0

    def cost(weights: np.ndarray) -> tuple[float, np.ndarray]:
        logit = x @ weights
        pull = (1 - conditional) * weight * (1.0 / (1.0 + np.exp(-logit)) - right)
        value = (1 - conditional) * float(weight @ (np.logaddexp(0, logit) - right * logit))
        value += RIDGE * float(weights[1:] @ weights[1:])
        for here, meant, share in groups if conditional else ():
            grown = np.exp(logit[here] - logit[here].max())
            mine = np.where(meant, grown, 0.0)
            value -= conditional * share / total * float(np.log(mine.sum() / grown.sum() + 1e-300))
            pull[here] += conditional * share / total * (grown / grown.sum() - mine / mine.sum())
        return value, x.T @ pull + 2 * RIDGE * np.append(0.0, weights[1:])

    found = minimize(cost, np.zeros(x.shape[1]), jac=True, method="L-BFGS-B")
    return np.asarray(found.x / scale)


def main() -> None:
    """Fit and print."""
    count = int(sys.argv[1]) if sys.argv[1:] else 30
    made = []
    for seed in range(count):
        for make in (make_seen_front, make_street_front):
            front = make(seed)
            made.append(make_lot(front, picked_core(front)))
        made.append(make_lot(make_front(seed), None) if seed % 2 == 0 else None)
    lots = [lot for lot in made if lot is not None]
    _print("PROMISE", PROMISE, fit([lot.bare_terms for lot in lots], lots, 0.0))
    alone = fit([lot.terms for lot in lots], lots, CONDITIONAL)
    _print("WEIGHTS", WEIGHTS, alone)
    terms = [np.column_stack([lot.terms, lot.company(lot.terms @ alone)]) for lot in lots]
    _print("WEIGHTS_IN_COMPANY", WEIGHTS_IN_COMPANY, fit(terms, lots, CONDITIONAL))


def _print(name: str, known: dict[str, float], found: np.ndarray) -> None:
    print(name)
    for term, old, new in zip(known, known.values(), found, strict=True):
        print(f"  {term:20} {new:7.2f}   in use {old:7.2f}")


if __name__ == "__main__":
    main()
