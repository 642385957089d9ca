"""What each kind of observation demands of the unknowns: a few lines each.

A condition is zero where everything fits. Its uncertainty is that of the picks and
sizes it rests on, carried through its derivatives, so residuals end up in pixels over
their ± and millimetres over theirs. Sign: a residual is observed minus adjusted.

To add a kind of observation, add a class with `rows`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from rectify.least_squares import Conditions
from shared.jets import Array, Jet

Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Sighted:
    """Where the picks meet their faces, for all sightings s and unknowns p.

    Parameters
    ----------
    chart : ndarray, shape (s, 2)
        ``(u, v)`` in millimetres.
    jac_unknowns : ndarray, shape (s, 2, p)
    jac_pick : ndarray, shape (s, 2, 2)
        Derivatives with respect to the sighting's own pick.
    pick : ndarray, shape (s,)
        Which pick each sighting is of.
    """

    chart: Array
    jac_unknowns: Array
    jac_pick: Array
    pick: Indices


@dataclass(frozen=True, slots=True)
class Rows:
    """Some conditions: values, derivatives, and where the observations' ones go."""

    value: Array
    jac_unknowns: Array
    columns: Indices
    coefficients: Array


class Kind(Protocol):
    """A kind of condition."""

    def rows(self, sighted: Sighted, scalars: Array, scalar_column: int) -> Rows:
        """Evaluate the conditions.

        `scalars` are the adjusted known sizes; column `scalar_column + i` holds the i-th.
        """
        ...


def _pair_rows(s: Sighted, first: Indices, second: Indices, normal: Array, value: Array) -> Rows:
    """Rows of a function of ``chart[first] - chart[second]`` with gradient `normal`."""
    a = np.einsum("mk,mkp->mp", normal, s.jac_unknowns[first] - s.jac_unknowns[second])
    c1 = np.einsum("mk,mkl->ml", normal, s.jac_pick[first])
    c2 = -np.einsum("mk,mkl->ml", normal, s.jac_pick[second])
    columns = np.stack(
        [
            2 * s.pick[first],
            2 * s.pick[first] + 1,
            2 * s.pick[second],
            2 * s.pick[second] + 1,
        ],
        axis=-1,
    )
    return Rows(value, a, columns, np.concatenate([c1, c2], axis=-1))


def _with_scalar(rows: Rows, scalar: Indices, slope: Array, scalar_column: int) -> Rows:
    """Add one known size to each row, with its derivative."""
    columns = np.concatenate([rows.columns, (scalar_column + scalar)[:, None]], axis=-1)
    coefficients = np.concatenate([rows.coefficients, slope[:, None]], axis=-1)
    return Rows(rows.value, rows.jac_unknowns, columns, coefficients)


@dataclass(frozen=True, slots=True)
class SameCoordinate:
    """Pairs of sightings on one plumb line (axis 0, equal u) or one level (axis 1, equal v).

    `slack`, where given, is a known size of zero with its own ±: how far the real
    building may be out of true.
    """

    axis: int
    first: Indices
    second: Indices
    slack: Indices | None = None

    def rows(self, sighted: Sighted, scalars: Array, scalar_column: int) -> Rows:
        """``u_first - u_second = 0`` (or v)."""
        normal = np.zeros((len(self.first), 2))
        normal[:, self.axis] = 1.0
        value = (sighted.chart[self.first] - sighted.chart[self.second])[:, self.axis]
        if self.slack is None:
            return _pair_rows(sighted, self.first, self.second, normal, value)
        rows = _pair_rows(sighted, self.first, self.second, normal, value - scalars[self.slack])
        return _with_scalar(rows, self.slack, -np.ones(len(self.first)), scalar_column)


