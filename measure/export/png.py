"""The straightened photo as PNG that prints at its true size.

The file says how many pixels go to a metre of paper, across and down apart, so
that a picture printed at its own size measures what it should.
"""

from __future__ import annotations

import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image, PngImagePlugin

from measure.elevation.lettering import clean
from measure.elevation.title_block import CAUTION

USUAL_DPI = 300.0


def size_px_for_print(width_mm: float, height_mm: float, dpi: float = USUAL_DPI) -> tuple[int, int]:
    """Whole pixels across and down for a print of that size, at `dpi` or a hair more.

    Examples
    --------
    A hundred millimetres at 300 to the inch are 1181.1 pixels.

    >>> size_px_for_print(100.0, 25.4, 300.0)
    (1182, 300)
    """
    if not (width_mm > 0 and height_mm > 0 and dpi > 0):
        raise ValueError(f"sizes must be above 0, got {width_mm} x {height_mm} mm at {dpi} dpi")
    # A billionth less: 300 pixels are not to become 301 by rounding.
    across, down = (int(-(-(mm / 25.4 * dpi - 1e-9) // 1)) for mm in (width_mm, height_mm))
    return max(1, across), max(1, down)


def png_from_image(
    rgba: NDArray[np.uint8], *, print_width_mm: float, print_height_mm: float, title: str = ""
) -> bytes:
    """Write a straightened photo as PNG.

    Parameters
    ----------
    rgba : ndarray of uint8, shape (height, width, 4)
        Transparent where the photo shows nothing. Not copied where its rows lie one after the
        other in memory.
    print_width_mm, print_height_mm : float
        Size on paper: that of the building over the scale.
    title : str

    Returns
    -------
    bytes

    Raises
    ------
    ValueError
        For another shape or type of array, or no size.

    Notes
    -----
    PNG counts whole pixels to the metre: at 300 to the inch (11811 to the metre) a print is true
    to 1 part in 20 000, 0.01 mm in 200 mm.
    """
    if rgba.ndim != 3 or rgba.shape[2] != 4 or rgba.dtype != np.uint8 or 0 in rgba.shape:
        raise ValueError(f"rgba: (height, width, 4) of uint8, got {rgba.shape} of {rgba.dtype}")
    if not (print_width_mm > 0 and print_height_mm > 0):
        raise ValueError(f"print size: above 0, got {print_width_mm} x {print_height_mm} mm")
    height_px, width_px = rgba.shape[:2]
    rows = np.ascontiguousarray(rgba)
    image = Image.frombuffer("RGBA", (width_px, height_px), rows, "raw", "RGBA", 0, 1)
    notes = PngImagePlugin.PngInfo()
    if clean(title):
        notes.add_itxt("Title", clean(title))
    notes.add_itxt("Description", CAUTION)
    dpi = (width_px / print_width_mm * 25.4, height_px / print_height_mm * 25.4)
    file = io.BytesIO()
    image.save(file, format="PNG", dpi=dpi, pnginfo=notes, compress_level=6)
    return file.getvalue()
