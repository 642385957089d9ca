"""The camera: focal length, principal point, two radial terms; pixel to ray and back.

Knows nothing of walls. What is believed about a camera before anything is
picked (the priors) stands here too, with the reason for each figure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rectify.frames import (
    Pose,
    Vector,
    building_from_cam_direction,
    cam_from_building_direction,
)
from shared.jets import Array, Jet, Number, value_of

#: Diagonal of the 36 x 24 mm frame that "35 mm equivalent" refers to.
DIAGONAL_35MM = math.hypot(36.0, 24.0)

#: With no EXIF: the middle of what phones and compact cameras take in (judgement).
DEFAULT_FOCAL_35MM = 28.0


@dataclass(frozen=True, slots=True)
class Camera:
    """One camera, in plain numbers or jets.

    Parameters
    ----------
    focal_px : number
        Focal length in pixels of the upright photo; pixels are square.
    principal_px : tuple of two numbers
        Where the optical axis meets the photo.
    k1, k2 : number
        Radial terms, without unit: ``(a, b) (1 + k1 s + k2 s**2)``, ``s = a**2 + b**2``.
    """

    focal_px: Number
    principal_px: tuple[Number, Number]
    k1: Number = 0.0
    k2: Number = 0.0


#: A cropped photo keeps some two thirds of each side of the larger one, from 40 % to all of it
#: (judgement). The whole was larger by this much, in logarithms, with this ±; and as what is left
#: may lie anywhere in it, the middles of both lie apart by this part of each side.
LOG_CROP, U_LOG_CROP, U_CROP_MIDDLE = 0.4, 0.25, 0.19


@dataclass(frozen=True, slots=True)
class CameraPrior:
    """What is believed of a camera before anything is picked.

    All ``u_`` are one standard uncertainty; ``u_log_focal`` is relative. With a ``u_k2`` of 0
    the second radial term is zero and not solved for. ``u_k1`` and ``u_k2`` are told at the
    focal length of the prior: what is known of a lens is how far it bends the picture. Beyond
    ``most_k1`` it is not one whose bend was taken out in the camera.
    """

    focal_px: float
    u_log_focal: float
    principal_px: tuple[float, float]
    u_principal_px: tuple[float, float]
    u_k1: float
    focal_known: bool
    u_k2: float = 0.0
    most_k1: float = math.inf


def focal_px_from_focal_35mm(focal_35mm: float, width_px: float, height_px: float) -> float:
    """Focal length in pixels from EXIF's 35 mm equivalent, diagonal convention.

    Parameters
    ----------
    focal_35mm : float
        Millimetres, EXIF tag 0xA405.
    width_px, height_px : float
        Size of the uncropped photo.

    Returns
    -------
    float
        Pixels.

    Notes
    -----
    Equal diagonal fields of view, the meaning CIPA DCG-001 gives the tag; the other
    habit (equal widths) differs by 4 % on a 4:3 photo and falls within the prior
    together with the tag's rounding to whole millimetres.

    Examples
    --------
    >>> round(focal_px_from_focal_35mm(26, 4032, 3024), 1)
    3028.7
    """
    return focal_35mm * math.hypot(width_px, height_px) / DIAGONAL_35MM


def make_camera_prior(
    width_px: int, height_px: int, focal_35mm: float | None, *, cropped: bool = False
) -> CameraPrior:
    """Say what is known of a camera from the size and EXIF of its photo.

    Focal length from EXIF: 3 % (the tag is a whole number and in-camera crops are
    common); none: 35 % about 28 mm. Principal point: 1.5 % of the diagonal
    (stabilised sensors shift it). Of a cropped picture see `LOG_CROP`. k1: 0.02, for phones
    leave a sixth of that after their own correction and plain cameras three times as much
    (judgement), and 0.05 where nothing says which it was; a lens that bends more shows
    itself and is then set free.
    """
    u_shifted_px = 0.015 * math.hypot(width_px, height_px)
    u_principal_px = (u_shifted_px, u_shifted_px)
    known = focal_35mm is not None and not cropped
    u_log_focal = 0.03 if focal_35mm is not None else 0.35
    focal_px = focal_px_from_focal_35mm(focal_35mm or DEFAULT_FOCAL_35MM, width_px, height_px)
    if cropped:
        focal_px *= math.exp(LOG_CROP)
        u_log_focal = math.hypot(u_log_focal, U_LOG_CROP)
        u_principal_px = (U_CROP_MIDDLE * width_px, U_CROP_MIDDLE * height_px)
    return CameraPrior(
        focal_px=focal_px,
        u_log_focal=u_log_focal,
        principal_px=(width_px / 2.0, height_px / 2.0),
        u_principal_px=u_principal_px,
        u_k1=0.02 if focal_35mm is not None else 0.05,
        focal_known=known,
        most_k1=0.025 if focal_35mm is not None else 0.125,
    )


def u_k2_beside(k1: float) -> float:
    """What is believed of k2 of a lens with about this k1: the less it bends the smaller it is.

    Two fifths of k1, and 0.01 at the least (judgement).
    """
    return math.hypot(0.01, 0.4 * k1)


def undistorted_ab(a: Number, b: Number, k1: Number, k2: Number) -> tuple[Number, Number]:
    """Take the radial terms off normalised coordinates.

    Parameters
    ----------
    a, b : number
        Distorted coordinates, divided by the focal length.
    k1, k2 : number

    Returns
    -------
    tuple of two numbers
        Undistorted coordinates; NaN where the lens model folds back on itself.

    Notes
    -----
    With ``(a, b) = (a_d, b_d) g`` the factor solves
    ``g (1 + k1 g**2 s_d + k2 g**4 s_d**2) = 1``. Newton in plain values, then one
    more step in whatever arithmetic came in: since the values have converged, that
    step leaves them and gives the exact derivative.
    """
    if not isinstance(k1, Jet) and not np.any(k1) and not isinstance(k2, Jet) and not np.any(k2):
        return a, b
    s_d = a * a + b * b
    with np.errstate(all="ignore"):
        g, slope = _shrinking_factor(value_of(s_d), value_of(k1), value_of(k2))
    g2s_any = s_d * (g * g)
    missed = g * (1.0 + k1 * g2s_any + k2 * g2s_any * g2s_any) - 1.0
    factor = g - missed / slope
    return a * factor, b * factor


def _shrinking_factor(s: Array, k1: Array, k2: Array) -> tuple[Array, Array]:
    """Factor g of `undistorted_ab` and the slope of its equation; NaN where there is none."""
    g: Array = np.array(1.0)
    for _ in range(15):
        g2s = g * g * s
        slope = 1.0 + 3.0 * k1 * g2s + 5.0 * k2 * g2s * g2s
        step = (g * (1.0 + k1 * g2s + k2 * g2s * g2s) - 1.0) / np.where(slope > 0.02, slope, 0.02)
        g = g - step
        if np.all(np.abs(step) < 1e-10):
            break
    g2s = g * g * s
    slope = 1.0 + 3.0 * k1 * g2s + 5.0 * k2 * g2s * g2s
    missed = np.abs(g * (1.0 + k1 * g2s + k2 * g2s * g2s) - 1.0)
    return np.where((g2s < _fold(k1, k2)) & (g > 0.0) & (missed < 1e-9), g, np.nan), slope


def _fold(k1: Array, k2: Array) -> Array:
    """Where a lens first folds back, as ``s``: ``1 + 3 k1 s + 5 k2 s**2 = 0``; inf if nowhere.

    Past it a lens with k2 above zero grows once more, and would show a second time what it
    showed before.
    """
    with np.errstate(all="ignore"):
        steepness = np.sqrt(9.0 * k1 * k1 - 20.0 * k2) - 3.0 * k1
        return np.where(steepness > 0.0, 2.0 / steepness, np.inf)


def ray_from_photo_px(camera: Camera, pose: Pose, x_px: Number, y_px: Number) -> Vector:
    """Direction, in the building frame, in which the camera sees a pixel.

    Parameters
    ----------
    camera, pose : Camera, Pose
    x_px, y_px : number, shape S
        Photo coordinates in pixels.

    Returns
    -------
    tuple of three numbers, shape S
        Not of unit length: the camera-frame depth of the direction is 1. NaN where
        the lens model has no answer.
    """
    a = (x_px - camera.principal_px[0]) / camera.focal_px
    b = (y_px - camera.principal_px[1]) / camera.focal_px
    a, b = undistorted_ab(a, b, camera.k1, camera.k2)
    return building_from_cam_direction(pose.rotation, (a, b, 1.0))


def photo_px_from_building_mm(
    camera: Camera, pose: Pose, point_mm: Vector
) -> tuple[Number, Number]:
    """Project building points into the photo.

    Parameters
    ----------
    camera, pose : Camera, Pose
    point_mm : tuple of three numbers, shape S
        Building coordinates in millimetres.

    Returns
    -------
    tuple of two numbers, shape S
        Photo pixels; NaN for points behind the camera or past the fold of the lens model.

    References
    ----------
    D. C. Brown, "Close-range camera calibration", Photogrammetric Engineering 37(8),
    1971; radial terms only.
    """
    cx, cy, cz = pose.centre_mm
    offset = (point_mm[0] - cx, point_mm[1] - cy, point_mm[2] - cz)
    x_cam, y_cam, z_cam = cam_from_building_direction(pose.rotation, offset)
    z_cam = z_cam * np.where(value_of(z_cam) > 0.0, 1.0, np.nan)
    a, b = x_cam / z_cam, y_cam / z_cam
    s = a * a + b * b
    before_fold = value_of(s) < _fold(value_of(camera.k1), value_of(camera.k2))
    factor = (1.0 + camera.k1 * s + camera.k2 * s * s) * np.where(before_fold, 1.0, np.nan)
    return (
        a * factor * camera.focal_px + camera.principal_px[0],
        b * factor * camera.focal_px + camera.principal_px[1],
    )
