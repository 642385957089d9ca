"""What is wrong or weak with a solution, in plain words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rectify.adjust import W_CRITICAL
from rectify.observations import Role
from rectify.solution import Solution


@dataclass(frozen=True, slots=True)
class Suspect:
    """A pick or a known size that the others contradict.

    Parameters
    ----------
    face, item, part : str
        Where it stands.
    w : float
        Standardised residual; beyond 3.29 it is hardly chance.
    pick_px : tuple of two float, or None
        The pick as clicked; None for a known size.
    sentence : str
    """

    face: str
    item: str
    part: str
    w: float
    pick_px: tuple[float, float] | None
    sentence: str


def find_suspects(solution: Solution) -> list[Suspect]:
    """List picks and sizes whose standardised residual is beyond chance, worst first.

    Parameters
    ----------
    solution : Solution

    Returns
    -------
    list of Suspect

    References
    ----------
    W. Baarda, *A testing procedure for use in geodetic networks*, 1968: one observation
    at a time, |w| > 3.29.
    """
    sheet, adjusted = solution.sheet, solution.adjusted
    w, r = adjusted.w_values, adjusted.redundancy_numbers
    residuals = adjusted.residuals
    found: list[Suspect] = []
    for i, roles in enumerate(sheet.roles):
        pair = np.abs(w[2 * i : 2 * i + 2])
        if pair.max() > W_CRITICAL:
            # what the others say of the pick: the residual undone of the pick's own pull
            share = np.maximum(r[2 * i : 2 * i + 2], 0.05)
            off = float(np.hypot(*(residuals[2 * i : 2 * i + 2] / share * (pair > 1.0))))
            found.append(_pick_suspect(roles[0], sheet.picks_px[i], off, float(pair.max())))
    start = 2 * len(sheet.picks_px)
    for i, size in enumerate(sheet.sizes):
        worst = float(abs(w[start + i]))
        if worst > W_CRITICAL:
            fits = size.value_mm - residuals[start + i] / max(r[start + i], 0.05)
            sentence = (
                f"{_upper(size.label)} of face '{size.face}' disagrees with the rest: it is given "
                f"as {size.value_mm:.4g} mm, the others make it {fits:.4g} mm."
            )
            found.append(Suspect(size.face, size.label, "", worst, None, sentence))
    return sorted(found, key=lambda suspect: -suspect.w)


def _pick_suspect(role: Role, pick: tuple[float, float], off_px: float, w: float) -> Suspect:
    where = f"{role.part} of {role.item}" if role.part else role.item
    sentence = (
        f"{_upper(where)} of face '{role.face}' sits {off_px:.1f} px from where the other picks "
        "put it: check it."
    )
    return Suspect(role.face, role.item, role.part, w, pick, sentence)


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def weak_points(solution: Solution) -> list[str]:
    """Say in sentences what the picks leave unchecked or badly fixed."""
    out = [
        f"{_upper(item)} of face '{face}' is not square with the rest, so it does not help to "
        "hold the camera: check its corners and its set-back."
        for face, item in solution.left_out[:5]
    ]
    if not solution.scaled:
        out.append("No known size yet: shapes are true, sizes are not. Add one known size.")
    if solution.redundancy <= 0:
        out.append(
            "Four picks and one size leave nothing to check them by: add a second rectangle or "
            "a second known size."
        )
    _, u_log_focal = solution.value_and_u(solution.photo.id, "log_focal")
    if not solution.prior.focal_known and u_log_focal > 0.08:
        out.append(
            "The photo does not say its focal length and the picks fix it only to "
            f"{100 * u_log_focal:.0f} %: widths against heights are as uncertain. A second known "
            "size across the first would settle it."
        )
    if solution.prior.focal_known:
        shift = float(
            solution.unknowns.values[solution.unknowns.index(solution.photo.id, "log_focal")]
            - np.log(solution.prior.focal_px)
        )
        if abs(shift) > 3.0 * solution.prior.u_log_focal:
            out.append(
                f"The picks want a focal length {100 * (np.exp(shift) - 1):+.0f} % off the one "
                "the photo states: was the picture cropped or the wrong edge picked?"
            )
    return out
