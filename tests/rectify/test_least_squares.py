"""The adjustment core: closed forms, and a second route by scipy."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy import optimize, sparse

from rectify.solving.adjusted import Conditions
from rectify.solving.least_squares import solve_conditions
from shared.errors import NotConvergedError


@dataclass(frozen=True)
class Plain:
    values: np.ndarray
    prior: np.ndarray

    def stepped(self, step):
        return replace(self, values=self.values + step)

    def distance_from_prior(self):
        return self.values - self.prior


def solve(function, jacobian, start, observed, u, prior=None, weight=None, **more):
    """Observation equations ``observed = function(x)``."""
    b = np.eye(len(observed))

    def linearise(state, adjusted):
        return Conditions(adjusted - function(state.values), -jacobian(state.values), b)

    start = np.asarray(start, dtype=float)
    prior = np.zeros(len(start)) if prior is None else np.asarray(prior, dtype=float)
    weight = np.zeros(len(start)) if weight is None else np.asarray(weight, dtype=float)
    state = Plain(start, prior)
    return solve_conditions(
        linearise, state, np.asarray(observed, float), np.asarray(u, float), weight, **more
    )


def mean_of(observed, u, **more):
    ones = np.ones((len(observed), 1))
    return solve(lambda x: ones @ x, lambda x: ones, [0.0], observed, u, **more)


@given(st.lists(st.floats(-100, 100), min_size=1, max_size=12), st.floats(0.1, 10))
def test_n_equal_readings_of_one_length_have_sigma_over_root_n(readings, sigma):
    adjusted = mean_of(readings, np.full(len(readings), sigma))
    assert adjusted.state.values[0] == pytest.approx(np.mean(readings), abs=1e-6 * sigma + 1e-9)
    u = np.sqrt(adjusted.cov_unknowns[0, 0])
    assert u == pytest.approx(sigma / np.sqrt(len(readings)), rel=1e-6)
    assert adjusted.degrees_of_freedom == len(readings) - 1


def test_readings_weigh_by_one_over_variance():
    adjusted = mean_of([10.0, 13.0], [1.0, 2.0])
    assert adjusted.state.values[0] == pytest.approx((10 * 4 + 13) / 5)
    assert_allclose(adjusted.redundancy_numbers, [0.2, 0.8], atol=1e-6)
    # both contradict each other alone: the same standardised residual
    assert_allclose(np.abs(adjusted.w_values), 3.0 / np.sqrt(5.0), rtol=1e-6)


def test_prior_counts_as_one_more_reading():
    adjusted = mean_of([10.0], [1.0], prior=[13.0], weight=[0.25])
    assert adjusted.state.values[0] == pytest.approx((10 * 4 + 13) / 5)
    assert adjusted.degrees_of_freedom == 1
    assert adjusted.chi_square == pytest.approx(9.0 / 5.0)


def decay(x):
    t = np.linspace(0.0, 3.0, 12)
    return x[0] * np.exp(-x[1] * t) + x[2]


def decay_jacobian(x):
    t = np.linspace(0.0, 3.0, 12)
    e = np.exp(-x[1] * t)
    return np.column_stack([e, -x[0] * t * e, np.ones(12)])


@pytest.mark.parametrize("held", [(), (0,), (1,), (0, 2)], ids=str)
def test_bent_problem_agrees_with_scipy(held):
    rng = np.random.default_rng(3)
    truth = np.array([5.0, 1.3, 2.0])
    sigma = 0.05
    observed = decay(truth) + rng.normal(0, sigma, 12)
    weight = np.array([1e10 if i in held else 0.04 for i in range(3)])
    adjusted = solve(
        decay, decay_jacobian, [1.0, 0.3, 0.0], observed, np.full(12, sigma), truth, weight
    )
    second = optimize.least_squares(
        lambda x: np.concatenate([(observed - decay(x)) / sigma, np.sqrt(weight) * (x - truth)]),
        truth,
        xtol=1e-14,
        ftol=1e-14,
        gtol=1e-12,
    )
    cov = np.linalg.inv(second.jac.T @ second.jac)
    u = np.sqrt(np.diag(cov))
    # the search stops where a step is a thousandth of the ±, and the step after it is taken
    assert_allclose((adjusted.state.values - second.x) / u, 0.0, atol=1e-4)
    assert_allclose(np.sqrt(np.diag(adjusted.cov_unknowns)), u, rtol=1e-3)
    assert adjusted.chi_square == pytest.approx(2 * second.cost, rel=1e-5)


def circle(points, start, u=0.05):
    """Points on a circle: conditions in which every observation is as unsure as the next."""

    def linearise(state, adjusted):
        p = adjusted.reshape(-1, 2)
        cx, cy, r = state.values
        d = p - [cx, cy]
        length = np.hypot(*d.T)
        b = np.zeros((len(p), 2 * len(p)))
        for i in range(len(p)):
            b[i, 2 * i : 2 * i + 2] = d[i] / length[i]
        a = np.column_stack([-d[:, 0] / length, -d[:, 1] / length, -np.ones(len(p))])
        return Conditions(length - r, a, b)

    flat = np.asarray(points, dtype=float).ravel()
    state = Plain(np.asarray(start, dtype=float), np.zeros(3))
    return solve_conditions(linearise, state, flat, np.full(len(flat), u), np.zeros(3))


def test_conditions_between_observations_give_the_nearest_circle():
    rng = np.random.default_rng(4)
    angle = np.linspace(0, 2.0, 9)
    points = np.column_stack([3 + 2 * np.cos(angle), 1 + 2 * np.sin(angle)])
    points += rng.normal(0, 0.05, points.shape)
    adjusted = circle(points, [2.5, 0.5, 1.0])
    second = optimize.least_squares(
        lambda x: np.hypot(*(points - x[:2]).T) - x[2], [3, 1, 2], xtol=1e-14
    )
    u = np.sqrt(np.diag(adjusted.cov_unknowns))
    assert_allclose((adjusted.state.values - second.x) / u, 0.0, atol=1e-4)
    fitted = adjusted.adjusted.reshape(-1, 2) - adjusted.state.values[:2]
    assert_allclose(np.hypot(*fitted.T), adjusted.state.values[2], atol=1e-6)


def test_condition_said_twice_is_counted_once():
    """The difference of two readings is 5, said once and said three times."""

    def solved(times):
        a = np.zeros((times + 2, 2))
        a[-2:] = -np.eye(2)
        b = np.vstack([[[1.0, -1.0]] * times, np.eye(2)])

        def linearise(state, adjusted):
            apart = adjusted[0] - adjusted[1] - 5.0
            return Conditions(np.array([apart] * times + list(adjusted - state.values)), a, b)

        state = Plain(np.zeros(2), np.zeros(2))
        return solve_conditions(linearise, state, np.array([11.0, 5.0]), np.ones(2), np.zeros(2))

    once, thrice = solved(1), solved(3)
    assert_allclose(thrice.state.values, once.state.values, atol=1e-6)
    assert_allclose(thrice.state.values, [10.5, 5.5], atol=1e-6)
    assert_allclose(thrice.cov_unknowns, once.cov_unknowns, atol=1e-6)


def test_sparse_and_dense_matrices_give_the_same():
    rng = np.random.default_rng(6)
    design, observed = rng.normal(size=(30, 4)), rng.normal(size=30)

    def solved(b):
        def linearise(state, adjusted):
            return Conditions(adjusted - design @ state.values, -design, b)

        state = Plain(np.zeros(4), np.zeros(4))
        return solve_conditions(linearise, state, observed, np.ones(30), np.zeros(4))

    dense, thin = solved(np.eye(30)), solved(sparse.csr_array(np.eye(30)))
    assert_allclose(thin.state.values, dense.state.values, atol=1e-9)
    assert_allclose(thin.cov_unknowns, dense.cov_unknowns, atol=1e-9)
    assert_allclose(thin.redundancy_numbers, dense.redundancy_numbers, atol=1e-9)
    assert_allclose(thin.cov_residuals, dense.cov_residuals, atol=1e-9)


def test_redundancy_adds_up_to_the_degrees_of_freedom():
    rng = np.random.default_rng(7)
    design = rng.normal(size=(15, 4))
    adjusted = solve(
        lambda x: design @ x, lambda x: design, np.zeros(4), rng.normal(size=15), np.ones(15)
    )
    assert adjusted.redundancy_numbers.sum() == pytest.approx(11.0, abs=1e-6)
    assert np.trace(adjusted.cov_residuals) == pytest.approx(11.0, abs=1e-6)


def test_covariance_of_adjusted_readings_is_that_of_the_hat_matrix():
    rng = np.random.default_rng(8)
    design = rng.normal(size=(10, 3))
    adjusted = solve(
        lambda x: design @ x, lambda x: design, np.zeros(3), rng.normal(size=10), np.ones(10)
    )
    hat = design @ np.linalg.inv(design.T @ design) @ design.T
    some = np.array([1, 4, 7])
    assert_allclose(adjusted.cov_adjusted(some), hat[np.ix_(some, some)], atol=1e-7)
    with_unknowns = design @ np.linalg.inv(design.T @ design)
    assert_allclose(adjusted.cov_adjusted_unknowns(some), with_unknowns[some], atol=1e-7)


def test_sources_of_the_scatter_add_up_to_every_covariance():
    rng = np.random.default_rng(8)
    design = rng.normal(size=(10, 3))
    believed = np.array([0.0, 2.0, 0.5])
    u = rng.uniform(0.5, 2.0, 10)
    adjusted = solve(
        lambda x: design @ x, lambda x: design, np.zeros(3), rng.normal(size=10), u, weight=believed
    )
    unknowns, observations = adjusted.sources
    every = np.arange(10)
    assert_allclose(unknowns @ unknowns.T, adjusted.cov_unknowns, atol=1e-8)
    assert_allclose(observations @ observations.T, adjusted.cov_adjusted(every), atol=1e-8)
    assert_allclose(observations @ unknowns.T, adjusted.cov_adjusted_unknowns(every), atol=1e-8)


def test_misfit_widens_only_beyond_chance():
    sigma = np.ones(20)
    calm = mean_of(np.tile([-1.0, 1.0], 10), sigma)
    assert calm.misfit == 1.0
    wild = mean_of(np.tile([-3.0, 3.0], 10), sigma)
    assert wild.misfit == pytest.approx(np.sqrt(180.0 / 19.0))


def test_start_with_no_value_says_so():
    with pytest.raises(NotConvergedError, match="first guess"):
        solve(lambda x: np.full(2, np.nan), lambda x: np.ones((2, 1)), [0.0], [1.0, 2.0], [1, 1])


def test_search_that_finds_no_way_down_says_so():
    def uphill(x):
        return -np.ones((2, 1))

    with pytest.raises(NotConvergedError, match="do not settle"):
        solve(lambda x: np.full(2, x[0]), uphill, [0.0], [5.0, 5.0], [1e-3, 1e-3])
