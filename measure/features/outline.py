"""Outline: area and perimeter inside a run of picks."""

from __future__ import annotations

import numpy as np

from measure.features.chart_points import ChartPoints, Sizes


def sizes(points: ChartPoints) -> Sizes:
    """Area in square metres (shoelace formula) and perimeter in millimetres."""
    count = len(points)
    area = 0.0
    perimeter = 0.0
    for i in range(count):
        j = (i + 1) % count
        area = area + (points.u[i] * points.v[j] - points.u[j] * points.v[i])
        perimeter = perimeter + np.hypot(points.u[j] - points.u[i], points.v[j] - points.v[i])
    return {"area_m2": abs(area) * 0.5e-6, "perimeter_mm": perimeter}
