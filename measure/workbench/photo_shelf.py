"""Decoded photos, kept while they are worked on, and windows of them at screen size."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from rectify.photos.file import read_photo
from rectify.photos.photo import Photo
from rectify.photos.pixels import RgbPixels
from rectify.photos.pyramid import Pyramid
from shared.errors import FieldError, PhotoError

#: Photos kept decoded at once; a 50 MP photo takes 150 MB and its copies as much again.
MOST_DECODED = 3

#: Longest side of a window that a screen can want.
MOST_WINDOW_PX = 8192


@dataclass(frozen=True, slots=True)
class Decoded:
    """A photo in memory with its smaller copies."""

    photo: Photo
    pyramid: Pyramid


class PhotoShelf:
    """Photos by path, read again when the file on disk changed. Safe between threads."""

    def __init__(self) -> None:
        self._decoded: OrderedDict[tuple[Path, int, int], Decoded] = OrderedDict()
        self._lock = threading.Lock()
        self._reading: dict[tuple[Path, int, int], threading.Lock] = {}

    def decoded(self, path: Path) -> Decoded:
        """A photo with its pixels.

        Raises
        ------
        PhotoError
        """
        key = _key(path)
        with self._lock:
            if key in self._decoded:
                self._decoded.move_to_end(key)
                return self._decoded[key]
            reading = self._reading.setdefault(key, threading.Lock())
        with reading:
            with self._lock:
                if key in self._decoded:
                    return self._decoded[key]
            photo = read_photo(path)
            decoded = Decoded(photo, Pyramid(photo.pixels))
            with self._lock:
                self._decoded[key] = decoded
                self._reading.pop(key, None)
                while len(self._decoded) > MOST_DECODED:
                    self._decoded.popitem(last=False)
            return decoded


def _key(path: Path) -> tuple[Path, int, int]:
    try:
        stat = path.stat()
    except OSError as cause:
        raise PhotoError(
            f"{path.name} is not there: put the photo back beside the survey, or start a new "
            "survey from it.",
            details={"file": path.name},
        ) from cause
    return path, stat.st_mtime_ns, stat.st_size


def photo_window(
    pyramid: Pyramid, box_px: tuple[float, float, float, float], size: tuple[int, int]
) -> RgbPixels:
    """Render a part of a photo at the size of the screen.

    Parameters
    ----------
    pyramid : Pyramid
    box_px : (x, y, width, height)
        In photo pixels.
    size : (width, height)
        Of the picture, in its own pixels.

    Raises
    ------
    FieldError
        For a window that is empty or larger than a screen.
    """
    x, y, width, height = box_px
    check_window_size(size)
    if not (width > 0 and height > 0 and np.isfinite(box_px).all()):
        raise FieldError("The part of the photo to show is empty: give a width and height above 0.")
    steps = width / size[0], height / size[1]
    coarsest = min(steps)
    index = int(np.clip(np.floor(2 * np.log2(max(coarsest, 1.0)) + 1e-9), 0, pyramid.last))
    level = pyramid.level(index)
    (sx, sy), (ox, oy) = level.scale, level.offset_px
    # pixel centres are at whole numbers here and at halves in the photo's own frame
    target_from_level = np.array(
        [
            [steps[0] * sx, 0.0, (x + 0.5 * steps[0]) * sx + ox - 0.5],
            [0.0, steps[1] * sy, (y + 0.5 * steps[1]) * sy + oy - 0.5],
        ]
    )
    near = steps[0] < 0.25
    out = cv2.warpAffine(
        level.pixels,
        target_from_level,
        size,
        flags=(cv2.INTER_NEAREST if near else cv2.INTER_LINEAR) | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(out, dtype=np.uint8)


def check_window_size(size: tuple[int, int]) -> None:
    """Refuse a picture that is empty or larger than a screen.

    Raises
    ------
    FieldError
    """
    if not all(1 <= side <= MOST_WINDOW_PX for side in size):
        raise FieldError(
            f"A picture for the screen may be 1 to {MOST_WINDOW_PX} pixels each way, "
            f"not {size[0]} x {size[1]}."
        )
