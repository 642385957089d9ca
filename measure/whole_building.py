"""Drawings of a whole building: its plan, and all its faces side by side."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from measure.elevation.build import make_elevation
from measure.elevation.draw_plan import draw_plan
from measure.elevation.drawing import Drawing
from measure.elevation.path_geometry import Box
from measure.elevation.plan_faces import BuildingPlan, plan_of_photo
from measure.elevation.side_by_side import DrawnFace, draw_side_by_side
from measure.results import Results
from shared.errors import StoreyrodError
from shared.survey import Face, Survey


@dataclass(frozen=True, slots=True)
class BuildingDrawing:
    """One drawing of a whole building.

    Attributes
    ----------
    name : str
        Start of its file's name.
    drawing : Drawing
    photos : tuple of str
        Photos that it rests on.
    notes : tuple of str
        What is not right in it, in sentences.
    """

    name: str
    drawing: Drawing
    photos: tuple[str, ...]
    notes: tuple[str, ...] = ()


def plans_of_survey(survey: Survey, results: Results) -> dict[str, BuildingPlan]:
    """Plan of each photo's faces, by photo."""
    out: dict[str, BuildingPlan] = {}
    for photo, solved in results.photos.items():
        if solved.solution.scaled:
            faces = [face for face in survey.faces if face.photo == photo]
            out[photo] = plan_of_photo(faces, results.faces, solved.solution)
    return out


def building_drawings(
    survey: Survey, results: Results, denominator: float, *, as_picked: bool = False
) -> Iterator[BuildingDrawing]:
    """Draw plan and faces side by side of each photo that shows more than one flat wall.

    Parameters
    ----------
    survey : Survey
    results : Results
    denominator : float
        Of the model's scale.
    as_picked : bool
        Nothing lined up or completed.

    Yields
    ------
    BuildingDrawing
    """
    plans = {
        photo: plan
        for photo, plan in plans_of_survey(survey, results).items()
        if len(plan.walls) + len(plan.towers) + len(plan.roofs) > 1 or plan.towers
    }
    for photo, plan in plans.items():
        ending = f"-{photo}" if len(plans) > 1 else ""
        drawing = draw_plan(plan, title=survey.title)
        yield BuildingDrawing(f"plan{ending}", drawing, (photo,), plan.notes)
        faces = _drawn(survey, results, photo, plan, denominator, as_picked)
        if len(faces) > 1:
            side = draw_side_by_side(faces, plan, denominator, title=survey.title)
            yield BuildingDrawing(f"side-by-side{ending}", side, (photo,))


def _drawn(
    survey: Survey,
    results: Results,
    photo: str,
    plan: BuildingPlan,
    denominator: float,
    as_picked: bool,
) -> list[DrawnFace]:
    """Faces of a photo, each drawn at full size; those with nothing to draw are left out."""
    solution = results.photos[photo].solution
    out = []
    for name, shape in solution.unknowns.shapes.items():
        face = _face(survey, name)
        try:
            made = make_elevation(
                survey,
                _unfitted(face),
                results.faces[name],
                solution,
                denominator,
                as_picked=as_picked,
            )
        except StoreyrodError:
            # it says so where that face's own elevation is made
            continue
        box, ends_known = made.facade.wall_box, bool(made.facade.outlines)
        in_plan = plan.wall(name)
        if in_plan is not None and not ends_known:
            # up to the corners that it shares with others, as the plan has it
            left, right = (
                at - made.origin_chart_mm[0] for at in (in_plan.left_mm, in_plan.right_mm)
            )
            box = Box(min(left, box.left_mm), box.bottom_mm, max(right, box.right_mm), box.top_mm)
            ends_known = all(in_plan.ends_known)
        out.append(
            DrawnFace(
                name,
                face.label or name,
                made.drawing.items,
                box,
                made.origin_chart_mm,
                ends_known,
                follows=shape.kind in ("parallel", "roof"),
            )
        )
    return out


def _face(survey: Survey, name: str) -> Face:
    return next(face for face in survey.faces if face.id == name)


def _unfitted(face: Face) -> Face:
    """The face without its plot: side by side, all faces keep their true size."""
    if face.drawing is None or face.drawing.plot is None:
        return face
    return face.model_copy(update={"drawing": face.drawing.model_copy(update={"plot": None})})


def photos_named(survey: Survey, photos: tuple[str, ...]) -> str:
    """Files of some photos, for a title block."""
    names: Mapping[str, str] = {photo.id: photo.file for photo in survey.photos}
    return ", ".join(names[photo] for photo in photos)
