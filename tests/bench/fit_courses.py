"""Fit the score by which runs of joints are judged: ``python -m tests.bench.fit_courses``.

Draws the strips of `TRAINING`, finds their runs, and maximises the likelihood of the right count,
or of none where no run is right; strips that this leaves unsure are entered once more, with the
runs of their halves. Strips whose lowest course is under `FINE_PX` and which were read
right count for a part only: no promise is held on them, and trust given there is taken from
others. Writes ``measure/joints/score.json``; the same machine gives the same file again. Then
tells, by cross-validation, from which confidence on no more than `WRONG_SHARE` of all strips are
sure and wrong: `SURE` and `SURE_NARROW` of `measure/joints/verdict.py` are set by it.
"""

from __future__ import annotations

import json
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from measure.joints.evidence import weigh_trial
from measure.joints.likeness import NOTHING_ALIKE
from measure.joints.profile import make_strip_profile
from measure.joints.score import FARTHEST, FILE, NARROW_FILE, Net, numbers_of
from measure.joints.search import Trial, search_halves, search_runs
from measure.joints.verdict import rank_counts
from tests.bench.bench_courses import TRAINING, draw_strip
from tests.support.strips import Strip

FINE_PX, SMALL_SHARE = 4.0, 0.2
BENT, RIDGE, STEPS, SEED = 10, 2e-3, 150, 1
NEARLY_SURE = 0.97  # halves are weighed of strips below: the reader asks for no others
FOLDS, WRONG_SHARE = 3, 0.0025  # of the half in a hundred promised, some is left to chance

Array = NDArray[np.float64]


class Weighed(NamedTuple):
    """Numbers and counts of all runs of a strip, which are right, and whether it is fine."""

    numbers: Array
    right: NDArray[np.bool_]
    fine: bool
    counts: NDArray[np.intp]
    narrow: Array  # numbers, were the strip too narrow for stones to be likened


def weigh_whole(seed: int) -> Weighed:
    """Draw a strip and find its runs."""
    strip = draw_strip(seed)
    profile = make_strip_profile(strip.image, strip.top_row, strip.bottom_row)
    return weigh(strip, search_runs(profile))


def weigh_halves(seed: int) -> Weighed:
    """Draw a strip and find the runs of its halves."""
    strip = draw_strip(seed)
    return weigh(strip, search_halves(strip.image, strip.top_row, strip.bottom_row))


def weigh(strip: Strip, trials: tuple[Trial, ...]) -> Weighed:
    """Weigh all runs, and tell which are right."""
    shown = strip.spec.kind != "plain"
    px = strip.joints_between_mm / strip.mm_per_px
    numbers, right, counts, narrow = [], [], [], []
    for trial in trials:
        evidence = weigh_trial(trial, strip.mm_per_px)
        if evidence is None:
            continue
        numbers.append(numbers_of(evidence))
        narrow.append(numbers_of(evidence | NOTHING_ALIKE))
        scale = trial.profile.rows_per_strip_row
        rows, true = rows_of(trial), (strip.image.shape[0] - px)[::-1] * scale
        half = 0.5 * strip.gauge_mm / strip.mm_per_px * scale
        right.append(shown and len(rows) == len(true) and bool(np.abs(rows - true).max() < half))
        counts.append(trial.run.count)
    fine = shown and strip.least_course_px >= FINE_PX
    return Weighed(
        np.array(numbers),
        np.array(right, bool),
        fine,
        np.array(counts, np.intp),
        np.array(narrow),
    )


def rows_of(trial: Trial) -> Array:
    """Rows of all joints of a run, those that it stepped over put evenly between."""
    rows, steps = trial.sampling.rows(trial.run.joints), trial.run.steps
    passed = np.concatenate([[0], np.cumsum(steps)])
    return np.interp(np.arange(passed[-1] + 1), passed, rows)


