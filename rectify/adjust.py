"""All faces of one photo in one weighted least-squares adjustment."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from rectify.adjusted import Adjusted, Conditions
from rectify.camera import CameraPrior, make_camera_prior
from rectify.face_starts import enter_surface, face_shapes, gives_size, start_faces
from rectify.first_guess import bearings, first_rotation
from rectify.least_squares import solve_conditions
from rectify.observations import Sheet, add_face, add_openings
from rectify.residuals import Look, make_conditions, merged
from rectify.sighting import Sightings, make_rays
from rectify.solution import PhotoFacts, Solution
from rectify.unknowns import CAMERA_PARTS, POSE_PARTS, FaceShape, Name, Unknowns
from shared.errors import GeometryError, UnderdeterminedError
from shared.jets import Array
from shared.survey import Face

#: Millimetres on the wall for each pixel before anything of known size is looked at.
START_REACH_MM = 3.0

#: Baarda's critical value for one observation at a time, alpha = 0.001.
W_CRITICAL = 3.29

#: A lens that bends this many times more than phones do is not a corrected one.
K1_SURPRISE = 2.5

#: Prior of k1 for such a lens: any that is sold (judgement).
U_K1_FREE = 0.4


def solve_photo(
    photo: PhotoFacts, faces: Sequence[Face], *, prior: CameraPrior | None = None
) -> Solution:
    """Solve one photo: its camera, and every face picked in it.

    Parameters
    ----------
    photo : PhotoFacts
    faces : sequence of Face
        Those of this photo; the first wall without a hinge is the main wall.
    prior : CameraPrior, optional
        What is believed of the camera; by default from size and focal length.

    Returns
    -------
    Solution

    Raises
    ------
    DegenerateError, FieldError
        For picks that cannot be what they are said to be.
    UnderdeterminedError
        If a face lacks what it takes to place it.
    NotConvergedError
        If no camera fits the picks.
    """
    prior = prior or make_camera_prior(
        photo.width_px, photo.height_px, photo.focal_35mm, cropped=photo.cropped
    )
    shapes = face_shapes(photo.id, faces)
    left_out: frozenset[tuple[str, str]] = frozenset()
    start: Unknowns | None = None
    while True:
        sheet, names, fixed = _gather(photo, faces, shapes, left_out)
        if start is None:
            start = _start(photo.id, prior, sheet, faces, names, fixed, shapes)
        adjusted = _solve(photo, prior, sheet, start)
        if _bends_more_than_a_phone(adjusted, photo.id, prior):
            prior = replace(prior, u_k1=U_K1_FREE)
            adjusted = _solve(photo, prior, sheet, adjusted.state)
        worst = _contradicted_opening(sheet, adjusted)
        if worst is None:
            scaled = bool(sheet.sizes)
            return Solution(photo, prior, sheet, adjusted, scaled, tuple(sorted(left_out)))
        left_out |= {worst}


def _gather(
    photo: PhotoFacts,
    faces: Sequence[Face],
    shapes: dict[str, FaceShape],
    left_out: frozenset[tuple[str, str]],
) -> tuple[Sheet, tuple[Name, ...], dict[Name, float]]:
    """Gather all observations and lay out the unknowns they need."""
    sheet = Sheet(photo.id, photo.width_px, photo.height_px)
    for face in faces:
        add_face(sheet, face)
    has_size = bool(sheet.sizes) or any(gives_size(face) for face in faces)
    names, fixed = _names(photo.id, shapes, has_size)
    for face in faces:
        enter_surface(sheet, face, names)
    add_openings(sheet, faces, left_out)
    return sheet, names, fixed


def _contradicted_opening(sheet: Sheet, adjusted: Adjusted) -> tuple[str, str] | None:
    """Find the opening, if any, whose corner fits worst of all observations, beyond chance."""
    w = np.abs(adjusted.w_values)
    if not w.size or w.max() <= W_CRITICAL:
        return None
    worst = int(np.argmax(w))
    if worst >= 2 * len(sheet.roles):
        return None
    roles = sheet.roles[worst // 2]
    if len(roles) == 1 and roles[0].item.startswith("opening "):
        return roles[0].face, roles[0].item
    return None


def _names(
    photo: str, shapes: dict[str, FaceShape], has_size: bool
) -> tuple[tuple[Name, ...], dict[Name, float]]:
    """Lay out the unknowns.

    Where nothing of known size is picked the reach of the camera is given: shapes then come
    out, sizes do not.
    """
    fixed: dict[Name, float] = {(photo, "k2"): 0.0}
    if not has_size:
        fixed[photo, "log_reach"] = math.log(START_REACH_MM)
    names = [(photo, part) for part in (*CAMERA_PARTS, *POSE_PARTS) if (photo, part) not in fixed]
    for face, shape in shapes.items():
        names += [(face, part) for part in shape.parts]
    return tuple(names), fixed


def _start(
    photo: str,
    prior: CameraPrior,
    sheet: Sheet,
    faces: Sequence[Face],
    names: tuple[Name, ...],
    fixed: dict[Name, float],
    shapes: dict[str, FaceShape],
) -> Unknowns:
    main = next(face for face, shape in shapes.items() if shape.kind == "main")
    rays = bearings(np.array(sheet.picks_px), prior)
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
    frame_px = [sheet.picks_px[at] for at in sheet.frames.get(main, range(len(sheet.picks_px)))]
    x, y = np.mean(frame_px, axis=0)
    anchor = (float(x), float(y))
    state = Unknowns(names, values, values.copy(), photo, rotation, anchor, fixed, shapes)
    state = start_faces(state, sheet, faces, rays)
    return _scaled_to_sizes(state, sheet)


def _scaled_to_sizes(state: Unknowns, sheet: Sheet) -> Unknowns:
    """Multiply all lengths of the start so that the first known length comes out right."""
    lengths = sheet.lengths
    if not lengths:
        return state
    main_first = sorted(lengths, key=lambda item: state.shapes[item[0]].kind != "main")
    _, first, second, weight, known_mm = main_first[0]
    rays = make_rays(state, np.array(sheet.picks_px))
    chart = Sightings(sheet.sights).on_faces(state, rays).chart
    seen_mm = float(np.linalg.norm((chart[first] - chart[second]) * weight))
    if not (math.isfinite(seen_mm) and seen_mm > 0.0):
        raise UnderdeterminedError(
            f"A known size of face '{main_first[0][0]}' looks past that face.",
            hint="Check its two picks.",
            details={"face": main_first[0][0]},
        )
    lengths_of = ("set_back", "hinge_u", "axis_x", "axis_set_back", "radius")
    factor = known_mm / seen_mm
    values = state.values.copy()
    for i, (_, what) in enumerate(state.names):
        if what in lengths_of:
            values[i] *= factor
        elif what == "log_reach":
            values[i] += math.log(factor)
    return replace(state, values=values)


def _solve(photo: PhotoFacts, prior: CameraPrior, sheet: Sheet, start: Unknowns) -> Adjusted:
    weight = np.zeros(len(start.names))
    for part, u in (
        ("log_focal", prior.u_log_focal),
        ("principal_x", prior.u_principal_px),
        ("principal_y", prior.u_principal_px),
        ("k1", prior.u_k1),
    ):
        weight[start.index(photo.id, part)] = 1.0 / u**2
    end = 2 * len(sheet.picks_px)
    kinds, sightings = merged(sheet.kinds), Sightings(sheet.sights)

    def linearise(state: Unknowns, observations: Array) -> Conditions:
        rays = make_rays(state, observations[:end].reshape(-1, 2))
        look = Look(state, rays, sightings.on_faces(state, rays), observations[end:])
        return make_conditions(kinds, look)

    try:
        return solve_conditions(linearise, start, sheet.observed, sheet.u_observed, weight)
    except GeometryError as error:
        error.details.setdefault("photo", photo.id)
        raise


def _bends_more_than_a_phone(adjusted: Adjusted, photo: str, prior: CameraPrior) -> bool:
    at = adjusted.state.index(photo, "k1")
    return bool(abs(adjusted.state.values[at]) > K1_SURPRISE * prior.u_k1)
