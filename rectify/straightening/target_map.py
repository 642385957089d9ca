"""Which photo position belongs at each pixel of a straightened picture, exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.typing import ArrayLike

from rectify.frames import Vector
from rectify.projection import View, photo_px_from_chart_mm
from rectify.surfaces import Plane
from rectify.window import Window
from shared.jets import Array, value_of


@dataclass(frozen=True, slots=True)
class TargetMap:
    """From pixels of the picture to the photo, exactly.

    Parameters
    ----------
    view : View
    window : Window
    set_back_mm : float
        Depth behind the face at which the picture is taken.
    """

    view: View
    window: Window
    set_back_mm: float = 0.0

    def photo_px(self, x_px: ArrayLike, y_px: ArrayLike) -> Array:
        """Photo position of each crossing of columns and rows, shape (2, rows, columns).

        NaN behind the camera and past the fold of the lens model.
        """
        along, up = self.window.mm_per_px
        u, v = np.meshgrid(
            self.window.u0_mm + np.asarray(x_px, dtype=float) * along,
            self.window.v1_mm - np.asarray(y_px, dtype=float) * up,
        )
        points = photo_px_from_chart_mm(np.stack([u, v], -1), self.view, self.set_back_mm)
        return np.ascontiguousarray(np.moveaxis(points, -1, 0))

    def seen_columns(self) -> npt.NDArray[np.bool_]:
        """Columns in which the face turns its outside towards the camera, shape (width,).

        Both kinds of face bend along u at most, so one row decides for all. The chord
        between two chart points either side of a third is parallel to the face there, on
        a plane and on a circle.
        """
        along_mm, _ = self.window.mm_per_px
        u = self.window.u0_mm + (np.arange(self.window.width_px) + 0.5) * along_mm
        v = 0.5 * (self.window.v0_mm + self.window.v1_mm)
        across = self._building_mm(u + 1.0, v) - self._building_mm(u - 1.0, v)
        up = self._building_mm(u, v + 1.0) - self._building_mm(u, v - 1.0)
        to_camera = _floats(self.view.pose.centre_mm)[:, None] - self._building_mm(u, v)
        facing: Array = np.sum(np.cross(across, up, axis=0) * to_camera, axis=0)
        return facing > 0.0

    def _building_mm(self, u_mm: ArrayLike, v_mm: float) -> Array:
        """Building coordinates of chart points of one row, shape (3, n)."""
        u = np.asarray(u_mm, dtype=float)
        point = self.view.surface.building_mm_from_chart(u, v_mm, self.set_back_mm)
        return np.stack([np.broadcast_to(value_of(part), u.shape) for part in point])

    def homography(self) -> Array | None:
        """``photo_px_from_target_px``, corner to corner; None where none exists.

        Returns
        -------
        ndarray, shape (3, 3), or None
            Its third row gives the depth in front of the camera, up to a positive
            factor. None for a round face or a lens with radial terms.
        """
        camera, surface = self.view.camera, self.view.surface
        if not isinstance(surface, Plane) or np.any(camera.k1) or np.any(camera.k2):
            return None
        column = [_floats(part) for part in (surface.along, surface.up)]
        start = _floats(surface.origin_mm) - self.set_back_mm * _floats(surface.outward)
        column.append(start - _floats(self.view.pose.centre_mm))
        rotation = np.array([_floats(row) for row in self.view.pose.rotation])
        focal, (px, py) = float(camera.focal_px), camera.principal_px
        photo_from_cam = np.array([[focal, 0, float(px)], [0, focal, float(py)], [0, 0, 1]])
        along, up = self.window.mm_per_px
        chart_from_target = np.array(
            [[along, 0, self.window.u0_mm], [0, -up, self.window.v1_mm], [0, 0, 1]]
        )
        product: Array = photo_from_cam @ rotation @ np.stack(column, axis=-1) @ chart_from_target
        return product


def _floats(vector: Vector) -> Array:
    return np.array([float(value_of(part)) for part in vector])
