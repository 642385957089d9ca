"""Every kind of measure on chart points whose sizes a reader can check in the head."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.features import arc, courses, distance, level, opening, outline, set_back, slope
from measure.features import spacing as spacing_of
from measure.features.chart_points import ChartPoints
from measure.features.circle import fit_circle
from shared.jets import jets_from_values


def chart(*points, datum=0.0, cov=None):
    u, v = zip(*points, strict=True)
    cov = np.eye(2 * len(u)) if cov is None else cov
    return ChartPoints([np.float64(x) for x in u], [np.float64(y) for y in v], datum, cov)


BOX = [(100.0, 2300.0), (1000.0, 2300.0), (1000.0, 800.0), (100.0, 800.0)]


def test_distance_of_three_four_five():
    sizes = distance.sizes(chart((500, -700), (3500, 3300)))
    assert sizes == {"length_mm": 5000.0, "across_mm": 3000.0, "up_mm": 4000.0}


def test_distance_is_the_same_from_either_end():
    assert distance.sizes(chart((3000, 4000), (0, 0)))["length_mm"] == 5000.0


QUARTER_MM = 1000.0 * math.pi / 2.0  # of the way round a tower of radius 1000 mm


def round_a_tower(*points):
    return replace(chart(*points), radius=np.float64(1000.0), upright_u=QUARTER_MM)


def test_distance_on_a_tower_is_given_straight_across_too():
    sizes = distance.sizes(round_a_tower((0, 0), (QUARTER_MM, 0)))
    assert sizes["length_mm"] == pytest.approx(1570.796)
    assert sizes["chord_mm"] == pytest.approx(1414.214)


def test_distance_across_a_tower_rises_with_its_ends():
    sizes = distance.sizes(round_a_tower((0, 0), (QUARTER_MM, 1414.214)))
    assert sizes["chord_mm"] == pytest.approx(2000.0)


def test_opening_in_a_tower_has_a_chord_and_says_how_far_round_it_stands():
    left, right = 2.0 * QUARTER_MM, 3.0 * QUARTER_MM
    sizes = opening.sizes(round_a_tower((left, 9), (right, 9), (right, 0), (left, 0)))
    assert sizes["width_mm"] == pytest.approx(1570.796)
    assert sizes["chord_mm"] == pytest.approx(1414.214)
    # from the upright a quarter round to the opening's middle, two and a half quarters round
    assert sizes["turn_deg"] == pytest.approx(135.0)


@pytest.mark.parametrize(("v", "expected"), [(1500.0, 1200.0), (100.0, -200.0)])
def test_level_counts_from_the_datum(v, expected):
    assert level.sizes(chart((7, v), datum=300.0)) == {"level_mm": expected}


@pytest.mark.parametrize(
    ("end", "degrees"),
    [((1000, 0), 0.0), ((1000, 1000), 45.0), ((-1000, 1000), 45.0), ((0, -5), 90.0),
     ((math.sqrt(3) * 1000, 1000), 30.0)],
)  # fmt: skip
def test_slope_is_above_the_level_whichever_way_it_rises(end, degrees):
    sizes = slope.sizes(chart((200, -300), (200 + end[0], -300 + end[1])))
    assert sizes["slope_deg"] == pytest.approx(degrees)


def test_spacing_gives_each_and_their_mean():
    sizes = spacing_of.sizes(chart((0, 0), (900, 5), (2000, -5), (3000, 0)))
    assert sizes == {"spacings_mm": [900, 1100, 1000], "mean_mm": 1000.0}


def test_spacing_picked_from_right_to_left_is_positive():
    assert spacing_of.sizes(chart((3000, 0), (1000, 0)))["mean_mm"] == 2000.0


def test_courses_divide_the_height_evenly():
    sizes = courses.sizes(chart((0, 300), (10, 600), datum=300.0), 4)
    assert (sizes["gauge_mm"], sizes["height_mm"]) == (75.0, 300.0)
    assert sizes["joints_mm"] == [0.0, 75.0, 150.0, 225.0, 300.0]


def test_joints_of_courses_count_from_the_datum_too():
    sizes = courses.sizes(chart((0, 900), (10, 1050), datum=600.0), 2)
    assert (sizes["joints_mm"], sizes["height_mm"]) == ([300.0, 375.0, 450.0], 150.0)


def test_joints_placed_one_by_one_are_listed_upwards_whatever_their_order():
    sizes = courses.sizes_of_joints(chart((0, 600), (5, 450), (0, 520), datum=300.0))
    assert sizes == {"gauge_mm": 75.0, "height_mm": 150.0, "joints_mm": [150.0, 220.0, 300.0]}


@pytest.mark.parametrize("ends", [(900, 1050), (1050, 900)])
def test_courses_nobody_counted_have_their_height_alone(ends):
    assert courses.height(chart((0, ends[0]), (10, ends[1]))) == {"height_mm": 150.0}


def test_courses_counted_downwards_have_the_same_gauge():
    assert courses.sizes(chart((0, 600), (0, 300)), 4)["gauge_mm"] == 75.0


@pytest.mark.parametrize(
    ("points", "area_m2", "perimeter_mm"),
    [
        ([(0, 0), (2000, 0), (2000, 1000), (0, 1000)], 2.0, 6000.0),
        ([(0, 1000), (2000, 1000), (2000, 0), (0, 0)], 2.0, 6000.0),
        ([(0, 0), (3000, 0), (0, 4000)], 6.0, 12_000.0),
        ([(700, -500), (3700, -500), (700, 3500)], 6.0, 12_000.0),
    ],
    ids=["rectangle", "the other way round", "gable end", "gable end elsewhere"],
)
def test_outline_gives_area_and_perimeter(points, area_m2, perimeter_mm):
    sizes = outline.sizes(chart(*points))
    assert sizes["area_m2"] == pytest.approx(area_m2)
    assert sizes["perimeter_mm"] == pytest.approx(perimeter_mm)


def test_corner_of_an_outline_picked_twice_counts_once():
    sizes = outline.sizes(chart((0, 0), (3000, 0), (3000, 0), (3000, 4000)))
    assert (sizes["area_m2"], sizes["perimeter_mm"]) == (6.0, 12_000.0)
    corners = [(0.0, 0.0), (3000.0, 0.0), (3000.0, 0.0), (3000.0, 4000.0)]
    jets = jets_from_values([u for u, _ in corners] + [v for _, v in corners])
    u, v = jets[:4], jets[4:]
    u[2], v[2] = u[1], v[1]
    perimeter = outline.sizes(ChartPoints(u, v, 0.0, np.eye(8)))["perimeter_mm"]
    assert np.isfinite(perimeter.gradient).all()


def test_flat_opening():
    sizes = opening.sizes(chart(*BOX, datum=300.0))
    expected = {"width_mm": 900, "height_mm": 1500, "sill_mm": 500, "head_mm": 2000,
                "left_mm": 100, "right_mm": 1000}  # fmt: skip
    assert {key: pytest.approx(value) for key, value in expected.items()} == sizes


@pytest.mark.parametrize(
    ("head", "extra", "rise"),
    [
        ("semicircular", [], 450.0),
        ("semicircular", [(550.0, 2750.0)], 450.0),
        ("segmental", [(550.0, 2450.0)], 150.0),
        ("pointed", [], 450.0 * math.sqrt(3.0)),
        ("pointed", [(550.0, 3000.0)], 700.0),
        ("pointed", [(300.0, 2700.0), (550.0, 3000.0), (800.0, 2700.0)], 700.0),
    ],
)
def test_head_rises_above_its_springing(head, extra, rise):
    sizes = opening.sizes(chart(*BOX, *extra, datum=300.0), head=head)
    assert sizes["rise_mm"] == pytest.approx(rise, rel=1e-6)
    assert sizes["height_mm"] == pytest.approx(1500.0 + rise, rel=1e-6)
    assert sizes["jamb_mm"] == pytest.approx(1500.0)
    assert sizes["springing_mm"] == pytest.approx(2000.0)
    assert sizes["head_mm"] == pytest.approx(2000.0 + rise, rel=1e-6)


def test_semicircular_head_weighs_its_width_and_each_pick_alike():
    # half the width is 450; the picks lie 460 and 466 from the middle of the springing
    crown, side = (550.0, 2300.0 + 460.0), (550.0 + 466.0 * 0.6, 2300.0 + 466.0 * 0.8)
    sizes = opening.sizes(chart(*BOX, crown, side), head="semicircular")
    assert sizes["rise_mm"] == pytest.approx((450.0 + 460.0 + 466.0) / 3.0)


def test_round_opening_is_as_high_as_wide():
    angle = np.radians([0, 80, 170, 260])
    rim = [(1000 + 400 * np.cos(a), 2000 + 400 * np.sin(a)) for a in angle]
    sizes = opening.sizes(chart(*rim, datum=500.0), head="round")
    expected = {"width_mm": 800, "height_mm": 800, "sill_mm": 1100, "head_mm": 1900,
                "left_mm": 600, "right_mm": 1400, "radius_mm": 400}  # fmt: skip
    assert {key: pytest.approx(value) for key, value in expected.items()} == sizes


def test_opening_weighs_its_corners_by_what_is_known_of_them():
    """The right jamb is out by 8 mm at the top, where the pick is three times as unsure."""
    cov = np.eye(8)
    cov[2, 2] = 9.0
    corners = [(u + 9000, v + 6000) for u, v in [(0, 1000), (1008, 1000), (1000, 0), (0, 0)]]
    allowed = (0.001 * math.hypot(1000, 1000)) ** 2
    weights = np.array([1 / (9 + allowed), 1 / (1 + allowed)])
    expected = 1000 + 8 * weights[0] / weights.sum()
    width = opening.sizes(chart(*corners, cov=cov))["width_mm"]
    assert width == pytest.approx(expected, abs=0.02)


def test_set_back_is_where_the_far_ray_passes_the_near_end():
    # the far end's ray moves 2 mm right and 1 mm up on the chart for each 10 mm of depth
    near, far = (1030.0, 2015.0), (1000.0, 2000.0)
    behind = (far[0] + 20.0, far[1] + 10.0)
    assert set_back.sizes(chart(near, far, behind), 100.0)["depth_mm"] == pytest.approx(150.0)


def test_set_back_of_a_straight_line_in_uv_uses_the_better_direction():
    # the ray moves along u only: v of the near end says nothing
    points = [(30.0, 500.0), (0.0, 0.0), (20.0, 0.0)]
    assert set_back.sizes(chart(*points), 100.0)["depth_mm"] == pytest.approx(150.0)


def test_set_back_goes_by_the_better_known_direction():
    """The near end's u says 150 mm deep, its v 200 mm, each with a ± of its own."""
    cov = np.diag([4.0, 1.0, 5.0, 3.0, 1.0, 1.0])
    cov[0, 2] = cov[2, 0] = 1.5
    cov[1, 3] = cov[3, 1] = -0.5
    points = [(30.0, 20.0), (0.0, 0.0), (20.0, 10.0)]
    depth = set_back.sizes(chart(*points, cov=cov), 100.0)["depth_mm"]
    # a gap of g +- s with a run of r to a millimetre of depth says g / r, to s / r
    weights = np.array([0.2**2 / (4.0 + 5.0 - 3.0), 0.1**2 / (1.0 + 3.0 + 1.0)])
    assert depth == pytest.approx(weights @ [150.0, 200.0] / weights.sum())


