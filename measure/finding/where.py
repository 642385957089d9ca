"""Where on a face to look for openings: its outline, or the wall around what is picked on it."""

from __future__ import annotations

import math

import numpy as np
import shapely

from measure.finding.picture import Floats, WallPicture, make_picture
from measure.finding.wall_tone import wall_extent, wall_likeness
from rectify.photos.pixels import RgbPixels
from rectify.photos.pyramid import Pyramid
from rectify.projection import View, chart_mm_from_photo_px, photo_px_from_chart_mm
from rectify.straighten import straighten
from rectify.window import Window, make_window
from shared.errors import GeometryError
from shared.jets import Array
from shared.survey import Face, OpeningMeasure, OutlineMeasure, Pick

#: Finest pixel of the straightened wall, and how many of them it may have.
FINEST_MM, MOST_PX = 8.0, 1_100_000

#: Nothing is gained by pixels finer than this part of the photo's own.
NO_FINER = 0.7

#: Beyond what is picked, so much more of the wall is searched, in parts of its size; and at least
#: so many millimetres.
BEYOND, BEYOND_MM = 0.3, 1500.0

#: Around an outline, so much at least.
BESIDE_MM = 600.0

#: Pixels of the look from afar that tells where the wall ends, and how much is kept around it.
FAR_PX, AROUND_MM = 200_000, 900.0

#: The longer side of a wall without any known size is taken to be so long.
GUESSED_MM = 12_000.0


def search_window(
    face: Face, view: View, width_px: int, height_px: int, *, scaled: bool
) -> tuple[Window, float]:
    """Part of the chart to be searched, and true millimetres for one of the chart.

    Raises
    ------
    GeometryError
        If nothing is picked on the face or the photo shows nothing of it.
    """
    outline = next((one for one in face.measures if isinstance(one, OutlineMeasure)), None)
    chart = chart_of_picks(face, view)
    if len(chart) < 2:
        raise GeometryError(
            f"Too little is picked on face '{face.id}' to know where to look for openings.",
            hint="Give it a frame or an outline.",
            details={"face": face.id},
        )
    low, high = chart.min(axis=0), chart.max(axis=0)
    longest = float(np.max(high - low))
    factor = 1.0 if scaled else GUESSED_MM / max(longest, 1e-9)
    beyond = 0.02 * longest
    if outline is None:
        beyond = max(BEYOND * longest, BEYOND_MM / factor)
        seen = _seen_box(view, width_px, height_px, low - beyond, high + beyond)
        low, high = np.maximum(low - beyond, seen[0]), np.minimum(high + beyond, seen[1])
    else:
        # doors stand on the lower edge of an outline: what lies before their sills shows it
        beyond = max(beyond, BESIDE_MM / factor)
        low, high = low - beyond, high + beyond
    return _window(low, high, FINEST_MM / factor, MOST_PX, view), factor


def _window(low: Array, high: Array, finest: float, most_px: int, view: View) -> Window:
    """Window of pixels no finer than the photo's own, nor than is of use, nor too many."""
    size = high - low
    own = NO_FINER * photo_pixel_on_face(view, 0.5 * (low + high))
    pixel = max(finest, own, math.sqrt(float(size[0] * size[1]) / most_px))
    return make_window(low[0], low[1], high[0], high[1], 1.0 / pixel)


def photo_pixel_on_face(view: View, at: Array) -> float:
    """Side of a photo pixel where it meets the face, in units of the chart; 0 where it does not."""
    steps = at + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    with np.errstate(all="ignore"):
        px = photo_px_from_chart_mm(steps, view)
    area = abs(float(np.cross(np.append(px[1] - px[0], 0.0), np.append(px[2] - px[0], 0.0))[2]))
    return 1.0 / math.sqrt(area) if math.isfinite(area) and area > 0.0 else 0.0


