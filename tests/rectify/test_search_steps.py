"""Single steps of the search for the least squares, each against a formula for it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from rectify.solving.adjusted import Conditions
from rectify.solving.least_squares import (
    BEND_AT,
    BENT_PARTS,
    ROUGH_STEP,
    _damped,
    _Search,
    _stretch,
    _undamped,
    solve_conditions,
)
from shared.errors import NotConvergedError


@dataclass(frozen=True)
class Plain:
    """Unknowns with a prior of nothing."""

    values: np.ndarray

    def stepped(self, step):
        return replace(self, values=self.values + step)

    def distance_from_prior(self):
        return self.values


def search_of(function, jacobian, observed, u):
    """``observed = function(unknowns)``, without priors."""

    def linearise(state, adjusted):
        b = np.eye(len(observed))
        return Conditions(adjusted - function(state.values), -jacobian(state.values), b)

    return linearise, np.asarray(observed, dtype=float), np.asarray(u, dtype=float)


def point_of(function, jacobian, start, observed, u):
    job = search_of(function, jacobian, observed, u)
    search = _Search(*job, np.zeros(len(start)))
    return search, search.point(Plain(np.asarray(start, dtype=float)), search.observed)


DESIGN = np.array([[1.0, 0.2], [0.3, 2.0], [0.5, -0.4]])
U = np.array([0.5, 1.0, 2.0])
NORMAL = DESIGN.T @ np.diag(U**-2) @ DESIGN


@pytest.fixture(scope="module")
def straight():
    """A straight problem, a way off its answer."""
    return point_of(lambda x: DESIGN @ x, lambda x: DESIGN, [0.0, 0.0], [3.0, 1.0, -2.0], U)


def test_damped_step_leans_on_the_diagonal_of_the_normal_matrix(straight):
    _, point = straight
    slope = DESIGN.T @ np.diag(U**-2) @ [3.0, 1.0, -2.0]
    damped = np.linalg.solve(NORMAL + 0.7 * np.diag(np.diag(NORMAL)), slope)
    # within the part in 10^9 that keeps conditions said twice apart
    assert_allclose(point.damped_step(0.7), damped, rtol=1e-7)


def test_steps_are_measured_in_what_they_add_to_the_sum_of_squares(straight):
    _, point = straight
    one, other = np.array([0.4, -0.1]), np.array([0.2, 0.9])
    assert point.length2(one, other) == pytest.approx(one @ NORMAL @ other, rel=1e-7)


@pytest.mark.parametrize(("step", "taken"), [(0.1, True), (-0.12, False), (-0.8, False)])
def test_a_step_that_raises_the_sum_of_squares_is_not_taken(step, taken):
    # one reading, 2 ± off: the sum is 4, and 3.6, 4.5 or 7.8 after the step
    search, point = point_of(lambda x: x, lambda x: np.eye(1), [0.0], [2.0], [1.0])
    assert (search.after(point, np.array([step])) is not None) == taken


def test_bend_of_a_step_is_what_the_second_derivative_makes_of_it():
    # a reading of x + 0.1 x^2 at x = 1: bend is minus half the second derivative times the step
    # squared, over the first derivative
    search, point = point_of(
        lambda x: x + 0.1 * x**2, lambda x: np.diag(1.0 + 0.2 * x), [1.0], [2.0], [1.0]
    )
    step = (2.0 - 1.1) / 1.2
    assert point.step == pytest.approx(step)
    assert search.bend_of(point) == pytest.approx(-0.1 * step**2 / 1.2, rel=1e-6)


def test_step_whose_start_leads_nowhere_is_taken_to_be_straight():
    # the logarithm ends a thousandth below the start; the step is 0.9 down
    search, point = point_of(
        lambda x: np.log(x - 0.999), lambda x: np.diag(1.0 / (x - 0.999)), [1.0], [-900.0], [1.0]
    )
    assert BEND_AT * point.step[0] < -0.001
    assert_allclose(search.bend_of(point), [0.0])


def far_on_a_bend():
    """A reading of an arctangent, 0, from 3: the full step is ten times too long."""
    return point_of(np.arctan, lambda x: np.diag(1.0 / (1.0 + x**2)), [3.0], [0.0], [1.0])


def test_where_a_full_step_is_too_long_the_first_part_of_it_that_helps_is_taken():
    search, point = far_on_a_bend()
    bend = search.bend_of(point)
    tried = [
        [3.0 + part * point.step[0] + bent for bent in (part**2 * bend[0], 0.0)]
        for part in BENT_PARTS
    ]
    helps = next(part for part in tried if min(np.abs(part)) < 3.0)
    found, full = _undamped(search, point, None, parts=True)
    assert found.state.values[0] == pytest.approx(min(helps, key=abs))
    assert full is None


def test_where_no_parts_are_asked_for_a_full_step_that_is_too_long_is_none():
    assert _undamped(*far_on_a_bend(), None, parts=False) == (None, None)


def test_full_step_that_helps_is_taken_and_kept_to_compare_the_next_with(straight):
    search, point = straight
    found, full = _undamped(search, point, None, parts=False)
    assert_allclose(found.state.values, point.step)
    assert_allclose(full, point.step)


def test_steady_row_of_steps_is_summed_at_once(straight):
    # the step before was four times as long: 1 + 1/4 + 1/16 ... is 1 / (1 - 1/4)
    search, point = straight
    found, full = _undamped(search, point, 4.0 * point.step, parts=False)
    assert_allclose(found.state.values, point.step / 0.75)
    assert full is None


def test_damped_step_is_the_longest_that_helps():
    search, point = far_on_a_bend()
    # of one unknown: the full step over 1 + damping, and damping goes up tenfold from 0.001
    lengths = [3.0 + point.step[0] / (1.0 + 10.0**power) for power in range(-3, 3)]
    helps = next(length for length in lengths if abs(length) < 3.0)
    assert _damped(search, point).state.values[0] == pytest.approx(helps)


def test_where_nothing_helps_only_the_observations_follow():
    # a reading that has a value at the start alone
    search, point = point_of(
        lambda x: np.where(x == 1.0, x, np.nan), lambda x: np.eye(1), [1.0], [5.0], [1.0]
    )
    assert _damped(search, point).state.values.tolist() == [1.0]


@dataclass(frozen=True)
class Stepping:
    """A point with a step, measured in plain lengths."""

    step: np.ndarray

    def length2(self, one, other):
        return float(one @ other)


@pytest.mark.parametrize(
    ("step", "last", "stretch"),
    [
        ([1.5, 0.0], [3.0, 0.0], 2.0),  # halved: 1 + 1/2 + 1/4 ...
        ([-1.5, 0.0], [3.0, 0.0], 2.0 / 3.0),  # to and fro: 1 - 1/2 + 1/4 ...
        ([2.7, 0.0], [3.0, 0.0], 10.0),
        ([2.9, 0.0], [3.0, 0.0], 1.0),  # hardly smaller: no row to sum
        ([0.5, 0.0], [3.0, 0.0], 1.0),  # shrinking fast: there in a step or two
        ([1.5, 0.72], [3.0, 0.0], 2.0),  # the square of the cosine is 0.81
        ([1.5, 0.78], [3.0, 0.0], 1.0),  # 0.79
        ([0.15, 0.072], [0.3, 0.0], 2.0),  # whatever their length
        ([0.15, 0.078], [0.3, 0.0], 1.0),
        ([-1.5, 0.0], None, 1.0),
    ],
)
def test_steps_that_shrink_in_a_steady_row_are_summed(step, last, stretch):
    before = None if last is None else np.array(last)
    assert _stretch(Stepping(np.array(step)), before) == pytest.approx(stretch)


def bent(x):
    return np.array([x[0] ** 2, x[0] + x[1], np.exp(x[1])])


def bent_jacobian(x):
    return np.array([[2.0 * x[0], 0.0], [1.0, 1.0], [0.0, np.exp(x[1])]])


def solved(**more):
    linearise, observed, u = search_of(bent, bent_jacobian, [9.3, 3.6, 1.9], [0.1, 0.1, 0.1])
    return solve_conditions(
        linearise, Plain(np.array([1.0, 0.0])), observed, u, np.zeros(2), **more
    )


def test_rough_search_stops_sooner_within_a_twentieth_of_each_plus_minus():
    rough, exact = solved(rough=True), solved()
    u = np.sqrt(np.diag(exact.cov_unknowns))
    assert rough.iterations < exact.iterations
    assert (np.abs(rough.state.values - exact.state.values) < ROUGH_STEP * u).all()
    assert not np.array_equal(rough.state.values, exact.state.values)


def test_straight_problem_takes_one_step_and_one_look():
    linearise, observed, u = search_of(lambda x: DESIGN @ x, lambda x: DESIGN, [3, 1, -2], U)
    found = solve_conditions(linearise, Plain(np.zeros(2)), observed, u, np.zeros(2))
    assert found.iterations == 2


@pytest.mark.parametrize(
    ("function", "says"),
    [
        (lambda x: x * np.nan, "The first guess of the camera does not see all the picks."),
        (lambda x: np.sign(x) + 3.0, "The picks do not settle to one camera."),
    ],
    ids=["no value at the start", "no way down"],
)
def test_a_search_that_fails_says_so_and_what_to_check(function, says):
    linearise, observed, u = search_of(function, lambda x: np.eye(1) * 1e-3, [0.0], [1.0])
    with pytest.raises(NotConvergedError) as caught:
        solve_conditions(linearise, Plain(np.ones(1)), observed, u, np.zeros(1), max_iterations=9)
    assert caught.value.message == says
    assert re.fullmatch(r"Check [^A-Z]+[.]", caught.value.hint)
