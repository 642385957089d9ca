"""How each kind of face is placed: its shape, its own observations, its first guess."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from rectify.solving.face_checks import (
    check_eaves_are_level,
    check_hinge_is_plumb,
    check_no_ring,
    check_outlines_close,
    check_parallel_is_told,
    check_roof_rests_on_a_wall,
    check_tower_is_told,
)
from rectify.solving.observations import Role, Sheet, same_place
from rectify.solving.residuals import GivenUnknown, OnLine, OnOutline, WhereTowerMeetsWall
from rectify.solving.unknowns import FaceShape, Name, Unknowns
from rectify.starts.first_guess import line_direction
from rectify.starts.roof import start_pitch_rad
from rectify.starts.tower import MeetingPoints, half_angle_rad, outlines_of, place_tower
from rectify.surfaces import Surface
from shared.errors import UnderdeterminedError
from shared.jets import Array, value_of
from shared.survey import Face, Pick, RoofSurface, RoundSurface, WallSurface, faces_leant_on

#: ± of a given pitch when none is stated (judgement).
U_PITCH_DEG = 1.0

#: ± of a given set-back of a tower's axis, as part of it, when none is stated (judgement).
U_GIVEN_PART = 0.01


def face_shapes(photo: str, faces: Sequence[Face]) -> dict[str, FaceShape]:
    """Say how each face of a photo is placed; each comes after those that it leans on.

    Raises
    ------
    UnderdeterminedError
        If the photo has neither a wall nor a tower to start from, or a face leans on one in
        another photo, or too little is known of a tower.
    FieldError
        If faces lean on each other in a ring.
    """
    shapes: dict[str, FaceShape] = {}
    leant_on = {face.id: faces_leant_on(face) for face in faces}
    plain = [face.id for face in faces if _is_plain_wall(face)]
    lonely = [face.id for face in faces if _is_lonely_tower(face)]
    main = next(iter([*plain, *lonely]), None)
    for face in faces:
        for other in leant_on[face.id]:
            if other not in leant_on:
                raise UnderdeterminedError(
                    f"Face '{face.id}' stands beside '{other}', which is picked in another photo.",
                    hint="Pick both faces in the same photo.",
                    details={"face": face.id},
                )
    if main is None:
        check_no_ring(leant_on)
        raise UnderdeterminedError(
            f"Photo '{photo}' has no plain wall to start from.",
            hint="Add a face with a frame on a flat wall.",
            details={"photo": photo},
        )
    by_id = {face.id: face for face in faces}
    for name in check_no_ring(leant_on):
        face = by_id[name]
        surface = face.surface
        parent = next(iter(leant_on[name]), None)
        set_back_mm = 0.0
        check_tower_is_told(face)
        if isinstance(surface, RoundSurface):
            kind = "alone" if name == main else "round"
        elif isinstance(surface, RoofSurface):
            kind, set_back_mm = "roof", surface.eaves.set_back_mm
            check_roof_rests_on_a_wall(face, by_id[surface.eaves.face])
        elif surface.hinge is not None:
            kind = "hinged"
        else:
            kind = "main" if name == main else "parallel"
            check_parallel_is_told(face, name == main, by_id.get(surface.parallel_to or ""))
        shapes[name] = FaceShape(kind, parent, set_back_mm)
    return {main: shapes.pop(main), **shapes}


def _is_plain_wall(face: Face) -> bool:
    surface = face.surface
    if not isinstance(surface, WallSurface) or surface.hinge is not None:
        return False
    return surface.parallel_to is None and surface.set_back_mm is None and not surface.returns


def _is_lonely_tower(face: Face) -> bool:
    return isinstance(face.surface, RoundSurface) and not faces_leant_on(face)


def gives_size(face: Face) -> bool:
    """Tell whether the face itself states a length: a tower's radius, a set-back to be seen."""
    surface = face.surface
    if isinstance(surface, WallSurface):
        return bool(surface.set_back_mm) and bool(surface.returns)
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
        sheet.kinds.append(OnLine(sights, names.index((face.id, "hinge_u"))))
    elif isinstance(face.surface, WallSurface):
        _enter_parallel(sheet, face.id, face.surface, names)
    elif isinstance(face.surface, RoofSurface):
        _enter_roof(sheet, face.id, face.surface, names)


