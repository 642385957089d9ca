"""Faces of the building as charts: a plane, and a round tower.

Every surface answers the same two questions, in plain numbers or jets:
where does a ray meet you, as ``(u, v)``, and where in the building is
``(u, v)``. Whoever asks need not know which kind it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from rectify.frames import Vector, dot
from shared.jets import Number, value_of


class Surface(Protocol):
    """What every surface can do."""

    def chart_mm_from_ray(
        self, centre_mm: Vector, ray: Vector, set_back_mm: Number = 0.0
    ) -> tuple[Number, Number, Number]:
        """Where a ray meets the surface: ``(u, v, t)``, NaN where it does not.

        ``t`` is the depth along the ray: the point is ``centre + t ray``.
        """
        ...

    def building_mm_from_chart(self, u: Number, v: Number, set_back_mm: Number = 0.0) -> Vector:
        """Building coordinates of a chart point, `set_back_mm` behind the surface."""
        ...


@dataclass(frozen=True, slots=True)
class Plane:
    """A wall or a roof slope.

    Parameters
    ----------
    origin_mm : tuple of three numbers
        Building coordinates of ``(u, v) = (0, 0)``.
    along, up : tuple of three numbers
        Unit vectors in which u and v grow; at right angles.
    """

    origin_mm: Vector
    along: Vector
    up: Vector

    @property
    def outward(self) -> Vector:
        """Unit normal, out of the face: ``along`` cross ``up``."""
        a, b = self.along, self.up
        return (
            a[1] * b[2] - a[2] * b[1],
            a[2] * b[0] - a[0] * b[2],
            a[0] * b[1] - a[1] * b[0],
        )

    def chart_mm_from_ray(
        self, centre_mm: Vector, ray: Vector, set_back_mm: Number = 0.0
    ) -> tuple[Number, Number, Number]:
        """Where a ray meets the plane; see `Surface`."""
        o, c, n = self.origin_mm, centre_mm, self.outward
        gap: Vector = (c[0] - o[0], c[1] - o[1], c[2] - o[2])
        t = -1.0 * (dot(n, gap) + set_back_mm) / dot(n, ray)
        t = t * np.where(value_of(t) > 0.0, 1.0, np.nan)
        hit: Vector = (gap[0] + t * ray[0], gap[1] + t * ray[1], gap[2] + t * ray[2])
        return dot(self.along, hit), dot(self.up, hit), t

    def building_mm_from_chart(self, u: Number, v: Number, set_back_mm: Number = 0.0) -> Vector:
        """Building coordinates of a chart point; see `Surface`."""
        o, a, b, n = self.origin_mm, self.along, self.up, self.outward
        return (
            o[0] + u * a[0] + v * b[0] - set_back_mm * n[0],
            o[1] + u * a[1] + v * b[1] - set_back_mm * n[1],
            o[2] + u * a[2] + v * b[2] - set_back_mm * n[2],
        )


@dataclass(frozen=True, slots=True)
class Heights:
    """A slope whose second coordinate is the plumb height, not the way up along it.

    Parameters
    ----------
    slope : Plane
    """

    slope: Plane

    def chart_mm_from_ray(
        self, centre_mm: Vector, ray: Vector, set_back_mm: Number = 0.0
    ) -> tuple[Number, Number, Number]:
        """Where a ray meets the slope: ``(u, y, t)``; see `Surface`."""
        u, _, t = self.slope.chart_mm_from_ray(centre_mm, ray, set_back_mm)
        return u, centre_mm[1] + t * ray[1], t

    def building_mm_from_chart(self, u: Number, v: Number, set_back_mm: Number = 0.0) -> Vector:
        """Building coordinates of a point at height `v`; see `Surface`."""
        plane = self.slope
        rise = v - plane.origin_mm[1] + set_back_mm * plane.outward[1]
        return plane.building_mm_from_chart(u, rise / plane.up[1], set_back_mm)


@dataclass(frozen=True, slots=True)
class Radius:
    """A tower whose chart tells its radius, wherever it is asked.

    So that the radius goes, like any chart point, with all that its ± depends on.

    Parameters
    ----------
    tower : Round
    """

    tower: Round

    def chart_mm_from_ray(
        self, centre_mm: Vector, ray: Vector, set_back_mm: Number = 0.0
    ) -> tuple[Number, Number, Number]:
        """Radius, zero, and ``t`` of 1 for every ray; see `Surface`."""
        nothing = ray[1] * 0.0
        return nothing + self.tower.radius_mm, nothing, nothing + 1.0

    def building_mm_from_chart(self, u: Number, v: Number, set_back_mm: Number = 0.0) -> Vector:
        """Not a place in the building, which is what it is asked for: the tower's own."""
        return self.tower.building_mm_from_chart(u, v, set_back_mm)


