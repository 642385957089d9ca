"""What would help most once the picks check each other: said where `measure.trust` has no more."""

from __future__ import annotations

from measure.doubts import KNIFE_MM
from rectify.solution import Solution
from shared.survey import CoursesReference, Face, LengthReference

#: A known size that makes up so much of the ± is what holds it back (judgement).
MOSTLY = 0.7


def further_advice(
    face: Face, solution: Solution, u_across_mm: float | None, across_mm: float, denominator: float
) -> str:
    """Say what would make a checked wall better still.

    Parameters
    ----------
    face : Face
    solution : Solution
    u_across_mm : float or None
        ± of a length across the wall.
    across_mm : float
        That length.
    denominator : float
        Of the model scale.
    """
    if u_across_mm is None or across_mm <= 0:
        return ""
    if u_across_mm / denominator <= KNIFE_MM:
        return "That is finer than a knife can cut."
    shares = [_relative_u(reference) for reference in face.references]
    if shares and min(shares) * across_mm > MOSTLY * u_across_mm:
        return "A longer known size, or more courses counted, would help most."
    if not solution.prior.focal_known:
        return "A photo that states its lens would help most."
    return "Corners of the frame picked more finely, or wider apart, would help most."


def _relative_u(reference: LengthReference | CoursesReference) -> float:
    if isinstance(reference, CoursesReference):
        return reference.u_gauge_mm / reference.gauge_mm
    return reference.u_mm / reference.length_mm
