import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import chi2

from measure.elevation.agreement import (
    MOST_APART,
    NEVER,
    TEST_LEVEL,
    Candidates,
    agreeing_groups,
    chi_square_of_one,
    distances_in_u,
)


def candidates(values: list[float], cov: np.ndarray) -> Candidates:
    array = np.array(values, dtype=float)
    return Candidates(array, cov, cov, distances_in_u(array, cov))


def test_distance_is_the_difference_over_its_u() -> None:
    distances = distances_in_u(np.array([0.0, 5.0]), np.diag([9.0, 16.0]))
    np.testing.assert_allclose(distances, [[0.0, 1.0], [1.0, 0.0]], atol=1e-12)


def test_shared_error_makes_a_small_difference_a_large_one() -> None:
    cov = np.array([[100.0, 99.5], [99.5, 100.0]])
    assert distances_in_u(np.array([0.0, 5.0]), cov)[0, 1] == pytest.approx(5.0)


def test_settled_numbers_are_the_same_or_never() -> None:
    given_cov, nothing = np.diag([4.0, 4.0, 4.0]), np.zeros((3, 3))
    distances = distances_in_u(np.array([1.0, 1.0, 3.0]), nothing, given_cov)
    assert distances[0, 1] == 0.0
    assert distances[0, 2] == NEVER


def test_chi_square_of_one_is_that_of_the_weighted_mean() -> None:
    values, u = np.array([10.0, 12.0, 17.0]), np.array([1.0, 2.0, 4.0])
    mean = np.sum(values / u**2) / np.sum(1 / u**2)
    expected = np.sum(((values - mean) / u) ** 2)
    found, degrees = chi_square_of_one(values, np.diag(u**2))
    assert found == pytest.approx(expected)
    assert degrees == 2


def test_settled_and_different_is_beyond_all_measure() -> None:
    found, _ = chi_square_of_one(np.array([1.0, 2.0]), np.zeros((2, 2)), np.eye(2))
    assert found == float("inf")


def test_two_lines_of_sills_stay_two() -> None:
    groups = agreeing_groups(candidates([900, 903, 898, 960, 963], np.eye(5) * 16.0))
    assert groups == [[0, 1, 2], [3, 4]]


def test_number_by_itself_is_in_no_group() -> None:
    assert agreeing_groups(candidates([900.0], np.eye(1))) == []
    assert agreeing_groups(candidates([900, 1000], np.eye(2))) == []


def test_chain_of_small_steps_is_not_one_line() -> None:
    """Each differs from the next by 2.5 of its ±: linked one by one they would all be one."""
    step = 2.5 * np.sqrt(2.0)
    values = [step * n for n in range(12)]
    for members in agreeing_groups(candidates(values, np.eye(12))):
        spread = (max(members) - min(members)) * step
        assert spread <= MOST_APART * np.sqrt(2.0)


def test_one_stray_among_many_is_let_go_alone() -> None:
    values = [0.0] * 9 + [6.0]
    groups = agreeing_groups(candidates(values, np.eye(10)))
    assert groups == [[0, 1, 2, 3, 4, 5, 6, 7, 8]]


def test_pair_kept_apart_is_never_in_one_group() -> None:
    found = candidates([0.0, 0.1, 0.2], np.eye(3))
    found.distances[0, 2] = found.distances[2, 0] = NEVER
    for members in agreeing_groups(found):
        assert not {0, 2} <= set(members)


@settings(max_examples=60, deadline=None)
@given(st.integers(2, 30), st.floats(0.0, 20.0), st.integers(0, 10_000))
def test_both_rules_hold_in_every_group(n: int, spread: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(n, n))
    cov = root @ root.T / n + np.diag(rng.uniform(0.2, 2.0, n)) + 9.0
    values = rng.normal(0.0, spread, n)
    found = candidates(values.tolist(), cov)
    groups = agreeing_groups(found)
    every = [member for members in groups for member in members]
    assert len(set(every)) == len(every)
    for members in groups:
        assert found.distances[np.ix_(members, members)].max() <= MOST_APART
        statistic, degrees = chi_square_of_one(values[members], cov[np.ix_(members, members)])
        assert chi2.sf(statistic, degrees) >= TEST_LEVEL


def test_share_left_apart_by_mistake_is_the_level_of_the_test() -> None:
    """2000 pairs that are truly one: 5 % are left apart, give or take its own sampling error."""
    rng = np.random.default_rng(4)
    cov = np.array([[4.0, 1.5], [1.5, 3.0]])
    pairs = rng.multivariate_normal([0.0, 0.0], cov, 2000)
    apart = sum(not agreeing_groups(candidates(pair.tolist(), cov)) for pair in pairs)
    # binomial, 4 standard deviations: 4 * sqrt(0.05 * 0.95 / 2000) = 0.0195
    assert abs(apart / 2000 - TEST_LEVEL) < 0.0195
