"""The one sentence that says how far to trust what is on the screen, and what would help."""

from __future__ import annotations

import numpy as np

from measure.results import Results
from rectify.solution import Solution
from shared.number_text import format_number
from shared.survey import Pick


def trust_of_face(results: Results, face: str, denominator: float | None = None) -> str:
    """Say how good the sizes of a face are and what would help most.

    Parameters
    ----------
    results : Results
    face : str
    denominator : float, optional
        Of the scale to speak of; the survey's own by default.

    Returns
    -------
    str
        Two sentences at most, in millimetres of the building and of the model.
    """
    solution = results.photos[results.faces[face].photo].solution
    if not solution.scaled:
        return "No known size yet: shapes are true, sizes are not. Add one known size."
    u_mm = u_across_mm(results, face)
    if u_mm is None:
        return "Nothing is measured on this face yet."
    good = (
        f"Good to ±{_short(u_mm)} mm across the wall, "
        f"{u_mm / (denominator or results.denominator):.2f} mm on your model."
    )
    return f"{good} {advice(solution)}".strip()


def u_across_mm(results: Results, face: str) -> float | None:
    """± of a length across the measured part of a face, at full size.

    The root mean square ± of distances between its outermost picks, level and plumb.
    """
    result = results.faces[face]
    solution = results.photos[result.photo].solution
    sheet = solution.sheet
    entered = [at for (name, at, back) in sheet.sights if name == face and back == 0.0]
    if len(entered) < 2:
        return None
    picks = [Pick(x=sheet.picks_px[at][0], y=sheet.picks_px[at][1]) for at in entered]
    charted = solution.charted(face, picks)
    u, v = charted.chart_mm[:, 0], charted.chart_mm[:, 1]
    spans = []
    for axis, values in ((0, u), (1, v)):
        low, high = int(np.argmin(values)), int(np.argmax(values))
        if values[high] - values[low] > 0:
            cov = charted.cov_chart([low, high])
            push = np.zeros(4)
            push[axis], push[2 + axis] = -1.0, 1.0
            spans.append(float(np.sqrt(max(float(push @ cov @ push), 0.0))))
    return max(spans) if spans else None


def advice(solution: Solution) -> str:
    """Say what would help most, or nothing when all is checked."""
    if solution.redundancy <= 0:
        return "A second known size would let the program check itself."
    sizes = len(solution.sheet.sizes)
    if sizes < 2:
        return "A second known size would check the first."
    if not solution.prior.focal_known:
        return "The photo does not say its focal length: a size across and one up help most."
    return ""


def _short(value: float) -> str:
    return format_number(value, 0 if value >= 10 else 1)
