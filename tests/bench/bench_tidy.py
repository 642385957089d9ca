"""How long lining up takes, and how much nearer the truth it comes, with what it loses.

Run with ``python -m tests.bench.bench_tidy``; some minutes. Time is that of 200 openings beside
a bare ``numpy.linalg.lstsq``. Errors are those of the sizes of openings: on the demo as it is
delivered, on its walls picked anew with every opening, and on invented fronts drawn by chance.
What is left of them, 1 for nothing gained, is promised to be two thirds at most. A size that all
share, one known size for the whole wall, cannot come out better: the second column is without.

The bare solve is one plain least-squares
problem of the same size: the face's numbers as unknowns, each observed once, and the conditions
that were imposed as further rows. It finds no groups, tests nothing and is solved once. Nothing
is asserted; the ratio is what counts, since the clock of a busy machine means little.
"""

from __future__ import annotations

import numpy as np

from measure.elevation.elsewhere import wall_of
from measure.elevation.face_numbers import make_quantities
from measure.elevation.tidy import tidy, tidy_face
from measure.elevation.tidy_wall import tidy_wall
from measure.evaluate import evaluate
from shared.survey_drawing import FaceDrawing
from shared.survey_file import read_survey
from tests.bench.promises import keep
from tests.bench.timing import seconds_of
from tests.support.demo_walls import TRUTH, demo_facts, demo_truth, measured_wall, openings_of
from tests.support.long_terrace import long_terrace
from tests.support.varied_fronts import (
    DIFFERS,
    Front,
    Outcome,
    error_left,
    line_up,
    size_errors,
    varied_front,
)

#: Where an opening is, in the demo's truth.
PLACES = ("u0_mm", "u1_mm", "v0_mm", "springing_mm", "v1_mm")

SURVEYS = ("pennywhistle", "pennywhistle-tied")


def bare_problem(numbers, conditions, seed=1):
    """A full design of this size, and observations."""
    rng = np.random.default_rng(seed)
    rows = numbers + conditions
    return rng.normal(size=(rows, numbers)), rng.normal(size=rows)


DEMO_WALLS = ("front", "front-oblique", "wing")
DRAWS = 6
FRONTS = 12


def demo_table() -> None:
    """What is left of the errors on the demo."""
    print("\nerror of sizes left                all   but for scale")
    for face_id in DEMO_WALLS:
        wall = "wing" if face_id.startswith("wing") else "front"
        truth = {
            each["id"]: (each["u0_mm"], each["u1_mm"], each["v0_mm"], 0.0, each["v1_mm"])
            for each in openings_of(wall)
        }
        outcomes = []
        for seed in range(DRAWS):
            survey, results = measured_wall(face_id, seed, 1.0)
            face = next(face for face in survey.faces if face.id == face_id)
            solution = results.photos[face.photo].solution
            tidied = tidy_face(survey, face, solution, results.faces[face_id])
            outcomes.append(Outcome(Front(survey, {}, truth), tidied))
        _keep_error(f"demo {face_id}, {DRAWS} draws", outcomes)
    for survey_name in SURVEYS:
        _delivered(survey_name)


def _delivered(survey_name: str) -> None:
    """The demo's own picks: every face, and the openings of all faces together, in mm."""
    survey = read_survey(TRUTH.parent / f"{survey_name}.survey.json")
    results = evaluate(survey, demo_facts(survey), stop_at_problem=False)
    errors, lost = [], np.zeros(2, dtype=int)
    print(f"\n{survey_name}: rms error in mm    measured  lined up  left")
    for face in survey.faces:
        solution, result = results.photos[face.photo].solution, results.faces[face.id]
        wall = wall_of(survey, results, face.id)
        wishes = face.drawing or FaceDrawing()
        tidied = tidy_wall(survey, face, solution, result, wishes, wall)
        surface = "front" if face.id.startswith("front") else face.id.partition("-")[0]
        by_id = {each["id"]: each for each in openings_of(surface)}
        measures = demo_truth()["faces"][face.id]["measures"]
        sizes, places = {}, {}
        for each in tidied.measured.openings:
            true = measures.get(each.id, {})
            sizes[each.id] = (
                0.0,
                true.get("width_mm", np.nan),
                0.0,
                0.0,
                true.get("height_mm", np.nan),
            )
            at = by_id.get(each.id.partition("@")[0], {})
            places[each.id] = tuple(at.get(part, np.nan) for part in PLACES)
        own = [not each.photo for each in tidied.measured.openings]
        found = np.array(size_errors(tidied, sizes))[:, own]
        errors.append(found)
        lost += Outcome(Front(survey, {}, places), tidied).lost(3.0)
        _print_rms(face.id, found)
    _print_rms("all together", np.concatenate(errors, axis=1))
    left = np.sqrt(np.mean(np.concatenate(errors, axis=1) ** 2, axis=(1, 2)))
    keep(f"error of sizes left, {survey_name} as delivered", left[1] / left[0], "x", 2 / 3)
    print(f"true differences past 3 u: {lost[0]} pairs, {lost[1]} lost")
    keep(f"true differences past 3 u lost, {survey_name}", lost[1], "pairs", 0.0)


def _print_rms(name: str, errors: np.ndarray) -> None:
    before, after = np.sqrt(np.mean(errors**2, axis=(1, 2)))
    print(f"{name:28} {before:10.2f} {after:9.2f} {after / before:6.2f}")


def _keep_error(name: str, outcomes: list[Outcome]) -> None:
    left, free = error_left(outcomes), error_left(outcomes, but_for_scale=True)
    keep(f"error of sizes left, {name}", left, "x", 2 / 3)
    print(f"{name:34} {left:.2f}   {free:.2f}")


def front_table() -> None:
    """What is left of the errors on invented fronts, and which true differences are lost."""
    kinds = {"regular fronts": 0.0, "fronts with differences": DIFFERS}
    for name, differs in kinds.items():
        outcomes = [line_up(varied_front(seed, differs=differs)) for seed in range(FRONTS)]
        _keep_error(name, outcomes)
    joined = sum(each.joined_too_far() for each in outcomes)
    keep("measured 3 of its u apart, drawn alike", joined, "pairs", 0.0)
    for low, high in ((3.0, 5.0), (5.0, np.inf)):
        pairs, lost = sum(each.lost(low, high) for each in outcomes)
        print(f"true differences of {low:g} to {high:g} u: {pairs} pairs, {lost} lost")
        keep(f"true differences past {low:g} u, lost in 1000", 1000 * lost / pairs, "", 0.0)


def main() -> None:
    """Print the tables."""
    time_table()
    demo_table()
    front_table()


def time_table() -> None:
    """How long it takes."""
    print("openings  numbers  groups  lining up   whole face   bare lstsq   ratio of lining up")
    for columns, rows in ((5, 4), (10, 5), (20, 5), (20, 10)):
        survey, facts, _ = long_terrace(columns, rows, sigma_px=0.5, seed=3)
        results = evaluate(survey, facts)
        face = survey.faces[0]
        solution = results.photos["street"].solution
        result = results.faces["front"]
        numbers = make_quantities(survey, face, solution, result)
        tidied = tidy(numbers)
        spent = seconds_of(lambda numbers=numbers: tidy(numbers), times=5)
        whole = seconds_of(
            lambda face=face, survey=survey, solution=solution, result=result: tidy_face(
                survey, face, solution, result
            ),
            times=5,
        )
        design, observed = bare_problem(len(numbers), tidied.degrees)
        bare = seconds_of(
            lambda design=design, observed=observed: np.linalg.lstsq(design, observed), times=5
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
