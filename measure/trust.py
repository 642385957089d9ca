"""The one sentence that says how far to trust what is on the screen, and what would help."""

from __future__ import annotations

import numpy as np

from measure.doubts import KNIFE_MM
from measure.results import Results
from rectify.projection import chart_mm_from_photo_px
from rectify.solution import Solution
from shared.number_text import format_number
from shared.survey import Pick

#: A known size that makes up so much of the ± is what holds it back (judgement).
MOSTLY = 0.7

#: A ± that is more of a length than this says that something is lacking, not how good it is
#: (judgement: a door of 2 m would be 60 mm wrong).
COARSE = 0.03


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
        return f"{shape_rests_on(solution)} Add one known size."
    across = across_mm(results, face)
    if across is None:
        return "Nothing is measured on this face yet."
    denominator = denominator or results.denominator
    _, u_mm = across
    lead = "Only to" if is_coarse(across) else "Good to"
    if solution.findings:
        lead = "In doubt, as something contradicts the rest:"
    good = f"{lead} ±{_short(u_mm)} mm across the wall, {u_mm / denominator:.2f} mm on your model."
    return f"{good} {advice(results, face, denominator, across)}".strip()


def shape_rests_on(solution: Solution) -> str:
    """Say what the shape of a wall without a known size rests on."""
    if solution.redundancy <= 0:
        return "The shape rests on your picks alone, nothing checks them, and no size is known yet."
    return "The shape rests on picks that agree with each other; no size is known yet."


def is_coarse(across: tuple[float, float] | None) -> bool:
    """Whether the ± of a length is so large a part of it that the number alone helps nobody."""
    return across is not None and across[1] > COARSE * across[0]


def across_mm(results: Results, face: str) -> tuple[float, float] | None:
    """Length across the picked part of a face and its ±, at full size; None without two picks.

    Of the distances between its outermost picks, level and plumb, the one with the larger ±.
    Guides that the program found count for nothing here: they may lie far beyond what is asked for.
    """
    result = results.faces[face]
    solution = results.photos[result.photo].solution
    sheet = solution.sheet
    entered = [
        at
        for (name, at, back) in sheet.sights
        if name == face and back == 0.0 and at not in sheet.found
    ]
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
    coarse = is_coarse(across)
    if not coarse and solution.redundancy <= 0:
        return "A second known size would let the program check itself."
    if not coarse and len(solution.sheet.sizes) < 2:
        return "A second known size would check the first."
    if not solution.prior.focal_known:
        wanted = "longer or surer sizes" if len(solution.sheet.sizes) > 1 else "a size"
        return f"The photo does not say its focal length: {wanted} across and one up help most."
    if across is None:
        return ""
    length_mm, u_mm = across
    if u_mm / denominator <= KNIFE_MM:
        return "That is finer than a knife can cut."
    shares = [size.u_mm / size.value_mm for size in solution.sheet.sizes if size.face == face]
    if shares and min(shares) * length_mm > MOSTLY * u_mm:
        return "A longer known size, or more courses counted, would help most."
    if coarse:
        return (
            "What lies far from the frame is hardly held: pick a frame as wide as the wall, or add "
            "a second rectangle, level or plumb lines where the wall is not held yet."
        )
    return "Corners of the frame picked more finely, or wider apart, would help most."


def _short(value: float) -> str:
    return format_number(value, 0 if value >= 10 else 1)
