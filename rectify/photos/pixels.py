"""Decoded picture of any kind -> upright 8-bit RGB array, in bands.

Knows Pillow's modes and the eight EXIF orientations; knows no files and no
tags. Works through the picture in bands so that, beside Pillow's decoded copy,
only the result is held.

Colour profiles are not applied: sizes depend on where an edge is, not on its
hue, and the picture is handed on with the numbers it came with.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from PIL import Image

RgbPixels = npt.NDArray[np.uint8]

# Large enough that per-band overhead vanishes, small enough (6 MB of RGB at
# 8000 px width) that it does not count as a copy.
BAND_ROWS = 256

_SIXTEEN_BIT_MODES = ("I;16", "I;16L", "I;16B", "I;16N")
_DIRECT_MODES = ("1", "L", "P", "RGB", "RGBX", "CMYK", "YCbCr")
_ALPHA_MODES = ("LA", "PA", "RGBA", "La", "RGBa")


class UnusablePixelsError(ValueError):
    """The picture holds numbers that are not brightness as a camera records it."""


def make_upright_rgb(image: Image.Image, orientation: int) -> RgbPixels:
    """Convert a decoded picture and turn it upright.

    Parameters
    ----------
    image : PIL.Image.Image
        Decoded, in any mode of a photo: grey, palette, RGB, CMYK, YCbCr, with
        or without alpha, 8 or 16 bit.
    orientation : int
        EXIF orientation still to be applied, 1 to 8.

    Returns
    -------
    ndarray of uint8, shape (H, W, 3)
        Upright RGB, C-contiguous. Transparency is composited on white, as on
        paper. 16-bit values are scaled by 255/65535, never clipped.

    Raises
    ------
    UnusablePixelsError
        For floating point, 32-bit, signed or Lab data.
    """
    width_px, height_px = image.size
    check_mode(image)
    upright_size = (width_px, height_px) if orientation >= 5 else (height_px, width_px)
    upright = np.empty((*upright_size, 3), dtype=np.uint8)
    as_stored = stored_view_of_upright(upright, orientation)
    for top in range(0, height_px, BAND_ROWS):
        bottom = min(top + BAND_ROWS, height_px)
        as_stored[top:bottom] = _rgb_from_band(image.crop((0, top, width_px, bottom)), image)
    return upright


def stored_view_of_upright(upright: RgbPixels, orientation: int) -> RgbPixels:
    """View an upright array in the row and column order of the stored picture.

    Writing stored rows into the view turns them upright without another copy.

    Parameters
    ----------
    upright : ndarray, shape (H, W, ...)
        The upright picture.
    orientation : int
        EXIF orientation of the stored picture, 1 to 8.

    Returns
    -------
    ndarray
        A view; its first two axes are rows and columns as stored.

    References
    ----------
    CIPA DC-008 (Exif 2.32), tag Orientation: 6 means that the stored first row
    is the picture's right-hand side and the stored first column its top.

    Examples
    --------
    Orientation 6: stored row 0, read left to right, is the upright picture's
    right column, read from the top down.

    >>> upright = np.array([[1, 2, 3], [4, 5, 6]])
    >>> stored_view_of_upright(upright, 6).tolist()
    [[3, 6], [2, 5], [1, 4]]
    """
    swapped = np.swapaxes(upright, 0, 1)
    views = {
        1: upright,
        2: upright[:, ::-1],
        3: upright[::-1, ::-1],
        4: upright[::-1],
        5: swapped,
        6: swapped[::-1],
        7: swapped[::-1, ::-1],
        8: swapped[:, ::-1],
    }
    return views[orientation]


def check_mode(image: Image.Image) -> None:
    """Raise where the picture's numbers cannot be read as brightness.

    Raises
    ------
    UnusablePixelsError
        Naming the kind of numbers found.
    """
    mode = image.mode
    if mode in _DIRECT_MODES or mode in _ALPHA_MODES or mode in _SIXTEEN_BIT_MODES:
        return
    if mode == "I" and image.format == "PNG":  # 16-bit grey, as older versions of Pillow call it
        return
    kinds = {"F": "floating point", "I": "32-bit or signed", "LAB": "Lab colour"}
    raise UnusablePixelsError(kinds.get(mode, mode))


def _rgb_from_band(band: Image.Image, image: Image.Image) -> RgbPixels:
    """Convert some rows; `image` is the whole, for facts that a band loses."""
    if band.mode in _SIXTEEN_BIT_MODES or band.mode == "I":
        return _rgb_from_sixteen_bit(np.asarray(band), image)
    if band.mode in ("La", "RGBa"):  # premultiplied alpha
        band = band.convert("LA" if band.mode == "La" else "RGBA")
    if band.mode in _ALPHA_MODES or "transparency" in band.info:
        paper = Image.new("RGBA", band.size, (255, 255, 255, 255))
        band = Image.alpha_composite(paper, band.convert("RGBA"))
    return np.asarray(band if band.mode == "RGB" else band.convert("RGB"))


def _rgb_from_sixteen_bit(levels: npt.NDArray[np.generic], image: Image.Image) -> RgbPixels:
    """Scale grey levels of more than 8 bits to 0..255, rounding to nearest."""
    white = 65535
    inverted = False
    tags = getattr(image, "tag_v2", None)
    if tags is not None:
        bits = tags.get(258, (16,))  # BitsPerSample: 12-bit data arrives unscaled
        white = (1 << int(bits[0] if isinstance(bits, tuple) else bits)) - 1
        inverted = tags.get(262) == 0  # PhotometricInterpretation: white is zero
    wide = levels.astype(np.uint32)
    grey = np.minimum((wide * 255 + white // 2) // white, 255).astype(np.uint8)
    if inverted:
        grey = np.invert(grey)
    see_through = image.info.get("transparency")
    if isinstance(see_through, int):
        grey[wide == see_through] = 255
    return np.repeat(grey[..., np.newaxis], 3, axis=2)
