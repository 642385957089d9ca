"""A published level net and a textbook outlier through the adjustment core.

Sources: the level net is the worked listing of a general open geodetic adjustment
library (trade example; figures re-computed independently). Forbes' boiling-point data are
from S. Weisberg, Applied Linear Regression (data and figures from memory, recomputed).
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.testing import assert_allclose
from scipy import sparse

from rectify.solving.adjusted import Conditions
from rectify.solving.least_squares import solve_conditions


@dataclass(frozen=True)
class Plain:
    values: np.ndarray

    def stepped(self, step):
        return replace(self, values=self.values + step)

    def distance_from_prior(self):
        return np.zeros_like(self.values)


def solve_linear(design, observed, u_observed, constant):
    """Observation equations ``observed = design x + constant`` as conditions."""
    b = sparse.csr_array(np.eye(len(observed)))

    def linearise(state, adjusted):
        return Conditions(adjusted - design @ state.values - constant, -design, b)

    start = Plain(np.zeros(design.shape[1]))
    return solve_conditions(linearise, start, observed, u_observed, np.zeros(design.shape[1]))


LEVELS = [
    ("1a", "4", -1.225),
    ("4", "3", -0.848),
    ("3", "2", 1.342),
    ("2", "1a", 0.720),
    ("1a", "2", -0.724),
    ("2", "3", -1.335),
    ("3", "4", 0.842),
    ("4", "1a", 1.231),
]


def level_net():
    points = ["4", "3", "2"]
    design = np.zeros((8, 3))
    constant = np.zeros(8)
    for row, (start, end, _) in enumerate(LEVELS):
        for name, sign in ((end, 1.0), (start, -1.0)):
            if name == "1a":
                constant[row] += sign * 1000.0
            else:
                design[row, points.index(name)] = sign
    observed = np.array([rise for _, _, rise in LEVELS])
    return solve_linear(design, observed, np.full(8, 0.005), constant)


def test_level_net_gives_the_published_heights():
    adjusted = level_net()
    assert_allclose(adjusted.state.values, [998.775125, 997.93325, 999.274875], atol=1e-8)
    s0 = np.sqrt(adjusted.chi_square / adjusted.degrees_of_freedom)
    assert adjusted.degrees_of_freedom == 5
    assert_allclose(s0 * 5.0, 5.415, atol=5e-4)
    assert_allclose(1e3 * np.sqrt(np.diag(adjusted.cov_unknowns)), [3.06, 3.54, 3.06], atol=5e-3)


def test_level_net_gives_the_published_residuals_and_redundancy():
    adjusted = level_net()
    published_mm = [0.125, 6.125, -0.375, 5.125, -1.125, -6.625, -0.125, -6.125]
    # the source counts a residual as adjusted minus observed
    assert_allclose(-1e3 * adjusted.residuals, published_mm, atol=1e-6)
    assert_allclose(adjusted.redundancy_numbers, 0.625, atol=1e-6)
    w = np.abs(adjusted.w_values)
    assert int(np.argmax(w)) == 5
    assert_allclose(w.max(), 1.676, atol=5e-4)


def test_outlier_of_forbes_data_stands_out():
    boiling_f = [194.5, 194.3, 197.9, 198.4, 199.4, 199.9, 200.9, 201.1, 201.4, 201.3]
    boiling_f += [203.6, 204.6, 209.5, 208.6, 210.7, 211.9, 212.2]
    inches = [20.79, 20.79, 22.40, 22.67, 23.15, 23.35, 23.89, 23.99, 24.02, 24.01]
    inches += [25.14, 26.57, 28.49, 27.76, 29.04, 29.88, 30.06]
    y = np.round(100.0 * np.log10(inches), 2)
    design = np.column_stack([boiling_f, np.ones(17)])
    s = 0.3790
    adjusted = solve_linear(design, y, np.full(17, s), np.zeros(17))
    assert_allclose(adjusted.state.values, [0.89549, -42.1378], rtol=2e-4)
    assert int(np.argmax(np.abs(adjusted.w_values))) == 11
    assert_allclose(adjusted.redundancy_numbers[11], 0.93607, atol=1e-4)
    # internally studentised residual: our w with sigma taken as the published s
    assert_allclose(adjusted.w_values[11], 3.708, atol=2e-3)


def test_weighted_mean_blocks_have_the_published_redundancy():
    """Two blocks of repeated readings, an open surveying text: r = 3/4 and 2/3."""
    q = np.array([-0.015, 0.015, -0.035, 0.035])
    r = np.array([0.007, -0.033, 0.027])
    design = np.zeros((7, 2))
    design[:4, 0] = 1.0
    design[4:, 1] = 1.0
    adjusted = solve_linear(
        design, np.concatenate([q, r]) - [*[q.mean()] * 4, *[r.mean()] * 3], np.ones(7), np.zeros(7)
    )
    assert_allclose(adjusted.redundancy_numbers, [0.75] * 4 + [2 / 3] * 3, atol=1e-8)
    assert_allclose(np.sqrt(adjusted.chi_square / adjusted.degrees_of_freedom), 0.0309, atol=5e-5)