def make_roof(wall: Plane, eaves_mm: Number, set_back_mm: float, pitch_rad: Number) -> Plane:
    """Make a slope that rises behind a plumb wall.

    Parameters
    ----------
    wall : Plane
    eaves_mm : number
        Height of the eaves on the wall's chart; ``v = 0`` of the slope.
    set_back_mm : float
        Of the eaves behind the wall's face; negative where they stand out.
    pitch_rad : number
        Angle above the level.
    """
    out, run, rise = wall.outward, np.cos(pitch_rad), np.sin(pitch_rad)
    origin = wall.building_mm_from_chart(0.0, eaves_mm, set_back_mm)
    return Plane(origin, wall.along, (-1.0 * run * out[0], rise * 1.0, -1.0 * run * out[2]))


def make_wall(x_mm: Number = 0.0, z_mm: Number = 0.0, heading_rad: Number = 0.0) -> Plane:
    """Make a plumb plane through a plan point.

    Parameters
    ----------
    x_mm, z_mm : number
        Plan position of ``u = 0``.
    heading_rad : number
        Plan direction of growing u, from x towards z; 0 is parallel to the main wall.
    """
    along: Vector = (np.cos(heading_rad), 0.0, np.sin(heading_rad))
    return Plane((x_mm, 0.0, z_mm), along, (0.0, 1.0, 0.0))


@dataclass(frozen=True, slots=True)
class Round:
    """A plumb cylinder: ``u = radius * angle``, angle 0 facing out of the main wall.

    Parameters
    ----------
    axis_x_mm, axis_z_mm : number
        Plan position of the axis.
    radius_mm : number
    """

    axis_x_mm: Number
    axis_z_mm: Number
    radius_mm: Number

    def chart_mm_from_ray(
        self, centre_mm: Vector, ray: Vector, set_back_mm: Number = 0.0
    ) -> tuple[Number, Number, Number]:
        """Where a ray first meets the cylinder; see `Surface`."""
        r = self.radius_mm - set_back_mm
        gx, gz = centre_mm[0] - self.axis_x_mm, centre_mm[2] - self.axis_z_mm
        dd = ray[0] * ray[0] + ray[2] * ray[2]
        gd = gx * ray[0] + gz * ray[2]
        root2 = gd * gd - dd * (gx * gx + gz * gz - r * r)
        root2 = root2 * np.where(value_of(root2) > 0.0, 1.0, np.nan)
        t = -1.0 * (gd + np.sqrt(root2)) / dd
        t = t * np.where(value_of(t) > 0.0, 1.0, np.nan)
        angle = np.arctan2(gx + t * ray[0], gz + t * ray[2])
        return angle * self.radius_mm, centre_mm[1] + t * ray[1], t

    def building_mm_from_chart(self, u: Number, v: Number, set_back_mm: Number = 0.0) -> Vector:
        """Building coordinates of a chart point; see `Surface`."""
        angle = u / self.radius_mm
        r = self.radius_mm - set_back_mm
        return (
            self.axis_x_mm + r * np.sin(angle),
            v * 1.0,
            self.axis_z_mm + r * np.cos(angle),
        )

    def clearance_mm(self, centre_mm: Vector, ray: Vector, side: float) -> Number:
        """How far a ray clears the tower on one side; zero on the outline.

        Parameters
        ----------
        centre_mm, ray : tuple of three numbers
        side : float
            -1 for the left outline as seen from the camera, +1 for the right one.
        """
        gx, gz = self.axis_x_mm - centre_mm[0], self.axis_z_mm - centre_mm[2]
        across = (gz * ray[0] - gx * ray[2]) / np.hypot(ray[0], ray[2])
        return -side * across - self.radius_mm
