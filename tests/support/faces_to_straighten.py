"""Invented faces, cameras and photos for the tests of straightening."""

from __future__ import annotations

import cv2
import numpy as np

from rectify.camera import Camera
from rectify.frames import Pose
from rectify.projection import View
from rectify.surfaces import Plane, Round, make_wall
from tests.support.ray_caster import FlatFace, RoundFace
from tests.support.scenes import SceneCamera

WALL = FlatFace()
WING = FlatFace(origin=(1500.0, 0.0, 0.0), heading_deg=-35.0)
ROOF = FlatFace(origin=(0.0, 2500.0, 0.0), lean_deg=50.0)
TOWER = RoundFace(axis_x=500.0, axis_z=-2000.0, radius=2200.0)
LENS = {"k1": -0.08, "k2": 0.015}
OBLIQUE = {"yaw_deg": -55.0, "centre_mm": (3000.0, 1600.0, 2500.0)}
BARREL = {"k1": -0.22, "k2": 0.0}
ALONGSIDE = {"yaw_deg": 75.0, "centre_mm": (-3000.0, 1600.0, 1500.0), "roll_deg": 9.0}


def camera(**changes):
    base = {
        "focal_px": 700.0,
        "width_px": 900,
        "height_px": 700,
        "yaw_deg": 6.0,
        "pitch_deg": 5.0,
        "roll_deg": 1.5,
        "centre_mm": (0.0, 1600.0, 7000.0),
        "principal_shift_px": (4.3, -6.1),
    }
    return SceneCamera(**{**base, **changes})


def view_of(scene, face):
    rows = tuple(tuple(float(part) for part in row) for row in scene.rotation)
    middle = (
        scene.width_px / 2 + scene.principal_shift_px[0],
        scene.height_px / 2 + scene.principal_shift_px[1],
    )
    if isinstance(face, RoundFace):
        surface = Round(face.axis_x, face.axis_z, face.radius)
    elif face.lean_deg:
        surface = Plane(face.origin, tuple(face.along), tuple(face.up))
    else:
        surface = make_wall(face.origin[0], face.origin[2], np.radians(face.heading_deg))
    return View(
        Camera(scene.focal_px, middle, scene.k1, scene.k2), Pose(rows, scene.centre_mm), surface
    )


def wave_photo(chart_mm, period_mm, axis):
    """Three channels of a wave along one chart axis, a third of a turn apart."""
    turn = 2 * np.pi * np.nan_to_num(chart_mm[..., axis]) / period_mm
    thirds = 2 * np.pi * np.arange(3) / 3
    return np.rint(127.5 + 120 * np.cos(turn[..., None] - thirds)).astype(np.uint8)


def wave_miss_mm(rgb, expected_mm, period_mm):
    """Chart distance between where the wave stands in a picture and where it should."""
    thirds = 2 * np.pi * np.arange(3) / 3
    turn = np.angle(rgb.astype(float) @ np.exp(1j * thirds))
    miss = turn - 2 * np.pi * expected_mm / period_mm
    return (np.mod(miss + np.pi, 2 * np.pi) - np.pi) * period_mm / (2 * np.pi)


def target_chart(window):
    x, y = np.meshgrid(np.arange(window.width_px) + 0.5, np.arange(window.height_px) + 0.5)
    return window.chart_mm_from_target_px(np.stack([x, y], axis=-1))


def square_on(width_px, height_px, distance_mm=1000.0, focal_px=1000.0):
    """A camera square on, one photo pixel to the millimetre."""
    pose = Pose(((1, 0, 0), (0, -1, 0), (0, 0, -1)), (0.0, 0.0, distance_mm))
    return View(Camera(focal_px, (width_px / 2, height_px / 2)), pose, make_wall())


def noise_photo(width_px, height_px, seed=3):
    rng = np.random.default_rng(seed)
    rough = rng.integers(0, 256, (height_px, width_px, 3), dtype=np.uint8)
    return cv2.GaussianBlur(rough, (0, 0), 0.8)
