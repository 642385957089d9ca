"""What a straight rule shows across a round face, and how far round it a thing stands."""

from __future__ import annotations

import math

import numpy as np

from measure.features.chart_points import ChartPoints
from shared.jets import Number


def chord_mm(radius: Number, arc_mm: Number) -> Number:
    """Straight distance between two uprights of a tower, an arc apart.

    Examples
    --------
    A quarter of the way round a tower of radius 1000 mm:

    >>> round(float(chord_mm(1000.0, 1000.0 * math.pi / 2)), 3)
    1414.214
    """
    return 2.0 * radius * np.sin(arc_mm / (2.0 * radius))


def turn_deg(points: ChartPoints, u: Number) -> Number:
    """Angle from the upright that angles count from, to the right as seen from outside.

    That upright is where the face's own datum was picked, else the one that faces straight
    out of the wall.
    """
    return (u - points.upright_u) / points.radius * (180.0 / math.pi)
