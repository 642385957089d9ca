"""Checks that several tests of lining up share."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from measure.elevation.agreement import MOST_APART
from measure.elevation.pools import make_pools
from measure.elevation.tidy import Tidied


def check_no_pair_too_far(tidied: Tidied) -> None:
    pools = {pool.what: pool for pool in make_pools(tidied.measured)}
    for group in tidied.groups:
        pool = pools[group.what]
        rows = pool.rows[[pool.members.index(member) for member in group.members]]
        values = rows @ tidied.measured.values
        cov = np.asarray(rows @ (rows @ tidied.measured.cov).T)
        for i, j in combinations(range(len(values)), 2):
            u = np.sqrt(cov[i, i] + cov[j, j] - 2 * cov[i, j])
            assert abs(values[i] - values[j]) <= MOST_APART * u + 1e-6
