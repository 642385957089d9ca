"""Which pixels of each row of a straightened wall the photo shows.

For a wall seen without lens terms the answer is a convex polygon, so every row has one
run of visible pixels, found from five straight lines: the photo's edges and the horizon.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shared.jets import Array


def visible_spans(
    photo_from_target: Array, width_px: int, height_px: int, photo_size_px: tuple[int, int]
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """First visible pixel of each row, and the one after the last.

    Parameters
    ----------
    photo_from_target : ndarray, shape (3, 3)
        Corner to corner; its third row is positive in front of the camera.
    width_px, height_px : int
        Size of the picture.
    photo_size_px : tuple of two ints
        Width and height of the photo.

    Returns
    -------
    first, end : ndarray of int, shape (height_px,)
        Equal where nothing of the row is visible. A pixel is visible when its centre
        falls within the outer corners of the photo.

    Examples
    --------
    A photo of 4 by 2 pixels laid one to one on a picture of 6 by 3, one pixel in.

    >>> shift = np.array([[1.0, 0, -1.0], [0, 1, 0], [0, 0, 1]])
    >>> [spans.tolist() for spans in visible_spans(shift, 6, 3, (4, 2))]
    [[1, 1, 0], [5, 5, 0]]
    """
    x_row, y_row, depth_row = photo_from_target
    # each line (a, b, c) keeps the side a x + b y + c >= 0
    lines = (
        x_row,
        photo_size_px[0] * depth_row - x_row,
        y_row,
        photo_size_px[1] * depth_row - y_row,
        depth_row,
    )
    y = np.arange(height_px) + 0.5
    low = np.full(height_px, 0.5)
    high = np.full(height_px, width_px - 0.5)
    for a, b, c in lines:
        rest = b * y + c
        if a > 0.0:
            low = np.maximum(low, -rest / a)
        elif a < 0.0:
            high = np.minimum(high, rest / -a)
        else:
            high = np.where(rest >= 0.0, high, -1.0)
    # the horizon itself is not in front of the camera, and the photo's edges meet it at
    # one point only, so ">= 0" serves for the depth as well
    first = np.ceil(np.clip(low, 0.0, width_px + 1.0) - 0.5).astype(np.int64)
    end = np.floor(np.clip(high, -1.0, width_px) - 0.5).astype(np.int64) + 1
    none = end <= first
    return np.where(none, 0, first), np.where(none, 0, end)