def fit_net(strips: list[Weighed]) -> Net:
    """Maximum likelihood with a ridge, over strips that have runs."""
    strips = [one for one in strips if len(one.numbers)]
    n = len(strips)
    of = np.repeat(np.arange(n), [len(one.numbers) for one in strips])
    rows = np.concatenate([one.numbers for one in strips])
    right = np.concatenate([one.right for one in strips])
    mean, deviation = rows.mean(axis=0), rows.std(axis=0) + 1e-9
    scaled = np.clip((rows - mean) / deviation, -FARTHEST, FARTHEST)
    has = np.bincount(of, right, n) > 0
    fine = np.array([one.fine for one in strips])
    weight = np.where(has & ~fine, SMALL_SHARE, 1.0) / n
    d = rows.shape[1]
    cuts = np.cumsum([d, d * BENT, BENT, BENT])

    def parts(w: Array) -> list[Array]:
        straight, inner, *rest = np.split(w, cuts)
        return [straight, inner.reshape(d, BENT), *rest]

    def loss(w: Array) -> tuple[float, Array]:
        straight, inner, shift, outer, none = parts(w)
        bent = np.tanh(scaled @ inner + shift)
        score = scaled @ straight + bent @ outer - none
        top = np.zeros(n)
        np.maximum.at(top, of, score)
        each, no_run = np.exp(score - top[of]), np.exp(-top)
        total = no_run + np.bincount(of, each, n)
        good = np.where(has, np.bincount(of, each * right, n), no_run)
        down = each / total[of] - np.where(has[of], each * right / good[of], 0.0)
        down *= weight[of]
        turned = np.outer(down, outer) * (1.0 - bent**2)
        slopes = [scaled.T @ down, (scaled.T @ turned).ravel(), turned.sum(axis=0), bent.T @ down]
        slope = np.concatenate([*slopes, [-down.sum()]]) + 2 * RIDGE * np.append(w[:-1], 0.0)
        value = float(weight @ (np.log(total) - np.log(good + 1e-300)) + RIDGE * w[:-1] @ w[:-1])
        return value, slope

    start = np.random.default_rng(SEED).normal(0.0, 0.05, cuts[-1] + 1)
    found = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": STEPS})
    straight, inner, shift, outer, none = parts(found.x)
    return Net(mean, deviation, straight, inner, shift, outer, float(none[0]))


def join_runs(whole: Weighed, halves: Weighed) -> Weighed:
    """Runs of a strip and of its halves together."""
    if not len(whole.counts):
        return halves
    pairs = zip(whole, halves, strict=True)
    joined = [a if isinstance(a, bool) else np.concatenate([a, b]) for a, b in pairs]
    return Weighed(*joined)


def cross_validate(
    wholes: list[Weighed], pooled: dict[int, Weighed]
) -> tuple[Array, NDArray[np.bool_]]:
    """Confidence in every strip and whether the count is right: whole, and with its halves.

    Every strip is judged by a net that was fitted without it.
    """
    confidence = np.zeros((2, len(wholes)))
    right = np.zeros((2, len(wholes)), bool)
    for fold in range(FOLDS):
        learnt = [i for i in range(len(wholes)) if i % FOLDS != fold]
        more = [pooled[i] for i in learnt if i in pooled]
        net = fit_net([wholes[i] for i in learnt] + more)
        for i in range(fold, len(wholes), FOLDS):
            for k, strip in enumerate((wholes[i], pooled.get(i, wholes[i]))):
                if len(strip.numbers):
                    chosen, shares = rank_counts(net.score(strip.numbers), strip.counts)
                    confidence[k, i] = max(shares.values())
                    right[k, i] = strip.right[chosen]
    return confidence, right


def find_sure(
    confidence: Array, right: NDArray[np.bool_], fine: NDArray[np.bool_]
) -> tuple[float, float]:
    """Confidence from which few enough are wrong, and the part of fine strips sure and right then.

    As the reader does it: where the whole strip leaves one unsure, its halves are taken in.
    """
    found = (1.0, 0.0)
    for hundredth in range(99, 50, -1):
        sure = hundredth / 100
        again = confidence[0] < sure
        is_sure = np.where(again, confidence[1], confidence[0]) >= sure
        is_right = np.where(again, right[1], right[0])
        if np.mean(is_sure & ~is_right) > WRONG_SHARE:
            break
        found = (sure, float(np.mean((is_sure & is_right)[fine])))
    return found


def write_net(net: Net, file: Path) -> None:
    """Write the weights to five figures."""
    kept = {}
    for name in Net.__slots__:
        value = np.asarray(getattr(net, name))
        kept[name] = np.array([float(f"{x:.5g}") for x in value.ravel()]).reshape(value.shape)
    text = json.dumps({name: value.tolist() for name, value in kept.items()})
    file.write_text(text + "\n", "utf-8")


def main(workers: int = 2) -> None:
    """Draw, weigh, fit, write; then weigh halves where that leaves one unsure, and fit again."""
    with ProcessPoolExecutor(workers) as pool:
        wholes = list(pool.map(weigh_whole, TRAINING, chunksize=20))
        unsure = np.flatnonzero(cross_validate(wholes, {})[0][0] < NEARLY_SURE).tolist()
        seeds = [TRAINING[i] for i in unsure]
        halves = list(pool.map(weigh_halves, seeds, chunksize=20))
    pooled = {
        i: join_runs(wholes[i], each)
        for i, each in zip(unsure, halves, strict=True)
        if len(each.counts)
    }
    blind = [one._replace(numbers=one.narrow) for one in wholes]
    fine = np.array([one.fine for one in wholes])
    for which, more, file in ((wholes, pooled, FILE), (blind, {}, NARROW_FILE)):
        write_net(fit_net(which + list(more.values())), file)
        print(f"Fitted to {len(which)} strips, halves of {len(more)}: {file}")
        least, share = find_sure(*cross_validate(which, more), fine)
        print(f"Sure from {least:.2f} on: {share:.1%} of {FINE_PX:.0f} px up are sure and right")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
