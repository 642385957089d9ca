import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.elevation.path_geometry import (
    ArcSegment,
    Box,
    LineSegment,
    arc_centre_mm,
    arc_radius_mm,
    box_around_path,
    box_around_points,
    point_on_arc_mm,
    scaled_segments,
    walk,
)

ROOT_HALF = math.sqrt(0.5)


@pytest.mark.parametrize(
    ("start", "end", "sweep_deg", "centre", "radius"),
    [
        pytest.param((1, 0), (0, 1), 90, (0, 0), 1, id="quarter anticlockwise"),
        pytest.param((0, 1), (1, 0), -90, (0, 0), 1, id="quarter clockwise"),
        pytest.param((1, 0), (-1, 0), 180, (0, 0), 1, id="half over the top"),
        pytest.param((1, 0), (0, -1), 270, (0, 0), 1, id="three quarters"),
        pytest.param((8, 5), (5, 8), 90, (5, 5), 3, id="quarter about (5, 5)"),
    ],
)
def test_centre_and_radius_of_arcs_a_reader_can_see(start, end, sweep_deg, centre, radius):
    arc = ArcSegment(end, math.radians(sweep_deg))
    assert_allclose(arc_centre_mm(start, arc), centre, atol=1e-12)
    assert_allclose(arc_radius_mm(start, arc), radius, atol=1e-12)


@given(
    turn=st.floats(0.05, 6.2),
    sign=st.sampled_from([-1.0, 1.0]),
    begin=st.floats(0.0, math.tau),
    radius=st.floats(1.0, 1e4),
)
def test_turning_by_the_sweep_leads_to_the_end_of_the_arc(turn, sign, begin, radius):
    start = (radius * math.cos(begin), radius * math.sin(begin))
    end = (radius * math.cos(begin + sign * turn), radius * math.sin(begin + sign * turn))
    arc = ArcSegment(end, sign * turn)
    assert_allclose(arc_centre_mm(start, arc), (0.0, 0.0), atol=1e-8 * radius)
    assert_allclose(point_on_arc_mm(start, arc, arc.sweep_rad), end, atol=1e-8 * radius)


@given(begin=st.floats(0.0, math.tau), turn=st.floats(0.05, 6.2), sign=st.sampled_from([-1.0, 1.0]))
def test_box_of_an_arc_holds_every_point_of_it_and_touches_one_on_each_side(begin, turn, sign):
    start = (math.cos(begin), math.sin(begin))
    end = (math.cos(begin + sign * turn), math.sin(begin + sign * turn))
    arc = ArcSegment(end, sign * turn)
    box = box_around_path(start, [arc])
    along = [point_on_arc_mm(start, arc, arc.sweep_rad * n / 2000) for n in range(2001)]
    seen = box_around_points(along)
    assert box.contains(seen, slack_mm=1e-9)
    # 2000 steps of at most 0.0031 leave a bow of 0.0031**2 / 8 between two points.
    assert_allclose(
        (box.left_mm, box.bottom_mm, box.right_mm, box.top_mm),
        (seen.left_mm, seen.bottom_mm, seen.right_mm, seen.top_mm),
        atol=2e-6,
    )


def test_scaling_a_path_scales_its_radius_and_keeps_its_sweep():
    start, arc = (1.0, 0.0), ArcSegment((0.0, 1.0), math.pi / 2)
    (large,) = scaled_segments([arc], 5.0, 100.0, 200.0)
    moved_start = (105.0, 200.0)
    assert isinstance(large, ArcSegment)
    assert large.sweep_rad == arc.sweep_rad
    assert_allclose(arc_radius_mm(moved_start, large), 5.0, atol=1e-12)
    assert_allclose(arc_centre_mm(moved_start, large), (100.0, 200.0), atol=1e-12)
    assert_allclose(arc_radius_mm(start, arc), 1.0, atol=1e-12)


def test_walk_gives_each_segment_the_point_it_starts_from():
    segments = [LineSegment((1.0, 0.0)), LineSegment((1.0, 2.0))]
    assert [here for here, _ in walk((0.0, 0.0), segments)] == [(0.0, 0.0), (1.0, 0.0)]


@pytest.mark.parametrize("sweep", [0.0, math.tau, -math.tau, 7.0, math.nan])
def test_arc_of_no_turn_or_a_whole_turn_is_refused(sweep):
    with pytest.raises(ValueError, match="sweep_rad"):
        ArcSegment((1.0, 0.0), sweep)


def test_box_inside_out_is_refused():
    with pytest.raises(ValueError, match="inside out"):
        Box(1.0, 0.0, 0.0, 1.0)


def test_box_around_nothing_is_refused():
    with pytest.raises(ValueError, match="at least one"):
        box_around_points([])
