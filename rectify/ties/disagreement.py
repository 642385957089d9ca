"""What photos that are tied say against each other, as a sentence."""

from __future__ import annotations

import math

import numpy as np

from rectify.solving.adjusted import Adjusted
from rectify.solving.snooping import ALPHA, contradicted, log_chance
from rectify.ties.tied import JointProblem
from shared.jets import Array


def disagreement(problem: JointProblem, whole: Adjusted) -> str:
    """What the photos say against each other, in a sentence; empty where they agree."""
    alone = sum(solution.adjusted.chi_square for solution in problem.solutions)
    rows = len(whole.conditions.value) - sum(
        len(solution.adjusted.conditions.value) for solution in problem.solutions
    )
    excess = whole.chi_square - alone
    if excess <= 0.0 or float(log_chance(np.array(rows), np.array(excess))) > math.log(ALPHA):
        return ""
    candidates: list[tuple[int, ...]] = []
    known: set[tuple[int, ...]] = set()
    for solution, sheet, at in zip(
        problem.solutions, problem.sheets, problem.observation_slices, strict=True
    ):
        own = len(solution.sheet.picks_px)
        shift = 2 * (len(sheet.picks_px) - own)
        candidates += [tuple(i + at.start for i in c) for c in sheet.candidates()]
        for finding in solution.findings:
            moved = (i if i < 2 * own else i + shift for i in finding.candidate)
            known.add(tuple(i + at.start for i in moved))
    end = problem.observation_slices[-1].stop
    candidates += [(end + i,) for i in range(2 * len(problem.walls))]
    for finding in contradicted(whole, candidates):
        if finding.candidate not in known:
            return _sentence(problem, finding.candidate, finding.off)
    return "their known sizes or their ties do not go together."


def _sentence(problem: JointProblem, candidate: tuple[int, ...], off: Array) -> str:
    for sheet, at in zip(problem.sheets, problem.observation_slices, strict=True):
        if not at.start <= candidate[0] < at.stop:
            continue
        local = candidate[0] - at.start
        picks = 2 * len(sheet.picks_px)
        if local >= picks:
            size = sheet.sizes[local - picks]
            fits = size.value_mm - float(off[0])
            return (
                f"{size.label} of face '{size.face}' is given as {size.value_mm:.4g} {size.unit}, "
                f"the rest makes it {fits:.4g} {size.unit}."
            )
        role = sheet.roles[local // 2][-1]
        where = f"{role.part} of {role.item}" if role.part else role.item
        far_px = float(np.hypot(off[0], off[1])) if len(off) > 1 else abs(float(off[0]))
        return (
            f"{where} on face '{role.face}' sits {far_px:.1f} px from where the rest of them "
            "puts it."
        )
    wall = problem.walls[(candidate[0] - problem.observation_slices[-1].stop) // 2]
    return f"'{wall.first[1]}' and '{wall.second[1]}' do not come out as one plane."
