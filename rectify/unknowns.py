"""What an adjustment solves for: cameras and the few numbers of each face.

Each unknown is named by its owner (a photo or a face) and what it is. An unknown
that is given rather than solved sits in `fixed` and costs nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from rectify.camera import Camera
from rectify.frames import Pose, rotation_after_turn
from rectify.surfaces import Plane, Round, Surface, make_wall
from shared.jets import Array, Jet, Number

Name = tuple[str, str]

CAMERA_PARTS = ("log_focal", "principal_x", "principal_y", "k1", "k2")
POSE_PARTS = ("turn_x", "turn_y", "turn_z", "x", "y", "z")


@lru_cache(maxsize=64)
def _places(names: tuple[Name, ...]) -> dict[Name, int]:
    return {name: at for at, name in enumerate(names)}


@dataclass(frozen=True, slots=True)
class FaceShape:
    """How a face is placed.

    Parameters
    ----------
    kind : str
        "main" (the plane z = 0), "parallel" (a plane behind it), "hinged" (a wall at an
        angle) or "round".
    parent : str or None
        The face that a hinged wall or a round tower stands beside.
    """

    kind: str
    parent: str | None = None

    @property
    def parts(self) -> tuple[str, ...]:
        """Names of the unknowns of such a face."""
        return {
            "main": (),
            "parallel": ("set_back",),
            "hinged": ("hinge_u", "heading"),
            "round": ("axis_x", "axis_set_back", "radius"),
        }[self.kind]


@dataclass(frozen=True)
class Unknowns:
    """The unknowns at one point of the search.

    Parameters
    ----------
    names : tuple of (owner, what)
        In the order of the vector.
    values, prior : ndarray, shape (p,)
        Present and prior values; the prior counts only where it is given weight.
    rotations : mapping of photo to ndarray, shape (3, 3)
        ``cam_from_building`` that the turns start from.
    fixed : mapping of name to float
        Numbers that are given.
    shapes : mapping of face to FaceShape
    """

    names: tuple[Name, ...]
    values: Array
    prior: Array
    rotations: Mapping[str, Array]
    fixed: Mapping[Name, float]
    shapes: Mapping[str, FaceShape]

    def stepped(self, step: Array) -> Unknowns:
        """Step away; turns are folded into the rotations and start at zero again."""
        values = self.values + step
        rotations = dict(self.rotations)
        for photo, rotation in self.rotations.items():
            at = [self.index(photo, part) for part in POSE_PARTS[:3]]
            turned = rotation_after_turn(rotation, tuple(values[at]))
            rotations[photo] = np.array(turned, dtype=float)
            values[at] = 0.0
        return replace(self, values=values, rotations=rotations)

    def distance_from_prior(self) -> Array:
        """Values minus prior values, shape (p,)."""
        return self.values - self.prior

    def index(self, owner: str, what: str) -> int:
        """Place of an unknown in the vector."""
        return _places(self.names)[owner, what]

    def numbers(self, leading: int = 0) -> list[Jet]:
        """One jet for each unknown, after `leading` variables of the caller's own."""
        unit = np.eye(leading + len(self.names))
        return [Jet(self.values[i], unit[leading + i]) for i in range(len(self.names))]

    def number(self, owner: str, what: str, numbers: Sequence[Number]) -> Number:
        """One unknown out of `numbers`, or its fixed value."""
        name = (owner, what)
        return self.fixed[name] if name in self.fixed else numbers[_places(self.names)[name]]

    def camera(self, photo: str, numbers: Sequence[Number]) -> tuple[Camera, Pose]:
        """Build camera and pose of a photo from `numbers`."""
        log_focal, px, py, k1, k2 = (self.number(photo, part, numbers) for part in CAMERA_PARTS)
        tx, ty, tz, x, y, z = (self.number(photo, part, numbers) for part in POSE_PARTS)
        rotation = rotation_after_turn(self.rotations[photo], (tx, ty, tz))
        return Camera(np.exp(log_focal), (px, py), k1, k2), Pose(rotation, (x, y, z))

    def surface(self, face: str, numbers: Sequence[Number]) -> Surface:
        """Build the surface of a face from `numbers`."""
        shape = self.shapes[face]
        if shape.kind == "main":
            return make_wall()
        if shape.kind == "parallel":
            return make_wall(z_mm=-1.0 * self.number(face, "set_back", numbers))
        if shape.kind == "round":
            axis_z = -1.0 * self.number(face, "axis_set_back", numbers)
            axis_x = self.number(face, "axis_x", numbers)
            return Round(axis_x, axis_z, self.number(face, "radius", numbers))
        return self._hinged(face, shape, numbers)

    def _hinged(self, face: str, shape: FaceShape, numbers: Sequence[Number]) -> Plane:
        parent = self.surface(shape.parent or "", numbers)
        hinge_u = self.number(face, "hinge_u", numbers)
        x, _, z = parent.building_mm_from_chart(hinge_u, 0.0)
        return make_wall(x, z, self.number(face, "heading", numbers))
