"""Circle segments against Machinery's Handbook, through arcs and arched heads.

Source: Machinery's Handbook, 31st edition, p. 83: ``c = 2 r sin(a / 2)``,
``h = r (1 - cos(a / 2))``, ``r = (c^2 + 4 h^2) / (8 h)``; the two rows are published with
those formulas on a mathematics help page and were recomputed.
"""

import math

import numpy as np
import pytest

from measure.features import arc, opening
from measure.features.chart_points import ChartPoints
from measure.features.circle import fit_circle

#: chord, rise, radius, angle in degrees
ROWS = [
    (21.0, 6.0, 12.1875, 118.97953),
    (0.97449536, 0.096919589, 1.2732395, 45.0),
]


def points_on_arc(chord, rise, radius, count):
    """Points along the arc, from springing to springing, crown up."""
    half = math.asin(chord / 2 / radius)
    angle = np.linspace(-half, half, count)
    return radius * np.sin(angle), rise - radius + radius * np.cos(angle)


def charted(u, v):
    return ChartPoints(list(u), list(v), 0.0, np.eye(2 * len(u)))


@pytest.mark.parametrize("row", ROWS, ids=["chord 21", "45 degrees"])
@pytest.mark.parametrize("count", [3, 4, 9])
def test_arc_gives_the_published_radius_span_and_rise(row, count):
    chord, rise, radius, angle_deg = row
    sizes = arc.sizes(charted(*points_on_arc(chord, rise, radius, count)))
    assert sizes["radius_mm"] == pytest.approx(radius, rel=1e-7)
    assert sizes["span_mm"] == pytest.approx(chord, rel=1e-7)
    assert sizes["rise_mm"] == pytest.approx(rise, rel=1e-7)
    half_angle = math.degrees(math.asin(sizes["span_mm"] / 2 / sizes["radius_mm"]))
    assert 2 * half_angle == pytest.approx(angle_deg, abs=1e-4)


@pytest.mark.parametrize(
    ("degrees", "chord", "rise"),
    [(1, 0.0174531, 0.0000381), (10, 0.174311, 0.0038053), (30, 0.517638, 0.0340742)],
    ids=str,
)
def test_unit_radius_rows_come_back(degrees, chord, rise):
    """Table of segments for radius 1, same source; seven decimals are what it prints."""
    turn = math.radians(degrees)
    points = points_on_arc(2 * math.sin(turn / 2), 1 - math.cos(turn / 2), 1.0, 5)
    sizes = arc.sizes(charted(*points))
    assert sizes["span_mm"] == pytest.approx(chord, abs=6e-7)
    assert sizes["rise_mm"] == pytest.approx(rise, abs=6e-8)


def test_segmental_head_of_the_published_row():
    chord, rise, radius, _ = ROWS[0]
    u, v = points_on_arc(chord, rise, radius, 5)
    jamb = 30.0
    corners_u = [-chord / 2, chord / 2, chord / 2, -chord / 2]
    corners_v = [jamb, jamb, 0.0, 0.0]
    points = charted([*corners_u, *u[1:4]], [*corners_v, *(v[1:4] + jamb)])
    sizes = opening.sizes(points, head="segmental")
    assert sizes["rise_mm"] == pytest.approx(rise, rel=1e-6)
    assert sizes["height_mm"] == pytest.approx(jamb + rise, rel=1e-6)


def test_circle_through_the_published_row_has_its_radius():
    u, v = points_on_arc(*ROWS[0][:3], 7)
    _, _, radius = fit_circle(list(u), list(v))
    assert radius == pytest.approx(12.1875, rel=1e-7)
