"""What each kind of observation demands of the unknowns: a few lines each.

A condition is zero where everything fits. Its uncertainty is that of the picks and
sizes it rests on, carried through its derivatives, so residuals end up in pixels over
their ± and millimetres over theirs. Sign: a residual is observed minus adjusted.

To add a kind of observation, add a class with `rows`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any, Protocol

import numpy as np
from scipy import sparse

from rectify.solving.adjusted import Conditions
from rectify.solving.sighting import Indices, Rays, Sighted
from rectify.solving.unknowns import Unknowns
from rectify.surfaces import Round
from shared.jets import Array, Jet

#: Up to this many conditions a dense matrix is quicker than a sparse one.
SMALL = 120


@dataclass(frozen=True, slots=True)
class Rows:
    """Some conditions: values, derivatives, and where the observations' ones go.

    Parameters
    ----------
    value : ndarray, shape (m,)
    jac_unknowns : ndarray, shape (m, p)
    columns, coefficients : ndarray, shape (m, k)
        Each row's k observations and their derivatives.
    """

    value: Array
    jac_unknowns: Array
    columns: Indices
    coefficients: Array


@dataclass(frozen=True, slots=True)
class Look:
    """All that a condition may look at, at one point of the search.

    Parameters
    ----------
    unknowns : Unknowns
    rays : Rays
        Of all adjusted picks, n of them.
    sighted : Sighted
    scalars : ndarray, shape (k,)
        Adjusted known sizes; the i-th is observation ``2 n + i``.
    """

    unknowns: Unknowns
    rays: Rays
    sighted: Sighted
    scalars: Array

    @property
    def pick_count(self) -> int:
        """Number of picks."""
        return len(self.rays.along[0])


class Kind(Protocol):
    """A kind of condition."""

    def rows(self, look: Look) -> Rows:
        """Evaluate the conditions."""
        ...


def _pick_columns(pick: Indices) -> Indices:
    return np.stack([2 * pick, 2 * pick + 1], axis=-1)


@dataclass(frozen=True, slots=True)
class SameCoordinate:
    """Pairs of sightings on one plumb line (axis 0, equal u) or one level (axis 1, equal v).

    All three arrays have shape (m,); `first` and `second` count sightings.
    """

    axis: Indices
    first: Indices
    second: Indices

    def rows(self, look: Look) -> Rows:
        """``u_first - u_second = 0`` (or v)."""
        s, one, two = look.sighted, (self.first, self.axis), (self.second, self.axis)
        columns = np.hstack([_pick_columns(s.pick[self.first]), _pick_columns(s.pick[self.second])])
        return Rows(
            s.chart[one] - s.chart[two],
            s.jac_unknowns[one] - s.jac_unknowns[two],
            columns,
            np.hstack([s.jac_pick[one], -s.jac_pick[two]]),
        )


@dataclass(frozen=True, slots=True)
class InLine:
    """Sightings on the straight line between two others; all of shape (m,)."""

    first: Indices
    middle: Indices
    last: Indices

    def rows(self, look: Look) -> Rows:
        """How far the middle one lies beside the line through the others."""
        s = look.sighted
        chord = s.chart[self.last] - s.chart[self.first]
        along = s.chart[self.middle] - s.chart[self.first]
        length = np.hypot(chord[:, 0], chord[:, 1])
        normal = np.stack([-chord[:, 1], chord[:, 0]], axis=-1) / length[:, None]
        share = np.sum(along * chord, axis=-1) / length**2
        weights = (share - 1.0, np.ones(len(share)), -share)
        sights = (self.first, self.middle, self.last)
        return Rows(
            np.sum(normal * along, axis=-1),
            sum(
                w[:, None] * np.einsum("mk,mkp->mp", normal, s.jac_unknowns[at])
                for w, at in zip(weights, sights, strict=True)
            ),
            np.hstack([_pick_columns(s.pick[at]) for at in sights]),
            np.hstack(
                [
                    w[:, None] * np.einsum("mk,mkl->ml", normal, s.jac_pick[at])
                    for w, at in zip(weights, sights, strict=True)
                ]
            ),
        )


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

    def rows(self, look: Look) -> Rows:
        """Length on the face minus the known one."""
        s = look.sighted
        difference = (s.chart[self.first] - s.chart[self.second]) * self.weight
        length = np.hypot(difference[:, 0], difference[:, 1])
        normal = difference / length[:, None]
        one = np.einsum("mk,mkl->ml", normal, s.jac_pick[self.first])
        two = np.einsum("mk,mkl->ml", normal, s.jac_pick[self.second])
        apart = s.jac_unknowns[self.first] - s.jac_unknowns[self.second]
        columns = [
            _pick_columns(s.pick[self.first]),
            _pick_columns(s.pick[self.second]),
            2 * look.pick_count + self.scalar[:, None],
        ]
        return Rows(
            length - self.factor * look.scalars[self.scalar],
            np.einsum("mk,mkp->mp", normal, apart),
            np.hstack(columns),
            np.hstack([one, -two, -self.factor[:, None]]),
        )


@dataclass(frozen=True, slots=True)
class OnLine:
    """Sightings on the line whose u (axis 0, a hinge) or v (axis 1, eaves) is an unknown."""

    sight: Indices
    unknown: int
    axis: int = 0

    def rows(self, look: Look) -> Rows:
        """``u - unknown = 0`` (or v)."""
        s, axis = look.sighted, self.axis
        a = s.jac_unknowns[self.sight, axis].copy()
        a[:, self.unknown] -= 1.0
        value = s.chart[self.sight, axis] - look.unknowns.values[self.unknown]
        return Rows(value, a, _pick_columns(s.pick[self.sight]), s.jac_pick[self.sight, axis])


def _tower(look: Look, face: str) -> Round:
    surface = look.unknowns.surface(face, look.rays.numbers)
    if not isinstance(surface, Round):
        raise TypeError(f"face {face} is not round")
    return surface


def _single_rows(pick: Indices, jets: Jet) -> Rows:
    """Rows of conditions of one pick each, as jets over ``(x, y, unknowns)``."""
    gradient = jets.gradient
    return Rows(jets.value, gradient[:, 2:], _pick_columns(pick), gradient[:, :2])


@dataclass(frozen=True, slots=True)
class OnOutline:
    """Picks on the outline of a round tower: their rays touch it.

    `side` is -1 for the left outline as the camera sees it, +1 for the right one.
    """

    face: str
    side: float
    pick: Indices

    def rows(self, look: Look) -> Rows:
        """Clearance of the ray is zero."""
        rays = look.rays
        tower = _tower(look, self.face)
        clearance = tower.clearance_mm(rays.centre_mm, rays.of(self.pick), self.side)
        return _single_rows(self.pick, clearance)


@dataclass(frozen=True, slots=True)
class WhereTowerMeetsWall:
    """Picks on the line where a round tower meets a wall: on the wall, a radius off the axis."""

    tower: str
    wall: str
    pick: Indices

    def rows(self, look: Look) -> Rows:
        """Plan distance from the axis minus the radius."""
        rays = look.rays
        wall = look.unknowns.surface(self.wall, rays.numbers)
        tower = _tower(look, self.tower)
        u, v, _ = wall.chart_mm_from_ray(rays.centre_mm, rays.of(self.pick))
        at = wall.building_mm_from_chart(u, v)
        off = np.hypot(at[0] - tower.axis_x_mm, at[2] - tower.axis_z_mm)
        return _single_rows(self.pick, off - tower.radius_mm)


@dataclass(frozen=True, slots=True)
class GivenUnknown:
    """An unknown that is known with a ±: ``unknown - factor * scalar = 0``."""

    unknown: int
    scalar: int
    factor: float = 1.0

    def rows(self, look: Look) -> Rows:
        """One row."""
        a = np.zeros((1, len(look.unknowns.names)))
        a[0, self.unknown] = 1.0
        given = self.factor * look.scalars[self.scalar]
        value = np.array([look.unknowns.values[self.unknown] - given])
        column = np.array([[2 * look.pick_count + self.scalar]])
        return Rows(value, a, column, np.array([[-self.factor]]))


def merged(kinds: Sequence[Kind]) -> list[Kind]:
    """Join pairs and lengths into one of each, so that one evaluation does for all."""
    out = [kind for kind in kinds if not isinstance(kind, (SameCoordinate, InLine, KnownLength))]
    joinable: tuple[Any, ...] = (SameCoordinate, InLine, KnownLength)
    for cls in joinable:
        same = [kind for kind in kinds if isinstance(kind, cls)]
        if same:
            names = [field.name for field in fields(cls)]
            out.append(cls(*(np.concatenate([getattr(k, n) for k in same]) for n in names)))
    return out


def make_conditions(kinds: Sequence[Kind], look: Look) -> Conditions:
    """Evaluate all kinds and stack their rows; observations are picks, then known sizes."""
    parts = [kind.rows(look) for kind in kinds]
    start = np.concatenate([[0], np.cumsum([len(part.value) for part in parts])])
    row = np.concatenate(
        [
            np.repeat(np.arange(start[i], start[i + 1]), part.columns.shape[1])
            for i, part in enumerate(parts)
        ]
    )
    columns = np.concatenate([part.columns.ravel() for part in parts])
    coefficients = np.concatenate([part.coefficients.ravel() for part in parts])
    shape = (int(start[-1]), 2 * look.pick_count + len(look.scalars))
    jac_observations: Any
    if shape[0] <= SMALL:
        # a pick may come twice in one row (seen at two depths), so add rather than set
        flat = np.bincount(row * shape[1] + columns, coefficients, shape[0] * shape[1])
        jac_observations = flat.reshape(shape)
    else:
        jac_observations = sparse.csr_array((coefficients, (row, columns)), shape=shape)
    return Conditions(
        value=np.concatenate([part.value for part in parts]),
        jac_unknowns=np.concatenate([part.jac_unknowns for part in parts]),
        jac_observations=jac_observations,
    )
