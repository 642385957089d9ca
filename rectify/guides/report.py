"""What lines found in a photo make of its camera: told with them and without.

Beside the numbers of the camera it tells how far the lines are from straight and true,
what becomes of the user's own picks, and how well a length to the far end is known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rectify.guides.joining import PhotoLine
from rectify.guides.trial import Placed, lines_rms_px, own_rms_px
from rectify.solution import Solution
from shared.jets import Array, gradient_of, value_of
from shared.survey import Pick


@dataclass(frozen=True, slots=True)
class FitOfLines:
    """How a solution stands to the lines found, and what it makes of the camera.

    Parameters
    ----------
    lines_rms_px : float
        Root mean square distance of the lines' points from true lines.
    picks_rms_px : float
        Root mean square residual of the user's own picks.
    focal_px, u_focal_px, k1, u_k1, k2, u_k2 : float
    tilt_rad, u_tilt_rad : float
        Of the camera's axis above the level.
    far_mm, u_far_mm : float
        From the middle of the frame to the far end of what was found on the main wall; NaN
        where that cannot be told. In millimetres of no meaning where nothing gives the scale.
    """

    lines_rms_px: float
    picks_rms_px: float
    focal_px: float
    u_focal_px: float
    k1: float
    u_k1: float
    k2: float
    u_k2: float
    tilt_rad: float
    u_tilt_rad: float
    far_mm: float
    u_far_mm: float


def far_pick(
    before: Solution, after: Solution, lines: Sequence[PhotoLine], placed: Placed
) -> tuple[float, float] | None:
    """Find the end of a line on the main wall that lies farthest from the frame."""
    middle = _middle_px(before, placed)
    ends = [p for line in lines if line.direction < 2 for p in line.points_px[[0, -1]]]
    ends.sort(key=lambda p: -float(np.hypot(*(p - middle))))
    for x, y in ends:
        # not the pick of the guide itself: its ± is that of a whole line
        pick = (round(float(x)) + 0.5, round(float(y)) + 0.5)
        found = [_far_mm(solution, placed, middle, pick)[0] for solution in (before, after)]
        if np.isfinite(found).all():
            return pick
    return None


def _middle_px(before: Solution, placed: Placed) -> Array:
    sheet = before.sheet
    corners = sheet.frames.get(placed.main, range(len(sheet.picks_px)))
    return np.asarray(np.mean([sheet.picks_px[i] for i in corners], axis=0))


def _far_mm(
    solution: Solution,
    placed: Placed,
    middle: Array,
    far: tuple[float, float],
) -> tuple[float, float]:
    picks = [Pick(x=float(middle[0]), y=float(middle[1])), Pick(x=far[0], y=far[1])]
    charted = solution.charted(placed.main, picks)
    gap = charted.chart_mm[1] - charted.chart_mm[0]
    length = float(np.hypot(*gap))
    if not math.isfinite(length) or length == 0.0:
        return math.nan, math.nan
    push = np.concatenate([-gap, gap]) / length
    return length, math.sqrt(max(float(push @ charted.cov_chart([0, 1]) @ push), 0.0))


def fit_of_lines(
    before: Solution,
    solution: Solution,
    lines: Sequence[PhotoLine],
    placed: Placed,
    far: tuple[float, float] | None,
) -> FitOfLines:
    """Tell how a solution stands to the lines; `before` is that of the user's picks alone."""
    photo = solution.photo.id
    log_focal, u_log_focal = solution.value_and_u(photo, "log_focal")
    (k1, u_k1), (k2, u_k2) = (solution.value_and_u(photo, k) for k in ("k1", "k2"))
    tilt, u_tilt = _tilt(solution)
    far_mm, u_far_mm = math.nan, math.nan
    if far is not None:
        far_mm, u_far_mm = _far_mm(solution, placed, _middle_px(before, placed), far)
    return FitOfLines(
        lines_rms_px=lines_rms_px(solution, lines, placed),
        picks_rms_px=own_rms_px(before, solution),
        focal_px=math.exp(log_focal),
        u_focal_px=math.exp(log_focal) * u_log_focal,
        k1=k1,
        u_k1=u_k1,
        k2=k2,
        u_k2=u_k2,
        tilt_rad=tilt,
        u_tilt_rad=u_tilt,
        far_mm=far_mm,
        u_far_mm=u_far_mm,
    )


def _tilt(solution: Solution) -> tuple[float, float]:
    """Rise of the camera's axis and its ±, in radians."""
    numbers = solution.unknowns.numbers()
    _, pose = solution.unknowns.camera(numbers)
    rise = pose.rotation[2][1]
    g = gradient_of(rise, len(numbers))
    value = float(np.clip(value_of(rise), -1.0, 1.0))
    u = math.sqrt(max(float(g @ solution.adjusted.cov_unknowns @ g), 0.0))
    return math.asin(value), solution.adjusted.misfit * u / math.sqrt(max(1.0 - value**2, 1e-12))
