"""The fits that measures share: a circle near its points, weights of correlated numbers."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import least_squares

from measure.features.circle import fit_circle
from measure.features.weighing import best_weights, weighed
from shared.errors import DegenerateError
from shared.jets import jets_from_values


def by_columns(points):
    return [list(column) for column in np.asarray(points, dtype=float).T]


@pytest.mark.parametrize("points", [[(0, 0), (1, 1), (2, 2)], [(0, 0), (0, 0), (5, 5)]], ids=str)
def test_straight_arc_is_refused(points):
    with pytest.raises(DegenerateError, match="straight line") as refusal:
        fit_circle(*by_columns(points))
    assert "well off the line" in refusal.value.hint


@pytest.mark.parametrize("size_mm", [1.0, 1e6], ids=["small", "large"])
def test_what_counts_as_straight_goes_by_the_size_of_the_arc(size_mm):
    bent = [(0.0, 0.0), (size_mm, 1e-5 * size_mm), (2 * size_mm, 0.0)]
    # sagitta s over a chord of 2 c: the radius is c^2 / 2 s
    assert fit_circle(*by_columns(bent))[2] == pytest.approx(0.5e5 * size_mm, rel=1e-3)
    straight = [(0.0, 0.0), (size_mm, 1e-8 * size_mm), (2 * size_mm, 0.0)]
    with pytest.raises(DegenerateError):
        fit_circle(*by_columns(straight))


def test_small_shallow_arc_far_from_the_origin_is_no_straight_line():
    angle = np.array([-0.1, 0.0, 0.1])
    points = np.column_stack([1e7 + 50 * np.sin(angle), 1e7 + 50 * np.cos(angle)])
    assert fit_circle(*by_columns(points))[2] == pytest.approx(50.0, rel=1e-4)


@pytest.mark.parametrize("seed", range(4))
def test_circle_of_rough_picks_is_that_of_least_distance(seed):
    """scipy's least squares on the distances, started from the true circle, is the judge."""
    rng = np.random.default_rng(seed)
    angle = rng.uniform(0.0, 2.4, 7) if seed < 3 else np.arange(7.0)
    points = 300 * np.column_stack([np.cos(angle), np.sin(angle)]) + rng.normal(0, 25, (7, 2))
    if seed == 3:
        points[2] *= 0.4  # one pick well inside
    points += [40.0, -900.0]

    def off(circle):
        return np.hypot(*(points - circle[:2]).T) - circle[2]

    best = least_squares(off, [40.0, -900.0, 300.0], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    found = fit_circle(*by_columns(points))
    assert_allclose(found, best.x, atol=1e-3)  # scipy stops within a thousandth here
    # the same for a set of samples at once, which take another way through the code
    twice = fit_circle(*[[np.array([x, x + 5.0]) for x in axis] for axis in by_columns(points)])
    assert_allclose(twice, np.add.outer(best.x, [0.0, 5.0]) - [[0, 0], [0, 0], [0, 5]], atol=1e-3)


def test_derivatives_of_a_fitted_circle_are_those_of_differences():
    rng = np.random.default_rng(1)
    angle = np.linspace(0.2, 2.5, 6)
    flat = np.column_stack([300 * np.cos(angle), 300 * np.sin(angle)]) + rng.normal(0, 2, (6, 2))
    jets = jets_from_values(flat.ravel())
    exact = fit_circle(jets[0::2], jets[1::2])
    for i in range(12):
        step = np.zeros(12)
        step[i] = 1e-3
        high, low = (
            fit_circle(
                list((flat.ravel() + sign * step)[0::2]), list((flat.ravel() + sign * step)[1::2])
            )
            for sign in (1, -1)
        )
        for part in range(3):
            numeric = (high[part] - low[part]) / 2e-3
            # the residuals' own bend is left out of the last step: 2 mm in 300
            assert exact[part].gradient[i] == pytest.approx(numeric, abs=0.02)


def test_best_weights_of_independent_numbers_go_by_one_over_variance():
    weights = best_weights(np.ones((3, 1)), np.diag([1.0, 4.0, 4.0]))
    assert_allclose(weights, [[4 / 6, 1 / 6, 1 / 6]], rtol=1e-6)


def test_best_weights_of_numbers_tied_together_stay_finite():
    weights = best_weights(np.ones((2, 1)), np.ones((2, 2)))
    assert weights.sum() == pytest.approx(1.0)


def test_best_weights_do_not_depend_on_the_unit():
    in_mm, in_km = (best_weights(np.ones((2, 1)), np.diag([1.0, 4.0]) * by) for by in (1.0, 1e-12))
    assert_allclose(in_mm, in_km, rtol=1e-6)


def test_weighed_jets_carry_the_weights_as_their_derivatives():
    weights = np.array([[0.2, 0.3, 0.5], [1.0, -1.0, 0.0]])
    numbers = [4.0, 6.0, 8.0]
    jets = weighed(weights, jets_from_values(numbers))
    assert_allclose([float(jet.value) for jet in jets], weighed(weights, numbers))
    assert_allclose([float(jet.value) for jet in jets], [6.6, -2.0])
    assert_allclose([jet.gradient for jet in jets], weights)