@dataclass(frozen=True, slots=True)
class KnownLength:
    """Pairs of sightings a known length apart: ``|difference| - factor * scalar = 0``.

    `weight` (m, 2) blanks one axis: (1, 1) free, (1, 0) level, (0, 1) plumb.
    `factor` is 1 for a length, the count for courses of known gauge.
    """

    first: Indices
    second: Indices
    weight: Array
    factor: Array
    scalar: Indices

    def rows(self, sighted: Sighted, scalars: Array, scalar_column: int) -> Rows:
        """Length on the face minus the known one."""
        difference = (sighted.chart[self.first] - sighted.chart[self.second]) * self.weight
        length = np.hypot(difference[:, 0], difference[:, 1])
        normal = difference / length[:, None]
        value = length - self.factor * scalars[self.scalar]
        rows = _pair_rows(sighted, self.first, self.second, normal, value)
        return _with_scalar(rows, self.scalar, -self.factor, scalar_column)


@dataclass(frozen=True, slots=True)
class OnUpright:
    """Sightings on the plumb line whose u is an unknown (a hinge)."""

    sight: Indices
    unknown: int
    value_of_unknown: float

    def rows(self, sighted: Sighted, scalars: Array, scalar_column: int) -> Rows:
        """``u - hinge_u = 0``."""
        a = sighted.jac_unknowns[self.sight, 0].copy()
        a[:, self.unknown] -= 1.0
        value = sighted.chart[self.sight, 0] - self.value_of_unknown
        pick = sighted.pick[self.sight]
        columns = np.stack([2 * pick, 2 * pick + 1], axis=-1)
        return Rows(value, a, columns, sighted.jac_pick[self.sight, 0])


@dataclass(frozen=True, slots=True)
class EachPick:
    """Conditions of one pick each, worked out beforehand as jets over (x, y, unknowns)."""

    pick: Indices
    jets: Jet

    def rows(self, sighted: Sighted, scalars: Array, scalar_column: int) -> Rows:
        """Values and derivatives as they are."""
        columns = np.stack([2 * self.pick, 2 * self.pick + 1], axis=-1)
        return Rows(self.jets.value, self.jets.gradient[:, 2:], columns, self.jets.gradient[:, :2])


@dataclass(frozen=True, slots=True)
class GivenUnknown:
    """An unknown that is known with a ±: ``unknown - scalar = 0``."""

    unknown: int
    value_of_unknown: float
    scalar: int
    count: int

    def rows(self, sighted: Sighted, scalars: Array, scalar_column: int) -> Rows:
        """One row."""
        a = np.zeros((1, self.count))
        a[0, self.unknown] = 1.0
        value = np.array([self.value_of_unknown - scalars[self.scalar]])
        column = np.array([[scalar_column + self.scalar]])
        return Rows(value, a, column, np.array([[-1.0]]))


def make_conditions(
    kinds: Sequence[Kind], sighted: Sighted, scalars: Array, pick_count: int
) -> Conditions:
    """Evaluate all kinds and stack their rows.

    Parameters
    ----------
    kinds : sequence of Kind
    sighted : Sighted
    scalars : ndarray, shape (k,)
        Adjusted known sizes.
    pick_count : int
        Observations are the x and y of this many picks, then the known sizes.
    """
    parts = [kind.rows(sighted, scalars, 2 * pick_count) for kind in kinds]
    start = np.concatenate([[0], np.cumsum([len(part.value) for part in parts])])
    row = np.concatenate(
        [
            np.repeat(np.arange(start[i], start[i + 1]), part.columns.shape[1])
            for i, part in enumerate(parts)
        ]
    )
    columns = np.concatenate([part.columns.ravel() for part in parts])
    coefficients = np.concatenate([part.coefficients.ravel() for part in parts])
    shape = (int(start[-1]), 2 * pick_count + len(scalars))
    return Conditions(
        value=np.concatenate([part.value for part in parts]),
        jac_unknowns=np.concatenate([part.jac_unknowns for part in parts]),
        jac_observations=sparse.csr_array((coefficients, (row, columns)), shape=shape),
    )
