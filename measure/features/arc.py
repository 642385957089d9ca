"""Arc: radius, span and rise of a circular arc from springing to springing."""

from __future__ import annotations

import numpy as np

from measure.features.chart_points import ChartPoints, Sizes
from measure.features.circle import fit_circle
from shared.jets import Number, value_of


def sizes(points: ChartPoints) -> Sizes:
    """Radius, span between the outermost picks, and rise above that chord, in millimetres.

    References
    ----------
    Circle segments: Machinery's Handbook, 31st ed., p. 83: ``c = 2 r sin(a / 2)``,
    ``h = r (1 - cos(a / 2))``.
    """
    centre_u, centre_v, radius = fit_circle(points.u, points.v)
    middle = [float(np.median(value_of(number))) for number in points.u]
    left, right = int(np.argmin(middle)), int(np.argmax(middle))
    span, rise = chord(points, left, right, centre_u, centre_v, radius)
    return {"radius_mm": radius, "span_mm": span, "rise_mm": rise}


def chord(
    points: ChartPoints, left: int, right: int, centre_u: Number, centre_v: Number, radius: Number
) -> tuple[Number, Number]:
    """Span between two points of a circle, and the rise of the crown above that chord."""
    du = points.u[right] - points.u[left]
    dv = points.v[right] - points.v[left]
    span = np.hypot(du, dv)
    across = centre_v - (points.v[left] + points.v[right]) * 0.5
    along = centre_u - (points.u[left] + points.u[right]) * 0.5
    lift = (across * du - along * dv) / span
    return span, radius + lift
