"""The one sentence that says how far to trust what is on the screen, and what would help."""

from __future__ import annotations

import numpy as np

from measure.doubts import KNIFE_MM
from measure.results import Results
from rectify.projection import chart_mm_from_photo_px
from shared.number_text import format_number
from shared.survey import Pick

#: A known size that makes up so much of the ± is what holds it back (judgement).
MOSTLY = 0.7


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
    across = across_mm(results, face)
    if across is None:
        return "Nothing is measured on this face yet."
    denominator = denominator or results.denominator
    _, u_mm = across
    good = f"Good to ±{_short(u_mm)} mm across the wall, {u_mm / denominator:.2f} mm on your model."
    return f"{good} {advice(results, face, denominator, across)}".strip()


def across_mm(results: Results, face: str) -> tuple[float, float] | None:
    """Length across the measured part of a face and its ±, at full size; None without two picks.

    Of the distances between its outermost picks, level and plumb, the one with the larger ±.
    """
    result = results.faces[face]
    solution = results.photos[result.photo].solution
    sheet = solution.sheet
    entered = [at for (name, at, back) in sheet.sights if name == face and back == 0.0]
    if len(entered) < 2:
        return None
    picks = [Pick(x=sheet.picks_px[at][0], y=sheet.picks_px[at][1]) for at in entered]
    places = chart_mm_from_photo_px(solution.adjusted_picks_px[entered], solution.view(face))
    ends = [int(f(places[:, axis])) for axis in (0, 1) for f in (np.argmin, np.argmax)]
    charted = solution.charted(face, [picks[at] for at in ends])
    spans = []
    for axis, low, high in ((0, 0, 1), (1, 2, 3)):
        span_mm = float(charted.chart_mm[high, axis] - charted.chart_mm[low, axis])
        if span_mm > 0:
            cov = charted.cov_chart([low, high])
            push = np.zeros(4)
            push[axis], push[2 + axis] = -1.0, 1.0
            spans.append((span_mm, float(np.sqrt(max(float(push @ cov @ push), 0.0)))))
    return max(spans, key=lambda span: span[1]) if spans else None


def advice(
    results: Results, face: str, denominator: float, across: tuple[float, float] | None
) -> str:
    """Say what would help a face most, or that it is as good as a knife can cut.

    Parameters
    ----------
    results : Results
    face : str
    denominator : float
        Of the model scale.
    across : tuple of two float, or None
        See `across_mm`.
    """
    solution = results.photos[results.faces[face].photo].solution
    if solution.redundancy <= 0:
        return "A second known size would let the program check itself."
    if len(solution.sheet.sizes) < 2:
        return "A second known size would check the first."
    if not solution.prior.focal_known:
        return "The photo does not say its focal length: a size across and one up help most."
    if across is None:
        return ""
    length_mm, u_mm = across
    if u_mm / denominator <= KNIFE_MM:
        return "That is finer than a knife can cut."
    shares = [size.u_mm / size.value_mm for size in solution.sheet.sizes if size.face == face]
    if shares and min(shares) * length_mm > MOSTLY * u_mm:
        return "A longer known size, or more courses counted, would help most."
    return "Corners of the frame picked more finely, or wider apart, would help most."


def _short(value: float) -> str:
    return format_number(value, 0 if value >= 10 else 1)
