"""Photos drawn ray by ray from a `SceneCamera`: plain numpy, no code shared with the program.

Each face answers two questions in its own words: where a ray first meets it, and where in
the building a chart point is and which way it faces there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.support.scenes import SceneCamera


@dataclass
class FlatFace:
    """A plane through `origin`, with u along and v up it."""

    origin: tuple[float, float, float] = (0.0, 0.0, 0.0)
    heading_deg: float = 0.0
    lean_deg: float = 0.0  # leaning back from plumb, as a roof slope does
    set_back: float = 0.0

    def __post_init__(self) -> None:
        h, e = np.radians([self.heading_deg, self.lean_deg])
        self.along = np.array([np.cos(h), 0.0, np.sin(h)])
        level_out = np.array([-np.sin(h), 0.0, np.cos(h)])
        self.up = np.array([0.0, np.cos(e), 0.0]) - np.sin(e) * level_out
        self.outward = np.cross(self.along, self.up)

    def meet(self, eye: np.ndarray, rays: np.ndarray) -> np.ndarray:
        start = np.array(self.origin) - self.set_back * self.outward
        with np.errstate(divide="ignore", invalid="ignore"):
            t = (start - eye) @ self.outward / (rays @ self.outward)
        facing = (eye - start) @ self.outward > 0
        t = np.where((t > 0) & facing, t, np.nan)
        hit = eye + t[..., None] * rays - start
        return np.stack([hit @ self.along, hit @ self.up], axis=-1)

    def place(self, chart: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        start = np.array(self.origin) - self.set_back * self.outward
        point = start + chart[..., :1] * self.along + chart[..., 1:] * self.up
        return point, np.broadcast_to(self.outward, point.shape)


@dataclass
class RoundFace:
    """A plumb cylinder; u is the arc from the side that faces +z."""

    axis_x: float
    axis_z: float
    radius: float

    def meet(self, eye: np.ndarray, rays: np.ndarray) -> np.ndarray:
        plan = rays[..., [0, 2]]
        start = eye[[0, 2]] - np.array([self.axis_x, self.axis_z])
        length = np.linalg.norm(plan, axis=-1)
        unit = plan / length[..., None]
        nearest = -(unit @ start)  # distance along the ray to where it passes the axis
        miss2 = start @ start - nearest**2
        with np.errstate(invalid="ignore"):
            reach = nearest - np.sqrt(self.radius**2 - miss2)
        reach = np.where(reach > 0, reach, np.nan)
        hit = start + reach[..., None] * unit
        arc = self.radius * np.arctan2(hit[..., 0], hit[..., 1])
        return np.stack([arc, eye[1] + reach * rays[..., 1] / length], axis=-1)

    def place(self, chart: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        turn = chart[..., 0] / self.radius
        zero = np.zeros_like(turn)
        outward = np.stack([np.sin(turn), zero, np.cos(turn)], axis=-1)
        axis = np.stack([zero + self.axis_x, chart[..., 1], zero + self.axis_z], axis=-1)
        return axis + self.radius * outward, outward


def pixel_rays(camera: SceneCamera) -> np.ndarray:
    """Building directions of the middles of all pixels, shape (h, w, 3)."""
    x, y = np.meshgrid(np.arange(camera.width_px) + 0.5, np.arange(camera.height_px) + 0.5)
    middle = np.array([camera.width_px, camera.height_px]) / 2.0 + camera.principal_shift_px
    bent = (np.stack([x, y], axis=-1) - middle) / camera.focal_px
    straight = bent.copy()
    for _ in range(60 if camera.k1 or camera.k2 else 1):  # fixed point: a digit every few rounds
        s = np.sum(straight**2, axis=-1, keepdims=True)
        straight = bent / (1 + camera.k1 * s + camera.k2 * s**2)
    ahead = np.concatenate([straight, np.ones_like(straight[..., :1])], axis=-1)
    return ahead @ camera.rotation


def chart_seen(camera: SceneCamera, face: FlatFace | RoundFace) -> np.ndarray:
    """Chart position met by every pixel, NaN where none, shape (h, w, 2)."""
    return face.meet(np.array(camera.centre_mm), pixel_rays(camera))


def shows(
    camera: SceneCamera, face: FlatFace | RoundFace, chart: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Whether the photo shows chart points, and by how many pixels that is decided.

    Points past the fold of the lens count as not shown.
    """
    point, outward = face.place(chart)
    to_eye = np.array(camera.centre_mm) - point
    facing = np.sum(outward * to_eye, axis=-1)
    cam = -to_eye @ camera.rotation.T
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        px = camera.project(point)
        s = (cam[..., 0] ** 2 + cam[..., 1] ** 2) / cam[..., 2] ** 2
    rising = 1 + 3 * camera.k1 * s + 5 * camera.k2 * s**2
    size = np.array([camera.width_px, camera.height_px])
    inner = np.minimum(px, size - px).min(axis=-1)
    shown = (facing > 0) & (cam[..., 2] > 0) & (rising > 0) & (inner >= 0)
    return shown, np.abs(inner)
