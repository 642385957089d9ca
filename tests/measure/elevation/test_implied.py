"""Sizes measured too far apart do not become one by way of others that agree."""

import numpy as np

from measure.elevation.implied import let_go, worst_made_one
from measure.elevation.pools import level_pool, make_pools
from measure.elevation.quantities import Quantities
from measure.elevation.tidy import tidy
from tests.support.plain_numbers import grid, plain_numbers
from tests.support.varied_fronts import differences_lost


def two_windows(shift_mm: float) -> Quantities:
    """Windows one above the other, the upper one moved to the right."""
    return plain_numbers(
        [
            ("low", "flat", 0.0, 1000.0, 0.0, 1500.0, 1500.0),
            ("high", "flat", shift_mm, 1000.0 + shift_mm, 2600.0, 4100.0, 4100.0),
        ]
    )


def test_what_is_measured_more_than_three_of_its_u_apart_is_not_drawn_alike() -> None:
    """Without looking at what sizes of other kinds make one, 28 pairs of these fronts were."""
    alike = 0
    for seed in range(10):
        numbers = grid(8, 4)
        noise = np.random.default_rng(seed).normal(0.0, 5.0, len(numbers))
        tidied = tidy(grid(8, 4, noise=noise))
        alike += differences_lost(tidied, tidied.measured.values, 3.0, np.inf)[1]
    assert alike == 0


def test_what_was_one_before_is_not_found_again() -> None:
    numbers = two_windows(0.0)
    pools = make_pools(numbers)
    far = {pool.what: np.full((len(pool), len(pool)), 9.0) for pool in pools}
    assert worst_made_one(pools, far, numbers.values, numbers.values) is None


def test_pair_farthest_apart_is_found_first() -> None:
    before, after = two_windows(30.0), two_windows(0.0)
    pools = make_pools(before)
    far = {pool.what: np.zeros((len(pool), len(pool))) for pool in pools}
    far["centre"][0, 1] = far["centre"][1, 0] = 7.5
    far["plumb"][0, 1] = far["plumb"][1, 0] = 4.0
    found = worst_made_one(pools, far, before.values, after.values)
    assert found is not None
    assert sorted(map(sorted, found)) == [["high"], ["low"]]


def test_first_of_the_two_is_let_go_where_it_strains_most() -> None:
    numbers = plain_numbers(
        [(f"w{n}", "flat", 2000.0 * n, 2000.0 * n + 1000.0, 0.0, 1500.0, 1500.0) for n in range(3)]
    )
    pool = level_pool(numbers)
    sills = [at for at, name in enumerate(pool.members) if name.endswith(".sill")]
    heads = [at for at, name in enumerate(pool.members) if name.endswith(".head")]
    far = np.zeros((len(pool), len(pool)))
    far[heads[1], heads[0]] = far[heads[0], heads[1]] = 2.0
    groups = [list(sills), list(heads)]
    assert let_go(pool, groups, far, ({"w1"}, {"w0"})) == 1
    assert groups == [sills, [heads[0], heads[2]]]
