import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from shared.jets import Jet, gradient_of, jets_from_values, value_of

FORMULAS = {
    "sum": lambda a, b: a + b + 2.0,
    "difference": lambda a, b: 3.0 - a - b,
    "product": lambda a, b: a * b * 2.0,
    "quotient": lambda a, b: a / b,
    "reciprocal": lambda a, b: 5.0 / (a * b),
    "power": lambda a, b: a**3 + b**2,
    "root": lambda a, b: np.sqrt(a * a + b * b),
    "sine": lambda a, b: np.sin(a) * np.cos(b),
    "exponential": lambda a, b: np.exp(a / 10.0) * np.log(b),
    "arctan2": lambda a, b: np.arctan2(a, b),
    "arctan2 of a plain number": lambda a, b: np.arctan2(1.0, b) + np.arctan2(a, 2.0),
    "hypot": lambda a, b: np.hypot(a, b),
    "arcsine": lambda a, b: np.arcsin(a / (a + b)),
    "arctangent": lambda a, b: np.arctan(a * b),
    "absolute": lambda a, b: np.absolute(-a) * b,
    "array on the left": lambda a, b: np.float64(2.0) * a - np.float64(1.0) / b + np.float64(1) - b,
}


@pytest.mark.parametrize("formula", FORMULAS.values(), ids=FORMULAS.keys())
@given(a=st.floats(0.3, 5.0), b=st.floats(0.3, 5.0))
def test_gradient_agrees_with_central_differences(formula, a, b):
    jet = formula(*jets_from_values([a, b]))
    step = 1e-6
    expected = [
        (formula(a + step, b) - formula(a - step, b)) / (2 * step),
        (formula(a, b + step) - formula(a, b - step)) / (2 * step),
    ]
    assert_allclose(jet.value, formula(a, b), rtol=1e-12)
    # central differences carry about step^2 plus rounding over the step
    assert_allclose(jet.gradient, expected, rtol=1e-5, atol=1e-7)


def test_arrays_keep_one_gradient_a_value():
    jet = Jet(np.ones((3, 2)), np.zeros((3, 2, 4)))
    assert (jet * np.array([1.0, 2.0])).gradient.shape == (3, 2, 4)
    assert jet[:, 0].gradient.shape == (3, 4)
    assert jet.sum(axis=1).value.tolist() == [2.0, 2.0, 2.0]


def test_single_number_spreads_over_an_array():
    width, height = jets_from_values([2.0, 3.0])
    spread = width * np.ones(5) + height
    assert spread.value.tolist() == [5.0] * 5
    assert spread.gradient.tolist() == [[1.0, 1.0]] * 5


def test_plain_numbers_have_zero_gradient():
    assert value_of(2.5) == 2.5
    assert gradient_of(2.5, 3).tolist() == [0.0, 0.0, 0.0]


def test_unknown_function_is_refused():
    with pytest.raises(TypeError):
        np.tanh(jets_from_values([1.0])[0])
