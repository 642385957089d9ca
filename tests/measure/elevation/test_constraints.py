import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.sparse import csr_array

from measure.elevation.constraints import Constrained


def random_covariance(n: int, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(n, n))
    return root @ root.T + np.diag(rng.uniform(0.5, 2.0, n))


def test_equal_readings_meet_in_the_weighted_mean() -> None:
    sills = Constrained(np.array([900.0, 912.0]), np.diag([4.0, 16.0]))
    done = sills.impose(csr_array([[1.0, -1.0]]), np.zeros(1))
    # weights 1/4 and 1/16: (4 * 900 + 912) / 5, variance 1 / (1/4 + 1/16)
    assert_allclose(sills.values, [902.4, 902.4], rtol=1e-12)
    assert_allclose(sills.cov, np.full((2, 2), 3.2), rtol=1e-9)
    assert done.chi_square == pytest.approx(144.0 / 20.0)


def test_shared_error_is_not_averaged_away() -> None:
    shared = 25.0
    cov = np.diag([4.0, 4.0]) + shared
    sills = Constrained(np.array([900.0, 904.0]), cov)
    sills.impose(csr_array([[1.0, -1.0]]), np.zeros(1))
    assert_allclose(np.diagonal(sills.cov), shared + 2.0, rtol=1e-9)


def test_number_that_no_condition_names_moves_with_its_neighbour() -> None:
    cov = np.array([[4.0, 0.0, 2.0], [0.0, 4.0, 0.0], [2.0, 0.0, 4.0]])
    numbers = Constrained(np.array([10.0, 14.0, 50.0]), cov)
    numbers.impose(csr_array([[1.0, -1.0, 0.0]]), np.zeros(1))
    # first moves by +2, and the third by cov(3, 1) / var(1) of it
    assert_allclose(numbers.values, [12.0, 12.0, 51.0], rtol=1e-12)


def test_condition_said_twice_counts_once() -> None:
    rows = csr_array([[1.0, -1.0, 0.0], [0.0, 1.0, -1.0], [1.0, 0.0, -1.0]])
    numbers = Constrained(np.array([1.0, 2.0, 6.0]), np.eye(3))
    done = numbers.impose(rows, np.zeros(3))
    assert_allclose(numbers.values, 3.0, rtol=1e-12)
    assert (done.degrees, done.broken) == (2, ())


def test_condition_imposed_again_changes_nothing() -> None:
    rows = csr_array([[1.0, -1.0, 0.0]])
    numbers = Constrained(np.array([1.0, 2.0, 6.0]), random_covariance(3, 1))
    numbers.impose(rows, np.zeros(1))
    values, cov = numbers.values.copy(), numbers.cov.copy()
    done = numbers.impose(rows, np.zeros(1))
    assert (done.degrees, done.broken) == (0, ())
    assert_allclose(numbers.values, values, rtol=1e-12)
    assert_allclose(numbers.cov, cov, atol=1e-12)


def test_contradiction_is_named_and_the_rest_is_met() -> None:
    rows = csr_array([[1.0, 0.0], [0.0, 1.0], [1.0, -1.0]])
    numbers = Constrained(np.array([1000.0, 1010.0]), np.eye(2) * 25.0)
    done = numbers.impose(rows, np.array([1000.0, 1020.0, 0.0]))
    assert len(done.broken) == 1
    assert done.degrees == 2


def test_number_known_exactly_holds_against_a_wish() -> None:
    numbers = Constrained(np.array([0.0, 7.0]), np.diag([0.0, 9.0]))
    assert numbers.impose(csr_array([[1.0, 0.0]]), np.array([5.0])).broken == (0,)
    numbers.impose(csr_array([[1.0, -1.0]]), np.zeros(1))
    assert_allclose(numbers.values, [0.0, 0.0], atol=1e-12)
    assert_allclose(numbers.cov, 0.0, atol=1e-12)


def test_no_condition_is_no_change() -> None:
    numbers = Constrained(np.array([1.0]), np.eye(1))
    assert numbers.impose(csr_array((0, 1)), np.zeros(0)).degrees == 0


@settings(max_examples=40, deadline=None)
@given(st.integers(2, 8), st.integers(0, 10_000))
def test_result_is_the_nearest_point_by_another_route(n: int, seed: int) -> None:
    """Against weighted least squares with the free numbers as parameters."""
    rng = np.random.default_rng(seed)
    m = int(rng.integers(1, n))
    rows, wanted = rng.normal(size=(m, n)), rng.normal(size=m)
    values, cov = rng.normal(size=n), random_covariance(n, seed)
    numbers = Constrained(values, cov)
    done = numbers.impose(csr_array(rows), wanted)
    # x = particular + null space * t, minimise (x - values)' cov^-1 (x - values)
    particular = np.linalg.lstsq(rows, wanted, rcond=None)[0]
    null = np.linalg.svd(rows)[2][m:].T
    root = np.linalg.cholesky(np.linalg.inv(cov)).T
    t = np.linalg.lstsq(root @ null, root @ (values - particular), rcond=None)[0]
    best = particular + null @ t
    assert_allclose(numbers.values, best, atol=1e-7)
    spread = null @ np.linalg.inv(null.T @ np.linalg.inv(cov) @ null) @ null.T
    assert_allclose(numbers.cov, spread, atol=1e-7)
    off = root @ (best - values)
    assert done.chi_square == pytest.approx(off @ off, rel=1e-6, abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.integers(3, 8), st.integers(0, 10_000))
def test_one_by_one_is_the_same_as_all_at_once(n: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows = rng.normal(size=(2, n))
    values, cov = rng.normal(size=n), random_covariance(n, seed)
    at_once, in_turn = Constrained(values, cov), Constrained(values, cov)
    done = at_once.impose(csr_array(rows), np.zeros(2))
    steps = [in_turn.impose(csr_array(rows[[i]]), np.zeros(1)) for i in range(2)]
    assert_allclose(in_turn.values, at_once.values, atol=1e-8)
    assert_allclose(in_turn.cov, at_once.cov, atol=1e-8)
    assert sum(step.chi_square for step in steps) == pytest.approx(done.chi_square, rel=1e-6)
