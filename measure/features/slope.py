"""Slope: pitch of the line through two picks."""

from __future__ import annotations

import math

import numpy as np

from measure.features.chart_points import ChartPoints, Sizes


def sizes(points: ChartPoints) -> Sizes:
    """Angle above the level in degrees, 0 to 90, whichever way the line rises."""
    du, dv = points.u[1] - points.u[0], points.v[1] - points.v[0]
    return {"slope_deg": np.arctan2(abs(dv), abs(du)) * (180.0 / math.pi)}
