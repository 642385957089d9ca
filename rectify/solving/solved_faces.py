"""Faces of a solved photo: whether they stand as a building's can."""

from __future__ import annotations

import numpy as np

from rectify.solution import Solution
from rectify.solving.face_checks import (
    check_pitch_is_known,
    check_size_is_known,
    check_stays_on_one_side,
)
from shared.survey import Pick


def check_faces_stand(solution: Solution) -> None:
    """Refuse faces that the picks leave open, or that cross each other.

    Raises
    ------
    UnderdeterminedError, DegenerateError
    """
    for name, shape in solution.unknowns.shapes.items():
        if shape.is_round:
            radius_mm, u_mm = solution.value_and_u(name, "radius")
            check_size_is_known(
                name,
                "the tower's radius",
                radius_mm,
                u_mm,
                "Give its radius, how far its axis lies behind the wall, or a known size on it.",
            )
        elif shape.kind == "parallel":
            _, u_mm = solution.value_and_u(name, "set_back")
            _, pose = solution.camera_and_pose
            check_size_is_known(
                name,
                "how far back it lies",
                abs(float(pose.centre_mm[2])),
                u_mm,
                "Give its set-back, a known size on it, or an edge that runs straight back.",
            )
        elif shape.kind == "roof":
            pitch, u_pitch = solution.value_and_u(name, "pitch")
            check_pitch_is_known(name, pitch, u_pitch)
        elif shape.kind == "hinged":
            _check_wing(solution, name, shape.parent or "")


def _check_wing(solution: Solution, face: str, parent: str) -> None:
    sheet = solution.sheet
    at = sorted({pick for name, pick, back in sheet.sights if name == face and back == 0.0})
    if not at:
        return
    picks = [Pick(x=sheet.picks_px[i][0], y=sheet.picks_px[i][1]) for i in at]
    charted = solution.charted(face, picks)
    u_mm = charted.chart_mm[:, 0]
    seen = np.flatnonzero(np.isfinite(u_mm))
    if not len(seen) or min(-np.min(u_mm[seen]), np.max(u_mm[seen])) <= 0.0:
        return
    cov = charted.cov_chart(seen.tolist())
    u_sigma_mm = np.sqrt(np.maximum(np.diag(cov)[0::2], 0.0))
    check_stays_on_one_side(face, parent, u_mm[seen], u_sigma_mm)
