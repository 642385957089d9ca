"""One opening in two photos: which of its numbers are the same, and whether they agree."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.sparse import csr_array

from measure.elevation.agreement import probability_of
from measure.elevation.constraints import Constrained
from measure.elevation.pools import make_rows
from measure.elevation.quantities import OpeningColumns

#: An opening here and, under numbers of its own, in another photo.
Twins = tuple[OpeningColumns, OpeningColumns]


def same_columns(twins: Twins) -> list[tuple[int, int]]:
    """Numbers of an opening beside the same numbers in another photo."""
    here, there = twins
    parts = ["left", "right", "sill", "head"]
    if here.arched and there.arched:
        parts.append("springing")
    return [(getattr(here, part), getattr(there, part)) for part in parts]


def twin_rows(twins: Sequence[Twins], n: int) -> csr_array:
    """Differences between photos, that should be nought, as rows over n numbers."""
    pairs = [pair for each in twins for pair in same_columns(each)]
    return make_rows([{here: 1.0, there: -1.0} for here, there in pairs], n)


def probability_of_twins(state: Constrained, twins: Twins) -> float:
    """Chance of so much disagreement between two photos about one opening."""
    columns = [at for pair in same_columns(twins) for at in pair]
    own = Constrained(state.values[columns], state.cov[np.ix_(columns, columns)])
    count = len(columns) // 2
    rows = make_rows([{2 * at: 1.0, 2 * at + 1: -1.0} for at in range(count)], len(columns))
    done = own.impose(rows, np.zeros(count))
    return 0.0 if done.broken else probability_of(done.chi_square, done.degrees)
