"""Courses: the gauge of a known number of courses between two picks."""

from __future__ import annotations

from measure.features.chart_points import ChartPoints, Sizes


def sizes(points: ChartPoints, count: int) -> Sizes:
    """Gauge and the levels of the joints of evenly laid courses, in millimetres."""
    bottom, top = points.v[0] - points.datum_v, points.v[1] - points.datum_v
    joints = [bottom + (top - bottom) * (i / count) for i in range(count + 1)]
    return {
        "gauge_mm": abs(top - bottom) / count,
        "height_mm": abs(top - bottom),
        "joints_mm": joints,
    }


def height(points: ChartPoints) -> Sizes:
    """Height between the picks alone, where nobody has counted the courses."""
    return {"height_mm": abs(points.v[1] - points.v[0])}