def wall_window(
    pixels: RgbPixels, view: View, face: Face, window: Window, factor: float, pyramid: Pyramid
) -> Window:
    """Part of a window that the wall takes up, seen from afar; sky and street cost sharpness."""
    far = _window(
        np.array([window.u0_mm, window.v0_mm]),
        np.array([window.u1_mm, window.v1_mm]),
        FINEST_MM / factor,
        FAR_PX,
        view,
    )
    made = straighten(pixels, view, far, pyramid=pyramid)
    picture = make_picture(made.rgb, made.visible, far.mm_per_px[0] * factor)
    core = core_between_picks(picture, far, chart_of_picks(face, view))
    left, top, right, low = wall_extent(picture, wall_likeness(picture, core), core)
    corners = far.chart_mm_from_target_px([[left, low], [right, top]])
    beyond = AROUND_MM / factor
    bottom, upper = corners[0] - beyond, corners[1] + beyond
    bottom = np.maximum(bottom, [window.u0_mm, window.v0_mm])
    upper = np.minimum(upper, [window.u1_mm, window.v1_mm])
    return _window(bottom, upper, FINEST_MM / factor, MOST_PX, view)


def core_between_picks(picture: WallPicture, window: Window, chart: Array) -> Floats:
    """Weight of what lies between the picks of a face: there the wall is."""
    px = window.target_px_from_chart_mm(chart)
    (x0, y0), (x1, y1) = np.floor(px.min(axis=0)), np.ceil(px.max(axis=0))
    core = np.full(picture.shape, 0.02, np.float32)
    h, w = picture.shape
    rows = slice(int(np.clip(y0, 0, h)), int(np.clip(y1, 0, h)))
    core[rows, int(np.clip(x0, 0, w)) : int(np.clip(x1, 0, w))] = 1.0
    return core


def chart_of_picks(face: Face, view: View) -> Array:
    """Chart places of the outline of a face, or of all that is picked on it; shape (n, 2)."""
    outline = next((one for one in face.measures if isinstance(one, OutlineMeasure)), None)
    picks = list(outline.at) if outline is not None else _picks_of(face)
    points = np.array([(pick.x, pick.y) for pick in picks], dtype=float).reshape(-1, 2)
    chart = chart_mm_from_photo_px(points, view) if len(points) else points
    return np.asarray(chart[np.isfinite(chart).all(axis=1)])


def _picks_of(face: Face) -> list[Pick]:
    picks = list(face.frame or ())
    for guide in face.guides:
        picks += guide.at
    for reference in face.references:
        picks += reference.at
    for measure in face.measures:
        picks += measure.at
    return picks


def _seen_box(
    view: View, width_px: int, height_px: int, low: Array, high: Array
) -> tuple[Array, Array]:
    """Bounds of what the photo shows between two corners of the chart."""
    u, v = np.meshgrid(np.linspace(low[0], high[0], 41), np.linspace(low[1], high[1], 41))
    chart = np.stack([u.ravel(), v.ravel()], axis=-1)
    with np.errstate(all="ignore"):
        px = photo_px_from_chart_mm(chart, view)
    inside = np.isfinite(px).all(axis=1) & (px >= 0).all(axis=1)
    inside &= (px[:, 0] <= width_px) & (px[:, 1] <= height_px)
    if not inside.any():
        raise GeometryError(
            "The photo shows nothing of this face.", hint="Pick its frame on what it shows."
        )
    step = (high - low) / 40.0
    return chart[inside].min(axis=0) - step, chart[inside].max(axis=0) + step


def outline_of(face: Face, view: View) -> shapely.Polygon | None:
    """The wall's own outline on the chart; None where it has none, or none that bounds it."""
    outline = next((one for one in face.measures if isinstance(one, OutlineMeasure)), None)
    if outline is None:
        return None
    chart = chart_mm_from_photo_px(np.array([(p.x, p.y) for p in outline.at]), view)
    if not np.isfinite(chart).all():
        return None
    shape = shapely.Polygon(chart)
    return shape if shape.is_valid and shape.area > 0 else None


def taken_boxes(face: Face, view: View) -> list[tuple[float, float, float, float]]:
    """Boxes of the openings that the face has already, heads with them."""
    out = []
    for measure in face.measures:
        if isinstance(measure, OpeningMeasure):
            picks = [*measure.at, *measure.head_at]
            chart = chart_mm_from_photo_px(
                np.array([(p.x, p.y) for p in picks]), view, measure.set_back_mm
            )
            if np.isfinite(chart).all():
                (u0, v0), (u1, v1) = chart.min(axis=0), chart.max(axis=0)
                out.append((float(u0), float(v0), float(u1), float(v1)))
    return out
