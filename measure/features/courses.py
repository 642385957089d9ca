"""Courses: the gauge of a known number of courses between two picks."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from measure.features.chart_points import ChartPoints, Sizes
from rectify.solution import Charted
from shared.jets import value_of


def sizes(points: ChartPoints, count: int) -> Sizes:
    """Gauge and the levels of the joints of evenly laid courses, in millimetres."""
    bottom, top = points.v[0] - points.datum_v, points.v[1] - points.datum_v
    joints = [bottom + (top - bottom) * (i / count) for i in range(count + 1)]
    return {
        "gauge_mm": abs(top - bottom) / count,
        "height_mm": abs(top - bottom),
        "joints_mm": joints,
    }


def sizes_of_joints(points: ChartPoints) -> Sizes:
    """Gauge, height of all, and the levels of joints that were placed one by one, upwards."""
    upwards = sorted(points.v, key=lambda v: float(np.mean(value_of(v))))
    levels = [v - points.datum_v for v in upwards]
    height_mm = levels[-1] - levels[0]
    return {
        "gauge_mm": height_mm / (len(levels) - 1),
        "height_mm": height_mm,
        "joints_mm": levels,
    }


def joints_px(charted: Charted, rows: Iterable[int]) -> list[list[float]]:
    """Joints where they lie in the photo, upwards: x, y and ±, as picks are written."""
    upwards = sorted(rows, key=lambda row: float(charted.chart_mm[row, 1]))
    places = np.column_stack([charted.picks_px[upwards], charted.u_px[upwards]])
    return [[float(n) for n in place] for place in places.round(2)]


def height(points: ChartPoints) -> Sizes:
    """Height between the picks alone, where nobody has counted the courses."""
    return {"height_mm": abs(points.v[1] - points.v[0])}
