"""Samples drawn and what is read off them."""

from __future__ import annotations

import numpy as np
import pytest

from shared.estimate import Estimate, make_estimate
from shared.sampled import draw_samples, shortest_interval, summarise_samples


def test_samples_have_the_mean_and_covariance_asked_for() -> None:
    cov = np.array([[4.0, 3.0, 0.0], [3.0, 9.0, 0.0], [0.0, 0.0, 1e-8]])
    values = np.array([100.0, -5.0, 0.1])
    drawn = np.concatenate(list(draw_samples(values, cov, [False] * 3, 3, 90_000)), axis=1)
    assert drawn.shape == (3, 90_000)
    # Of 90 000 samples a mean scatters by u / 300 and a covariance by 0.5 %.
    off = (drawn.mean(axis=1) - values) / np.sqrt(np.diagonal(cov))
    np.testing.assert_allclose(off, 0.0, atol=5 / 300)
    scale = np.sqrt(np.outer(np.diagonal(cov), np.diagonal(cov)))
    np.testing.assert_allclose(np.cov(drawn) / scale, cov / scale, atol=0.025)


def test_rectangular_samples_stay_within_root_three_u() -> None:
    (drawn,) = draw_samples(np.array([10.0]), np.array([[4.0]]), [True], 1, 20_000)
    assert np.abs(drawn - 10.0).max() <= 2.0 * np.sqrt(3.0)
    assert drawn.std() == pytest.approx(2.0, rel=0.02)


def test_singular_covariance_keeps_its_exact_relation() -> None:
    cov = np.array([[1.0, 2.0], [2.0, 4.0]])
    (drawn,) = draw_samples(np.zeros(2), cov, [False] * 2, 5, 1000)
    np.testing.assert_allclose(drawn[1], 2.0 * drawn[0], atol=1e-6)


def test_value_known_exactly_does_not_vary() -> None:
    (drawn,) = draw_samples(np.array([3.0, 0.0]), np.diag([0.0, 1.0]), [False] * 2, 5, 1000)
    assert (drawn[0] == 3.0).all()


def test_same_seed_gives_the_same_answer_and_another_seed_another() -> None:
    pair = make_estimate({"a": (1.0, 0.1), "b": (2.0, 0.1)})

    def mean_of(seed: int) -> float:
        return pair.propagate_sampled(
            lambda x: {"ab": x["a"] * x["b"]}, seed=seed, samples=500
        ).value("ab")

    assert mean_of(1) == mean_of(1)
    assert mean_of(1) != mean_of(2)


def test_covariance_with_a_negative_direction_is_refused() -> None:
    # Each pair is possible, the three together are not.
    cov = np.array([[1.0, 0.9, -0.9], [0.9, 1.0, 0.9], [-0.9, 0.9, 1.0]])
    estimate = Estimate(("a", "b", "c"), np.zeros(3), cov)
    with pytest.raises(ValueError, match="not positive"):
        estimate.propagate_sampled(lambda x: {"a": x["a"]}, seed=1)


def test_rectangular_quantity_that_is_correlated_is_refused() -> None:
    pair = make_estimate({"a": (0.0, 1.0), "b": (0.0, 1.0)}, {("a", "b"): 0.1})
    with pytest.raises(ValueError, match="correlated"):
        pair.propagate_sampled(lambda x: {"a": x["a"]}, seed=1, rectangular=["a"])


def test_unknown_rectangular_name_is_refused() -> None:
    with pytest.raises(KeyError, match="nobody"):
        make_estimate({"a": (0.0, 1.0)}).propagate_sampled(dict, seed=1, rectangular=["nobody"])


def test_value_that_is_not_known_cannot_be_sampled() -> None:
    estimate = Estimate(("a",), np.array([np.nan]), np.eye(1))
    with pytest.raises(ValueError, match="finite"):
        estimate.propagate_sampled(dict, seed=1)


@pytest.mark.parametrize(("samples", "coverage"), [(1, 0.95), (100, 0.0), (100, 1.0)])
def test_impossible_number_of_samples_or_coverage_is_refused(samples: int, coverage: float) -> None:
    with pytest.raises(ValueError, match=r"samples|coverage"):
        make_estimate({"a": (0.0, 1.0)}).propagate_sampled(
            dict, seed=1, samples=samples, coverage=coverage
        )


def test_samples_that_cannot_be_worked_out_are_left_out_and_counted() -> None:
    # The root of a normal number around nought fails half of the time.
    result = make_estimate({"a": (0.0, 1.0)}).propagate_sampled(
        lambda x: {"root": np.sqrt(x["a"]), "a": x["a"]}, seed=4, samples=40_000
    )
    assert result.share_lost == pytest.approx(0.5, abs=0.01)
    assert result.value("a") == pytest.approx(np.sqrt(2 / np.pi), rel=0.02)


def test_no_sample_left_gives_nan() -> None:
    result = summarise_samples(("a",), np.full((1, 10), np.nan), 0.95)
    assert result.share_lost == 1.0
    assert np.isnan(result.value("a"))
    assert np.isnan(result.u("a"))


def test_constant_result_is_allowed_beside_one_that_varies() -> None:
    result = make_estimate({"a": (0.0, 1.0)}).propagate_sampled(
        lambda x: {"count": 61.0, "a": x["a"]}, seed=4, samples=1000
    )
    assert result.value("count") == 61.0
    assert result.interval("count") == (61.0, 61.0)
    assert result.correlation("count", "a") == 0.0


def test_shortest_interval_of_an_even_spread_has_its_share_of_the_length() -> None:
    low, high = shortest_interval(np.linspace(0.0, 1.0, 10_001), 0.95)
    assert high - low == pytest.approx(0.95, abs=1e-3)


def test_shortest_interval_of_a_one_sided_spread_starts_at_its_foot() -> None:
    # Exponential: the density falls from nought, so 95 % lie below -ln 0.05.
    levels = (np.arange(200_000) + 0.5) / 200_000
    low, high = shortest_interval(-np.log1p(-levels), 0.95)
    assert low == pytest.approx(0.0, abs=1e-3)
    assert high == pytest.approx(-np.log(0.05), abs=1e-2)