def _enter_parallel(sheet: Sheet, face: str, surface: WallSurface, names: tuple[Name, ...]) -> None:
    """Enter a given set-back, and edges that run straight back: equal u and v on both walls."""
    if (face, "set_back") not in names:
        return
    if surface.set_back_mm is not None:
        value, u = surface.set_back_mm, surface.u_set_back_mm
        u_mm = U_GIVEN_PART * max(abs(value), 100.0) if u is None else u
        scalar = sheet.size(face, "the given set-back", value, u_mm)
        sheet.kinds.append(GivenUnknown(names.index((face, "set_back")), scalar))
    for number, pair in enumerate(surface.returns):
        item = f"return {number + 1}"
        near, far = (
            sheet.pick(pick, Role(face, item, part))
            for pick, part in zip(pair, ("the near end", "the far end"), strict=True)
        )
        on_wall = sheet.sight(surface.parallel_to or sheet.main, near)
        here = sheet.sight(face, far)
        sheet.kinds.append(same_place(on_wall, here))


def _enter_roof(sheet: Sheet, face: str, surface: RoofSurface, names: tuple[Name, ...]) -> None:
    eaves = surface.eaves
    index = _enter_picks(sheet, face, eaves.at, "the eaves")
    sights = np.array(
        [sheet.sight(eaves.face, at, eaves.set_back_mm) for at in index], dtype=np.intp
    )
    sheet.kinds.append(OnLine(sights, names.index((face, "eaves_v")), axis=1))
    if surface.pitch_deg is not None:
        u_deg = U_PITCH_DEG if surface.u_pitch_deg is None else surface.u_pitch_deg
        scalar = sheet.size(face, "the given pitch", surface.pitch_deg, u_deg, "°")
        at = names.index((face, "pitch"))
        sheet.kinds.append(GivenUnknown(at, scalar, float(np.radians(1.0))))


def meeting_lines(surface: RoundSurface) -> list[tuple[str, tuple[Pick, ...], str]]:
    """Lines where a tower meets walls: the wall, the picks, and what the line is called."""
    out: list[tuple[str, tuple[Pick, ...], str]] = []
    if surface.meets_wall is not None and surface.beside is not None:
        out.append((surface.beside, surface.meets_wall, "the line where it meets the wall"))
    if surface.also_meets is not None:
        also = surface.also_meets
        out.append((also.face, also.at, "the other line where it meets a wall"))
    return out


def _enter_picks(sheet: Sheet, face: str, picks: Sequence[Pick], item: str) -> list[int]:
    return [
        sheet.pick(pick, Role(face, item, f"pick {number + 1}"))
        for number, pick in enumerate(picks)
    ]


