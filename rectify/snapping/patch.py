"""The few pixels around a click: smoothed, with their noise, sampled anywhere.

Knows pixel arrays and the half-pixel shift; knows nothing of edges. Everything
it hands out is in photo pixels.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from scipy.ndimage import map_coordinates, spline_filter

from shared.errors import DegenerateError

Array = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

# Enough to make a sharp edge well sampled (a box-sampled step alone has a width of
# 0.29 px, at which the position read off it would depend on where the pixels lie).
SMOOTHING_PX = 0.8
# Rounding to whole levels, and what denoising in the camera hides.
LEAST_NOISE = 0.5
_LUMA = np.array([0.299, 0.587, 0.114])  # ITU-R BT.601, from memory


@dataclass(frozen=True, slots=True)
class Patch:
    """Brightness around a click.

    Attributes
    ----------
    levels : ndarray, shape (H, W)
        Unsmoothed brightness, 0 to 255.
    left_px, top_px : int
        Photo coordinates of the outer corner of the first pixel.
    noise : float
        Standard deviation of `levels` from pixel to pixel.
    """

    levels: Array
    left_px: int
    top_px: int
    noise: float
    _spline: Array

    @property
    def sampled_noise(self) -> float:
        """Standard deviation of a sample: smoothing has averaged the noise.

        White noise under a Gaussian of width s keeps 1 / (2 s sqrt(pi)) of its
        deviation, and two samples at distance r correlate by exp(-r**2 / (4 s**2)).
        """
        return float(self.noise / (2.0 * SMOOTHING_PX * np.sqrt(np.pi)))

    def sample(self, x_px: Array, y_px: Array) -> Array:
        """Interpolate the smoothed brightness; NaN outside the patch.

        Parameters
        ----------
        x_px, y_px : ndarray
            Photo pixels, of one shape.
        """
        columns = x_px - 0.5 - self.left_px
        rows = y_px - 0.5 - self.top_px
        height, width = self.levels.shape
        values: Array = map_coordinates(
            self._spline, [rows, columns], order=3, mode="mirror", prefilter=False
        )
        outside = (columns < 0) | (rows < 0) | (columns > width - 1) | (rows > height - 1)
        values[outside] = np.nan
        return values


def make_patch(photo: npt.NDArray[np.uint8], point_photo_px: Array, half_px: int) -> Patch:
    """Cut out and prepare the surroundings of a point.

    Parameters
    ----------
    photo : ndarray of uint8, shape (H, W) or (H, W, 3)
        Grey or RGB, upright.
    point_photo_px : ndarray, shape (2,)
        Photo pixels; (0.5, 0.5) is the centre of the first pixel.
    half_px : int
        Half the side of the square to cut out; less at the photo's border.

    Raises
    ------
    DegenerateError
        If the point is not on the photo, or too few pixels are left around it.
    """
    height, width = photo.shape[:2]
    x_px, y_px = float(point_photo_px[0]), float(point_photo_px[1])
    if not (0 <= x_px <= width and 0 <= y_px <= height):
        raise DegenerateError(
            f"The pick at ({x_px:.1f}, {y_px:.1f}) is outside the photo of {width} x {height} px: "
            "pick a point on the photo."
        )
    left_px, right_px = max(int(x_px) - half_px, 0), min(int(x_px) + half_px + 1, width)
    top_px, bottom_px = max(int(y_px) - half_px, 0), min(int(y_px) + half_px + 1, height)
    if min(right_px - left_px, bottom_px - top_px) < 9:
        raise DegenerateError(
            f"The photo of {width} x {height} px leaves too little around "
            f"({x_px:.1f}, {y_px:.1f}) to find an edge in: place the pick by hand."
        )
    levels = _brightness(photo[top_px:bottom_px, left_px:right_px])
    smoothed = cv2.GaussianBlur(levels, (0, 0), SMOOTHING_PX, borderType=cv2.BORDER_REFLECT_101)
    return Patch(
        levels=levels,
        left_px=left_px,
        top_px=top_px,
        noise=max(_estimate_noise(levels), LEAST_NOISE),
        _spline=spline_filter(smoothed, order=3, mode="mirror"),
    )


def _brightness(pixels: npt.NDArray[np.uint8]) -> Array:
    """Grey levels; where colour alone makes the edges, the mixture that shows them best.

    Brightness is preferred, since JPEG stores colour at half the resolution.
    """
    if pixels.ndim == 2:
        return pixels.astype(np.float64)
    colour = pixels.astype(np.float64)
    steps = np.concatenate(
        [np.diff(colour, axis=0).reshape(-1, 3), np.diff(colour, axis=1).reshape(-1, 3)]
    )
    spread = steps.T @ steps
    energies, directions = np.linalg.eigh(spread)
    best = directions[:, -1]
    luma_energy = _LUMA @ spread @ _LUMA / (_LUMA @ _LUMA)
    mixture = _LUMA if energies[-1] < 4.0 * luma_energy else best / np.abs(best).sum()
    grey: Array = colour @ mixture
    return grey


def _estimate_noise(levels: Array) -> float:
    """Median of a mask that straight edges and slow shading cancel in.

    References
    ----------
    J. Immerkaer, "Fast noise variance estimation", Computer Vision and Image
    Understanding 64(2), 1996; the median instead of the mean, so that corners
    and texture count less.
    """
    rows = levels[:-2] - 2.0 * levels[1:-1] + levels[2:]
    mask = rows[:, :-2] - 2.0 * rows[:, 1:-1] + rows[:, 2:]
    return float(np.median(np.abs(mask)) / (0.6745 * 6.0))