@given(st.floats(50, 5000), st.floats(0.3, 3.0), st.integers(3, 12), st.floats(-1e4, 1e4))
def test_arc_finds_its_circle_wherever_it_stands(radius, half, count, shift):
    angle = np.linspace(-half, half, count)
    points = [(shift + radius * np.sin(a), -shift + radius * np.cos(a)) for a in angle]
    centre_u, centre_v, found = fit_circle(*map(list, zip(*points, strict=True)))
    # a shallow arc fixes its centre to about 1 / half^2 of the rounding
    assert_allclose(
        (centre_u, centre_v, found), (shift, -shift, radius), rtol=1e-6, atol=1e-5 * radius
    )


@given(st.floats(200, 3000), st.floats(0.2, 1.5))
def test_arc_span_and_rise_follow_from_its_circle(radius, half):
    assume(radius * (1 - math.cos(half)) > 1.0)
    angle = np.linspace(-half, half, 5)
    sizes = arc.sizes(chart(*[(radius * np.sin(a), radius * np.cos(a)) for a in angle]))
    assert sizes["span_mm"] == pytest.approx(2 * radius * math.sin(half), rel=1e-6)
    assert sizes["rise_mm"] == pytest.approx(radius * (1 - math.cos(half)), rel=1e-5)


def test_arc_picked_in_any_order_spans_its_outermost_picks():
    points = [(0.0, 1000.0), (-866.025, 500.0), (866.025, 500.0)]
    sizes = arc.sizes(chart(*points))
    assert sizes["span_mm"] == pytest.approx(1732.05, abs=0.01)
    assert sizes["rise_mm"] == pytest.approx(500.0, abs=0.01)


def test_arc_between_springings_of_unlike_height_rises_square_to_its_chord():
    angle = np.array([-0.4, 0.1, 0.5, 1.0])  # from the crown: a chord of half angle 0.7
    sizes = arc.sizes(chart(*[(300 + 800 * np.sin(a), 90 + 800 * np.cos(a)) for a in angle]))
    assert sizes["span_mm"] == pytest.approx(1600.0 * math.sin(0.7))
    assert sizes["rise_mm"] == pytest.approx(800.0 * (1.0 - math.cos(0.7)))
