"""Published adjustments through the solver that lines an elevation up.

Sources
-------
Level net: the worked listing of a general open geodetic adjustment library (figures
re-computed independently).
Blocks of repeated readings: residuals printed in an open surveying text; the standard
deviation of unit weight and the redundancy numbers follow from them (computed).
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.sparse import csr_array

from measure.elevation.constraints import Constrained
from measure.elevation.tidy import tidy
from tests.support.plain_numbers import plain_numbers

# Height differences read between points, in mm, each ± 5.
RISES = [
    ("1a", "4", -1225.0),
    ("4", "3", -848.0),
    ("3", "2", 1342.0),
    ("2", "1a", 720.0),
    ("1a", "2", -724.0),
    ("2", "3", -1335.0),
    ("3", "4", 842.0),
    ("4", "1a", 1231.0),
]
U_RISE_MM = 5.0
FIXED_MM = 1_000_000.0

# Readings that are one, there and back and around: each sums to nothing.
LOOPS = [
    {0: 1, 7: 1},  # 1a 4, 4 1a
    {1: 1, 6: 1},  # 4 3, 3 4
    {2: 1, 5: 1},  # 3 2, 2 3
    {3: 1, 4: 1},  # 2 1a, 1a 2
    {0: 1, 1: 1, 2: 1, 3: 1},  # around
]


@pytest.fixture
def net():
    """Solver after the loops were closed, and what closing them did."""
    values = np.array([rise for _, _, rise in RISES])
    state = Constrained(values, np.diag(np.full(len(RISES), U_RISE_MM**2)))
    rows = np.zeros((len(LOOPS), len(RISES)))
    for number, loop in enumerate(LOOPS):
        rows[number, list(loop)] = list(loop.values())
    done = state.impose(csr_array(rows), np.zeros(len(LOOPS)))
    return state, done


def heights_from(state):
    """Heights of 4, 3 and 2 with their ±, in mm."""
    ways = np.zeros((3, len(RISES)))
    ways[0, 0] = 1.0
    ways[1, [0, 1]] = 1.0
    ways[2, 4] = 1.0
    u = np.sqrt(np.diagonal(state.cov_of(csr_array(ways))))
    return FIXED_MM + ways @ state.values, u


def test_closed_level_net_has_the_published_heights(net):
    heights, u = heights_from(net[0])
    assert_allclose(heights, [998_775.125, 997_933.25, 999_274.875], atol=1e-6)
    assert_allclose(u, [3.06, 3.54, 3.06], atol=5e-3)


def test_closed_level_net_moves_every_reading_as_published(net):
    moved = net[0].values - [rise for _, _, rise in RISES]
    published = [0.125, 6.125, -0.375, 5.125, -1.125, -6.625, -0.125, -6.125]
    assert_allclose(moved, published, atol=1e-6)


def test_chi_square_of_the_level_net_is_the_published_one(net):
    done = net[1]
    assert done.degrees == 5
    assert_allclose(done.chi_square * U_RISE_MM**2, 146.625, atol=1e-6)
    assert_allclose(U_RISE_MM * np.sqrt(done.chi_square / done.degrees), 5.415, atol=5e-4)


def test_every_reading_of_the_level_net_is_checked_as_well_as_published(net):
    state = net[0]
    redundancy = 1.0 - np.diagonal(state.cov) / U_RISE_MM**2
    assert_allclose(redundancy, 0.625, atol=1e-9)
    moved = state.values - [rise for _, _, rise in RISES]
    w = np.abs(moved) / (U_RISE_MM * np.sqrt(redundancy))
    assert int(np.argmax(w)) == 5
    assert_allclose(w.max(), 1.676, atol=5e-4)


def test_a_gross_error_opens_the_level_net(net):
    """The check can fail: 60 mm in one reading are far beyond what closing may cost."""
    values = np.array([rise for _, _, rise in RISES])
    values[2] += 60.0
    state = Constrained(values, np.diag(np.full(len(RISES), U_RISE_MM**2)))
    rows = np.zeros((len(LOOPS), len(RISES)))
    for number, loop in enumerate(LOOPS):
        rows[number, list(loop)] = list(loop.values())
    done = state.impose(csr_array(rows), np.zeros(len(LOOPS)))
    assert U_RISE_MM * np.sqrt(done.chi_square / done.degrees) > 15.0


# Residuals of two blocks of readings as printed, in mm; the two blocks far from each other.
BLOCK_Q, BLOCK_R = (-15.0, 15.0, -35.0, 35.0), (7.0, -33.0, 27.0)
U_READING_MM = 30.0


@pytest.fixture
def blocks():
    levels = [(f"q{n}", 1000.0 + v) for n, v in enumerate(BLOCK_Q)]
    levels += [(f"r{n}", 5000.0 + v) for n, v in enumerate(BLOCK_R)]
    return tidy(plain_numbers((), u_mm=U_READING_MM, levels=levels))


def test_two_blocks_of_readings_become_two_levels(blocks):
    assert {group.members for group in blocks.groups} == {
        tuple(f"q{n}.level" for n in range(4)),
        tuple(f"r{n}.level" for n in range(3)),
    }
    means = {group.members[0]: group.value_mm for group in blocks.groups}
    assert means["q0.level"] == pytest.approx(1000.0)
    assert means["r0.level"] == pytest.approx(5000.0 + 1.0 / 3.0)


def test_two_blocks_have_the_published_squares_and_unit_weight(blocks):
    squares = {g.members[0]: g.chi_square * U_READING_MM**2 for g in blocks.groups}
    assert squares["q0.level"] == pytest.approx(2900.0)
    # printed residuals are rounded to the millimetre: 1867 from them
    assert squares["r0.level"] == pytest.approx(1867.0, abs=0.5)
    assert blocks.degrees == 5
    s0 = U_READING_MM * np.sqrt(blocks.chi_square / blocks.degrees)
    assert s0 == pytest.approx(30.9, abs=0.05)


@pytest.mark.parametrize(("name", "redundancy"), [("q0.level", 3 / 4), ("r0.level", 2 / 3)])
def test_readings_of_a_block_have_the_published_redundancy(blocks, name, redundancy):
    left = blocks.numbers.u(name) ** 2 / U_READING_MM**2
    assert 1.0 - left == pytest.approx(redundancy)
