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

from rectify.camera import ray_from_photo_px
from rectify.least_squares import Conditions
from rectify.surfaces import Round
from rectify.unknowns import Unknowns
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


@dataclass(frozen=True, slots=True)
class Look:
    """All that a condition may look at, at one point of the search.

    Parameters
    ----------
    sighted : Sighted
    picks_px : ndarray, shape (n, 2)
        Adjusted picks.
    scalars : ndarray, shape (k,)
        Adjusted known sizes; the i-th is observation ``2 n + i``.
    unknowns : Unknowns
    """

    sighted: Sighted
    picks_px: Array
    scalars: Array
    unknowns: Unknowns


class Kind(Protocol):
    """A kind of condition."""

    def rows(self, look: Look) -> Rows:
        """Evaluate the conditions."""
        ...


def _pair_rows(s: Sighted, first: Indices, second: Indices, normal: Array, value: Array) -> Rows:
    """Rows of a function of ``chart[first] - chart[second]`` with gradient `normal`."""
    a = np.einsum("mk,mkp->mp", normal, s.jac_unknowns[first] - s.jac_unknowns[second])
    c1 = np.einsum("mk,mkl->ml", normal, s.jac_pick[first])
    c2 = -np.einsum("mk,mkl->ml", normal, s.jac_pick[second])
    columns = np.concatenate([_pick_columns(s.pick[first]), _pick_columns(s.pick[second])], axis=-1)
    return Rows(value, a, columns, np.concatenate([c1, c2], axis=-1))


def _with_scalar(rows: Rows, scalar: Indices, slope: Array, look: Look) -> Rows:
    """Add one known size to each row, with its derivative."""
    column = 2 * len(look.picks_px) + scalar
    columns = np.concatenate([rows.columns, column[:, None]], axis=-1)
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

    def rows(self, look: Look) -> Rows:
        """``u_first - u_second = 0`` (or v)."""
        normal = np.zeros((len(self.first), 2))
        normal[:, self.axis] = 1.0
        chart = look.sighted.chart
        value = (chart[self.first] - chart[self.second])[:, self.axis]
        if self.slack is None:
            return _pair_rows(look.sighted, self.first, self.second, normal, value)
        value = value - look.scalars[self.slack]
        rows = _pair_rows(look.sighted, self.first, self.second, normal, value)
        return _with_scalar(rows, self.slack, -np.ones(len(self.first)), look)


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
        chart = look.sighted.chart
        difference = (chart[self.first] - chart[self.second]) * self.weight
        length = np.hypot(difference[:, 0], difference[:, 1])
        normal = difference / length[:, None]
        value = length - self.factor * look.scalars[self.scalar]
        rows = _pair_rows(look.sighted, self.first, self.second, normal, value)
        return _with_scalar(rows, self.scalar, -self.factor, look)


@dataclass(frozen=True, slots=True)
class OnUpright:
    """Sightings on the plumb line whose u is an unknown (a hinge)."""

    sight: Indices
    unknown: int

    def rows(self, look: Look) -> Rows:
        """``u - hinge_u = 0``."""
        s = look.sighted
        a = s.jac_unknowns[self.sight, 0].copy()
        a[:, self.unknown] -= 1.0
        value = s.chart[self.sight, 0] - look.unknowns.values[self.unknown]
        columns = _pick_columns(s.pick[self.sight])
        return Rows(value, a, columns, s.jac_pick[self.sight, 0])


@dataclass(frozen=True, slots=True)
class OnOutline:
    """Picks on the outline of a round tower: their rays touch it.

    `side` is -1 for the left outline as the camera sees it, +1 for the right one.
    """

    photo: str
    face: str
    side: float
    pick: Indices

    def rows(self, look: Look) -> Rows:
        """Clearance of the ray is zero."""
        x, y, numbers = pick_jets(look, self.pick)
        camera, pose = look.unknowns.camera(self.photo, numbers)
        ray = ray_from_photo_px(camera, pose, x, y)
        tower = look.unknowns.surface(self.face, numbers)
        if not isinstance(tower, Round):
            raise TypeError(f"face {self.face} is not round")
        return _single_rows(self.pick, tower.clearance_mm(pose.centre_mm, ray, self.side))


@dataclass(frozen=True, slots=True)
class WhereTowerMeetsWall:
    """Picks on the line where a round tower meets a wall: on the wall, a radius off the axis."""

    photo: str
    tower: str
    wall: str
    pick: Indices

    def rows(self, look: Look) -> Rows:
        """Plan distance from the axis minus the radius."""
        x, y, numbers = pick_jets(look, self.pick)
        camera, pose = look.unknowns.camera(self.photo, numbers)
        ray = ray_from_photo_px(camera, pose, x, y)
        wall = look.unknowns.surface(self.wall, numbers)
        tower = look.unknowns.surface(self.tower, numbers)
        if not isinstance(tower, Round):
            raise TypeError(f"face {self.tower} is not round")
        u, v, _ = wall.chart_mm_from_ray(pose.centre_mm, ray)
        at = wall.building_mm_from_chart(u, v)
        off = np.hypot(at[0] - tower.axis_x_mm, at[2] - tower.axis_z_mm)
        return _single_rows(self.pick, off - tower.radius_mm)


def pick_jets(look: Look, pick: Indices) -> tuple[Jet, Jet, list[Jet]]:
    """Picks and unknowns as jets over ``(x, y, unknowns)``, each pick's own x and y."""
    numbers = look.unknowns.numbers(leading=2)
    unit = np.eye(2 + len(numbers))
    shape = (len(pick), len(unit))
    x = Jet(look.picks_px[pick, 0], np.broadcast_to(unit[0], shape))
    y = Jet(look.picks_px[pick, 1], np.broadcast_to(unit[1], shape))
    return x, y, numbers


def _pick_columns(pick: Indices) -> Indices:
    return np.stack([2 * pick, 2 * pick + 1], axis=-1)


def _single_rows(pick: Indices, jets: Jet) -> Rows:
    """Rows of conditions of one pick each, as jets over ``(x, y, unknowns)``."""
    gradient = jets.gradient
    return Rows(jets.value, gradient[:, 2:], _pick_columns(pick), gradient[:, :2])


@dataclass(frozen=True, slots=True)
class GivenUnknown:
    """An unknown that is known with a ±: ``unknown - scalar = 0``."""

    unknown: int
    scalar: int

    def rows(self, look: Look) -> Rows:
        """One row."""
        a = np.zeros((1, len(look.unknowns.names)))
        a[0, self.unknown] = 1.0
        value = np.array([look.unknowns.values[self.unknown] - look.scalars[self.scalar]])
        column = np.array([[2 * len(look.picks_px) + self.scalar]])
        return Rows(value, a, column, np.array([[-1.0]]))


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
    shape = (int(start[-1]), 2 * len(look.picks_px) + len(look.scalars))
    return Conditions(
        value=np.concatenate([part.value for part in parts]),
        jac_unknowns=np.concatenate([part.jac_unknowns for part in parts]),
        jac_observations=sparse.csr_array((coefficients, (row, columns)), shape=shape),
    )
