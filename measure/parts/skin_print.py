"""The straightened photo on skins: at the model's size, out to the bleed and no further."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from measure.elevation.path_geometry import Box
from measure.elevation.picture import SheetPicture
from measure.parts.part import Part
from measure.survey_job import SurveyJob
from rectify.straighten import straighten
from rectify.window import make_window
from shared.unit_words import MM_PER_INCH

#: Given a face, a part of its chart at full size and pixels to a millimetre of it: the
#: pixels, and which part of the chart they cover exactly.
PhotoOfFace = Callable[[str, Box, float], tuple[NDArray[np.uint8], Box]]


def photo_of_survey(job: SurveyJob) -> PhotoOfFace:
    """Straighten the photos of a survey on demand."""

    def photo(face_id: str, chart: Box, px_per_mm: float) -> tuple[NDArray[np.uint8], Box]:
        face = job.face(face_id)
        solution = job.measure(stop_at_problem=False).photos[face.photo].solution
        window = make_window(
            chart.left_mm, chart.bottom_mm, chart.right_mm, chart.top_mm, px_per_mm
        )
        made = straighten(job.pixels(face.photo).pixels, solution.view(face_id), window)
        rgba = np.dstack([made.rgb, made.visible])
        covered = Box(window.u0_mm, window.v0_mm, window.u1_mm, window.v1_mm)
        return np.ascontiguousarray(rgba, dtype=np.uint8), covered

    return photo


def pictures_on(
    part: Part,
    dx_mm: float,
    dy_mm: float,
    photo: PhotoOfFace,
    denominator: float,
    dpi: float,
) -> list[SheetPicture]:
    """Pictures of a part that lies shifted, unturned, on a sheet.

    Parameters
    ----------
    part : Part
    dx_mm, dy_mm : float
        From the part's own frame to the sheet's.
    photo : callable
    denominator : float
        Of the model's scale.
    dpi : float
    """
    outline = part.area
    made = []
    for picture in part.pictures:
        chart = picture.chart
        low, _, high, _ = outline.bounds
        # a piece of a larger skin needs its own stretch of the chart only
        left = max(chart.left_mm, (low - picture.origin_mm[0]) / picture.along)
        right = min(chart.right_mm, (high - picture.origin_mm[0]) / picture.along)
        if right - left < 0.1:
            continue
        full = Box(
            left * denominator,
            chart.bottom_mm * denominator,
            right * denominator,
            chart.top_mm * denominator,
        )
        rgba, covered = photo(picture.face, full, dpi / MM_PER_INCH / denominator)
        x, y = picture.origin_mm
        box = Box(
            x + covered.left_mm / denominator * picture.along,
            y + covered.bottom_mm / denominator,
            x + covered.right_mm / denominator * picture.along,
            y + covered.top_mm / denominator,
        )
        made.append(SheetPicture(box.moved(dx_mm, dy_mm), _within(rgba, box, outline)))
    return made


def unseen_share(pictures: Sequence[SheetPicture], outline: shapely.Geometry) -> float:
    """Share of an outline, given on the sheet, that no picture covers."""
    seen = 0.0
    for picture in pictures:
        height, width = picture.rgba.shape[:2]
        pixel = picture.box.width_mm / width * picture.box.height_mm / height
        seen += float(np.count_nonzero(picture.rgba[..., 3])) * pixel
    return max(0.0, 1.0 - seen / float(outline.area))


def _within(rgba: NDArray[np.uint8], box: Box, outline: shapely.Geometry) -> NDArray[np.uint8]:
    """Pixels made transparent outside of an outline."""
    height, width = rgba.shape[:2]
    mask = Image.new("L", (width, height), 0)
    draw = ImageDraw.Draw(mask)
    for polygon in shapely.get_parts(outline):
        points = np.array(polygon.exterior.coords)
        across = (points[:, 0] - box.left_mm) / box.width_mm * width
        down = (box.top_mm - points[:, 1]) / box.height_mm * height
        draw.polygon([(float(a), float(d)) for a, d in zip(across, down, strict=True)], fill=255)
    cut = rgba.copy()
    cut[..., 3] = np.minimum(cut[..., 3], np.array(mask))
    return cut
