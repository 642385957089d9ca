"""Snooping: the wrong observation is found, and one wrong one does not stain the others."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from rectify.solving.snooping import contradicted, log_chance
from tests.rectify.test_least_squares import solve


def line_through(y, sigma=1.0):
    x = np.linspace(-1, 1, len(y))
    design = np.column_stack([np.ones(len(y)), x])
    return solve(lambda p: design @ p, lambda p: design, [0.0, 0.0], y, np.full(len(y), sigma))


def test_wrong_reading_is_named_with_what_it_is_off_by():
    y = np.zeros(9)
    y[7] = 12.0
    found = contradicted(line_through(y), [(i,) for i in range(9)])
    assert [finding.candidate for finding in found] == [(7,)]
    assert_allclose(found[0].off, [12.0], rtol=1e-6)


def test_two_wrong_readings_are_named_one_after_the_other():
    y = np.zeros(20)
    y[3], y[15] = 30.0, -18.0
    found = contradicted(line_through(y), [(i,) for i in range(20)])
    assert [finding.candidate for finding in found] == [(3,), (15,)]


def test_sound_readings_raise_nothing():
    y = np.random.default_rng(1).normal(size=12)
    assert contradicted(line_through(y), [(i,) for i in range(12)]) == []


def test_statistic_of_one_reading_is_its_w_squared():
    y = np.zeros(9)
    y[7] = 12.0
    adjusted = line_through(y)
    found = contradicted(adjusted, [(7,)])
    assert found[0].statistic == pytest.approx(adjusted.w_values[7] ** 2, rel=1e-6)


def test_group_must_explain_more_than_one_of_it():
    """One wrong reading: the pair that holds it explains no more, so it alone is named."""
    y = np.zeros(9)
    y[7] = 12.0
    found = contradicted(line_through(y), [(6, 7), (7,)])
    assert [finding.candidate for finding in found] == [(7,)]


def test_group_wrong_together_is_named_as_a_group():
    y = np.zeros(30)
    y[4], y[20] = 9.0, 9.0
    found = contradicted(line_through(y), [*((i,) for i in range(30)), (4, 20)])
    assert found[0].candidate == (4, 20)


def test_reading_that_nothing_checks_is_never_suspect():
    design = np.array([[1.0, 0], [1, 0], [0, 1]])
    adjusted = solve(lambda p: design @ p, lambda p: design, [0.0, 0.0], [0, 50.0, 7.0], np.ones(3))
    assert contradicted(adjusted, [(2,)]) == []


@pytest.mark.parametrize("freedom", [1, 2, 4, 8])
@pytest.mark.parametrize("statistic", [0.5, 12.0, 300.0, 590.0, 610.0, 1300.0])
def test_logarithm_of_chance_is_that_of_the_tables(freedom, statistic):
    ours = log_chance(np.array(freedom), np.array(statistic))
    # far out the leading term is used, good to 1 part in 600 there
    assert ours == pytest.approx(stats.chi2.logsf(statistic, freedom), rel=2e-3)


def test_far_out_the_chance_still_tells_more_from_less():
    # exact for two degrees of freedom: exp(-T / 2)
    assert log_chance(np.array(2), np.array(5000.0)) == pytest.approx(-2500.0)
