"""The straightened photo made into a skin: light evened, colour balanced, things painted out, cut.

Knows pixels and the chart they stand for, no survey. Lightness is reckoned in linear light
(IEC 61966-2-1, sRGB; from memory), where shade multiplies.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from measure.elevation.path_geometry import Point
from rectify.straighten import Straightened
from rectify.window import Window
from shared.errors import FieldError
from shared.jets import Array
from shared.number_text import format_number

Pixels = NDArray[np.uint8]
Mask = NDArray[np.bool_]

#: The slow part of the light is looked at in a picture no larger than this.
SMALL_PX = 384

#: What differs from its surroundings by more than this many times their spread is left out.
MOST_OFF = 2.5

#: ... and by more than this in the logarithm of light: a patch of bricks differs as much.
LEAST_OFF = 0.05

#: So often is the slow part of the light found anew.
ROUNDS = 5

#: Light is evened by no more than this, and colour balanced by no more.
MOST_GAIN = 4.0

#: Rows worked on at a time.
BAND_ROWS = 512

_LEVELS = np.arange(256) / 255.0
_LINEAR = np.where(_LEVELS <= 0.04045, _LEVELS / 12.92, ((_LEVELS + 0.055) / 1.055) ** 2.4).astype(
    np.float32
)


@dataclass(frozen=True, slots=True, eq=False)
class Skin:
    """A picture of a wall to print.

    Attributes
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
    opaque : ndarray of uint8, shape (h, w)
        255 where it is printed.
    window : Window
        What part of the chart it is.
    notes : tuple of str
        What was not to be had.
    """

    rgb: Pixels = field(repr=False)
    opaque: Pixels = field(repr=False)
    window: Window
    notes: tuple[str, ...] = ()


def skin_of(picture: Straightened) -> Skin:
    """A straightened photo as it is."""
    return Skin(picture.rgb, picture.visible, picture.window)


def linear_of(rgb: Pixels) -> NDArray[np.float32]:
    """Linear light of sRGB pixels, 0 to 1."""
    return np.asarray(_LINEAR[rgb], dtype=np.float32)


def srgb_of(linear: NDArray[np.float32]) -> Pixels:
    """The nearest sRGB pixels of linear light; beyond 0 and 1 they are cut off."""
    x = np.clip(linear, 0.0, 1.0)
    low = x <= 0.0031308
    shown = np.where(low, 12.92 * x, 1.055 * np.power(np.where(low, 1.0, x), 1.0 / 2.4) - 0.055)
    return np.asarray(np.rint(255.0 * shown), dtype=np.uint8)


def mask_of(window: Window, area: shapely.Geometry) -> Mask:
    """Pixels of a window whose centres lie in an area of the chart.

    Parameters
    ----------
    window : Window
    area : Polygon or MultiPolygon
        In millimetres of the chart.
    """
    mask = np.zeros((window.height_px, window.width_px), dtype=bool)
    along, up = window.mm_per_px
    starts, ends = [], []
    for ring in shapely.get_rings(shapely.get_parts(area)):
        points = shapely.get_coordinates(ring)
        starts.append(points[:-1])
        ends.append(points[1:])
    if not starts:
        return mask
    (u0, v0), (u1, v1) = np.concatenate(starts).T, np.concatenate(ends).T
    low, high = np.minimum(v0, v1), np.maximum(v0, v1)
    for row in range(window.height_px):
        v = window.v1_mm - (row + 0.5) * up
        cut = (low <= v) & (v < high)
        if cut.any():
            share = (v - v0[cut]) / (v1[cut] - v0[cut])
            x = np.sort((u0[cut] + share * (u1[cut] - u0[cut]) - window.u0_mm) / along - 0.5)
            edges = np.clip(np.ceil(x), 0, window.width_px).astype(int)
            for first, last in zip(edges[0::2], edges[1::2], strict=True):
                mask[row, first:last] = True
    return mask


def evened(skin: Skin, reach_mm: float, leave_out: Mask | None = None) -> Skin:
    """Take slow changes of the light out, so that a wall is as bright here as there.

    Parameters
    ----------
    skin : Skin
    reach_mm : float
        What changes over less than this on the chart is the wall's own and stays.
    leave_out : ndarray of bool, shape (h, w), optional
        Pixels that are no wall, such as windows.

    Returns
    -------
    Skin
        Its middling lightness is that of before.

    Notes
    -----
    The logarithm of linear light is smoothed over the pixels that count; what lies far off
    the smoothed value (an open window, a lamp, a cast shadow) is left out the next time. So a
    shadow with a sharp edge stays, and does not brighten the wall around it. All channels
    are multiplied alike, so colours keep their hue.
    """
    counts = skin.opaque > 0
    if leave_out is not None:
        counts &= ~leave_out
    if not counts.any():
        return skin
    height, width = counts.shape
    factor = min(1.0, SMALL_PX / max(height, width))
    size = max(1, round(width * factor)), max(1, round(height * factor))
    light = np.log(linear_of(skin.rgb).mean(axis=2) + 1e-3)
    weight = cv2.resize(counts.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    small = cv2.resize(np.where(counts, light, 0.0).astype(np.float32), size,
                       interpolation=cv2.INTER_AREA)  # fmt: skip
    mean = np.where(weight > 1e-3, small / np.maximum(weight, 1e-3), 0.0)
    along, _ = skin.window.mm_per_px
    sigma = max(reach_mm / along * size[0] / width, 1.0)
    there = weight > 0.5 * float(weight.max())
    smooth = np.full_like(mean, np.median(mean[there]))
    for _ in range(ROUNDS):
        off = np.abs(mean - smooth)
        most = max(MOST_OFF * 1.4826 * float(np.median(off[there])), LEAST_OFF)
        smooth = _smoothed(mean, np.where(off <= most, weight, 0.0), sigma)
    target = float(np.average(smooth, weights=weight))
    limit = np.log(MOST_GAIN)
    shift = np.clip(target - smooth, -limit, limit).astype(np.float32)
    gain = np.exp(cv2.resize(shift, (width, height), interpolation=cv2.INTER_LINEAR))
    return replace(skin, rgb=_multiplied(skin.rgb, lambda rows: gain[rows, :, None]))


def _smoothed(mean: Array, weight: Array, sigma: float) -> Array:
    """Weighted straight fit in a window around each place.

    A mean alone would pull the light at the edge of the wall towards the middle; the
    fit of a plane follows a slope up to the edge.
    """
    height, width = mean.shape
    x, y = np.meshgrid(np.arange(width, dtype=float), np.arange(height, dtype=float))
    x -= (width - 1) / 2.0
    y -= (height - 1) / 2.0
    w = weight.astype(float) + 1e-9

    def blur(values: Array) -> Array:
        kernel = 2 * max(1, round(3.0 * sigma)) + 1
        out: Array = cv2.GaussianBlur(
            values, (kernel, kernel), sigma, borderType=cv2.BORDER_CONSTANT
        )
        return out

    s, sx, sy = blur(w), blur(w * x), blur(w * y)
    sxx, sxy, syy = blur(w * x * x), blur(w * x * y), blur(w * y * y)
    sz, szx, szy = blur(w * mean), blur(w * mean * x), blur(w * mean * y)
    cx, cy, cz = sx / s, sy / s, sz / s
    vxx, vyy = sxx / s - cx * cx, syy / s - cy * cy
    vxy = sxy / s - cx * cy
    vzx, vzy = szx / s - cx * cz, szy / s - cy * cz
    damp = 1e-3 * (vxx + vyy) + 1e-6
    vxx, vyy = vxx + damp, vyy + damp
    det = vxx * vyy - vxy * vxy
    ax = (vzx * vyy - vzy * vxy) / det
    ay = (vzy * vxx - vzx * vxy) / det
    return np.asarray(cz + ax * (x - cx) + ay * (y - cy))


def _multiplied(rgb: Pixels, gain_of_rows: Callable[[slice], Array]) -> Pixels:
    """Pixels with their linear light multiplied, a band of rows after the other."""
    out = np.empty_like(rgb)
    for start in range(0, len(rgb), BAND_ROWS):
        rows = slice(start, start + BAND_ROWS)
        out[rows] = srgb_of(np.asarray(linear_of(rgb[rows]) * gain_of_rows(rows), np.float32))
    return out


def balanced(skin: Skin, neutral: Mask) -> Skin:
    """Take a cast of colour out, so that what is grey or white on the building comes out so.

    Parameters
    ----------
    skin : Skin
    neutral : ndarray of bool, shape (h, w)
        Pixels of something grey or white.

    Raises
    ------
    FieldError
        If none of them is seen, or they are too dark or too colourful to be grey.
    """
    seen = neutral & (skin.opaque > 0)
    if not seen.any():
        raise FieldError(
            "What is to be neutral in the skin is not on the photo.",
            hint="Pick something grey or white that is seen.",
        )
    mean = linear_of(skin.rgb[seen]).mean(axis=0)
    if mean.min() < 1e-3 or mean.max() / mean.min() > MOST_GAIN:
        raise FieldError(
            "What is to be neutral in the skin is too dark or too colourful to be grey.",
            hint="Pick something grey or white, such as painted joinery or mortar in the light.",
        )
    weights = np.array([0.2126, 0.7152, 0.0722])
    gain = (float(mean @ weights) / mean).astype(np.float32)
    return replace(skin, rgb=_multiplied(skin.rgb, lambda _: gain))


def painted_out(
    skin: Skin,
    hole: Sequence[Point],
    *,
    shift_mm: float | None = None,
    axis_mm: float | None = None,
    blend_mm: float = 0.0,
) -> Skin:
    """Paint something over with what stands in another bay, or on the other side of an axis.

    Parameters
    ----------
    skin : Skin
    hole : sequence of (u, v)
        Corners around it, on the chart.
    shift_mm : float, optional
        The picture is taken from so much further along the wall.
    axis_mm : float, optional
        Or mirrored about this plumb axis of the chart.
    blend_mm : float
        Over this width inside its edge the two pictures run into each other.

    Raises
    ------
    FieldError
        For a hole off the picture, or when neither or both of shift and axis are given.
    """
    if (shift_mm is None) == (axis_mm is None):
        raise FieldError(
            "What is painted out of the skin needs one place to take the picture from.",
            hint="Give shift_mm, or an axis to mirror about.",
        )
    window = skin.window
    area = shapely.make_valid(shapely.Polygon(hole))
    mask = mask_of(window, area)
    if not mask.any():
        raise FieldError(
            "What is to be painted out of the skin lies off its picture.",
            hint="Pick it on the wall, inside the outline.",
        )
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    top, bottom = int(rows[0]), int(rows[-1]) + 1
    left, right = int(columns[0]), int(columns[-1]) + 1
    along, _ = window.mm_per_px
    x = np.arange(left, right) + 0.5
    if shift_mm is not None:
        source = x + shift_mm / along
    else:
        assert axis_mm is not None
        source = 2.0 * (axis_mm - window.u0_mm) / along - x
    shape = (bottom - top, right - left)
    map_x = np.broadcast_to((source - 0.5).astype(np.float32), shape).copy()
    map_y = np.broadcast_to((np.arange(top, bottom)[:, None]).astype(np.float32), shape).copy()
    taken = cv2.remap(skin.rgb, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
    clean = np.where(mask, 0, skin.opaque).astype(np.uint8)
    there = cv2.remap(clean, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
    inside = mask[top:bottom, left:right]
    share = np.where(inside & (there == 255), 1.0, 0.0).astype(np.float32)
    if blend_mm > 0.0:
        padded = np.pad(inside.astype(np.uint8), 1)
        depth = cv2.distanceTransform(padded, cv2.DIST_L2, 5)[1:-1, 1:-1]
        share *= np.clip((depth - 0.5) * along / blend_mm, 0.0, 1.0)
    rgb, opaque = skin.rgb.copy(), skin.opaque.copy()
    part = rgb[top:bottom, left:right]
    mixed = linear_of(part) * (1.0 - share[..., None]) + linear_of(taken) * share[..., None]
    changed = share > 0.0
    part[changed] = srgb_of(mixed.astype(np.float32))[changed]
    opaque[top:bottom, left:right][share == 1.0] = 255
    missing = 1.0 - float(np.count_nonzero(inside & (there == 255)) / np.count_nonzero(inside))
    notes = skin.notes
    if missing > 0.005:
        words = f"{format_number(100.0 * missing)} % of what is to be painted out stays: "
        notes = (*notes, words + "the place to take the picture from is not on the photo.")
    return Skin(rgb, opaque, window, notes)


def cut_to_outline(skin: Skin, outline: shapely.Geometry, bleed_mm: float) -> Skin:
    """Cut a skin to its wall, with the edge of the wall drawn outward for the bleed.

    Parameters
    ----------
    skin : Skin
    outline : Polygon
        Of the wall, on the chart.
    bleed_mm : float
        At full size. No sky is printed there: each pixel is that of the nearest wall.

    Returns
    -------
    Skin
        Transparent beyond the bleed; so is the wall itself where the photo does not show it.
    """
    inside = mask_of(skin.window, outline)
    wide = mask_of(skin.window, outline.buffer(bleed_mm, join_style="mitre"))
    wall = inside & (skin.opaque > 0)
    opaque = np.where(wall, 255, 0).astype(np.uint8)
    if not wall.any():
        return replace(skin, opaque=opaque, notes=(*skin.notes, "The photo shows no wall here."))
    rim = wide & ~inside
    rgb = skin.rgb.copy()
    if rim.any():
        _, labels = cv2.distanceTransformWithLabels(
            (~inside).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
        )
        where = np.zeros(int(labels.max()) + 1, dtype=np.intp)
        where[labels[inside]] = np.flatnonzero(inside)
        nearest = where[labels[rim]]
        rgb[rim] = skin.rgb.reshape(-1, 3)[nearest]
        opaque[rim] = opaque.ravel()[nearest]
    return replace(skin, rgb=rgb, opaque=opaque)
