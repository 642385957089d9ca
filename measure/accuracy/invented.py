"""Invented walls and cameras, drawn by chance.

Projects with plain numpy of its own, so that the solver's projection is checked too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from rectify.camera import LOG_CROP, U_LOG_CROP
from shared.jets import Array

WIDTH_PX, HEIGHT_PX = 4000, 3000
DIAGONAL_PX = math.hypot(WIDTH_PX, HEIGHT_PX)
DIAGONAL_35MM = math.hypot(36.0, 24.0)

#: A door leaf as the known size: height and its standard uncertainty, millimetres.
DOOR_MM, U_DOOR_MM = 1981.0, 6.0


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What kind of photo is drawn.

    Parameters
    ----------
    obliquity_deg : tuple of two float
        Bounds of the angle between the view and the wall's normal.
    focal_known : bool
        Whether the photo states its focal length.
    u_px : float
        Standard uncertainty of the picks.
    tilt_deg : tuple of two float
        Bounds of how far the camera looks up.
    focal_35mm : tuple of two float
        Bounds of the stated focal length.
    k1 : float or None
        First radial term of the lens, either sign; None for what is believed of phones and
        cameras.
    cropped : bool
        Whether the picture was cut from a larger one, by as much as is believed of such.
    roll_deg : float
        Standard deviation of how far the camera is rolled.
    middle_off : float or None
        How far the lens's middle lies off the picture's, in parts of the diagonal, in any
        direction; None for what is believed of phones and cameras.
    frame_openings : int or None
        Of how many neighbours in a row the frame goes round; None for the whole wall.
    """

    obliquity_deg: tuple[float, float]
    focal_known: bool = True
    u_px: float = 1.0
    tilt_deg: tuple[float, float] = (0.0, 25.0)
    focal_35mm: tuple[float, float] = (13.0, 85.0)
    k1: float | None = None
    cropped: bool = False
    roll_deg: float = 1.0
    middle_off: float | None = None
    frame_openings: int | None = None


@dataclass(frozen=True, slots=True)
class InventedCamera:
    """A camera in the frame of the wall: x along, y up, z out."""

    focal_px: float
    principal_px: Array
    k1: float
    rotation: Array
    centre_mm: Array

    def photo_px(self, chart_mm: Array, set_back_mm: float = 0.0) -> Array:
        """Pixels of points on the wall, or behind it; shape (..., 2)."""
        points = np.concatenate(
            [chart_mm, np.full((*chart_mm.shape[:-1], 1), -set_back_mm)], axis=-1
        )
        seen = (points - self.centre_mm) @ self.rotation.T
        ab = seen[..., :2] / seen[..., 2:]
        s = np.sum(ab**2, axis=-1, keepdims=True)
        shown: Array = self.principal_px + self.focal_px * ab * (1.0 + self.k1 * s)
        shown[seen[..., 2] <= 0] = np.nan
        return shown


@dataclass(frozen=True, slots=True)
class InventedCase:
    """One case: a survey as it would be picked, and the truth.

    Parameters
    ----------
    face : dict
        The face as a survey writes it, picks disturbed.
    focal_35mm : float or None
        As the photo states it.
    cropped : bool
        Whether the survey says that the photo was cut from a larger one.
    openings_mm : dict
        True ``(u0, v0, u1, v1)`` of each opening.
    camera : InventedCamera
    obliquity_deg : float
    door_px : float
        Height of the known size in the photo.
    frame_mm : tuple
        Bounds of the frame.
    """

    face: dict[str, Any]
    focal_35mm: float | None
    cropped: bool
    openings_mm: dict[str, tuple[float, float, float, float]]
    camera: InventedCamera
    obliquity_deg: float
    door_px: float
    frame_mm: tuple[float, float, float, float]


def draw_case(circumstances: Circumstances, rng: np.random.Generator) -> InventedCase:
    """Draw a building and a camera that sees the whole of it.

    Parameters
    ----------
    circumstances : Circumstances
    rng : numpy.random.Generator

    Returns
    -------
    InventedCase
    """
    while True:
        case = _try_case(circumstances, rng)
        if case is not None:
            return case


def _try_case(circumstances: Circumstances, rng: np.random.Generator) -> InventedCase | None:
    columns, rows = int(rng.integers(3, 7)), int(rng.integers(2, 5))
    bay, storey = rng.uniform(1900, 3200), rng.uniform(2700, 3600)
    openings: dict[str, tuple[float, float, float, float]] = {}
    for row in range(rows):
        height = rng.uniform(1100, 2000)
        for column in range(columns):
            width = rng.uniform(800, 1300)
            u0 = (column - columns / 2.0) * bay + (bay - width) / 2.0
            v0 = row * storey + 900.0
            openings[f"w{row}{column}"] = (u0, v0, u0 + width, v0 + height)
    camera, obliquity, stated = _draw_camera(circumstances, columns * bay, rows * storey, rng)
    first, last = "w00", f"w{rows - 1}{columns - 1}"
    if circumstances.frame_openings is not None:
        row, column = (
            int(rng.integers(n)) for n in (rows, columns - circumstances.frame_openings + 1)
        )
        first, last = f"w{row}{column}", f"w{row}{column + circumstances.frame_openings - 1}"
    frame = (*openings[first][:2], *openings[last][2:])
    corner = columns * bay / 2.0
    wall = _corners((-corner, 0.0, corner, rows * storey))
    shown = camera.photo_px(wall)
    margin = 20.0
    inside = np.isfinite(shown).all() and (shown > margin).all()
    if not inside or (shown > np.array([WIDTH_PX, HEIGHT_PX]) - margin).any():
        return None

    def picked(points_mm: Array, out_of_true_mm: float = 0.0) -> list[list[float]]:
        real = points_mm + out_of_true_mm * rng.standard_normal(points_mm.shape)
        exact = camera.photo_px(real)
        noise = circumstances.u_px * rng.standard_normal(exact.shape)
        return [[float(x), float(y), circumstances.u_px] for x, y in exact + noise]

    door_u = rng.uniform(-corner * 0.8, corner * 0.8)
    door = np.array([[door_u, 0.0], [door_u, DOOR_MM + U_DOOR_MM * rng.standard_normal()]])
    face = {
        "id": "front",
        "photo": "street",
        "frame": picked(_corners(frame)),
        "references": [
            {"kind": "length", "at": picked(door), "length_mm": DOOR_MM, "u_mm": U_DOOR_MM}
        ],
        "measures": [
            {"id": name, "kind": "opening", "at": picked(_corners(box), _crooked_mm(box))}
            for name, box in openings.items()
        ],
    }
    door_px = float(np.linalg.norm(np.diff(camera.photo_px(door), axis=0)))
    return InventedCase(
        face, stated, circumstances.cropped, openings, camera, obliquity, door_px, frame
    )


