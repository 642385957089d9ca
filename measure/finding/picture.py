"""A straightened wall made ready for the search."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class WallPicture:
    """What the search looks at.

    Attributes
    ----------
    lab : ndarray of float32, shape (h, w, 3)
        CIE L*a*b*, 0 to 100 and about -100 to 100.
    seen : ndarray of bool, shape (h, w)
        Where the photo shows the face.
    mm_per_px : float
    """

    lab: Floats
    seen: Bools
    mm_per_px: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.lab.shape[0], self.lab.shape[1]

    def px(self, length_mm: float, least: int = 1) -> int:
        """A length in whole pixels."""
        return max(least, round(length_mm / self.mm_per_px))


def make_picture(
    rgb: npt.NDArray[np.uint8], visible: npt.NDArray[np.uint8] | None, mm_per_px: float
) -> WallPicture:
    """Make the picture ready.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
    visible : ndarray of uint8, shape (h, w), optional
        0 where the photo shows nothing of the face.
    mm_per_px : float
    """
    lab = cv2.cvtColor(rgb.astype(np.float32) / 255.0, cv2.COLOR_RGB2LAB)
    seen = np.ones(rgb.shape[:2], bool) if visible is None else visible > 0
    return WallPicture(np.asarray(lab, np.float32), seen, mm_per_px)


class BoxMeans:
    """Means over upright boxes of a picture, any number at once."""

    def __init__(self, values: npt.NDArray[np.generic]) -> None:
        self._sums = cv2.integral(np.asarray(values, np.float32), sdepth=cv2.CV_64F)
        self._shape = values.shape

    def __call__(
        self,
        left: npt.ArrayLike,
        top: npt.ArrayLike,
        right: npt.ArrayLike,
        low: npt.ArrayLike,
    ) -> npt.NDArray[np.float64]:
        """Mean of each box, cut to the picture; NaN where nothing is left of it."""
        h, w = self._shape[0], self._shape[1]
        x0, x1 = (_whole(x, w) for x in (left, right))
        y0, y1 = (_whole(y, h) for y in (top, low))
        area = (x1 - x0) * (y1 - y0)
        s = self._sums
        total = s[y1, x1] - s[y0, x1] - s[y1, x0] + s[y0, x0]
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.asarray(np.where(area > 0, total / area, np.nan))


def _whole(place: npt.ArrayLike, most: int) -> npt.NDArray[np.int64]:
    """Places as whole pixels of the picture."""
    return np.clip(np.round(np.asarray(place, float)).astype(np.int64), 0, most)
