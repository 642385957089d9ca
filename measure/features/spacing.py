"""Spacing: level distances from each pick to the next."""

from __future__ import annotations

from measure.features.chart_points import ChartPoints, Sizes


def sizes(points: ChartPoints) -> Sizes:
    """Each spacing and their mean, in millimetres, always positive."""
    gaps = [abs(b - a) for a, b in zip(points.u[:-1], points.u[1:], strict=True)]
    return {"spacings_mm": gaps, "mean_mm": sum(gaps[1:], gaps[0]) / len(gaps)}
