"""Face shapes from what a survey measured, or from a drawing made of it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely

from measure.elevation.drawing import Circle, Drawing, Path, Polyline
from measure.elevation.extent import face_extent
from measure.elevation.openings import HeadKind
from measure.elevation.path_geometry import ArcSegment, Box, Point, box_around_path, walk
from measure.parts.face_shape import (
    FaceShape,
    PlanLine,
    RoundPlan,
    box_outline,
    ended_at_hinge,
    squared_outline,
    without_nested,
)
from measure.parts.opening_shapes import OpeningShape
from measure.results import FaceResult, MeasureResult, Results
from measure.survey_job import SurveyJob
from rectify.solution import Solution
from rectify.surfaces import Plane, Round
from shared.card_wishes import CardWishes, Extent, FaceWish
from shared.errors import FieldError, UnderdeterminedError
from shared.survey import (
    Face,
    OpeningMeasure,
    RoofSurface,
    RoundSurface,
    SetBackMeasure,
    Survey,
    WallSurface,
)

#: A set-back picked this close to an opening's edge is that opening's (full size).
NEAR_OPENING_MM = 80.0


def faces_to_cut(survey: Survey, wishes: CardWishes) -> tuple[str, ...]:
    """Faces that become card: those wished for, else what has an outline, wings and towers."""
    ids = [face.id for face in survey.faces]
    if wishes.faces:
        for name in wishes.faces:
            if name not in ids:
                raise FieldError(
                    f"The survey has no face '{name}' to cut.", hint=f"It has: {', '.join(ids)}."
                )
        return tuple(dict.fromkeys(wishes.faces))
    outlined = {f.id for f in survey.faces if any(m.kind == "outline" for m in f.measures)}
    chosen = []
    for face in survey.faces:
        hinge = face.surface.hinge if isinstance(face.surface, WallSurface) else None
        joins = hinge is not None and hinge.face in outlined
        if face.id in outlined or joins or isinstance(face.surface, RoundSurface):
            chosen.append(face.id)
    return tuple(chosen or (f.id for f in survey.faces if not isinstance(f.surface, RoofSurface)))


def face_shape(job: SurveyJob, results: Results, face_id: str, wishes: CardWishes) -> FaceShape:
    """Shape of one measured face, at full size.

    Parameters
    ----------
    job : SurveyJob
    results : Results
    face_id : str
    wishes : CardWishes
        For reveals and extents.

    Raises
    ------
    UnderdeterminedError
        If nothing was measured on it.
    FieldError
        If its sizes are not known, only its shape.
    """
    face, result = job.face(face_id), results.faces[face_id]
    solution = results.photos[face.photo].solution
    if not solution.scaled:
        raise FieldError(
            f"Face {face_id} has no known size yet, so no part can be cut to size.",
            hint="Add a known length or counted courses to its photo.",
        )
    wish = wishes.of_face(face_id)
    surface = solution.surface(face_id)
    plan: PlanLine | RoundPlan
    hinge = None
    if isinstance(surface, Round):
        plan = _round_plan(face, surface, solution)
    elif isinstance(surface, Plane):
        plan = _plan_line(surface)
        if isinstance(face.surface, WallSurface) and face.surface.hinge:
            hinge = face.surface.hinge.face
    else:
        raise TypeError(f"face {face_id} is neither a wall nor round")
    outline, cautions = _outline(face, result, solution, wish.extent)
    openings = tuple(
        opening
        for measure in result.measures.values()
        if (opening := _opening(face, result, measure, wishes, wish)) is not None
    )
    shape = FaceShape(
        face_id,
        face.label or face_id,
        outline,
        openings,
        plan,
        result.datum_v_mm,
        hinge,
        cautions,
        outlined=not cautions,
    )
    return without_nested(ended_at_hinge(shape))


def _plan_line(surface: Plane) -> PlanLine:
    (x, _, z), along = surface.origin_mm, surface.along
    return PlanLine((float(x), float(z)), math.atan2(float(along[2]), float(along[0])))


def _round_plan(face: Face, surface: Round, solution: Solution) -> RoundPlan:
    """Tower in plan; how far its axis lies behind the wall that it stands beside."""
    asked, radius = face.surface, float(surface.radius_mm)
    if not isinstance(asked, RoundSurface) or asked.beside is None:
        return RoundPlan(radius, 0.0, None)
    beside = solution.surface(asked.beside)
    if not isinstance(beside, Plane):
        return RoundPlan(radius, 0.0, None)
    line = _plan_line(beside)
    axis = float(surface.axis_x_mm), float(surface.axis_z_mm)
    also = asked.also_meets.face if asked.also_meets is not None else None
    return RoundPlan(radius, line.of(axis)[1], asked.beside, also, axis, -line.heading_rad)


def drawing_left_mm(job: SurveyJob, results: Results, face_id: str) -> float:
    """Chart place of the left edge of a face's elevation, whatever extent is wished for.

    It is the outline's with square corners, or that of what was picked.
    """
    face, result = job.face(face_id), results.faces[face_id]
    drawn = [m for m in result.measures.values() if m.kind == "outline"]
    if drawn:
        points = squared_outline([(float(u), float(v)) for u, v in drawn[0].points_mm])
        return min(u for u, _ in points)
    return face_extent(face, result, results.photos[face.photo].solution).left_mm


def shape_from_drawing(
    drawing: Drawing,
    measured: FaceShape,
    extent: Extent | None = None,
    left_mm: float | None = None,
) -> FaceShape:
    """Shape of a face after its drawing was tidied, standing where the measured one stands.

    Parameters
    ----------
    drawing : Drawing
        Its first closed item on layer ``outline`` is the wall, closed items on ``openings``
        with an id are openings; u starts at its left edge, v at the datum.
    measured : FaceShape
        Tells where the face stands, and the reveals of openings of the same id.
    extent : Extent, optional
        Where the face is to end, as it was wished for.
    left_mm : float, optional
        Chart place of the drawing's left edge; the measured face's own left edge by default.
    """
    closed = [i for i in drawing.items if isinstance(i, Polyline | Path | Circle)]
    outline = next(
        (i for i in closed if isinstance(i, Polyline) and i.layer == "outline" and i.closed), None
    )
    box = measured.box
    left = box.left_mm if left_mm is None else left_mm
    if outline is None:
        points: tuple[Point, ...] = measured.outline_mm
        shift = (left, measured.datum_mm)
    else:
        us = [u for u, _ in outline.points_mm]
        # a wall that ends at a hinge keeps that end, whatever its width became
        if measured.hinge is None:
            du = left
        elif abs(box.right_mm) < abs(box.left_mm):
            du = box.right_mm - max(us)
        else:
            du = box.left_mm - min(us)
        shift = (du, measured.datum_mm)
        points = squared_outline([(u + shift[0], v + shift[1]) for u, v in outline.points_mm])
        if extent is not None:
            points = _extended(points, measured.datum_mm, extent)
    known = {opening.id: opening for opening in measured.openings}
    usual = measured.openings[0] if measured.openings else None
    openings = []
    for item in closed:
        shape = _opening_from_item(item, item.id) if item.layer == "openings" and item.id else None
        if shape is None:
            continue
        source = known.get(shape.id.split("@")[0], usual)
        if source is not None:
            shape = replace(
                shape,
                reveal_mm=source.reveal_mm,
                reveal_from=source.reveal_from,
                label=source.label,
            )
        openings.append(shape.moved(*shift))
    return without_nested(replace(measured, outline_mm=points, openings=tuple(openings)))


def _opening_from_item(item: Polyline | Path | Circle, id: str) -> OpeningShape | None:
    if isinstance(item, Circle):
        (u, v), r = item.centre_mm, item.radius_mm
        return OpeningShape(id, u - r, v - r, 2 * r, 2 * r, "round")
    if not item.closed:
        return None
    if isinstance(item, Polyline):
        box = Box(*shapely.Polygon(item.points_mm).bounds)
        return OpeningShape(id, box.left_mm, box.bottom_mm, box.width_mm, box.height_mm)
    box = box_around_path(item.start_mm, item.segments)
    arcs = [
        (here, segment)
        for here, segment in walk(item.start_mm, item.segments)
        if isinstance(segment, ArcSegment)
    ]
    head: HeadKind = "flat"
    rise = 0.0
    if arcs:
        rise = box.top_mm - arcs[0][0][1]
        turned = sum(abs(arc.sweep_rad) for _, arc in arcs)
        if turned > 1.5 * math.pi:
            head, rise = "round", 0.0
        elif len(arcs) == 2:
            head = "pointed"
        else:
            head = "semicircular" if turned > math.pi - 0.02 else "segmental"
    return OpeningShape(id, box.left_mm, box.bottom_mm, box.width_mm, box.height_mm, head, rise)


def _outline(
    face: Face, result: FaceResult, solution: Solution, extent: Extent | None
) -> tuple[tuple[Point, ...], tuple[str, ...]]:
    """Outline on the chart, and what is to be said of it."""
    cautions: list[str] = []
    drawn = [m for m in result.measures.values() if m.kind == "outline"]
    if drawn:
        points = squared_outline([(float(u), float(v)) for u, v in drawn[0].points_mm])
    else:
        spots = [m.points_mm for m in result.measures.values()]
        if face.frame is not None:
            spots.append(solution.charted(face.id, face.frame).chart_mm)
        if not spots:
            raise UnderdeterminedError(
                f"Nothing is measured on face '{face.id}', so there is nothing to cut.",
                hint="Give it an outline and openings, or leave it out.",
            )
        every = np.concatenate(spots)
        (left, low), (right, high) = np.nanmin(every, axis=0), np.nanmax(every, axis=0)
        hinged = isinstance(face.surface, WallSurface) and face.surface.hinge is not None
        if hinged:
            left, right = (left, max(right, 0.0)) if left < 0 else (min(left, 0.0), right)
        points = box_outline(Box(float(left), float(low), float(right), float(high)))
        if extent is None:
            cautions.append(
                f"Face {face.id} has no outline: its edges are those of what was picked on it; "
                "pick its outline or give its extent."
            )
    if extent is not None:
        points = _extended(points, result.datum_v_mm, extent)
    return points, tuple(cautions)


def _extended(points: tuple[Point, ...], datum_mm: float, extent: Extent) -> tuple[Point, ...]:
    """Outline with its outermost edges where the user wants them."""
    us, vs = [u for u, _ in points], [v for _, v in points]
    left, right, low, high = min(us), max(us), min(vs), max(vs)
    new_left = extent.left_mm if extent.left_mm is not None else left
    new_right = extent.right_mm if extent.right_mm is not None else right
    new_low = extent.foot_mm + datum_mm if extent.foot_mm is not None else low
    new_high = extent.head_mm + datum_mm if extent.head_mm is not None else high
    eaves = [max(v for u, v in points if abs(u - end) < 1e-6) for end in (left, right)]
    below = [v for v in eaves if v < high - 1e-6]
    new_eaves = new_high
    if extent.eaves_mm is not None:
        new_eaves = extent.eaves_mm + datum_mm
        if not below:
            new_high = new_eaves
        elif new_eaves >= new_high:
            raise FieldError("The eaves of a face need to lie below the top of its gable.")
    if new_left >= new_right or new_low >= min(new_high, new_eaves):
        raise FieldError(
            "The extent of a face needs its right beyond its left and its head above its foot."
        )

    def placed(values: list[float], moves: tuple[tuple[float, float], ...]) -> list[float]:
        return [next((new for old, new in moves if abs(x - old) < 1e-6), x) for x in values]

    us = placed(us, ((left, new_left), (right, new_right)))
    moves = [(low, new_low), (high, new_high)]
    if extent.eaves_mm is not None:
        moves += [(v, new_eaves) for v in below]
    vs = placed(vs, tuple(moves))
    return tuple(zip(us, vs, strict=True))


def _opening(
    face: Face, result: FaceResult, measure: MeasureResult, wishes: CardWishes, wish: FaceWish
) -> OpeningShape | None:
    asked = next((m for m in face.measures if m.id == measure.id), None)
    if not isinstance(asked, OpeningMeasure):
        return None
    shape = OpeningShape(
        measure.id,
        measure.size("left_mm"),
        measure.size("sill_mm") + result.datum_v_mm,
        measure.size("width_mm"),
        measure.size("height_mm"),
        asked.head,
        measure.size("rise_mm") if "rise_mm" in measure.sizes else 0.0,
        label=measure.label or measure.id,
    )
    reveal, source = _reveal(face, result, shape, asked, wishes, wish)
    return replace(shape, reveal_mm=reveal, reveal_from=source)


def _reveal(
    face: Face,
    result: FaceResult,
    shape: OpeningShape,
    asked: OpeningMeasure,
    wishes: CardWishes,
    wish: FaceWish,
) -> tuple[float, str]:
    """Depth of an opening's reveal at full size, and where it comes from."""
    own = wish.openings.get(shape.id)
    if own is not None and own.reveal_mm is not None:
        return own.reveal_mm, "given"
    if asked.set_back_mm > 0:
        return asked.set_back_mm, "its own set-back"
    found = [
        (m.size("depth_mm"), m.id, shapely.Point(m.points_mm[0]))
        for m in result.measures.values()
        if m.kind == "set-back" and m.size("depth_mm") > 0
    ]
    for depth, id_, point in found:
        if shape.area.boundary.distance(point) <= NEAR_OPENING_MM:
            return depth, f"set-back {id_}"
    if wish.reveal_mm is not None:
        return wish.reveal_mm, "given for the face"
    others = [
        (depth, id_)
        for depth, id_, point in found
        if not _belongs_to_another(face, result, shape.id, point)
    ]
    if others:
        depth, id_ = min(others)
        return depth, f"set-back {id_} of another opening"
    return wishes.reveal_mm, "taken, not measured"


def _belongs_to_another(face: Face, result: FaceResult, id_: str, point: shapely.Geometry) -> bool:
    """Whether a set-back was picked at the edge of some other measured opening."""
    for measure in result.measures.values():
        if measure.kind != "opening" or measure.id == id_:
            continue
        asked = next(m for m in face.measures if m.id == measure.id)
        if isinstance(asked, OpeningMeasure) and not isinstance(asked, SetBackMeasure):
            left, sill = measure.size("left_mm"), measure.size("sill_mm") + result.datum_v_mm
            box = shapely.box(
                left, sill, left + measure.size("width_mm"), sill + measure.size("height_mm")
            )
            if box.boundary.distance(point) <= NEAR_OPENING_MM:
                return True
    return False
