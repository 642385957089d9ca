"""What one photo's adjustment solves for, and the numbers that its search starts from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from rectify.camera import CameraPrior
from rectify.projection import View, chart_mm_from_photo_px
from rectify.solving.observations import KnownChartLength, Sheet
from rectify.solving.unknowns import CAMERA_PARTS, POSE_PARTS, FaceShape, Name, Unknowns
from rectify.starts.faces import start_faces
from rectify.starts.first_guess import bearings, first_rotation
from rectify.starts.tower import rotation_before_tower
from shared.errors import UnderdeterminedError
from shared.survey import Face, RoundSurface

#: Millimetres on the wall for each pixel before anything of known size is looked at.
START_REACH_MM = 3.0


def lay_out_unknowns(
    photo: str, shapes: dict[str, FaceShape], has_size: bool, bends: bool
) -> tuple[tuple[Name, ...], dict[Name, float]]:
    """Lay out the unknowns.

    Where nothing of known size is picked the reach of the camera is given: shapes then come
    out, sizes do not. The second radial term is zero unless the lens bends.
    """
    fixed: dict[Name, float] = {} if bends else {(photo, "bend_2"): 0.0}
    if not has_size:
        fixed[photo, "log_reach"] = math.log(START_REACH_MM)
    names = [(photo, part) for part in (*CAMERA_PARTS, *POSE_PARTS) if (photo, part) not in fixed]
    for face, shape in shapes.items():
        if shape.kind == "alone":
            fixed |= {(face, "axis_x"): 0.0, (face, "axis_set_back"): 0.0}
        names += [(face, part) for part in shape.parts if (face, part) not in fixed]
    return tuple(names), fixed


def make_first_state(
    sheet: Sheet,
    prior: CameraPrior,
    faces: Sequence[Face],
    names: tuple[Name, ...],
    fixed: dict[Name, float],
    shapes: dict[str, FaceShape],
) -> Unknowns:
    """Guess camera and faces from the picks: near enough for the search to settle.

    Raises
    ------
    UnderdeterminedError
        If the main wall or another face lacks what it takes to place it.
    """
    photo = sheet.photo
    main = next(iter(shapes))
    rays = bearings(np.reshape(sheet.picks_px, (-1, 2)), prior)
    if shapes[main].kind == "alone":
        rotation = rotation_before_tower(next(f for f in faces if f.id == main), sheet, rays)
    else:
        rotation = first_rotation(main, sheet.lines, rays)
    values = np.zeros(len(names))
    known = {
        (photo, "log_focal"): math.log(prior.focal_px),
        (photo, "principal_x"): prior.principal_px[0],
        (photo, "principal_y"): prior.principal_px[1],
        (photo, "log_reach"): math.log(START_REACH_MM),
    }
    for name, value in known.items():
        if name in names:
            values[names.index(name)] = value
    own = sheet.frames.get(main) or sheet.picks_of(main) or range(len(sheet.picks_px))
    frame_px = [sheet.picks_px[at] for at in own]
    x, y = np.mean(frame_px, axis=0)
    anchor = (float(x), float(y))
    state = Unknowns(
        names, values, values.copy(), photo, rotation, anchor, prior.focal_px, fixed, shapes
    )
    lengths = sorted(sheet.lengths, key=lambda length: length[0] != main)
    if lengths and lengths[0][0] == main and shapes[main].kind == "main":
        state = _scaled_to(lengths[0], state, sheet)
        return start_faces(state, sheet, faces, rays, in_mm=True)
    state = start_faces(state, sheet, faces, rays, in_mm=False)
    if lengths:
        return _scaled_to(lengths[0], state, sheet)
    for face in faces:
        given_mm = face.surface.radius_mm if isinstance(face.surface, RoundSurface) else None
        if given_mm is not None:
            return multiplied(state, given_mm / state.values[state.index(face.id, "radius")])
    return state


def _scaled_to(length: KnownChartLength, state: Unknowns, sheet: Sheet) -> Unknowns:
    """Multiply all lengths of the start so that a known one comes out right."""
    face, first_pick, second_pick, set_back_mm, weight, known_mm = length
    ends = np.array([sheet.picks_px[at] for at in (first_pick, second_pick)])
    camera, pose = state.camera(list(state.values))
    surface = state.surface(face, list(state.values))
    chart = chart_mm_from_photo_px(ends, View(camera, pose, surface), set_back_mm)
    seen_mm = float(np.linalg.norm((chart[0] - chart[1]) * weight))
    if not (math.isfinite(seen_mm) and seen_mm > 0.0):
        raise UnderdeterminedError(
            f"A known size of face '{face}' looks past that face.",
            hint="Check its two picks.",
            details={"face": face},
        )
    return multiplied(state, known_mm / seen_mm)


def multiplied(state: Unknowns, factor: float) -> Unknowns:
    """Multiply all lengths of a state; shapes and angles stay."""
    lengths_of = ("set_back", "hinge_u", "axis_x", "axis_set_back", "radius", "eaves_v")
    values = state.values.copy()
    for i, (_, what) in enumerate(state.names):
        if what in lengths_of:
            values[i] *= factor
        elif what == "log_reach":
            values[i] += math.log(factor)
    return replace(state, values=values)
