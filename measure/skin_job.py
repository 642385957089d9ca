"""The skin of a face of a survey: its photo straightened, and made into a skin as it wishes."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from measure.elevation.extent import face_extent
from measure.elevation.outline_shapes import area_of_points
from measure.elevation.path_geometry import Point
from measure.elevation.skin import (
    Skin,
    balanced,
    cut_to_outline,
    evened,
    mask_of,
    painted_out,
    skin_of,
)
from measure.results import FaceResult
from measure.survey_job import SurveyJob
from rectify.solution import Solution
from rectify.straighten import Progress, straighten
from rectify.window import window_for_print
from shared.errors import FieldError
from shared.survey import Face, Pick
from shared.survey_skin import PaintOut, SkinWishes


def make_skin(
    job: SurveyJob,
    face_id: str,
    wishes: SkinWishes | None = None,
    *,
    scale: str | None = None,
    dpi: float = 600.0,
    progress: Progress | None = None,
) -> Skin:
    """Make the skin of a face.

    Parameters
    ----------
    job : SurveyJob
    face_id : str
    wishes : SkinWishes, optional
        The face's own where left out, else plain ones.
    scale : str, optional
        The survey's own where left out.
    dpi : float
        Pixels to the inch of the print, 300 to 1200 as a rule.
    progress : callable, optional

    Returns
    -------
    Skin
        Cut to the outline of the wall, or to what was picked where it has none.

    Raises
    ------
    FieldError
        For a wish that cannot be met.
    """
    if not (math.isfinite(dpi) and 10 <= dpi <= 4800):
        raise FieldError(f"A resolution of {dpi:g} dpi cannot be printed.", hint="Use 300.")
    face = job.face(face_id)
    if wishes is None:
        own = face.drawing.skin if face.drawing is not None else None
        wishes = own or SkinWishes()
    results = job.measure(stop_at_problem=False)
    solution, result = results.photos[face.photo].solution, results.faces[face_id]
    denominator = job.denominator(scale)
    wall = _wall(face, result, solution)
    bleed_mm = wishes.bleed_mm * denominator
    low_u, low_v, high_u, high_v = wall.buffer(bleed_mm, join_style="mitre").bounds
    window = window_for_print((low_u, low_v, high_u, high_v), dpi, denominator)
    picture = straighten(
        job.pixels(face.photo).pixels, solution.view(face_id), window, progress=progress
    )
    try:
        return _made(skin_of(picture), face, result, solution, wishes, wall, bleed_mm)
    except FieldError as error:
        raise FieldError(
            f"Face '{face_id}': {error.message}", hint=error.hint, details={"face": face_id}
        ) from error


def _made(
    skin: Skin,
    face: Face,
    result: FaceResult,
    solution: Solution,
    wishes: SkinWishes,
    wall: shapely.Geometry,
    bleed_mm: float,
) -> Skin:
    holes = [_chart(face, solution, each.at) for each in wishes.paint_out]
    if wishes.even_light:
        openings = [
            area_of_points([(float(u), float(v)) for u, v in each.points_mm[:4]])
            for each in result.measures.values()
            if each.kind == "opening" and len(each.points_mm) >= 4
        ]
        brick = wall.difference(shapely.union_all([*openings, *map(area_of_points, holes)]))
        skin = evened(skin, wishes.reach_mm, ~mask_of(skin.window, brick))
    if wishes.neutral:
        area = area_of_points(_chart(face, solution, wishes.neutral))
        skin = balanced(skin, mask_of(skin.window, area))
    for wish, hole in zip(wishes.paint_out, holes, strict=True):
        source = _source(wish, face, result, solution)
        skin = painted_out(skin, hole, blend_mm=wish.blend_mm, **source)
    return cut_to_outline(skin, wall, bleed_mm)


def _wall(face: Face, result: FaceResult, solution: Solution) -> shapely.Geometry:
    """Area of the wall on the chart: its outline, or the box of what was picked."""
    outline = next((each for each in result.measures.values() if each.kind == "outline"), None)
    if outline is not None:
        return area_of_points([(float(u), float(v)) for u, v in outline.points_mm])
    box = face_extent(face, result, solution)
    return shapely.box(box.left_mm, box.bottom_mm, box.right_mm, box.top_mm)


def _chart(face: Face, solution: Solution, picks: Sequence[Pick]) -> list[Point]:
    at = solution.charted(face.id, list(picks)).chart_mm
    if not np.isfinite(at).all():
        raise FieldError("A pick for its skin looks past the face.", hint="Pick it on the face.")
    return [(float(u), float(v)) for u, v in at]


def _source(wish: PaintOut, face: Face, result: FaceResult, solution: Solution) -> dict[str, float]:
    if wish.axis_at is not None:
        return {"axis_mm": _chart(face, solution, [wish.axis_at])[0][0]}
    if wish.shift_mm is not None:
        return {"shift_mm": wish.shift_mm}
    centres = []
    for name in wish.bays:
        opening = result.measures.get(name)
        if opening is None or opening.kind != "opening":
            raise FieldError(
                f"There is no opening '{name}' on this face to take the skin's picture from.",
                hint="Name two that are measured.",
            )
        centres.append(opening.size("left_mm") + opening.size("width_mm") / 2.0)
    return {"shift_mm": centres[1] - centres[0]}
