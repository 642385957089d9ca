"""What an adjustment solves for: one camera and the few numbers of each face.

Each unknown is named by its owner (the photo or a face) and what it is. An unknown
that is given rather than solved sits in `fixed` and costs nothing.

The camera stands at ``(0, 0, z)`` by choice of the building frame. Its distance z is not an
unknown itself: zooming in and stepping back look much the same, so with z the search
would have to follow a bent valley. The unknown is ``log_reach``, the logarithm of
millimetres on the wall for each pixel at one spot of the photo (`Unknowns.anchor_px`), which
the picks fix whatever the focal length. The lens in turn is told by how it bends the
picture, ``bend_1`` and ``bend_2``: the radial terms that it would have were its focal length
`Unknowns.bend_focal_px`. They, and not k1 and k2, are what straight lines show and what is
believed of lenses beforehand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from rectify.camera import Camera
from rectify.frames import (
    TURNS,
    Pose,
    building_from_cam_direction,
    rotation_after_turn,
    squared_rotation,
)
from rectify.surfaces import Heights, Plane, Radius, Round, Surface, make_roof, make_wall
from shared.jets import Array, Jet, Number

Name = tuple[str, str]

CAMERA_PARTS = ("log_focal", "principal_x", "principal_y", "bend_1", "bend_2")
POSE_PARTS = ("turn_x", "turn_y", "turn_z", "log_reach")


#: Endings of the names under which a slope is charted by plumb height, and a tower by its
#: radius; no face may be called so.
HEIGHTS, RADIUS = "/heights", "/radius"


def heights_of(face: str) -> str:
    """Name under which a face is charted as ``(u, plumb height)``."""
    return face + HEIGHTS


def radius_of(face: str) -> str:
    """Name under which any pick of a tower is charted as ``(radius, 0)``."""
    return face + RADIUS


@lru_cache(maxsize=64)
def _places(names: tuple[Name, ...]) -> dict[Name, int]:
    return {name: at for at, name in enumerate(names)}


def _vanishing_push(d: Array, focal_px: float) -> Array:
    """How a direction in the camera moves, its vanishing point kept, shape (3, 3).

    Columns: for log_focal, principal_x and principal_y.
    """
    shift = d[2] / focal_px
    return np.array([[-d[0], -shift, 0.0], [-d[1], 0.0, -shift], [0.0, 0.0, 0.0]])


@dataclass(frozen=True, slots=True)
class FaceShape:
    """How a face is placed.

    Parameters
    ----------
    kind : str
        "main" (the plane z = 0), "parallel" (a plane behind it or its parent), "hinged" (a wall
        at an angle), "roof" (a slope above level eaves), "round", or "alone" (a tower in a photo
        without a wall: its axis is x = z = 0, and the camera stands straight before it).
    parent : str or None
        The face that a hinged wall, a roof or a round tower stands beside, or that a parallel
        wall lies behind; None for the main wall.
    set_back_mm : float
        Of a roof's eaves behind the face of its wall.
    """

    kind: str
    parent: str | None = None
    set_back_mm: float = 0.0

    @property
    def parts(self) -> tuple[str, ...]:
        """Names of the unknowns of such a face."""
        return {
            "main": (),
            "parallel": ("set_back",),
            "hinged": ("hinge_u", "heading"),
            "roof": ("eaves_v", "pitch"),
            "round": ("axis_x", "axis_set_back", "radius"),
            "alone": ("axis_x", "axis_set_back", "radius"),
        }[self.kind]

    @property
    def is_round(self) -> bool:
        """Tell whether the face is a tower."""
        return self.kind in ("round", "alone")


@dataclass(frozen=True)
class Unknowns:
    """The unknowns at one point of the search.

    Parameters
    ----------
    names : tuple of (owner, what)
        In the order of the vector.
    values, prior : ndarray, shape (p,)
        Present and prior values; the prior counts only where it is given weight.
    photo : str
    rotation : ndarray, shape (3, 3)
        ``cam_from_building`` that the turns start from.
    anchor_px : tuple of two float
        Where in the photo ``log_reach`` is told: a spot on the main wall.
    bend_focal_px : float
        Focal length that ``bend_1`` and ``bend_2`` refer to.
    fixed : mapping of name to float
        Numbers that are given.
    shapes : mapping of face to FaceShape
    """

    names: tuple[Name, ...]
    values: Array
    prior: Array
    photo: str
    rotation: Array
    anchor_px: tuple[float, float]
    bend_focal_px: float
    fixed: Mapping[Name, float]
    shapes: Mapping[str, FaceShape]

    def stepped(self, step: Array) -> Unknowns:
        """Step away; the turn is folded into the rotation and starts at zero again."""
        values = self.values + step
        numbers = list(values)
        log_focal, px, py, *turn = (
            self.number(self.photo, part, numbers) for part in (*CAMERA_PARTS[:3], *POSE_PARTS[:3])
        )
        rotation = self._rotation(log_focal, px, py, turn)
        values[[self.index(self.photo, part) for part in POSE_PARTS[:3]]] = 0.0
        return replace(self, values=values, rotation=rotation)

    def relaid(self, names: tuple[Name, ...], fixed: Mapping[Name, float]) -> Unknowns:
        """The same numbers laid out anew; one that was given and no longer is starts from that."""
        values, prior = np.zeros(len(names)), np.zeros(len(names))
        for i, name in enumerate(names):
            if name in self.fixed:
                values[i] = prior[i] = self.fixed[name]
            else:
                values[i], prior[i] = self.values[self.index(*name)], self.prior[self.index(*name)]
        return replace(self, names=names, values=values, prior=prior, fixed=fixed)

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

    def camera(self, numbers: Sequence[Number]) -> tuple[Camera, Pose]:
        """Build camera and pose from `numbers`."""

        def part(what: str) -> Number:
            return self.number(self.photo, what, numbers)

        log_focal, px, py, bend_1, bend_2 = map(part, CAMERA_PARTS)
        turn_x, turn_y, turn_z, log_reach = map(part, POSE_PARTS)
        focal = np.exp(log_focal)
        turned = self._rotation_to_first_order if isinstance(log_focal, Jet) else self._rotation
        rotation = turned(log_focal, px, py, [turn_x, turn_y, turn_z])
        anchor = ((self.anchor_px[0] - px) / focal, (self.anchor_px[1] - py) / focal, 1.0)
        inwards = -1.0 * building_from_cam_direction(rotation, anchor)[2]
        distance = np.exp(log_reach) * focal * inwards
        zoom2 = (focal * focal) * (1.0 / self.bend_focal_px**2)
        camera = Camera(focal, (px, py), bend_1 * zoom2, bend_2 * (zoom2 * zoom2))
        return camera, Pose(rotation, (0.0, 0.0, distance))

    def _rotation(self, log_focal: Number, px: Number, py: Number, turn: list[Number]) -> Array:
        """Rotation for other numbers than the present ones, in plain numbers.

        Before it is turned, level and plumb lines keep the vanishing points that they have
        now: what perspective shows is where they run together in the photo, not the angles,
        so the search has a straight way to go when the focal length changes.
        """
        here = [
            float(self.number(self.photo, what, list(self.values))) for what in CAMERA_PARTS[:3]
        ]
        zoom = np.exp(here[0] - log_focal)
        shift_x, shift_y = (here[1] - px) / np.exp(log_focal), (here[2] - py) / np.exp(log_focal)
        x_cam, y_cam = (
            np.stack([d[0] * zoom + d[2] * shift_x, d[1] * zoom + d[2] * shift_y, d[2] + 0 * zoom])
            for d in self.rotation.T[:2]
        )
        return rotation_after_turn(squared_rotation(x_cam, y_cam), np.stack(turn))

    def _rotation_to_first_order(self, log_focal: Jet, px: Jet, py: Jet, turn: list[Jet]) -> Jet:
        """Rotation at the present numbers, with the derivatives of `_rotation`."""
        x, y, z = self.rotation.T
        push_x, push_y = (_vanishing_push(d, float(np.exp(log_focal.value))) for d in (x, y))
        # a turn that follows the pushes: fully out of the face, half each within it
        within = 0.5 * (y @ push_x - x @ push_y)
        follow = np.outer(x, z @ push_y) - np.outer(y, z @ push_x) + np.outer(z, within)
        lens = np.stack([log_focal.gradient, px.gradient, py.gradient])
        turning = np.stack([part.gradient for part in turn]) + follow @ lens
        return Jet(self.rotation, np.einsum("kij,kn->ijn", TURNS @ self.rotation, turning))

    def surface(self, face: str, numbers: Sequence[Number]) -> Surface:
        """Build the surface of a face from `numbers`, also as `heights_of` or `radius_of` it."""
        if face.endswith(HEIGHTS):
            slope = self.surface(face.removesuffix(HEIGHTS), numbers)
            return Heights(slope) if isinstance(slope, Plane) else slope
        if face.endswith(RADIUS):
            tower = self.surface(face.removesuffix(RADIUS), numbers)
            return Radius(tower) if isinstance(tower, Round) else tower
        shape = self.shapes[face]
        if shape.kind == "main":
            return make_wall()
        if shape.kind == "parallel":
            wall = self.surface(shape.parent, numbers) if shape.parent else make_wall()
            if not isinstance(wall, Plane):
                raise TypeError(f"face {shape.parent} is not a wall")
            back = self.number(face, "set_back", numbers)
            return Plane(wall.building_mm_from_chart(0.0, 0.0, back), wall.along, wall.up)
        if shape.is_round:
            axis_z = -1.0 * self.number(face, "axis_set_back", numbers)
            axis_x = self.number(face, "axis_x", numbers)
            return Round(axis_x, axis_z, self.number(face, "radius", numbers))
        if shape.kind == "roof":
            return self._roof(face, shape, numbers)
        return self._hinged(face, shape, numbers)

    def _roof(self, face: str, shape: FaceShape, numbers: Sequence[Number]) -> Plane:
        wall = self.surface(shape.parent or "", numbers)
        if not isinstance(wall, Plane):
            raise TypeError(f"face {shape.parent} is not a wall")
        eaves_v, pitch = (self.number(face, what, numbers) for what in shape.parts)
        return make_roof(wall, eaves_v, shape.set_back_mm, pitch)

    def _hinged(self, face: str, shape: FaceShape, numbers: Sequence[Number]) -> Plane:
        parent = self.surface(shape.parent or "", numbers)
        hinge_u = self.number(face, "hinge_u", numbers)
        x, _, z = parent.building_mm_from_chart(hinge_u, 0.0)
        return make_wall(x, z, self.number(face, "heading", numbers))
