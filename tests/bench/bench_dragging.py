"""How long the answer to a dragged line of 200 openings takes, beside ``numpy.linalg.lstsq``.

Run with ``python -m tests.bench.bench_dragging``. The answer is everything that the page is sent:
the facade with its line moved, as paths, and all lines that can be taken hold of; or all openings
mirrored about the end of the wall, as an axis in hand offers them. The bare solve is one plain
least-squares problem with as many unknowns as the face has numbers. Nothing is asserted; the ratio
is what counts, since the clock of a busy machine means little.
"""

from __future__ import annotations

import json
import time

import numpy as np

from measure.elevation.build import line_up
from measure.evaluate import evaluate
from measure.workbench.completing import handles_of, tried
from measure.workbench.dragging import dragged
from shared.survey_drawing import FaceDrawing, MirrorCompletion, MovedLine
from tests.bench.promises import keep
from tests.bench.timing import seconds_of
from tests.support.long_terrace import long_terrace

DENOMINATOR = 87.0


def main() -> None:
    """Print the table."""
    print("openings  numbers  lines  lined up once   one drag  one mirror  bare lstsq  drag, ratio")
    for columns, rows in ((5, 4), (10, 5), (20, 10)):
        survey, facts, _ = long_terrace(columns, rows, sigma_px=0.5, seed=3)
        results = evaluate(survey, facts)
        face, result = survey.faces[0], results.faces["front"]
        solution = results.photos["street"].solution
        start = time.process_time()
        lined = line_up(survey, face, result, solution, FaceDrawing())
        once = time.process_time() - start
        lines = dragged(lined, (), DENOMINATOR)["lines"]
        grip = next(
            line
            for line in lines
            if line["what"] == "level" and len(line["members"]) >= columns and not line["fixed"]
        )
        wish = MovedLine(what="level", of=grip["members"], to_mm=grip["at_mm"] + 20.0)
        drag = seconds_of(
            lambda lined=lined, wish=wish: json.dumps(dragged(lined, (wish,), DENOMINATOR))
        )
        told = handles_of(lined, (), DENOMINATOR)
        end_mm = told["wall_mm"][2] - told["origin_mm"]
        axis = MirrorCompletion(kind="mirror", axis_mm=end_mm)
        mirror = seconds_of(
            lambda lined=lined, axis=axis: json.dumps(tried(lined, axis, DENOMINATOR))
        )
        n = len(lined.tidied.numbers)
        rng = np.random.default_rng(1)
        design, observed = rng.normal(size=(n, n)), rng.normal(size=n)
        bare = seconds_of(
            lambda design=design, observed=observed: np.linalg.lstsq(design, observed), 5
        )
        if columns * rows == 200:
            keep("a line of 200 openings dragged", 1000.0 * drag, "ms", 50.0)
            keep("200 openings mirrored in hand", 1000.0 * mirror, "ms", 50.0)
            keep("dragging beside bare lstsq", drag / bare, "x")
        print(
            f"{columns * rows:8d} {n:8d} {len(lines):6d} {once:12.3f} s {1000 * drag:8.1f} ms "
            f"{1000 * mirror:8.1f} ms {bare:10.4f} s {drag / bare:14.3f}"
        )


if __name__ == "__main__":
    main()
