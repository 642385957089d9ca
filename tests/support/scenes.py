"""Invented cameras and buildings for tests: plain numpy, no code shared with the program."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np


def rotation_from_angles(yaw_deg: float, pitch_deg: float, roll_deg: float) -> np.ndarray:
    """cam_from_building: yaw turns right, pitch looks up, roll turns the camera clockwise."""
    yaw, pitch, roll = np.radians([yaw_deg, pitch_deg, roll_deg])
    level = np.diag([1.0, -1.0, -1.0])
    turn = np.array([[np.cos(yaw), 0, -np.sin(yaw)], [0, 1, 0], [np.sin(yaw), 0, np.cos(yaw)]])
    nod = np.array(
        [[1, 0, 0], [0, np.cos(pitch), np.sin(pitch)], [0, -np.sin(pitch), np.cos(pitch)]]
    )
    tip = np.array([[np.cos(roll), np.sin(roll), 0], [-np.sin(roll), np.cos(roll), 0], [0, 0, 1]])
    return tip @ nod @ turn @ level


@dataclass
class SceneCamera:
    """A camera in building coordinates (mm, z towards it)."""

    focal_px: float = 3000.0
    width_px: int = 4000
    height_px: int = 3000
    yaw_deg: float = 0.0
    pitch_deg: float = 0.0
    roll_deg: float = 0.0
    centre_mm: tuple[float, float, float] = (0.0, 1600.0, 12000.0)
    principal_shift_px: tuple[float, float] = (0.0, 0.0)
    k1: float = 0.0
    k2: float = 0.0
    rotation: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        self.rotation = rotation_from_angles(self.yaw_deg, self.pitch_deg, self.roll_deg)

    def project(self, points_mm: np.ndarray) -> np.ndarray:
        """Photo pixels of building points, shape (..., 3) to (..., 2)."""
        x = (np.asarray(points_mm, dtype=float) - self.centre_mm) @ self.rotation.T
        ab = x[..., :2] / x[..., 2:]
        s = np.sum(ab**2, axis=-1, keepdims=True)
        middle = np.array([self.width_px, self.height_px]) / 2.0 + self.principal_shift_px
        return middle + self.focal_px * ab * (1 + self.k1 * s + self.k2 * s**2)

    def project_wall(self, points_mm: np.ndarray, set_back_mm: float = 0.0) -> np.ndarray:
        """Photo pixels of chart points on the main wall."""
        p = np.asarray(points_mm, dtype=float)
        return self.project(np.concatenate([p, np.full((*p.shape[:-1], 1), -set_back_mm)], -1))


def rectangle(u0: float, v0: float, u1: float, v1: float) -> np.ndarray:
    """Corners TL, TR, BR, BL."""
    return np.array([[u0, v1], [u1, v1], [u1, v0], [u0, v0]], dtype=float)


def picks(points_px: np.ndarray, u_px: float | None = None) -> list[list[float]]:
    """Picks as a survey writes them."""
    tail = [] if u_px is None else [u_px]
    return [[float(x), float(y), *tail] for x, y in np.reshape(points_px, (-1, 2))]
