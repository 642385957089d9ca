"""Where a photo's building frame stands in that of another photo of the same building.

Both have y plumb, so a turn about the plumb and a shift do: ``x_ref = R x + t`` with the turn
from x towards z, as headings count.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rectify.frames import Vector
from rectify.solution import Solution
from rectify.surfaces import Plane
from shared.jets import Array, Number, value_of
from shared.survey import Face, Tie

#: How true a wall is taken to be one plane in two photos: millimetres and radians (common
#: practice, no source).
U_FLAT_MM, U_FLAT_RAD = 2.0, 2e-4


@dataclass(frozen=True, slots=True)
class Placement:
    """Turn and shift from one photo's building frame to that of the reference.

    Parameters
    ----------
    turn_rad, x_mm, y_mm, z_mm : number
    """

    turn_rad: Number
    x_mm: Number
    y_mm: Number
    z_mm: Number

    def to_reference(self, point: Vector) -> Vector:
        """Take a point to the frame of the reference."""
        c, s = np.cos(self.turn_rad), np.sin(self.turn_rad)
        return (
            point[0] * c - point[2] * s + self.x_mm,
            point[1] + self.y_mm,
            point[0] * s + point[2] * c + self.z_mm,
        )

    def from_reference(self, point: Vector) -> Vector:
        """Take a point of the frame of the reference back."""
        c, s = np.cos(self.turn_rad), np.sin(self.turn_rad)
        x, z = point[0] - self.x_mm, point[2] - self.z_mm
        return x * c + z * s, point[1] - self.y_mm, z * c - x * s


@dataclass(frozen=True, slots=True)
class SeenEnd:
    """One end of a tie as its own photo places it.

    Parameters
    ----------
    photo, face : str
    point_mm : ndarray, shape (3,)
        On its face, in the photo's building frame.
    """

    photo: str
    face: str
    point_mm: Array


def seen_ends(ties: Sequence[Tie], photo_of: Mapping[str, str],
              solutions: Mapping[str, Solution]) -> dict[str, list[SeenEnd]]:  # fmt: skip
    """Ends of each tie on their faces, by the photos' own solutions; NaN past a face."""
    out: dict[str, list[SeenEnd]] = {}
    for tie in ties:
        out[tie.id] = []
        for end in tie.at:
            photo = photo_of[end.face]
            solution = solutions[photo]
            u, v = solution.charted(end.face, [end.at]).chart_mm[0]
            at = solution.surface(end.face).building_mm_from_chart(float(u), float(v))
            point = np.array([float(value_of(part)) for part in at])
            out[tie.id].append(SeenEnd(photo, end.face, point))
    return out


def heading_of(surface: object) -> float:
    """Plan direction of a wall; 0 for a tower."""
    if isinstance(surface, Plane):
        return float(np.arctan2(value_of(surface.along[2]), value_of(surface.along[0])))
    return 0.0


def start_scale(ends: Mapping[str, list[SeenEnd]], ties: Sequence[Tie], reference: str,
                photo: str) -> float | None:  # fmt: skip
    """How many times longer the reference sees what both see; None where the ties do not tell."""
    pairs = []
    for tie in ties:
        if tie.kind not in ("level", "point"):
            continue
        here = [e.point_mm for e in ends[tie.id] if e.photo == photo]
        there = [e.point_mm for e in ends[tie.id] if e.photo == reference]
        if here and there:
            pairs.append((tie.kind, there[0], here[0]))
    best, factor = 0.0, None
    for i, (kind, far, near) in enumerate(pairs):
        for kind_2, far_2, near_2 in pairs[:i]:
            whole = kind == kind_2 == "point"
            long = float(np.linalg.norm(far - far_2) if whole else abs(far[1] - far_2[1]))
            short = float(np.linalg.norm(near - near_2) if whole else abs(near[1] - near_2[1]))
            if long > best and short > 0.0:
                best, factor = long, long / short
    return factor


def start_placement(
    ends: Mapping[str, list[SeenEnd]],
    ties: Sequence[Tie],
    pairs: Sequence[tuple[Face, Face]],
    placed: Mapping[str, Placement],
    solutions: Mapping[str, Solution],
    photo: str,
) -> Placement:
    """First placement of a photo: from walls that both show, then from what is tied.

    Parameters
    ----------
    ends : mapping of tie to list of SeenEnd
    ties : sequence of Tie
    pairs : sequence of (Face, Face)
        The same wall in a photo that is placed and in this one.
    placed : mapping of photo to Placement
        Those that are.
    solutions : mapping of photo to Solution
    photo : str
        To be placed.
    """
    here = solutions[photo]
    turn = 0.0
    if pairs:
        one, other = pairs[0]
        there = heading_of(solutions[one.photo].surface(one.id))
        turn = there + float(placed[one.photo].turn_rad) - heading_of(here.surface(other.id))
    only_turned = Placement(turn, 0.0, 0.0, 0.0)
    rows: list[Array] = []
    gaps: list[float] = []
    for one, other in pairs:
        wall, own = solutions[one.photo].surface(one.id), here.surface(other.id)
        if isinstance(wall, Plane) and isinstance(own, Plane):
            place = placed[one.photo]
            heading = heading_of(wall) + float(place.turn_rad)
            normal = np.array([-np.sin(heading), 0.0, np.cos(heading)])
            a = _plain(place.to_reference(wall.origin_mm))
            rows.append(normal)
            gaps.append(float(normal @ (a - _plain(only_turned.to_reference(own.origin_mm)))))
    axes = {"level": (1,), "plumb": (0, 2), "point": (0, 1, 2), "space": ()}
    for tie in ties:
        known = [
            _plain(placed[end.photo].to_reference(_components(end.point_mm)))
            for end in ends[tie.id]
            if end.photo in placed
        ]
        for end in ends[tie.id]:
            if end.photo != photo or not known:
                continue
            gap = known[0] - _plain(only_turned.to_reference(_components(end.point_mm)))
            for axis in axes[tie.kind]:
                if np.isfinite(gap[axis]):
                    rows.append(np.eye(3)[axis])
                    gaps.append(float(gap[axis]))
    shift = np.linalg.lstsq(np.array(rows), np.array(gaps), rcond=None)[0] if rows else np.zeros(3)
    return Placement(turn, float(shift[0]), float(shift[1]), float(shift[2]))


def _components(point: Array) -> Vector:
    return float(point[0]), float(point[1]), float(point[2])


def _plain(point: Vector) -> Array:
    return np.array([float(value_of(part)) for part in point])
