"""Distance: straight from pick to pick on the face."""

from __future__ import annotations

import numpy as np

from measure.features.chart_points import ChartPoints, Sizes
from measure.features.on_tower import chord_mm
from shared.jets import Number


def sizes(points: ChartPoints) -> Sizes:
    """Length in millimetres; on a tower along its face, and straight across."""
    du, dv = points.u[1] - points.u[0], points.v[1] - points.v[0]
    out: dict[str, Number] = {
        "length_mm": np.hypot(du, dv),
        "across_mm": abs(du),
        "up_mm": abs(dv),
    }
    if points.radius is not None:
        out["chord_mm"] = np.hypot(chord_mm(points.radius, du), dv)
    return out
