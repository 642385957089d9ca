"""Distance: straight from pick to pick on the face."""

from __future__ import annotations

import numpy as np

from measure.features.chart_points import ChartPoints, Sizes


def sizes(points: ChartPoints) -> Sizes:
    """Length in millimetres."""
    du, dv = points.u[1] - points.u[0], points.v[1] - points.v[0]
    return {"length_mm": np.hypot(du, dv), "across_mm": abs(du), "up_mm": abs(dv)}
