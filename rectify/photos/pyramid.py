"""Copies of a photo with less detail, to read from where the picture is coarser.

Reading every third pixel of a brick wall turns its courses into moire. A copy that
holds no detail finer than the picture's own pixels cannot do that. Copies ("levels") are
made when first asked for and kept, so that screen views cost what the screen costs and
not what the photo costs. Level 2 is half the size of the photo, level 4 a quarter; each
odd level is the one before it with the finest detail taken out, at the same size, for
pictures between the two.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass, field

import cv2
import numpy as np
import numpy.typing as npt

from rectify.photos.pixels import RgbPixels

#: No smaller copies than this on their shorter side: a picture has no detail left there.
_SMALLEST_PX = 8

# Halving smooths with 1 4 6 4 1, which removes what would alias, drops every other pixel,
# and sharpens what is left, which returns the contrast of detail that half size can hold.
# By the filters' frequency responses, a stripe three photo pixels wide, which half size
# cannot hold, keeps 9 % of its contrast (the mean of 2 x 2 pixels leaves 50 %, as moire),
# and one eight pixels wide keeps 95 %. All filters are symmetric: nothing moves.
_SHARPEN = np.array([-0.15, 1.3, -0.15])


def _low_pass(cutoff: float, reach: int) -> npt.NDArray[np.float64]:
    """Taps of a sinc under a Lanczos window; `cutoff` in cycles per pixel."""
    k = np.arange(-reach, reach + 1)
    taps = np.sinc(2.0 * cutoff * k) * np.sinc(k / (reach + 1.0))
    normed: npt.NDArray[np.float64] = taps / taps.sum()
    return normed


# For reading every 1.06 to 1.5 pixels: a stripe four pixels wide keeps 64 % of its
# contrast, three 26 %, two and a half 6 %.
_TAKE_OUT_FINEST = _low_pass(0.28, 3)


@dataclass(frozen=True, slots=True, eq=False)
class Level:
    """One copy of the photo.

    Attributes
    ----------
    pixels : ndarray of uint8, shape (h, w, 3)
    scale, offset_px : tuple of two floats
        A photo position ``x`` is found at ``x * scale + offset_px``, both measured from
        outer corners.
    """

    pixels: RgbPixels = field(repr=False)
    scale: tuple[float, float] = (1.0, 1.0)
    offset_px: tuple[float, float] = (0.0, 0.0)


class Pyramid:
    """The photo and its copies with less detail, each made once, when first asked for.

    Safe to share between threads. All copies together take 1.7 times the memory of the
    photo; a picture needs those of its own scale only.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (H, W, 3)
        The upright photo; it is kept, not copied.

    Raises
    ------
    ValueError
        If `pixels` has another shape or type.
    """

    def __init__(self, pixels: RgbPixels) -> None:
        if pixels.ndim != 3 or pixels.shape[2] != 3 or pixels.dtype != np.uint8 or not pixels.size:
            raise ValueError(
                f"pixels: wanted uint8 of shape (H, W, 3), got {pixels.dtype} {pixels.shape}"
            )
        self.pixels = pixels
        self._levels: dict[int, Level] = {0: Level(pixels)}
        self._lock = threading.Lock()

    @property
    def last(self) -> int:
        """Index of the smallest copy."""
        shorter = min(self.pixels.shape[:2])
        return max(0, 2 * int(math.log2(max(1.0, shorter / _SMALLEST_PX))))

    def level(self, index: int) -> Level:
        """The copy for pictures with a pixel for every ``2**(index / 2)`` of the photo's.

        Raises
        ------
        ValueError
            If there is no such copy; 0 is the photo itself and `last` the smallest.
        """
        if not 0 <= index <= self.last:
            raise ValueError(f"index: wanted 0 to {self.last}, got {index}")
        with self._lock:
            return self._make(index)

    def _make(self, index: int) -> Level:
        if index not in self._levels:
            if index % 2:
                self._levels[index] = _without_finest(self._make(index - 1))
            else:
                self._levels[index] = _half(self._make(index - 2))
        return self._levels[index]


def _half(parent: Level) -> Level:
    """Half the size; the first pixel's centre stays where it was."""
    (sx, sy), (ox, oy) = parent.scale, parent.offset_px
    return Level(
        _filtered(cv2.pyrDown(parent.pixels), _SHARPEN),
        (0.5 * sx, 0.5 * sy),
        (0.5 * ox + 0.25, 0.5 * oy + 0.25),
    )


def _without_finest(parent: Level) -> Level:
    """The same size, with what 1/sqrt(2) of the size could not hold taken out.

    Leaving out pixels as well would save half the memory, but an uneven step can drop
    them only by moving them, by up to a tenth of a pixel.
    """
    return Level(_filtered(parent.pixels, _TAKE_OUT_FINEST), parent.scale, parent.offset_px)


def _filtered(pixels: npt.NDArray[np.generic], taps: npt.NDArray[np.float64]) -> RgbPixels:
    done = cv2.sepFilter2D(pixels, -1, taps, taps, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(done, dtype=np.uint8)
