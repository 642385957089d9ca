"""What is wrong or weak with a solution, in plain words."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rectify.solution import Solution
from rectify.solving.observations import Role, Sheet
from rectify.solving.snooping import UNCHECKED, Finding

#: Standardised length that chance exceeds once in a thousand.
W_CRITICAL = 3.29


@dataclass(frozen=True, slots=True)
class Rival:
    """A pick or a known size that would explain a contradiction as well as the one suspected.

    Parameters
    ----------
    face, item, part : str
        Where it stands.
    pick_px : tuple of two float, or None
        The pick as clicked; None for a known size.
    """

    face: str
    item: str
    part: str
    pick_px: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Suspect:
    """A pick or a known size that the others contradict.

    Parameters
    ----------
    face, item, part : str
        Where it stands.
    w : float
        Standardised length by which it is off; beyond 3.3 or so it is hardly chance.
    pick_px : tuple of two float, or None
        The pick as clicked; None for a known size.
    sentence : str
    rivals : tuple of Rival
        What would explain it as well; empty where one thing is clearly at fault.
    """

    face: str
    item: str
    part: str
    w: float
    pick_px: tuple[float, float] | None
    sentence: str
    rivals: tuple[Rival, ...] = ()


def find_suspects(solution: Solution) -> list[Suspect]:
    """List picks and sizes that the rest contradict beyond chance, the likeliest first.

    Parameters
    ----------
    solution : Solution

    Returns
    -------
    list of Suspect

    Notes
    -----
    Each is looked for with those before it set aside (`rectify.solving.snooping`), so that one
    wrong pick does not make its neighbours suspect.
    """
    count = 2 * len(solution.sheet.picks_px)
    found: list[Suspect] = []
    for finding in solution.findings:
        if finding.candidate[0] >= count:
            found.append(_size_suspect(solution.sheet, finding))
        elif len(finding.candidate) == 2:
            found.append(_pick_suspect(solution.sheet, finding))
    return found


def _size_suspect(sheet: Sheet, finding: Finding) -> Suspect:
    start = 2 * len(sheet.picks_px)
    size = sheet.sizes[finding.candidate[0] - start]
    fits_mm = size.value_mm - float(finding.off[0])
    rivals = [sheet.sizes[rival[0] - start] for rival in finding.rivals if rival[0] >= start]
    name = f"{_upper(size.label)} of face '{size.face}'"
    if rivals:
        first = _upper(size.label) if rivals[0].face == size.face else name
        sentence = (
            f"{first} and {rivals[0].label} of face '{rivals[0].face}' disagree, and nothing says "
            f"which is wrong: going by the second, the first would be {fits_mm:.4g} {size.unit} "
            f"and not {size.value_mm:.4g} {size.unit}."
        )
    else:
        sentence = (
            f"{name} disagrees with the rest: it is given as {size.value_mm:.4g} {size.unit}, the "
            f"others make it {fits_mm:.4g} {size.unit}. Check the size and its picks."
        )
    told = tuple(Rival(rival.face, rival.label, "", None) for rival in rivals[:1])
    return Suspect(size.face, size.label, "", math.sqrt(finding.statistic), None, sentence, told)


def _pick_suspect(sheet: Sheet, finding: Finding) -> Suspect:
    pick = finding.candidate[0] // 2
    role = sheet.roles[pick][0]
    off_px = float(np.hypot(*finding.off))
    rivals = [rival[0] // 2 for rival in finding.rivals if len(rival) == 2]
    told = f"{_upper(_where(role))} of face '{role.face}' sits {off_px:.1f} px from where the "
    if rivals:
        others = " or ".join(_where(sheet.roles[rival][0]) for rival in rivals[:2])
        sentence = f"{told}other picks put it, unless {others} is as wrong: check them."
    else:
        sentence = f"{told}other picks put it: check it."
    w = math.sqrt(finding.statistic)
    told_rivals = tuple(_pick_rival(sheet, rival) for rival in rivals[:2])
    return Suspect(role.face, role.item, role.part, w, sheet.picks_px[pick], sentence, told_rivals)


def _pick_rival(sheet: Sheet, pick: int) -> Rival:
    role = sheet.roles[pick][0]
    return Rival(role.face, role.item, role.part, sheet.picks_px[pick])


def _where(role: Role) -> str:
    return f"{role.part} of {role.item}" if role.part else role.item


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
        out.append("No known size yet, so nothing can be measured: add one known size.")
    if solution.adjusted.misfit > 1.0:
        out.append(
            f"The picks fit together {solution.adjusted.misfit:.1f} times worse than their ± "
            "allows, so every ± is widened to match."
        )
    if solution.redundancy <= 0:
        out.append(
            "Four picks and one size leave nothing to check them by: add a second rectangle or "
            "a second known size."
        )
    _, u_log_focal = solution.value_and_u(solution.photo.id, "log_focal")
    if not solution.prior.focal_known and u_log_focal > 0.08:
        out.append(
            "The photo does not say its focal length and the picks fix it only to "
            f"{100 * u_log_focal:.0f} %: widths against heights are as uncertain. "
            + (
                "Longer or surer known sizes, across and up, would narrow it."
                if len(solution.sheet.sizes) > 1
                else "A second known size across the first would settle it."
            )
        )
    if _contradicts_the_camera(solution):
        stated = "focal length that the photo states" if solution.prior.focal_known else "camera"
        out.append(
            f"The picks do not go with the {stated} and an axis through the middle of the "
            "photo: was it cropped or zoomed, or is a wrong edge picked?"
        )
    return out


def _contradicts_the_camera(solution: Solution) -> bool:
    """Test what is believed of focal length and principal point like one more observation."""
    state, cov = solution.unknowns, solution.adjusted.cov_unknowns
    worst = 0.0
    for what in ("log_focal", "principal_x", "principal_y"):
        at = state.index(solution.photo.id, what)
        variance = 1.0 / solution.adjusted.prior_weight[at]
        left = variance - cov[at, at]
        if left > UNCHECKED * variance:
            worst = max(worst, abs(state.values[at] - state.prior[at]) / math.sqrt(left))
    return worst > W_CRITICAL
