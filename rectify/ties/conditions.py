"""What ties between photos demand: rows over all unknowns and the picks of the ties."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rectify.frames import Vector
from rectify.placements import Placement
from rectify.solving.sighting import Rays, make_rays
from rectify.solving.unknowns import Unknowns
from rectify.surfaces import Plane
from shared.jets import Array, Jet, Number, gradient_of, value_of


@dataclass(frozen=True, slots=True)
class End:
    """One end of a tie: which photo, which face, which of that photo's picks."""

    photo: int
    face: str
    pick: int


@dataclass(frozen=True, slots=True)
class JoinedTie:
    """A tie between photos.

    Parameters
    ----------
    id, kind : str
    ends : tuple of End
    along_wall : bool
        Whether all ends lie on one wall that is known to be one plane in all photos.
    unknown : int
        Where the three unknowns of a point in space start; -1 for other ties.
    """

    id: str
    kind: str
    ends: tuple[End, ...]
    along_wall: bool = False
    unknown: int = -1


@dataclass(frozen=True, slots=True)
class SameWall:
    """The same wall in two photos: two scalars, turn and distance, that are nearly 0."""

    first: tuple[int, str]
    second: tuple[int, str]


class TieRows:
    """Evaluates ties at one point of the search, all as jets.

    The variables are all unknowns, then two for the pick of each end, in order.

    Parameters
    ----------
    states : sequence of Unknowns
    offsets : sequence of int
        Where each photo's unknowns start.
    placements : sequence of Placement
        As jets over all unknowns; the reference's own does nothing.
    picks_px : sequence of ndarray
        Of each photo.
    size : int
        Number of unknowns.
    ends : sequence of End
    """

    def __init__(
        self,
        states: Sequence[Unknowns],
        offsets: Sequence[int],
        placements: Sequence[Placement],
        picks_px: Sequence[Array],
        size: int,
        ends: Sequence[End],
    ) -> None:
        self._states, self._offsets, self._placements = states, offsets, placements
        self._size = size
        self._count = size + 2 * len(ends)
        self._rays: list[Rays] = [Rays([], (0.0, 0.0, 0.0), (0.0, 0.0, 0.0))] * len(ends)
        for photo, state in enumerate(states):
            mine = [at for at, end in enumerate(ends) if end.photo == photo]
            if not mine:
                continue
            every = make_rays(state, picks_px[photo][[ends[at].pick for at in mine]])
            for place, at in enumerate(mine):
                one = every.of(np.array([place], dtype=np.intp))
                self._rays[at] = Rays(every.numbers, every.centre_mm, one)
        self._ends = ends

    def jet(self, value: float, at: int) -> Jet:
        """One of the unknowns that belong to no photo."""
        unit = np.zeros(self._count)
        unit[at] = 1.0
        return Jet(value, unit)

    def _lifted(self, number: Number, photo: int, end: int | None) -> Jet:
        """A photo's own jet over ``(x, y, unknowns)`` as one over all variables."""
        own = len(self._states[photo].names) + 2
        gradient = np.zeros(self._count)
        if isinstance(number, Jet):
            local = np.broadcast_to(
                gradient_of(number, own), (*np.shape(number.value), own)
            ).reshape(-1, own)[0]
            start = self._offsets[photo]
            gradient[start : start + own - 2] = local[2:]
            if end is not None:
                gradient[self._size + 2 * end : self._size + 2 * end + 2] = local[:2]
        return Jet(float(np.ravel(value_of(number))[0]), gradient)

    def _vector(self, vector: Vector, photo: int, end: int | None) -> Vector:
        x, y, z = (self._lifted(part, photo, end) for part in vector)
        return x, y, z

    def point(self, end: int) -> Vector:
        """Where an end lies on its face, in the frame of the reference."""
        at, rays = self._ends[end], self._rays[end]
        surface = self._states[at.photo].surface(at.face, rays.numbers)
        u, v, _ = surface.chart_mm_from_ray(rays.centre_mm, rays.along)
        here = self._vector(surface.building_mm_from_chart(u, v), at.photo, end)
        return self._placements[at.photo].to_reference(here)

    def misses(self, end: int, point: Vector) -> list[Jet]:
        """By how much the ray of an end passes a point of its photo's frame: two numbers.

        Millimetres to the side and up, since the camera looks along z more than not.
        """
        at, rays = self._ends[end], self._rays[end]
        x, y, z = self._vector(rays.along, at.photo, end)
        centre = self._vector(rays.centre_mm, at.photo, None)
        here = self._placements[at.photo].from_reference(point)
        away = tuple(a - c for a, c in zip(here, centre, strict=True))
        level = np.hypot(x, z)
        side = (away[0] * z - away[2] * x) / level
        run = (away[0] * x + away[2] * z) / (level * level)
        return [side, away[1] - run * y]

    def wall(self, photo: int, face: str) -> tuple[Jet, Jet, Vector]:
        """Plan direction (x, z) of a wall and a point on it, in the frame of the reference."""
        state = self._states[photo]
        plane = state.surface(face, state.numbers(leading=2))
        if not isinstance(plane, Plane):
            raise TypeError(f"face {face} is not a wall")
        along = self._vector(plane.along, photo, None)
        turn = self._placements[photo].turn_rad
        c, s = np.cos(turn), np.sin(turn)
        origin = self._placements[photo].to_reference(self._vector(plane.origin_mm, photo, None))
        return along[0] * c - along[2] * s, along[0] * s + along[2] * c, origin

    def chart_point(self, photo: int, face: str, numbers: Sequence[Jet]) -> Vector:
        """Point at unknown ``(u, v, set-back)`` of a face, in the frame of the reference."""
        state = self._states[photo]
        surface = state.surface(face, state.numbers(leading=2))
        if isinstance(surface, Plane):
            o, a, b, n = (
                self._vector(part, photo, None)
                for part in (surface.origin_mm, surface.along, surface.up, surface.outward)
            )
            u, v, back = numbers
            here: Vector = (
                o[0] + u * a[0] + v * b[0] - back * n[0],
                o[1] + u * a[1] + v * b[1] - back * n[1],
                o[2] + u * a[2] + v * b[2] - back * n[2],
            )
            return self._placements[photo].to_reference(here)
        raise TypeError(f"face {face} is not a wall")