def _draw_camera(
    circumstances: Circumstances, width_mm: float, height_mm: float, rng: np.random.Generator
) -> tuple[InventedCamera, float, float | None]:
    """Draw a camera whose true focal length, centre and lens differ from the stated as believed.

    With the focal length unknown, the truth lies 35 % about the 28 mm that is taken then. A
    lens bends the picture by as much whatever its focal length. Where a picture was cut from a
    larger one, the cut lies anywhere in it, and its middle looks at the wall.
    """
    if circumstances.focal_known:
        stated_35mm = float(rng.uniform(*circumstances.focal_35mm))
        longer = math.exp(0.03 * rng.standard_normal())
    else:
        stated_35mm = 0.0
        longer = math.exp(0.35 * rng.standard_normal())
    focal_px = (stated_35mm or 28.0) * longer * DIAGONAL_PX / DIAGONAL_35MM
    middle = np.array([WIDTH_PX, HEIGHT_PX]) / 2.0
    if circumstances.middle_off is None:
        off = 0.015 * rng.standard_normal(2)
    else:
        turn = rng.uniform(0.0, 2.0 * math.pi)
        off = circumstances.middle_off * np.array([math.cos(turn), math.sin(turn)])
    principal_px = middle + DIAGONAL_PX * off
    if circumstances.cropped:
        larger = math.exp(max(0.0, LOG_CROP + U_LOG_CROP * rng.standard_normal()))
        focal_px *= larger
        cut_px = (larger - 1.0) * np.array([WIDTH_PX, HEIGHT_PX])
        principal_px = middle + larger * DIAGONAL_PX * off + rng.uniform(-0.5, 0.5, 2) * cut_px
    if circumstances.k1 is None:
        k1 = (0.01 if circumstances.focal_known else 0.05) * float(rng.standard_normal())
        k1 *= longer**2
    else:
        k1 = circumstances.k1 * (1 if rng.random() < 0.5 else -1)
    obliquity = float(rng.uniform(*circumstances.obliquity_deg))
    yaw = math.radians(obliquity * (1 if rng.random() < 0.5 else -1))
    pitch = math.radians(float(rng.uniform(*circumstances.tilt_deg)))
    roll = math.radians(float(rng.normal(0.0, circumstances.roll_deg)))
    aim = np.array([0.0, height_mm / 2.0, 0.0])
    forward = np.array(
        [math.sin(yaw) * math.cos(pitch), math.sin(pitch), -math.cos(yaw) * math.cos(pitch)]
    )
    right = np.cross(forward, [0.0, 1.0, 0.0])
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    tip = np.array([[math.cos(roll), math.sin(roll)], [-math.sin(roll), math.cos(roll)]])
    across = tip @ np.stack([right, down])
    rotation = np.vstack([across, forward])
    if circumstances.cropped:
        # cut out about the wall: aimed by the lens's middle, far cuts would show no whole wall,
        # be drawn again, and leave cuts nearer to the middle than is believed of them
        rotation = _turned_onto(np.append((middle - principal_px) / focal_px, 1.0)) @ rotation
    reach = focal_px * max(width_mm / WIDTH_PX, height_mm / HEIGHT_PX)
    distance = reach * float(rng.uniform(1.15, 2.2))
    return (
        InventedCamera(focal_px, principal_px, k1, rotation, aim - distance * forward),
        obliquity,
        stated_35mm or None,
    )


def _turned_onto(ray: Array) -> Array:
    """Shortest turn that takes straight ahead, (0, 0, 1), onto a ray, shape (3, 3)."""
    x, y, z = ray / np.linalg.norm(ray)
    return np.array(
        [
            [1.0 - x * x / (1.0 + z), -x * y / (1.0 + z), x],
            [-x * y / (1.0 + z), 1.0 - y * y / (1.0 + z), y],
            [-x, -y, z],
        ]
    )


def _crooked_mm(box: tuple[float, float, float, float]) -> float:
    """How far corners of a real opening lie from its rectangle: a millimetre in a metre."""
    return 0.001 * math.hypot(box[2] - box[0], box[3] - box[1])


def _corners(box: tuple[float, float, float, float]) -> Array:
    u0, v0, u1, v1 = box
    return np.array([[u0, v1], [u1, v1], [u1, v0], [u0, v0]])
