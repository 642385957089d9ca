"""Opening: width, height, sill and head of a door or window.

The four corners of an opening are an upright rectangle as well as four points: the
best width uses that, weighing each corner by what is known of it. Real brickwork is
out of true by about a millimetre in a metre (common practice, no source), and the
weights allow for it.
"""

from __future__ import annotations

import math

import numpy as np

from measure.features.chart_points import ChartPoints, Sizes
from measure.features.circle import fit_circle
from measure.features.on_tower import chord_mm, turn_deg
from measure.features.weighing import best_weights, weighed
from rectify.solving.observations import OUT_OF_TRUE
from shared.jets import Array, Number, value_of

#: Rows TL, TR, BR, BL as u, v; columns left, right, sill, springing.
CORNERS: Array = np.array(
    [
        [1, 0, 0, 0], [0, 0, 0, 1],
        [0, 1, 0, 0], [0, 0, 0, 1],
        [0, 1, 0, 0], [0, 0, 1, 0],
        [1, 0, 0, 0], [0, 0, 1, 0],
    ],
    dtype=float,
)  # fmt: skip


def sizes(points: ChartPoints, head: str = "flat") -> Sizes:
    """Sizes of an opening.

    Parameters
    ----------
    points : ChartPoints
        Corners TL, TR, BR, BL (upper ones at the springing of an arched head), then the
        extra picks of the head. A round opening has picks round its rim only.
    head : str
        flat, semicircular, segmental, pointed or round.

    Returns
    -------
    mapping
        width, height (sill to the highest point), sill, head and springing levels above the
        datum, left and right on the chart, rise; millimetres. On a tower the width runs round
        it; the chord is straight across, and the turn says how far round its middle stands.
    """
    out = _round(points) if head == "round" else _upright(points, head)
    if points.radius is not None:
        left, right = out["left_mm"], out["right_mm"]
        out["chord_mm"] = chord_mm(points.radius, right - left)
        out["turn_deg"] = turn_deg(points, (left + right) * 0.5)
    return out


def _upright(points: ChartPoints, head: str) -> dict[str, Number]:
    left, right, sill, springing = _rectangle(points)
    width = right - left
    rise = _rise(points, head, left, right, springing, width)
    out = {
        "width_mm": width,
        "height_mm": springing + rise - sill,
        "sill_mm": sill - points.datum_v,
        "head_mm": springing + rise - points.datum_v,
        "left_mm": left,
        "right_mm": right,
    }
    if head != "flat":
        out["springing_mm"] = springing - points.datum_v
        out["jamb_mm"] = springing - sill
        out["rise_mm"] = rise
    return out


def _rectangle(points: ChartPoints) -> tuple[Number, Number, Number, Number]:
    numbers = points.interleaved()[:8]
    u1, v1, u3, v3 = (float(np.mean(value_of(numbers[i]))) for i in (2, 3, 6, 7))
    diagonal = math.hypot(u1 - u3, v1 - v3)
    allowance = (OUT_OF_TRUE * diagonal) ** 2 * np.eye(8)
    weights = best_weights(CORNERS, points.cov[:8, :8] + allowance)
    left, right, sill, springing = weighed(weights, numbers)
    return left, right, sill, springing


def _rise(
    points: ChartPoints, head: str, left: Number, right: Number, springing: Number, width: Number
) -> Number:
    """How far the head rises above its springing."""
    if head == "flat":
        return 0.0 * width
    extra = range(4, len(points))
    if not extra:
        if head == "semicircular":
            return width * 0.5
        # an equilateral pointed arch, struck from the opposite springing
        return width * (math.sqrt(3.0) / 2.0)
    if head == "pointed":
        best = max(extra, key=lambda i: float(np.mean(value_of(points.v[i]))))
        return points.v[best] - springing
    if head == "semicircular":
        offs = [
            np.hypot(points.u[i] - (left + right) * 0.5, points.v[i] - springing) for i in extra
        ]
        mean = sum(offs[1:], offs[0]) / len(offs)
        weights = best_weights(np.ones((2, 1)), np.diag([1.0, 1.0 / len(offs)]))[0]
        return float(weights[0]) * width * 0.5 + float(weights[1]) * mean
    u = [left, right, *(points.u[i] for i in extra)]
    v = [springing, springing, *(points.v[i] for i in extra)]
    _, centre_v, radius = fit_circle(u, v)
    return centre_v + radius - springing


def _round(points: ChartPoints) -> dict[str, Number]:
    centre_u, centre_v, radius = fit_circle(points.u, points.v)
    return {
        "width_mm": radius * 2.0,
        "height_mm": radius * 2.0,
        "sill_mm": centre_v - radius - points.datum_v,
        "head_mm": centre_v + radius - points.datum_v,
        "left_mm": centre_u - radius,
        "right_mm": centre_u + radius,
        "radius_mm": radius * 1.0,
    }
