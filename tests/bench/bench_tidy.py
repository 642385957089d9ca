"""How long a facade of 200 openings takes to line up, beside a bare ``numpy.linalg.lstsq``.

Run with ``python -m tests.bench.bench_tidy``. The bare solve is one plain least-squares
problem of the same size: the face's numbers as unknowns, each observed once, and the conditions
that were imposed as further rows. It finds no groups, tests nothing and is solved once. Nothing
is asserted; the ratio is what counts, since the clock of a busy machine means little.
"""

from __future__ import annotations

import time

import numpy as np

from measure.elevation.face_numbers import make_quantities
from measure.elevation.tidy import tidy, tidy_face
from measure.evaluate import evaluate
from tests.bench.promises import keep
from tests.support.long_terrace import long_terrace


def seconds_of(run, times=5):
    """Median processor time of a call, after one to warm up."""
    run()
    spent = []
    for _ in range(times):
        start = time.process_time()
        run()
        spent.append(time.process_time() - start)
    return float(np.median(spent))


def bare_problem(numbers, conditions, seed=1):
    """A full design of this size, and observations."""
    rng = np.random.default_rng(seed)
    rows = numbers + conditions
    return rng.normal(size=(rows, numbers)), rng.normal(size=rows)


def main() -> None:
    """Print the table."""
    print("openings  numbers  groups  lining up   whole face   bare lstsq   ratio of lining up")
    for columns, rows in ((5, 4), (10, 5), (20, 5), (20, 10)):
        survey, facts, _ = long_terrace(columns, rows, sigma_px=0.5, seed=3)
        results = evaluate(survey, facts)
        face = survey.faces[0]
        solution = results.photos["street"].solution
        result = results.faces["front"]
        numbers = make_quantities(survey, face, solution, result)
        tidied = tidy(numbers)
        spent = seconds_of(lambda numbers=numbers: tidy(numbers))
        whole = seconds_of(
            lambda face=face, survey=survey, solution=solution, result=result: tidy_face(
                survey, face, solution, result
            )
        )
        design, observed = bare_problem(len(numbers), tidied.degrees)
        bare = seconds_of(
            lambda design=design, observed=observed: np.linalg.lstsq(design, observed)
        )
        if columns * rows == 200:
            keep("200 openings lined up", whole, "s", 1.0)
            keep("lining up beside bare lstsq", spent / bare, "x")
        print(
            f"{columns * rows:8d} {len(numbers):8d} {len(tidied.groups):7d} {spent:9.3f} s "
            f"{whole:10.3f} s {bare:10.4f} s {spent / bare:12.1f}"
        )


if __name__ == "__main__":
    main()
