"""Fit the score by which runs of joints are judged: ``python -m tests.bench.fit_courses``.

Draws the strips of `TRAINING`, finds their runs, and maximises the likelihood of the right count,
or of none where no run is right. Strips whose lowest course is under `FINE_PX` and which were read
right count for a part only: no promise is held on them, and trust given there is taken from
others. Writes ``measure/joints/score.json``; the same machine gives the same file again.
"""

from __future__ import annotations

import json
import sys
from concurrent.futures import ProcessPoolExecutor

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from measure.joints.evidence import weigh_trial
from measure.joints.profile import make_strip_profile
from measure.joints.score import FARTHEST, FILE, Net, numbers_of
from measure.joints.search import Trial, search_runs
from tests.bench.bench_courses import TRAINING, draw_strip

FINE_PX, SMALL_SHARE = 4.0, 0.2
BENT, RIDGE, STEPS, SEED = 4, 6e-4, 120, 1

Array = NDArray[np.float64]


def weigh_strip(seed: int) -> tuple[Array, NDArray[np.bool_], bool]:
    """Numbers of all runs of a strip, which of them are right, and whether it is fine."""
    strip = draw_strip(seed)
    profile = make_strip_profile(strip.image, strip.top_row, strip.bottom_row)
    scale = profile.rows_per_strip_row
    search = search_runs(profile)
    shown = strip.spec.kind != "plain"
    px = strip.joints_between_mm / strip.mm_per_px
    true = (strip.image.shape[0] - px)[::-1] * scale
    half = 0.5 * strip.gauge_mm / strip.mm_per_px * scale
    numbers, right = [], []
    for trial in search.trials:
        evidence = weigh_trial(trial, search.guess, scale, strip.mm_per_px)
        if evidence is None:
            continue
        numbers.append(numbers_of(evidence))
        rows = rows_of(trial)
        good = shown and len(rows) == len(true) and bool(np.abs(rows - true).max() < half)
        right.append(good)
    return np.array(numbers), np.array(right, bool), strip.least_course_px >= FINE_PX


def rows_of(trial: Trial) -> Array:
    """Rows of all joints of a run, those that it stepped over put evenly between."""
    rows, steps = trial.sampling.rows(trial.run.joints), trial.run.steps
    passed = np.concatenate([[0], np.cumsum(steps)])
    return np.interp(np.arange(passed[-1] + 1), passed, rows)


def fit_net(strips: list[tuple[Array, NDArray[np.bool_], bool]]) -> Net:
    """Maximum likelihood with a ridge, over strips that have runs."""
    strips = [one for one in strips if len(one[0])]
    n = len(strips)
    of = np.repeat(np.arange(n), [len(one[0]) for one in strips])
    rows, right = np.concatenate([s[0] for s in strips]), np.concatenate([s[1] for s in strips])
    mean, deviation = rows.mean(axis=0), rows.std(axis=0) + 1e-9
    scaled = np.clip((rows - mean) / deviation, -FARTHEST, FARTHEST)
    has = np.bincount(of, right, n) > 0
    fine = np.array([one[2] for one in strips])
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


def write_net(net: Net) -> None:
    """Write the weights to five figures."""
    kept = {}
    for name in Net.__slots__:
        value = np.asarray(getattr(net, name))
        kept[name] = np.array([float(f"{x:.5g}") for x in value.ravel()]).reshape(value.shape)
    text = json.dumps({name: value.tolist() for name, value in kept.items()})
    FILE.write_text(text + "\n", "utf-8")


def main(workers: int = 2) -> None:
    """Draw, weigh, fit, write."""
    with ProcessPoolExecutor(workers) as pool:
        strips = list(pool.map(weigh_strip, TRAINING, chunksize=20))
    write_net(fit_net(strips))
    print(f"Fitted to {len(strips)} strips, {sum(len(one[0]) for one in strips)} runs: {FILE}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
