"""Which part of a chart is wanted, and in how many pixels.

Knows neither photo nor camera. A window's pixels follow the photo's rule: (0, 0) is
the outer corner of the top left pixel, which lies at chart ``(u0, v1)``; x grows
with u, y grows as v falls.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from shared.errors import InputError
from shared.jets import Array

#: Two gigapixels of colour and mask take 8 GB; nothing printed for a model needs more.
MAX_WINDOW_PX = 2_000_000_000

MM_PER_INCH = 25.4

#: A size within this part of a pixel of a whole number is that whole number.
_WHOLE = 1e-6


@dataclass(frozen=True, slots=True)
class Window:
    """A part of a chart, and the size of the picture made of it.

    Parameters
    ----------
    u0_mm, v0_mm, u1_mm, v1_mm : float
        Chart bounds: left, bottom, right, top edge of the picture.
    width_px, height_px : int
        Size of the picture.

    Raises
    ------
    InputError
        If the bounds are not finite or enclose nothing, or the picture is empty or
        larger than `MAX_WINDOW_PX`.

    Examples
    --------
    A wall 4 m by 3 m at one pixel for each 10 mm.

    >>> window = Window(0.0, 0.0, 4000.0, 3000.0, 400, 300)
    >>> window.chart_mm_from_target_px([[0, 0], [400, 300]]).tolist()
    [[0.0, 3000.0], [4000.0, 0.0]]
    """

    u0_mm: float
    v0_mm: float
    u1_mm: float
    v1_mm: float
    width_px: int
    height_px: int

    def __post_init__(self) -> None:
        _check_bounds(self.u0_mm, self.v0_mm, self.u1_mm, self.v1_mm)
        _check_size(self.width_px, self.height_px)

    @property
    def mm_per_px(self) -> tuple[float, float]:
        """Size of one pixel along u and along v."""
        return (
            (self.u1_mm - self.u0_mm) / self.width_px,
            (self.v1_mm - self.v0_mm) / self.height_px,
        )

    def chart_mm_from_target_px(self, points_px: ArrayLike) -> Array:
        """Chart coordinates of points of the picture, shape (..., 2)."""
        points = np.asarray(points_px, dtype=float)
        along, up = self.mm_per_px
        return np.stack(
            [self.u0_mm + points[..., 0] * along, self.v1_mm - points[..., 1] * up], axis=-1
        )

    def target_px_from_chart_mm(self, points_mm: ArrayLike) -> Array:
        """Where chart points fall in the picture, shape (..., 2); inside it or not."""
        points = np.asarray(points_mm, dtype=float)
        along, up = self.mm_per_px
        return np.stack(
            [(points[..., 0] - self.u0_mm) / along, (self.v1_mm - points[..., 1]) / up], axis=-1
        )


def make_window(u0_mm: float, v0_mm: float, u1_mm: float, v1_mm: float, px_per_mm: float) -> Window:
    """Make a window of a given scale.

    Parameters
    ----------
    u0_mm, v0_mm, u1_mm, v1_mm : float
        Chart bounds wanted: left, bottom, right, top.
    px_per_mm : float
        Pixels for one millimetre of the real building, the same along u and v.

    Returns
    -------
    Window
        Left and top edge as given; right and bottom edge moved out by less than one
        pixel, so that the scale is exact.

    Raises
    ------
    InputError
        See `Window`; also if the scale is not a positive number.

    Examples
    --------
    >>> make_window(0, 0, 1000, 455, 0.1)
    Window(u0_mm=0.0, v0_mm=-5.0, u1_mm=1000.0, v1_mm=455.0, width_px=100, height_px=46)
    """
    if not (math.isfinite(px_per_mm) and px_per_mm > 0.0):
        raise InputError(
            f"A straightened picture cannot have {px_per_mm:g} pixels to the millimetre: "
            "give a number above 0."
        )
    _check_bounds(u0_mm, v0_mm, u1_mm, v1_mm)
    size = [(u1_mm - u0_mm) * px_per_mm, (v1_mm - v0_mm) * px_per_mm]
    if not all(math.isfinite(side) for side in size):
        raise InputError(
            "The straightened picture is too large: choose a smaller part of the face."
        )
    width_px, height_px = (max(1, math.ceil(side - _WHOLE)) for side in size)
    return Window(
        u0_mm=float(u0_mm),
        v0_mm=float(v1_mm - height_px / px_per_mm),
        u1_mm=float(u0_mm + width_px / px_per_mm),
        v1_mm=float(v1_mm),
        width_px=width_px,
        height_px=height_px,
    )


def window_for_print(
    extent_mm: tuple[float, float, float, float], dpi: float, scale_denominator: float
) -> Window:
    """Make the window of a picture to be printed at a model scale.

    Parameters
    ----------
    extent_mm : tuple of four floats
        Chart bounds ``(u0, v0, u1, v1)``: left, bottom, right, top.
    dpi : float
        Pixels to the inch on paper.
    scale_denominator : float
        148 for 1:148; 1 for full size.

    Returns
    -------
    Window
        Printed at `dpi`, it is to scale exactly; see `make_window` for the edges.

    Raises
    ------
    InputError
        See `Window`; also if `dpi` or the scale is not a positive number.

    Examples
    --------
    A front of 14.8 m by 7.4 m at 1:148 is 100 mm by 50 mm on paper: at 254 dpi, ten
    pixels to the millimetre, that is 1000 by 500 pixels.

    >>> window = window_for_print((0, 0, 14800, 7400), 254, 148)
    >>> window.width_px, window.height_px
    (1000, 500)
    """
    for what, value in (("dots per inch", dpi), ("the scale's denominator", scale_denominator)):
        if not (math.isfinite(value) and value > 0.0):
            raise InputError(f"A print needs {what} above 0, not {value:g}: give a larger number.")
    return make_window(*extent_mm, px_per_mm=dpi / MM_PER_INCH / scale_denominator)


def _check_bounds(u0_mm: float, v0_mm: float, u1_mm: float, v1_mm: float) -> None:
    bounds = (u0_mm, v0_mm, u1_mm, v1_mm)
    if not all(math.isfinite(bound) for bound in bounds):
        raise InputError(
            "The part to straighten has a bound that is not a number: give left, bottom, "
            "right and top in millimetres."
        )
    for low, high, first, second in (
        (u0_mm, u1_mm, "right", "left"),
        (v0_mm, v1_mm, "top", "bottom"),
    ):
        if not high > low:
            raise InputError(
                f"The part to straighten encloses nothing: its {first} edge at {high:g} mm must "
                f"lie beyond its {second} edge at {low:g} mm."
            )


def _check_size(width_px: int, height_px: int) -> None:
    if width_px < 1 or height_px < 1:
        raise InputError(
            f"A straightened picture of {width_px} x {height_px} pixels is empty: "
            "ask for at least one pixel each way."
        )
    if width_px * height_px > MAX_WINDOW_PX:
        raise InputError(
            f"The straightened picture would have {width_px} x {height_px} pixels, "
            f"{width_px * height_px / 1e9:.3g} gigapixels, and at most "
            f"{MAX_WINDOW_PX / 1e9:g} can be made: choose a smaller part, fewer pixels to the "
            "inch or a smaller scale."
        )
