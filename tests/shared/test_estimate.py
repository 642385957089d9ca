"""Named numbers with one covariance: first order and sampled."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.estimate import Estimate, make_estimate


def three() -> Estimate:
    return make_estimate(
        {"width_mm": (3000.0, 3.0), "height_mm": (4000.0, 4.0), "tilt_rad": (0.1, 0.01)},
        {("width_mm", "height_mm"): 0.5, ("height_mm", "tilt_rad"): -0.25},
    )


def test_value_u_and_correlation_are_read_by_name() -> None:
    assert three().value("height_mm") == 4000.0
    assert three().u("tilt_rad") == 0.01
    assert three().correlation("height_mm", "width_mm") == pytest.approx(0.5, rel=1e-15)
    assert three().correlation("width_mm", "tilt_rad") == 0.0
    assert three().correlation("width_mm", "width_mm") == 1.0


def test_value_known_exactly_is_correlated_with_nothing() -> None:
    exact = make_estimate({"pi": (math.pi, 0.0), "a_mm": (1.0, 1.0)})
    assert exact.u("pi") == 0.0
    assert exact.correlation("pi", "a_mm") == 0.0


def test_unknown_name_is_named() -> None:
    with pytest.raises(KeyError, match="girth_mm"):
        three().value("girth_mm")


def test_taking_some_keeps_their_order_and_covariance() -> None:
    taken = three().take(["tilt_rad", "height_mm"])
    assert taken.names == ("tilt_rad", "height_mm")
    assert taken.values.tolist() == [0.1, 4000.0]
    assert taken.correlation("tilt_rad", "height_mm") == pytest.approx(-0.25, rel=1e-14)


def test_joined_estimates_are_independent_of_each_other() -> None:
    joined = three().join(make_estimate({"gauge_mm": (75.0, 0.6)}))
    assert joined.names == ("width_mm", "height_mm", "tilt_rad", "gauge_mm")
    assert joined.u("gauge_mm") == 0.6
    assert joined.correlation("gauge_mm", "width_mm") == 0.0
    assert joined.correlation("width_mm", "height_mm") == pytest.approx(0.5, rel=1e-15)


def test_arrays_are_copied_and_locked() -> None:
    cov = np.eye(1)
    estimate = Estimate(("a_mm",), np.zeros(1), cov)
    cov[0, 0] = 9.0
    assert estimate.u("a_mm") == 1.0
    with pytest.raises(ValueError, match="read-only"):
        estimate.cov[0, 0] = 9.0


@pytest.mark.parametrize(
    ("names", "values", "cov", "complaint"),
    [
        (("a", "a"), [1, 2], np.eye(2), "each once"),
        (("a", "b"), [1, 2, 3], np.eye(2), "shapes"),
        (("a", "b"), [1, 2], np.eye(3), "shapes"),
        (("a", "b"), [1, 2], np.diag([1.0, -1.0]), "variance of b is negative"),
        (("a", "b"), [1, 2], [[1.0, 0.5], [0.2, 1.0]], "not symmetric"),
        (("a", "b"), [1, 2], [[1.0, 1.5], [1.5, 1.0]], "beyond one"),
        (("a", "b"), [1, 2], [[1.0, 0.1], [0.1, 0.0]], "beyond one"),
    ],
)
def test_impossible_parts_are_refused(
    names: tuple[str, ...], values: Any, cov: Any, complaint: str
) -> None:
    with pytest.raises(ValueError, match=complaint):
        Estimate(names, np.array(values, dtype=float), np.asarray(cov, dtype=float))


def test_negative_u_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="sill_mm"):
        make_estimate({"head_mm": (1.0, 0.0), "sill_mm": (1.0, -2.0)})


def test_mean_of_equal_observations_has_u_over_root_n() -> None:
    readings = make_estimate({f"reading_{i}_mm": (100.0 + i, 6.0) for i in range(9)})
    mean = readings.propagate(lambda x: {"mean_mm": sum(x.values()) / 9})
    assert mean.value("mean_mm") == pytest.approx(104.0, rel=1e-15)
    assert mean.u("mean_mm") == pytest.approx(2.0, rel=1e-14)


def test_difference_of_a_quantity_with_itself_is_exactly_nought() -> None:
    nought = three().propagate(lambda x: {"d_mm": x["width_mm"] - x["width_mm"]})
    assert nought.value("d_mm") == 0.0
    assert nought.u("d_mm") == 0.0


@given(st.floats(-0.99, 0.99), st.floats(0.1, 10.0), st.floats(0.1, 10.0))
def test_variance_of_a_sum_holds_twice_the_covariance(r: float, u_a: float, u_b: float) -> None:
    pair = make_estimate({"a": (1.0, u_a), "b": (2.0, u_b)}, {("a", "b"): r})
    total = pair.propagate(lambda x: {"sum": x["a"] + x["b"]})
    assert total.u("sum") ** 2 == pytest.approx(
        u_a**2 + u_b**2 + 2 * r * u_a * u_b, rel=1e-9, abs=1e-12
    )


def test_results_that_share_inputs_come_out_correlated() -> None:
    pair = make_estimate({"a": (1.0, 1.0), "b": (1.0, 1.0)})
    both = pair.propagate(lambda x: {"sum": x["a"] + x["b"], "a_again": 1.0 * x["a"]})
    assert both.correlation("sum", "a_again") == pytest.approx(math.sqrt(0.5), rel=1e-14)


def diagonal(x: Any) -> Any:
    return {
        "diagonal_mm": np.hypot(x["width_mm"], x["height_mm"]),
        "shadow_mm": x["height_mm"] * np.cos(x["tilt_rad"]),
        "slope_rad": np.arctan2(x["height_mm"], x["width_mm"]) + x["tilt_rad"],
    }


def test_first_order_agrees_with_central_differences() -> None:
    start = three()
    steps = [1e-2, 1e-2, 1e-6]
    columns = []
    for i, step in enumerate(steps):
        ends = []
        for side in (step, -step):
            values = start.values.copy()
            values[i] += side
            ends.append(
                np.array(list(diagonal(dict(zip(start.names, values, strict=True))).values()))
            )
        columns.append((ends[0] - ends[1]) / (2 * step))
    jac = np.array(columns).T
    # Central differences of these steps are good to about 1e-8.
    np.testing.assert_allclose(
        start.propagate(diagonal).cov, jac @ start.cov @ jac.T, rtol=1e-6, atol=1e-12
    )


def test_first_order_and_sampling_agree_on_a_gentle_formula() -> None:
    exact = three().propagate(diagonal)
    sampled = three().propagate_sampled(diagonal, seed=7, samples=200_000)
    for name in exact.names:
        # The standard deviation of 200 000 samples scatters by 0.16 %, the mean by u / 447.
        assert sampled.u(name) == pytest.approx(exact.u(name), rel=8e-3)
        assert abs(sampled.value(name) - exact.value(name)) < 0.2 * exact.u(name)
    for one, other in (("diagonal_mm", "shadow_mm"), ("shadow_mm", "slope_rad")):
        # A correlation of 200 000 samples scatters by up to 0.0022.
        assert sampled.correlation(one, other) == pytest.approx(
            exact.correlation(one, other), abs=0.01
        )


def test_first_order_jacobian_given_is_the_same_as_by_formula() -> None:
    pair = make_estimate({"a": (2.0, 0.1), "b": (3.0, 0.2)}, {("a", "b"): 0.3})
    by_formula = pair.propagate(lambda x: {"area": x["a"] * x["b"]})
    given_jac = pair.propagate_linear(["area"], np.array([6.0]), np.array([[3.0, 2.0]]))
    np.testing.assert_allclose(by_formula.cov, given_jac.cov, rtol=1e-15)


def test_components_are_slope_times_u_with_sign() -> None:
    pair = make_estimate({"a": (2.0, 0.5), "b": (3.0, 0.25), "c": (1.0, 9.0)})
    parts = pair.components(lambda x: {"d": 4.0 * x["a"] - 2.0 * x["b"]})
    assert parts == {"d": {"a": 2.0, "b": -0.5, "c": 0.0}}


def test_unknown_u_spoils_only_what_rests_on_it() -> None:
    cov = np.diag([4.0, np.nan])
    estimate = Estimate(("good_mm", "lost_mm"), np.array([10.0, np.nan]), cov)
    both = estimate.propagate(
        lambda x: {"double_mm": 2.0 * x["good_mm"], "sum_mm": x["good_mm"] + x["lost_mm"]}
    )
    assert both.value("double_mm") == 20.0
    assert both.u("double_mm") == 4.0
    assert math.isnan(both.value("sum_mm"))
    assert math.isnan(both.u("sum_mm"))


def test_formula_that_cannot_answer_gives_nan_not_an_exception() -> None:
    estimate = make_estimate({"a": (-1.0, 0.1), "b": (4.0, 0.4)})
    roots = estimate.propagate(lambda x: {"a_root": np.sqrt(x["a"]), "b_root": np.sqrt(x["b"])})
    assert math.isnan(roots.u("a_root"))
    assert roots.u("b_root") == pytest.approx(0.1, rel=1e-15)


def test_constant_result_has_no_uncertainty() -> None:
    result = three().propagate(lambda x: {"count": 61.0, "width_mm": x["width_mm"]})
    assert result.u("count") == 0.0
    assert result.value("count") == 61.0


def test_formula_that_gives_an_array_is_a_wrong_call() -> None:
    with pytest.raises(ValueError, match="pair: one number wanted"):
        three().propagate(lambda x: {"pair": x["width_mm"] * np.ones(2)})


def test_estimate_of_nothing_is_allowed() -> None:
    assert len(make_estimate({})) == 0
    assert len(three().take([])) == 0
    assert len(three().propagate(lambda x: {})) == 0
