"""Lining up on the demo, whose true sizes are known."""

from itertools import combinations

import numpy as np
import pytest

from measure.elevation.pools import make_pools
from measure.elevation.tidy import Tidied, tidy_face
from measure.evaluate import evaluate
from shared.survey_file import read_survey
from tests.support.agreement_checks import check_no_pair_too_far
from tests.support.demo_walls import TRUTH, demo_facts, demo_truth, measured_wall, openings_of

DEMO = TRUTH.parent / "pennywhistle.survey.json"


def demo_wall(face_id: str, seed: int) -> Tidied:
    survey, results = measured_wall(face_id, seed, 1.0)
    face = next(face for face in survey.faces if face.id == face_id)
    solution = results.photos[face.photo].solution
    return tidy_face(survey, face, solution, results.faces[face_id])


def size_errors(tidied: Tidied, face_id: str) -> tuple[np.ndarray, np.ndarray]:
    wall = "wing" if face_id.startswith("wing") else "front"
    truth = {each["id"]: each for each in openings_of(wall)}
    errors = []
    for numbers in (tidied.measured, tidied.numbers):
        v = numbers.values
        errors.append(
            [
                (
                    v[o.right] - v[o.left] - (truth[o.id]["u1_mm"] - truth[o.id]["u0_mm"]),
                    v[o.head] - v[o.sill] - (truth[o.id]["v1_mm"] - truth[o.id]["v0_mm"]),
                )
                for o in numbers.openings
            ]
        )
    return np.array(errors[0]), np.array(errors[1])


def true_value(face_id: str, member: str) -> float | None:
    """What the demo says of a size, None for picks that are no size of their own."""
    wall = "wing" if face_id.startswith("wing") else "front"
    truth = {each["id"]: each for each in openings_of(wall)}
    datum = demo_truth()["faces"][face_id]["datum_chart_v_mm"]
    if " to " in member:
        one, other = (truth[id_] for id_ in member.split(" to "))
        return (other["u0_mm"] + other["u1_mm"] - one["u0_mm"] - one["u1_mm"]) / 2
    id_, _, part = member.rpartition(".")
    if id_ not in truth:
        return None
    each = truth[id_]
    return {
        "left": each["u0_mm"],
        "right": each["u1_mm"],
        "sill": each["v0_mm"] - datum,
        "springing": each["springing_mm"] - datum,
        "head": each["v1_mm"] - datum,
        "centre": (each["u0_mm"] + each["u1_mm"]) / 2,
        "width": each["u1_mm"] - each["u0_mm"],
        "height": each["v1_mm"] - each["v0_mm"],
        "rise": each["rise_mm"],
    }[part]


def root_mean_square(errors: object) -> float:
    return float(np.sqrt(np.mean(np.square(errors))))


def true_sizes(tidied: Tidied, wall: str) -> np.ndarray:
    truth = {each["id"]: each for each in openings_of(wall)}
    return np.array(
        [
            (each["u1_mm"] - each["u0_mm"], each["v1_mm"] - each["v0_mm"])
            for each in (truth[opening.id] for opening in tidied.numbers.openings)
        ]
    )


def without_scale(errors: np.ndarray, sizes: np.ndarray) -> np.ndarray:
    """Errors less the one factor that all sizes of a wall share."""
    return errors - np.sum(errors * sizes) / np.sum(sizes**2) * sizes


def test_sizes_of_the_demo_survey_come_nearer_the_truth_by_a_third() -> None:
    """The street front as the demo has it, picks and all."""
    survey = read_survey(DEMO)
    results = evaluate(survey, demo_facts(survey), stop_at_problem=False)
    solution = results.photos["street"].solution
    tidied = tidy_face(survey, survey.faces[0], solution, results.faces["front"])
    truth = demo_truth()["faces"]["front"]["measures"]
    errors = []
    for numbers in (tidied.measured, tidied.numbers):
        v = numbers.values
        errors.append(
            [
                (
                    v[o.right] - v[o.left] - truth[o.id]["width_mm"],
                    v[o.head] - v[o.sill] - truth[o.id]["height_mm"],
                )
                for o in numbers.openings
            ]
        )
    assert root_mean_square(errors[1]) < root_mean_square(errors[0]) * 2 / 3


@pytest.mark.slow
@pytest.mark.parametrize("face_id", ["front", "front-oblique"])
def test_sizes_on_the_demo_come_nearer_the_truth(face_id: str) -> None:
    """Every opening, picked anew thirty times.

    The scale of the whole wall rests on its known sizes and cannot come out better; apart
    from it the error falls by a third (0.57 and 0.65 of it are left), with it to 0.66 and 0.74.
    """
    before, after, before_free, after_free = [], [], [], []
    for seed in range(100, 130):
        tidied = demo_wall(face_id, seed)
        one, other = size_errors(tidied, face_id)
        sizes = true_sizes(tidied, "front")
        before.append(one)
        after.append(other)
        before_free.append(without_scale(one, sizes))
        after_free.append(without_scale(other, sizes))
    assert root_mean_square(after_free) < root_mean_square(before_free) * 2 / 3
    assert root_mean_square(after) < root_mean_square(before) * 0.8


def without_two_factors(errors: np.ndarray, sizes: np.ndarray) -> np.ndarray:
    """Errors less one factor of all widths and one of all heights."""
    out = errors.copy()
    for at in (0, 1):
        size = sizes[:, at]
        out[:, at] -= (errors[:, at] @ size) / (size @ size) * size
    return out


@pytest.mark.slow
def test_sizes_of_the_wing_come_nearer_the_truth_but_for_what_the_hinge_gives_it() -> None:
    """The wing has no known size: its hinge gives one factor to its widths, one to its heights.

    Lining up cannot see either, and no level of the front is one of the wing's; they are most
    of the error (0.88 of it is left). Apart from them it falls by almost half (0.52 is left).
    """
    before, after, before_free, after_free = [], [], [], []
    for seed in range(100, 115):
        tidied = demo_wall("wing", seed)
        one, other = size_errors(tidied, "wing")
        sizes = true_sizes(tidied, "wing")
        before.append(one)
        after.append(other)
        before_free.append(without_two_factors(one, sizes))
        after_free.append(without_two_factors(other, sizes))
    assert root_mean_square(after_free) < root_mean_square(before_free) * 2 / 3
    assert root_mean_square(after) < root_mean_square(before)


@pytest.mark.slow
@pytest.mark.parametrize("face_id", ["front", "front-oblique", "wing"])
def test_no_true_difference_beyond_three_of_its_u_is_lost_on_the_demo(face_id: str) -> None:
    for seed in range(200, 206):
        tidied = demo_wall(face_id, seed)
        check_no_pair_too_far(tidied)
        pools = {pool.what: pool for pool in make_pools(tidied.measured)}
        for group in tidied.groups:
            pool = pools[group.what]
            rows = pool.rows[[pool.members.index(member) for member in group.members]]
            cov = np.asarray(rows @ (rows @ tidied.measured.cov).T)
            true = [true_value(face_id, member) for member in group.members]
            for i, j in combinations(range(len(true)), 2):
                one, other = true[i], true[j]
                if one is not None and other is not None:
                    u = np.sqrt(cov[i, i] + cov[j, j] - 2 * cov[i, j])
                    assert abs(one - other) <= 3.0 * u
