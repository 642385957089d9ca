"""Fit the score by which runs of joints are judged: ``python -m tests.bench.fit_courses``.

Draws the strips of `TRAINING`, finds their runs, and maximises the likelihood of the right count,
or of none where no run is right. Strips whose lowest course is under `FINE_PX` and which were read
right count for a part only: no promise is held on them, and trust given there is taken from
others. Writes ``measure/joints/score.json``; the same machine gives the same file again. Then
tells, by cross-validation, from which confidence on no more than `WRONG_SHARE` of all strips are
sure and wrong: `SURE` of `measure/joints/verdict.py` is set by it.
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
from measure.joints.search import Trial, search_runs
from measure.joints.verdict import rank_counts
from tests.bench.bench_courses import TRAINING, draw_strip

FINE_PX, SMALL_SHARE = 4.0, 0.2
BENT, RIDGE, STEPS, SEED = 8, 1e-3, 150, 1
FOLDS, WRONG_SHARE = 3, 0.005

Array = NDArray[np.float64]


class Weighed(NamedTuple):
    """Numbers and counts of all runs of a strip, which are right, and whether it is fine."""

    numbers: Array
    right: NDArray[np.bool_]
    fine: bool
    counts: NDArray[np.intp]
    narrow: Array  # numbers, were the strip too narrow for stones to be likened


def weigh_strip(seed: int) -> Weighed:
    """Draw a strip and find its runs."""
    strip = draw_strip(seed)
    profile = make_strip_profile(strip.image, strip.top_row, strip.bottom_row)
    scale = profile.rows_per_strip_row
    search = search_runs(profile)
    shown = strip.spec.kind != "plain"
    px = strip.joints_between_mm / strip.mm_per_px
    true = (strip.image.shape[0] - px)[::-1] * scale
    half = 0.5 * strip.gauge_mm / strip.mm_per_px * scale
    numbers, right, counts, narrow = [], [], [], []
    for trial in search.trials:
        evidence = weigh_trial(trial, search.guess, profile, strip.mm_per_px)
        if evidence is None:
            continue
        numbers.append(numbers_of(evidence))
        narrow.append(numbers_of(evidence | NOTHING_ALIKE))
        rows = rows_of(trial)
        good = shown and len(rows) == len(true) and bool(np.abs(rows - true).max() < half)
        right.append(good)
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


def find_sure(strips: list[Weighed]) -> tuple[float, float]:
    """Confidence from which few enough are wrong, and the part of fine strips sure and right then.

    Every strip is judged by a net that was fitted without it.
    """
    confidence, right = np.zeros(len(strips)), np.zeros(len(strips), bool)
    for fold in range(FOLDS):
        net = fit_net([one for i, one in enumerate(strips) if i % FOLDS != fold])
        for i in range(fold, len(strips), FOLDS):
            if len(strips[i].numbers):
                chosen, shares = rank_counts(net.score(strips[i].numbers), strips[i].counts)
                confidence[i], right[i] = max(shares.values()), strips[i].right[chosen]
    wrong = np.sort(confidence[~right])[::-1]
    sure = confidence > wrong[int(WRONG_SHARE * len(strips))]
    fine = np.array([one.fine for one in strips])
    return float(confidence[sure].min()), float((sure & right)[fine].mean())


def write_net(net: Net, file: Path) -> None:
    """Write the weights to five figures."""
    kept = {}
    for name in Net.__slots__:
        value = np.asarray(getattr(net, name))
        kept[name] = np.array([float(f"{x:.5g}") for x in value.ravel()]).reshape(value.shape)
    text = json.dumps({name: value.tolist() for name, value in kept.items()})
    file.write_text(text + "\n", "utf-8")


def main(workers: int = 2) -> None:
    """Draw, weigh, fit, write."""
    with ProcessPoolExecutor(workers) as pool:
        strips = list(pool.map(weigh_strip, TRAINING, chunksize=20))
    write_net(fit_net(strips), FILE)
    print(f"Fitted to {len(strips)} strips, {sum(len(one.numbers) for one in strips)} runs: {FILE}")
    blind = [one._replace(numbers=one.narrow) for one in strips]
    write_net(fit_net(blind), NARROW_FILE)
    for which in (strips, blind):
        least, share = find_sure(which)
        print(f"Sure from {least:.4f} on: {share:.1%} of {FINE_PX:.0f} px up are sure and right")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
