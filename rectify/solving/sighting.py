"""Picks as rays, and where the rays meet their faces, with all derivatives.

Everything here is a jet over ``(x, y, unknowns)``: each pick's own two coordinates
first, then all unknowns of the adjustment.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rectify.camera import Camera, ray_from_photo_px
from rectify.frames import Pose, Vector
from rectify.solving.unknowns import Unknowns
from shared.jets import Array, Jet, gradient_of, value_of

Indices = NDArray[np.intp]

#: A pick on a face at a depth: ``(face, pick, set_back_mm)``.
Sight = tuple[str, int, float]


@dataclass(frozen=True, slots=True)
class Rays:
    """Rays of some picks of one photo, as jets over ``(x, y, unknowns)``.

    Parameters
    ----------
    numbers : list of Jet
        The unknowns.
    centre_mm : tuple of three numbers
        Where the camera stands.
    along : tuple of three Jet, shape (n,)
        Directions in the building frame.
    """

    numbers: list[Jet]
    centre_mm: Vector
    along: Vector

    def of(self, picks: Indices) -> Vector:
        """Directions of some of the picks."""
        return self.along[0][picks], self.along[1][picks], self.along[2][picks]


def make_rays(
    state: Unknowns, picks_px: Array, camera_and_pose: tuple[Camera, Pose] | None = None
) -> Rays:
    """Send a ray through each pick.

    Parameters
    ----------
    state : Unknowns
    picks_px : ndarray, shape (n, 2)
    camera_and_pose : tuple, optional
        Those of `state` as jets over ``(x, y, unknowns)``, where they are at hand.
    """
    numbers = state.numbers(leading=2)
    unit = np.eye(2 + len(numbers))
    shape = (len(picks_px), len(unit))
    x = Jet(picks_px[:, 0], np.broadcast_to(unit[0], shape))
    y = Jet(picks_px[:, 1], np.broadcast_to(unit[1], shape))
    camera, pose = camera_and_pose or state.camera(numbers)
    return Rays(numbers, pose.centre_mm, ray_from_photo_px(camera, pose, x, y))


@dataclass(frozen=True, slots=True)
class Sighted:
    """Where picks meet their faces, for all sightings s and unknowns p.

    Parameters
    ----------
    chart : ndarray, shape (s, 2)
        ``(u, v)`` in millimetres; NaN where the ray misses the face.
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
class _Group:
    """Sightings that share a face."""

    face: str
    place: Indices
    pick: Indices
    set_back_mm: Array


class Sightings:
    """All sightings of a photo, sorted by face once.

    Parameters
    ----------
    sights : iterable of (face, pick, set_back_mm)
    """

    def __init__(self, sights: Iterable[Sight]) -> None:
        of_face: dict[str, list[tuple[int, int, float]]] = {}
        picks = []
        for place, (face, pick, set_back_mm) in enumerate(sights):
            of_face.setdefault(face, []).append((place, pick, set_back_mm))
            picks.append(pick)
        self.pick: Indices = np.array(picks, dtype=np.intp)
        self._groups = []
        for face, mine in of_face.items():
            places, of_pick, back = (np.array(part) for part in zip(*mine, strict=True))
            self._groups.append(_Group(face, places, of_pick, back.astype(float)))

    def on_faces(self, state: Unknowns, rays: Rays) -> Sighted:
        """Lay the picks on their faces; `rays` are those of all picks of the photo."""
        size = 2 + len(rays.numbers)
        chart = np.full((len(self.pick), 2), np.nan)
        gradient = np.full((len(self.pick), 2, size), np.nan)
        for group in self._groups:
            surface = state.surface(group.face, rays.numbers)
            u, v, _ = surface.chart_mm_from_ray(
                rays.centre_mm, rays.of(group.pick), group.set_back_mm
            )
            for axis, number in enumerate((u, v)):
                chart[group.place, axis] = value_of(number)
                gradient[group.place, axis] = gradient_of(number, size)
        return Sighted(chart, gradient[:, :, 2:], gradient[:, :, :2], self.pick)
