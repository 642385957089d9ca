"""Between photo pixels and the chart of a face, through the camera.

Arrays in, arrays out; derivatives come from feeding the same formulas with jets.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from rectify.camera import Camera, photo_px_from_building_mm, ray_from_photo_px
from rectify.frames import Pose
from rectify.surfaces import Surface
from shared.jets import Array, value_of


@dataclass(frozen=True, slots=True)
class View:
    """One surface seen by one camera, all in plain numbers."""

    camera: Camera
    pose: Pose
    surface: Surface


def _last_axis_pairs(points: ArrayLike, name: str) -> Array:
    array = np.asarray(points, dtype=float)
    if array.ndim == 0 or array.shape[-1] != 2:
        raise ValueError(f"{name}: last axis must be 2, got shape {array.shape}")
    return array


def photo_px_from_chart_mm(points_mm: ArrayLike, view: View, set_back_mm: float = 0.0) -> Array:
    """Project chart points of a face into the photo.

    Parameters
    ----------
    points_mm : array_like, shape (..., 2)
        Chart coordinates ``(u, v)`` in millimetres.
    view : View
    set_back_mm : float
        Depth of the points behind the face.

    Returns
    -------
    ndarray, shape (..., 2)
        Photo pixels; NaN in the rows of points that the camera cannot see because they
        lie behind it or past the fold of its lens model. A point on the far side of a
        tower still projects: who is hidden by whom is not this function's question.

    Raises
    ------
    ValueError
        If the last axis of `points_mm` is not of length 2.

    Examples
    --------
    A camera 5 m in front of the wall, level, focal length 1000 px: one metre to the
    right of the axis is 1000 * 1000 / 5000 = 200 px to the right.

    >>> from rectify.surfaces import make_wall
    >>> pose = Pose(((1, 0, 0), (0, -1, 0), (0, 0, -1)), (0.0, 0.0, 5000.0))
    >>> view = View(Camera(1000.0, (2000.0, 1500.0)), pose, make_wall())
    >>> photo_px_from_chart_mm([[0, 0], [1000, 500]], view).tolist()
    [[2000.0, 1500.0], [2200.0, 1400.0]]
    """
    points = _last_axis_pairs(points_mm, "points_mm")
    at = view.surface.building_mm_from_chart(points[..., 0], points[..., 1], set_back_mm)
    with np.errstate(all="ignore"):
        x, y = photo_px_from_building_mm(view.camera, view.pose, at)
    return np.stack(np.broadcast_arrays(value_of(x), value_of(y)), axis=-1)


def chart_mm_from_photo_px(points_px: ArrayLike, view: View, set_back_mm: float = 0.0) -> Array:
    """Find where the rays of photo pixels meet a face.

    Parameters
    ----------
    points_px : array_like, shape (..., 2)
        Photo pixels.
    view : View
    set_back_mm : float
        Depth behind the face at which to meet the rays.

    Returns
    -------
    ndarray, shape (..., 2)
        Chart coordinates in millimetres; NaN in the rows of pixels that look past the
        face: at or above its horizon, beside the tower, or outside the lens model.

    Raises
    ------
    ValueError
        If the last axis of `points_px` is not of length 2.

    Examples
    --------
    The inverse of the example of `photo_px_from_chart_mm`.

    >>> from rectify.surfaces import make_wall
    >>> pose = Pose(((1, 0, 0), (0, -1, 0), (0, 0, -1)), (0.0, 0.0, 5000.0))
    >>> view = View(Camera(1000.0, (2000.0, 1500.0)), pose, make_wall())
    >>> chart_mm_from_photo_px([2200.0, 1400.0], view).tolist()
    [1000.0, 500.0]
    """
    points = _last_axis_pairs(points_px, "points_px")
    with np.errstate(all="ignore"):
        ray = ray_from_photo_px(view.camera, view.pose, points[..., 0], points[..., 1])
        u, v, _ = view.surface.chart_mm_from_ray(view.pose.centre_mm, ray, set_back_mm)
    return np.stack(np.broadcast_arrays(value_of(u), value_of(v)), axis=-1)
