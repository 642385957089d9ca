"""How each kind of face is placed: its shape, its own observations, its first guess."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from rectify.first_guess import line_direction
from rectify.observations import Role, Sheet
from rectify.residuals import GivenUnknown, OnOutline, OnUpright, WhereTowerMeetsWall
from rectify.tower_start import place_tower
from rectify.unknowns import FaceShape, Name, Unknowns
from shared.errors import UnderdeterminedError
from shared.jets import Array, value_of
from shared.survey import Face, Pick, RoundSurface, WallSurface

#: ± of a given set-back of a tower's axis, as part of it, when none is stated (judgement).
U_GIVEN_PART = 0.01


def face_shapes(photo: str, faces: Sequence[Face]) -> dict[str, FaceShape]:
    """Say how each face of a photo is placed.

    Raises
    ------
    UnderdeterminedError
        If the photo has no wall to start from, or a face leans on one in another photo.
    """
    shapes: dict[str, FaceShape] = {}
    here = {face.id for face in faces}
    main: str | None = None
    for face in faces:
        surface = face.surface
        parent: str | None = None
        if isinstance(surface, RoundSurface):
            kind, parent = "round", surface.beside
        elif surface.hinge is not None:
            kind, parent = "hinged", surface.hinge.face
        else:
            kind = "main" if main is None else "parallel"
            main = main or face.id
        if parent is not None and parent not in here:
            raise UnderdeterminedError(
                f"Face '{face.id}' stands beside '{parent}', which is picked in another photo.",
                hint="Pick both faces in the same photo.",
                details={"face": face.id},
            )
        shapes[face.id] = FaceShape(kind, parent)
    if main is None:
        raise UnderdeterminedError(
            f"Photo '{photo}' has no plain wall to start from.",
            hint="Add a face with a frame on a flat wall.",
            details={"photo": photo},
        )
    ordered = sorted(shapes.items(), key=lambda item: item[1].kind != "main")
    return dict(ordered)


def gives_size(face: Face) -> bool:
    """Tell whether the face itself states a length: a tower's radius or set-back."""
    surface = face.surface
    return isinstance(surface, RoundSurface) and (
        surface.radius_mm is not None or bool(surface.axis_set_back_mm)
    )


def enter_surface(sheet: Sheet, face: Face, names: tuple[Name, ...]) -> None:
    """Enter what places the face itself: hinge picks, outlines, given numbers."""
    if isinstance(face.surface, RoundSurface):
        _enter_round(sheet, face.id, face.surface, names)
    elif isinstance(face.surface, WallSurface) and face.surface.hinge is not None:
        hinge = face.surface.hinge
        index = _enter_picks(sheet, face.id, hinge.at, "the hinge")
        sights = np.array([sheet.sight(hinge.face, at) for at in index], dtype=np.intp)
        sheet.kinds.append(OnUpright(sights, names.index((face.id, "hinge_u"))))


def _enter_picks(sheet: Sheet, face: str, picks: Sequence[Pick], item: str) -> list[int]:
    return [
        sheet.pick(pick, Role(face, item, f"pick {number + 1}"))
        for number, pick in enumerate(picks)
    ]


def _enter_round(sheet: Sheet, face: str, surface: RoundSurface, names: tuple[Name, ...]) -> None:
    edges = [
        (surface.left_edge, -1.0, "the left outline"),
        (surface.right_edge, 1.0, "the right outline"),
    ]
    for picks, side, item in edges:
        if picks is not None:
            index = np.array(_enter_picks(sheet, face, picks, item), dtype=np.intp)
            sheet.kinds.append(OnOutline(face, side, index))
    if surface.meets_wall is not None and surface.beside is not None:
        index = np.array(
            _enter_picks(sheet, face, surface.meets_wall, "the line where it meets the wall"),
            dtype=np.intp,
        )
        sheet.kinds.append(WhereTowerMeetsWall(face, surface.beside, index))
    given = [
        (surface.radius_mm, surface.u_radius_mm, "radius", "the given radius"),
        (
            surface.axis_set_back_mm,
            surface.u_axis_set_back_mm,
            "axis_set_back",
            "the given set-back of the axis",
        ),
    ]
    for value, u, what, label in given:
        if value is not None:
            u_mm = U_GIVEN_PART * max(abs(value), 100.0) if u is None else u
            scalar = sheet.size(face, label, value, u_mm)
            sheet.kinds.append(GivenUnknown(names.index((face, what)), scalar))


def start_faces(
    state: Unknowns, sheet: Sheet, faces: Sequence[Face], rays_cam: Array, *, in_mm: bool
) -> Unknowns:
    """Give every face beside the main wall a first place, in the start's own scale.

    `in_mm` says that this scale is millimetres already, so that sizes given may be used.
    """
    rays = rays_cam @ state.rotation
    values = state.values.copy()
    _, pose = state.camera(list(values))
    distance = float(value_of(pose.centre_mm[2]))
    for face in faces:
        shape = state.shapes[face.id]
        if shape.kind == "hinged" and isinstance(face.surface, WallSurface) and face.surface.hinge:
            index = [sheet.pick_index[pick.x, pick.y] for pick in face.surface.hinge.at]
            parent = state.surface(shape.parent or "", list(values))
            ray = (rays[index, 0], rays[index, 1], rays[index, 2])
            u, _, _ = parent.chart_mm_from_ray((0.0, 0.0, distance), ray)
            values[state.index(face.id, "hinge_u")] = float(np.nanmean(value_of(u)))
            values[state.index(face.id, "heading")] = _heading(face.id, sheet, rays)
        elif shape.kind == "round" and isinstance(face.surface, RoundSurface):
            start = place_tower(face.id, face.surface, sheet, rays, distance, in_mm=in_mm)
            for what, value in zip(shape.parts, start, strict=True):
                values[state.index(face.id, what)] = value
        state = replace(state, values=values.copy())
    return state


def _heading(face: str, sheet: Sheet, rays: Array) -> float:
    """Plan direction of a wall from its level lines, facing the camera."""
    lines = [line.picks for line in sheet.lines if line.face == face and line.direction == "level"]
    if not lines:
        raise UnderdeterminedError(
            f"Face '{face}' has nothing to find its angle by.",
            hint="Pick an upright rectangle on it as its frame, or a level guide.",
            details={"face": face},
            unobservable=("heading",),
        )
    if len(lines) == 1:
        a, b = rays[lines[0][0]], rays[lines[0][-1]]
        normal = np.cross(a, b)
        d = np.array([normal[2], 0.0, -normal[0]])
    else:
        d = line_direction(lines, rays)
    middle = np.mean([rays[at] for line in lines for at in line], axis=0)
    outward = np.array([-d[2], 0.0, d[0]])
    if outward @ middle > 0:
        d = -d
    return float(np.arctan2(d[2], d[0]))
