"""Any part of any face as a picture in true proportion.

For every pixel of the picture the camera is asked where in the photo it lies
(`rectify.straightening.target_map`), and the photo, or a smaller copy of it where the picture is
coarser (`rectify.photos.pyramid`), is read there. What the photo does not show stays black
and is marked as not visible: beyond the photo's edge or the face's horizon, behind the
camera, past the fold of the lens model, round the back of a tower.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

import cv2
import numpy as np

from rectify.photos.pixels import RgbPixels
from rectify.photos.pyramid import Pyramid
from rectify.projection import View
from rectify.straightening.picture import Picture
from rectify.straightening.target_map import TargetMap
from rectify.surfaces import Round
from rectify.window import Window
from shared.errors import InputError, StoreyrodError

Interpolation = Literal["linear", "cubic", "nearest"]
Progress = Callable[[float], bool | None]

#: OpenCV counts rows and columns in 16 bits.
MAX_PHOTO_SIDE_PX = 32_766

_FLAGS = {"linear": cv2.INTER_LINEAR, "cubic": cv2.INTER_CUBIC, "nearest": cv2.INTER_NEAREST}


class StoppedError(StoreyrodError):
    """The user stopped the work; nothing of it is kept."""

    code = "stopped"


@dataclass(frozen=True, slots=True, eq=False)
class Straightened:
    """A straightened picture.

    Attributes
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
        Row 0 is the top of the window. Black where not visible.
    visible : ndarray of uint8, shape (h, w)
        255 where the photo shows the face, 0 elsewhere: the picture's opacity.
    window : Window
        What part of the chart this is.
    """

    rgb: RgbPixels = field(repr=False)
    visible: RgbPixels = field(repr=False)
    window: Window

    def _repr_png_(self) -> bytes:
        """Show the picture in a notebook, clear where not visible, at most 1000 px wide or high."""
        share = min(1.0, 1000 / max(self.visible.shape))
        bgra = cv2.merge([*cv2.split(self.rgb)[::-1], self.visible])
        shown = cv2.resize(bgra, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
        return cv2.imencode(".png", shown)[1].tobytes()


def straighten(
    pixels: RgbPixels,
    view: View,
    window: Window,
    set_back_mm: float = 0.0,
    *,
    interpolation: Interpolation = "linear",
    one_level: bool = False,
    pyramid: Pyramid | None = None,
    progress: Progress | None = None,
) -> Straightened:
    """Draw a window of a face from its photo.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (H, W, 3)
        The upright photo.
    view : View
        Camera and face, in plain numbers (`Solution.view`).
    window : Window
    set_back_mm : float
        Depth behind the face at which things are to come out true, such as the
        windows' glass.
    interpolation : {"linear", "cubic", "nearest"}
        How to read between photo pixels. Each reads smaller copies of the photo where
        the picture is coarser than the photo. Cubic looks crisper where the picture is
        finer than the photo; OpenCV's moves edges by up to 0.05 photo pixels.
    one_level : bool
        Read the whole picture from the one copy of the photo that suits most of it, and not
        each part from its own: half the work, for a picture that is seen for an instant.
        Places are the same; far parts of a slanting wall may shimmer, near ones be soft.
    pyramid : Pyramid, optional
        The photo's smaller copies, to share between calls; must be of `pixels`.
    progress : callable, optional
        Called with the share done, above 0 up to 1, after each piece of work, some four
        million pixels or a tenth of a second. Returning False stops the work; any other
        answer, None among them, goes on.

    Returns
    -------
    Straightened

    Raises
    ------
    InputError
        If the set-back reaches the axis of a tower, or the photo is too large for the
        machinery.
    StoppedError
        If `progress` returned False.
    ValueError
        If `pixels` is not an RGB photo, `pyramid` is of another photo or
        `interpolation` is none of the three.

    Notes
    -----
    A wall seen through a lens without radial terms is a homography, drawn in one go.
    Everything else is drawn by a map: exact on a lattice of 64 pixels, cubic to 8 and
    straight between; where that misses by more than 0.02 pixel the lattice is made
    finer, and at a horizon or fold each pixel is worked out by itself.

    Examples
    --------
    Square on and a pixel to the millimetre, the picture is the photo; one millimetre to
    the right, its last column is not visible.

    >>> import numpy as np
    >>> from rectify.camera import Camera
    >>> from rectify.frames import Pose
    >>> from rectify.surfaces import make_wall
    >>> photo = np.arange(24, dtype=np.uint8).reshape(2, 4, 3)
    >>> pose = Pose(((1, 0, 0), (0, -1, 0), (0, 0, -1)), (0.0, 0.0, 1000.0))
    >>> view = View(Camera(1000.0, (2.0, 1.0)), pose, make_wall())
    >>> bool(np.all(straighten(photo, view, Window(-2, -1, 2, 1, 4, 2)).rgb == photo))
    True
    >>> straighten(photo, view, Window(-1, -1, 3, 1, 4, 2)).visible.tolist()
    [[255, 255, 255, 0], [255, 255, 255, 0]]
    """
    if pyramid is None:
        pyramid = Pyramid(pixels)
    elif pyramid.pixels is not pixels:
        raise ValueError("pyramid: is of another photo than pixels")
    if interpolation not in _FLAGS:
        raise ValueError(f"interpolation: wanted {', '.join(_FLAGS)}, got {interpolation!r}")
    _check_photo_and_set_back(pixels, view, set_back_mm)
    size = (window.height_px, window.width_px)
    picture = Picture(
        target=TargetMap(view, window, set_back_mm),
        pyramid=pyramid,
        flag=_FLAGS[interpolation],
        one_level=one_level,
        rgb=np.zeros((*size, 3), np.uint8),
        visible=np.zeros(size, np.uint8),
    )
    done = 0
    for tile in picture.draw():
        done += tile.area
        if progress is not None and progress(done / (size[0] * size[1])) is False:
            raise StoppedError("Straightening was stopped: no picture was made.")
    return Straightened(picture.rgb, picture.visible, window)


def _check_photo_and_set_back(pixels: RgbPixels, view: View, set_back_mm: float) -> None:
    height, width = pixels.shape[:2]
    if max(height, width) > MAX_PHOTO_SIDE_PX:
        raise InputError(
            f"The photo is {width} x {height} pixels and at most {MAX_PHOTO_SIDE_PX} each way "
            "can be straightened: make it smaller first."
        )
    if not np.isfinite(set_back_mm):
        raise InputError("The set-back is not a number: give it in millimetres.")
    surface = view.surface
    if isinstance(surface, Round) and set_back_mm >= float(surface.radius_mm):
        raise InputError(
            f"A set-back of {set_back_mm:g} mm reaches the axis of the tower, whose radius is "
            f"{float(surface.radius_mm):.0f} mm: give a smaller one."
        )
