"""Drawings of a whole building: its plan, and all its faces side by side."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from measure.elevation.build import Elevation, make_elevation, unfitted
from measure.elevation.draw_plan import AS_MEASURED, draw_plan
from measure.elevation.drawing import Drawing
from measure.elevation.elsewhere import wall_of
from measure.elevation.joined_plan import joined_plan
from measure.elevation.outline_shapes import size_is_measured
from measure.elevation.path_geometry import Box
from measure.elevation.plan_faces import BuildingPlan, plan_of_photo
from measure.elevation.side_by_side import DrawnFace, draw_side_by_side
from measure.results import Results
from rectify.placements import Placement
from shared.errors import StoreyrodError
from shared.same_walls import same_walls
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


@dataclass(frozen=True, slots=True)
class _Group:
    """Photos that are placed in one frame, that of the first, and their plan."""

    placed: Mapping[str, Placement]
    plan: BuildingPlan
    same: Mapping[str, str]


def _groups(survey: Survey, results: Results) -> list[_Group]:
    """Photos with their plans, together where ties place them together."""
    together: dict[str, dict[str, Placement]] = {}
    for photo, solved in results.photos.items():
        if solved.solution.scaled:
            alone = (photo, Placement(0.0, 0.0, 0.0, 0.0))
            reference, place = results.placements.get(photo, alone)
            together.setdefault(reference, {})[photo] = place
    out = []
    for placed in together.values():
        faces = [face for face in survey.faces if face.photo in placed]
        same = {name: wall[0] for name, wall in same_walls(faces).items() if name != wall[0]}
        parts = [
            (
                plan_of_photo(
                    [face for face in faces if face.photo == photo],
                    results.faces,
                    results.photos[photo].solution,
                ),
                place,
            )
            for photo, place in placed.items()
        ]
        plan = joined_plan(parts, same) if len(parts) > 1 else parts[0][0]
        out.append(_Group(placed, plan, same))
    return out


def building_drawings(
    survey: Survey,
    results: Results,
    denominator: float,
    *,
    as_picked: bool = False,
    made: Mapping[str, Elevation] | None = None,
) -> Iterator[BuildingDrawing]:
    """Draw plan and faces side by side of the photos that show more than one flat wall.

    Photos that are tied share their drawings.

    Parameters
    ----------
    survey : Survey
    results : Results
    denominator : float
        Of the model's scale.
    as_picked : bool
        Nothing lined up or completed.
    made : mapping of face to Elevation, optional
        Of this scale, as picked or not, made already.

    Yields
    ------
    BuildingDrawing
    """
    groups = [
        group
        for group in _groups(survey, results)
        if len(group.plan.walls) + len(group.plan.roofs) > 1 or group.plan.towers
    ]
    for group in groups:
        photos = tuple(group.placed)
        ending = f"-{photos[0]}" if len(groups) > 1 else ""
        remarks = () if as_picked else (AS_MEASURED,)
        drawing = draw_plan(group.plan, title=survey.title, remarks=remarks)
        yield BuildingDrawing(f"plan{ending}", drawing, photos, group.plan.notes)
        faces = [
            face
            for photo in photos
            for face in _drawn(survey, results, photo, group, denominator, as_picked, made or {})
        ]
        if len(faces) > 1:
            side = draw_side_by_side(faces, group.plan, denominator, title=survey.title)
            yield BuildingDrawing(f"side-by-side{ending}", side, photos)


def _drawn(
    survey: Survey,
    results: Results,
    photo: str,
    group: _Group,
    denominator: float,
    as_picked: bool,
    made: Mapping[str, Elevation],
) -> list[DrawnFace]:
    """Faces of a photo, each drawn at full size; those with nothing to draw are left out."""
    solution = results.photos[photo].solution
    lift_mm = float(group.placed[photo].y_mm)
    out = []
    for name, shape in solution.unknowns.shapes.items():
        if name in group.same:
            continue
        face = _face(survey, name)
        true = unfitted(face)
        elevation = made.get(name) if true is face else None
        if elevation is None:
            result = results.faces[name]
            try:
                elevation = make_elevation(
                    survey,
                    true,
                    result,
                    solution,
                    denominator,
                    as_picked=as_picked,
                    wall=wall_of(survey, results, name),
                )
            except StoreyrodError:
                # it says so where that face's own elevation is made
                continue
        facade = elevation.facade
        box = facade.wall_box
        ends_known = bool(facade.outlines) and size_is_measured(facade.outlines[0], 0)
        in_plan = group.plan.wall(name)
        if in_plan is not None and not facade.outlines:
            # up to the corners that it shares with others, as the plan has it
            left, right = (
                at - elevation.origin_chart_mm[0] for at in (in_plan.left_mm, in_plan.right_mm)
            )
            grown = any(
                each.inferred and (each.left_mm < left or each.right_mm > right)
                for each in facade.openings
            )
            box = Box(min(left, box.left_mm), box.bottom_mm, max(right, box.right_mm), box.top_mm)
            ends_known = all(in_plan.ends_known) and not grown
        # a slope's own chart counts from its eaves, all others from the camera's height
        foot = solution.surface(name).building_mm_from_chart(0.0, 0.0)[1]
        out.append(
            DrawnFace(
                name,
                face.label or name,
                elevation.drawing.items,
                box,
                (
                    elevation.origin_chart_mm[0],
                    elevation.origin_chart_mm[1] + float(foot) + lift_mm,
                ),
                ends_known,
                follows=shape.kind in ("parallel", "roof"),
            )
        )
    return out


def _face(survey: Survey, name: str) -> Face:
    return next(face for face in survey.faces if face.id == name)


def photos_named(survey: Survey, photos: tuple[str, ...]) -> str:
    """Files of some photos, for a title block."""
    names: Mapping[str, str] = {photo.id: photo.file for photo in survey.photos}
    return ", ".join(names[photo] for photo in photos)
