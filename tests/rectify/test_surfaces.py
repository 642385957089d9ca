"""Surfaces: where rays meet walls and towers."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from rectify.surfaces import Heights, Plane, Radius, Round, make_roof, make_wall
from tests.support.scenes import rotation_from_angles

EYE = (0.0, 0.0, 10_000.0)


def test_ray_straight_ahead_meets_the_wall_at_the_foot_of_the_camera():
    u, v, t = make_wall().chart_mm_from_ray(EYE, (0.0, 0.0, -1.0))
    assert (float(u), float(v), float(t)) == (0.0, 0.0, 10_000.0)


@pytest.mark.parametrize(
    ("ray", "set_back_mm", "uv"),
    [
        ((0.1, 0.2, -1.0), 0.0, (1000.0, 2000.0)),
        ((0.1, 0.2, -1.0), 1000.0, (1100.0, 2200.0)),
        ((0.1, 0.2, -1.0), -5000.0, (500.0, 1000.0)),
    ],
    ids=["on the wall", "behind it", "before it"],
)
def test_set_back_moves_the_meeting_point_along_the_ray(ray, set_back_mm, uv):
    u, v, _ = make_wall().chart_mm_from_ray(EYE, ray, set_back_mm)
    assert_allclose((u, v), uv)


def test_ray_away_from_the_wall_gives_nan():
    u, v, _ = make_wall().chart_mm_from_ray(EYE, (0.0, np.array([0.0, 1.0]), np.array([1.0, 1e-9])))
    assert np.isnan(u).all()
    assert np.isnan(v).all()


def test_wing_at_right_angles_faces_along_the_wall():
    wing = make_wall(3000.0, 0.0, math.pi / 2)
    assert_allclose(wing.outward, (-1.0, 0.0, 0.0), atol=1e-15)
    # u grows from the hinge out of the main wall
    assert_allclose(wing.building_mm_from_chart(500.0, 200.0), (3000.0, 200.0, 500.0), atol=1e-12)


@pytest.mark.parametrize("heading", [-1.2, -0.3, 0.0, 0.7, 1.3])
def test_point_of_a_wall_comes_back_from_its_ray(heading):
    wall = make_wall(400.0, -300.0, heading)
    at = wall.building_mm_from_chart(250.0, 1800.0, 90.0)
    ray = tuple(a - c for a, c in zip(at, EYE, strict=True))
    u, v, t = wall.chart_mm_from_ray(EYE, ray, 90.0)
    assert_allclose((u, v, t), (250.0, 1800.0, 1.0), atol=1e-9)


def test_tower_seen_square_on_is_met_at_its_front():
    tower = Round(0.0, -2000.0, 3000.0)
    u, v, t = tower.chart_mm_from_ray(EYE, (0.0, 0.1, -1.0))
    assert_allclose((u, v, t), (0.0, 900.0, 9000.0))


def test_chart_of_a_tower_counts_arc_length():
    at = Round(0.0, 0.0, 2000.0).building_mm_from_chart(2000.0 * math.pi / 2, 700.0)
    assert_allclose(at, (2000.0, 700.0, 0.0), atol=1e-9)


def test_point_of_a_tower_comes_back_from_its_ray_where_it_faces_the_camera():
    tower = Round(500.0, -1000.0, 2500.0)
    for u in (-2500.0, 0.0, 1800.0):
        at = tower.building_mm_from_chart(u, 1200.0, 60.0)
        ray = tuple(a - c for a, c in zip(at, EYE, strict=True))
        back = tower.chart_mm_from_ray(EYE, ray, 60.0)
        assert_allclose(back, (u, 1200.0, 1.0), atol=1e-6)


def test_ray_beside_the_tower_gives_nan():
    u, _, _ = Round(0.0, 0.0, 1000.0).chart_mm_from_ray(EYE, (np.array([0.0, 0.2]), 0.0, -1.0))
    assert np.isfinite(u).tolist() == [True, False]


def test_ray_that_touches_the_tower_meets_nothing():
    # straight along the view, a radius beside the axis: all in whole numbers, so exactly
    u, _, _ = Round(0.0, 0.0, 1000.0).chart_mm_from_ray((1000.0, 0.0, 10_000.0), (0.0, 0.0, -1.0))
    assert np.isnan(u)


@pytest.mark.parametrize(
    ("surface", "eye"),
    [(make_wall(), (5.0, 7.0, 0.0)), (Round(0.0, -1000.0, 1000.0), (0.0, 7.0, 0.0))],
    ids=["wall", "tower"],
)
def test_camera_on_the_surface_itself_sees_nothing_of_it(surface, eye):
    assert np.isnan(surface.chart_mm_from_ray(eye, (0.0, 0.0, -1.0))).all()


def test_outline_touches_at_the_half_angle_of_the_blueprint():
    """``sin a = r / D``: r 3 m, axis 15 m away."""
    tower = Round(0.0, -5000.0, 3000.0)
    tangent = math.tan(math.asin(3000.0 / 15_000.0))
    for side in (-1.0, 1.0):
        clearance = tower.clearance_mm(EYE, (side * tangent, 0.3, -1.0), side)
        assert float(clearance) == pytest.approx(0.0, abs=1e-9)
    # the apparent half width at the axis is 2.1 % more than the radius
    assert 15_000.0 * tangent == pytest.approx(3061.9, abs=0.1)


def test_clearance_has_a_sign():
    tower = Round(0.0, 0.0, 1000.0)
    assert tower.clearance_mm(EYE, (0.5, 0.0, -1.0), 1.0) > 0
    assert tower.clearance_mm(EYE, (0.0, 0.0, -1.0), 1.0) == pytest.approx(-1000.0)


def test_plane_however_turned_is_origin_and_steps_along_it():
    along, up, _ = rotation_from_angles(25.0, 35.0, 15.0)
    plane = Plane((300.0, -200.0, 900.0), tuple(along), tuple(up))
    at = np.array(plane.building_mm_from_chart(70.0, -40.0, 15.0))
    outward = np.cross(along, up)
    assert_allclose(at, [300.0, -200.0, 900.0] + 70.0 * along - 40.0 * up - 15.0 * outward)
    eye = np.array([500.0, 900.0, 100.0]) + 4000.0 * outward
    u, v, _ = plane.chart_mm_from_ray(tuple(eye), tuple(at - eye), 15.0)
    assert_allclose((u, v), (70.0, -40.0), atol=1e-9)


@pytest.mark.parametrize("side", [-1.0, 1.0], ids=["left", "right"])
def test_ray_along_the_outline_clears_the_tower_by_nothing(side):
    tower, eye = Round(2000.0, -2000.0, 1500.0), np.array([300.0, 5000.0, 9000.0])
    to_axis = np.array([2000.0, -2000.0]) - eye[[0, 2]]
    aside = math.asin(1500.0 / np.hypot(*to_axis))
    # seen from before the wall, looking along -z, right is +x: the right outline turns to +x
    angle = math.atan2(to_axis[0], -to_axis[1]) + side * aside
    ray = (math.sin(angle), 0.3, -math.cos(angle))
    assert tower.clearance_mm(tuple(eye), ray, side) == pytest.approx(0.0, abs=1e-6)


def make_slope():
    """At 30 degrees over a wall that heads 0.4 rad out, its eaves 250 mm before the wall."""
    return make_roof(make_wall(400.0, -300.0, 0.4), 3000.0, -250.0, math.pi / 6.0)


def test_roof_starts_at_its_eaves_and_rises_inwards():
    roof = make_slope()
    # the wall's outward direction is its heading turned by a quarter: (-sin 0.4, 0, cos 0.4)
    out = np.array([-math.sin(0.4), 0.0, math.cos(0.4)])
    along, foot = np.array([math.cos(0.4), 0.0, math.sin(0.4)]), np.array([400.0, 3000.0, -300.0])
    eaves = foot + 100.0 * along + 250.0 * out
    assert_allclose(roof.building_mm_from_chart(100.0, 0.0), eaves, atol=1e-9)
    # 1000 mm up a slope of 30 degrees: 500 mm higher, 866 mm farther in
    higher = eaves + np.array([0.0, 500.0, 0.0]) - 866.0254 * out
    assert_allclose(roof.building_mm_from_chart(100.0, 1000.0), higher, atol=1e-3)


def test_roof_faces_up_and_out():
    assert_allclose(
        make_roof(make_wall(), 3000.0, 0.0, math.pi / 6.0).outward,
        (0.0, math.cos(math.pi / 6.0), 0.5),
        atol=1e-15,
    )


HIGH_UP = (0.0, 9000.0, 8000.0)


@pytest.mark.parametrize("back_mm", [0.0, 150.0])
def test_heights_on_a_slope_are_plumb_heights_of_the_building(back_mm):
    slope = make_slope()
    at = Heights(slope).building_mm_from_chart(100.0, 4200.0, back_mm)
    assert at[1] == pytest.approx(4200.0)
    u, v, _ = slope.chart_mm_from_ray(HIGH_UP, np.subtract(at, HIGH_UP), back_mm)
    # where the slope itself is met: at the same u, as far up as 30 degrees make of the rise
    assert u == pytest.approx(100.0)
    assert v == pytest.approx((4200.0 - 3000.0 + back_mm * math.cos(math.pi / 6.0)) * 2.0)


@pytest.mark.parametrize("back_mm", [0.0, 150.0])
def test_ray_meets_heights_where_it_meets_the_slope(back_mm):
    slope = make_slope()
    at = slope.building_mm_from_chart(100.0, 1000.0, back_mm)
    met = Heights(slope).chart_mm_from_ray(HIGH_UP, np.subtract(at, HIGH_UP), back_mm)
    assert_allclose(met, (100.0, at[1], 1.0))


def test_slopes_and_their_heights_are_met_on_the_face_itself_unless_a_depth_is_told():
    heights, ray = Heights(make_slope()), (0.0, -0.5, -1.0)
    assert heights.chart_mm_from_ray(HIGH_UP, ray) == heights.chart_mm_from_ray(HIGH_UP, ray, 0.0)
    on_it = heights.building_mm_from_chart(100.0, 4200.0)
    assert on_it == heights.building_mm_from_chart(100.0, 4200.0, 0.0)


def test_every_ray_reads_the_radius_of_a_tower_that_is_charted_by_it():
    ray = (np.array([0.1, 5.0]), np.array([0.2, 0.0]), -1.0)
    radius, nothing, t = Radius(Round(0.0, -2000.0, 1500.0)).chart_mm_from_ray(EYE, ray, 70.0)
    assert_allclose((radius, nothing, t), [[1500.0] * 2, [0.0] * 2, [1.0] * 2])


def test_tower_charted_by_its_radius_stands_where_the_tower_stands():
    tower = Round(500.0, -1000.0, 2500.0)
    for at in ((300.0, 1200.0, 60.0), (300.0, 1200.0)):
        assert Radius(tower).building_mm_from_chart(*at) == tower.building_mm_from_chart(*at)
