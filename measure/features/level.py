"""Level: height of a pick above the datum."""

from __future__ import annotations

from measure.features.chart_points import ChartPoints, Sizes


def sizes(points: ChartPoints) -> Sizes:
    """Height above the datum in millimetres; negative below it."""
    return {"level_mm": points.v[0] - points.datum_v}
