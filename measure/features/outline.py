"""Outline: area and perimeter inside a run of picks."""

from __future__ import annotations

import numpy as np

from measure.features.chart_points import ChartPoints, Sizes
from shared.jets import value_of


def sizes(points: ChartPoints) -> Sizes:
    """Area in square metres (shoelace formula) and perimeter in millimetres.

    A corner picked twice counts once.
    """
    count = len(points)
    area = 0.0
    perimeter = 0.0
    for i in range(count):
        j = (i + 1) % count
        area = area + (points.u[i] * points.v[j] - points.u[j] * points.v[i])
        along, up = points.u[j] - points.u[i], points.v[j] - points.v[i]
        if np.any(value_of(along)) or np.any(value_of(up)):
            perimeter = perimeter + np.hypot(along, up)
    return {"area_m2": abs(area) * 0.5e-6, "perimeter_mm": perimeter}