def _enter_round(sheet: Sheet, face: str, surface: RoundSurface, names: tuple[Name, ...]) -> None:
    for picks, side, item in outlines_of(surface):
        index = np.array(_enter_picks(sheet, face, picks, item), dtype=np.intp)
        sheet.kinds.append(OnOutline(face, side, index))
    for wall, picks, item in meeting_lines(surface):
        index = np.array(_enter_picks(sheet, face, picks, item), dtype=np.intp)
        sheet.kinds.append(WhereTowerMeetsWall(face, wall, index))
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
        if value is not None and (face, what) in names:
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
    by_id = {face.id: face for face in faces}
    for name, shape in state.shapes.items():
        face = by_id[name]
        surface = face.surface
        check_outlines_close(face, sheet, rays)
        if shape.kind == "hinged" and isinstance(surface, WallSurface) and surface.hinge:
            u, v, _ = _on_face(state, shape.parent or "", surface.hinge.at, sheet, rays, distance)
            check_hinge_is_plumb(name, shape.parent or "", u, v)
            values[state.index(name, "hinge_u")] = float(np.nanmean(u))
            values[state.index(name, "heading")] = _heading(name, sheet, rays)
        elif shape.kind == "parallel" and isinstance(surface, WallSurface):
            values[state.index(name, "set_back")] = _set_back(
                surface, shape.parent or next(iter(state.shapes)), state, sheet, rays, in_mm=in_mm
            )
        elif shape.kind == "roof" and isinstance(surface, RoofSurface):
            eaves = surface.eaves
            u, v, _ = _on_face(
                state, eaves.face, eaves.at, sheet, rays, distance, eaves.set_back_mm
            )
            check_eaves_are_level(name, u, v)
            values[state.index(name, "eaves_v")] = float(np.nanmean(v))
            state = replace(state, values=values.copy())
            values[state.index(name, "pitch")] = start_pitch_rad(
                name, surface, state, sheet, rays, distance
            )
        elif shape.kind == "alone" and isinstance(surface, RoundSurface):
            half = half_angle_rad(surface, sheet, rays)
            values[state.index(name, "radius")] = distance * np.sin(min(half, 1.2))
        elif shape.kind == "round" and isinstance(surface, RoundSurface):
            meets = _meeting_points(state, surface, sheet, rays, distance)
            start = place_tower(name, surface, sheet, rays, distance, meets, in_mm=in_mm)
            for what, value in zip(shape.parts, start, strict=True):
                values[state.index(name, what)] = value
        state = replace(state, values=values.copy())
    return state


def _on_face(
    state: Unknowns,
    face: str,
    picks: Sequence[Pick],
    sheet: Sheet,
    rays: Array,
    distance: float,
    set_back_mm: float = 0.0,
) -> tuple[Array, Array, Surface]:
    """Chart positions of picks on a face that has a place already, and that face."""
    index = [sheet.pick_index[pick.x, pick.y] for pick in picks]
    surface = state.surface(face, list(state.values))
    ray = (rays[index, 0], rays[index, 1], rays[index, 2])
    u, v, _ = surface.chart_mm_from_ray((0.0, 0.0, distance), ray, set_back_mm)
    return value_of(u), value_of(v), surface


def _meeting_points(
    state: Unknowns, surface: RoundSurface, sheet: Sheet, rays: Array, distance: float
) -> MeetingPoints:
    x, z = [np.zeros(0)], [np.zeros(0)]
    for wall, picks, _ in meeting_lines(surface):
        u, v, on = _on_face(state, wall, picks, sheet, rays, distance)
        at = on.building_mm_from_chart(u, v)
        x.append(np.broadcast_to(value_of(at[0]), u.shape))
        z.append(np.broadcast_to(value_of(at[2]), u.shape))
    return MeetingPoints(np.concatenate(x), np.concatenate(z))


def _set_back(
    surface: WallSurface,
    parent: str,
    state: Unknowns,
    sheet: Sheet,
    rays: Array,
    *,
    in_mm: bool,
) -> float:
    """Set-back of a parallel wall: as given, else where edges running straight back end."""
    if in_mm and surface.set_back_mm is not None:
        return surface.set_back_mm
    _, pose = state.camera(list(state.values))
    distance = float(value_of(pose.centre_mm[2]))
    found = []
    for near, far in surface.returns:
        (u, v), (u0, v0), (u1, v1) = (
            (float(a[0]), float(b[0]))
            for a, b, _ in (
                _on_face(state, parent, [pick], sheet, rays, distance, back)
                for pick, back in ((near, 0.0), (far, 0.0), (far, 1.0))
            )
        )
        du, dv = u1 - u0, v1 - v0
        found.append(((u - u0) * du + (v - v0) * dv) / (du * du + dv * dv))
    found = [back for back in found if np.isfinite(back)]
    return float(np.median(found)) if found else 0.0


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
