"""Plans of two photos laid in one: what stood on a wall's second picture stands on the first."""

import math

import pytest

from measure.elevation.joined_plan import joined_plan
from measure.elevation.plan_faces import BuildingPlan, PlanRoof, PlanTower, PlanWall
from rectify.placements import Placement

#: A quarter turn from x towards z, then 10 m along x: (x, z) goes to (10 000 - z, x).
TURNED = Placement(math.pi / 2, 10_000.0, 0.0, 0.0)


def wall(face, start, end, heading=0.0, left=0.0, **more):
    length = math.dist(start, end)
    return PlanWall(face, face, start, end, left, left + length, heading, **more)


def plan(*walls, towers=(), roofs=()):
    return BuildingPlan(tuple(walls), tuple(towers), tuple(roofs), ((0.0, 9000.0),))


#: In the first photo the front runs from (10 000, 0) along z; in the second it is the x axis
#: there, picked again from 2 m on, and its chart begins at 500.
FRONT = wall("front", (10_000.0, 0.0), (10_000.0, 8000.0), math.pi / 2)
AGAIN = wall("front again", (2000.0, 0.0), (6000.0, 0.0), left=500.0)


def joined(second):
    return joined_plan(
        [(plan(FRONT), Placement(0.0, 0.0, 0.0, 0.0)), (second, TURNED)],
        {"front again": "front"},
    )


def test_wall_of_both_photos_is_drawn_once():
    found = joined(plan(AGAIN))
    assert [one.face for one in found.walls] == ["front"]
    assert found.camera_mm == ((0.0, 9000.0), pytest.approx((1000.0, 0.0)))


def test_tower_beside_the_second_picture_of_a_wall_stands_beside_the_first():
    tower = PlanTower(
        "tower", "tower", (3000.0, 700.0), 1500.0, 5.0, (-0.5, 1.0),
        parent="front again", meets=(("front again", 500.0 + 2500.0),),
    )  # fmt: skip
    (found,) = joined(plan(AGAIN, towers=[tower])).towers
    assert found.axis_mm == pytest.approx((9300.0, 3000.0))
    assert found.parent == "front"
    # 2 500 mm along the second picture, which begins 2 000 mm along the wall
    assert found.meets == (("front", pytest.approx(4500.0)),)
    # angles count from z towards x, against the turn
    assert found.shown_rad == pytest.approx((-0.5 - math.pi / 2, 1.0 - math.pi / 2))


def test_roof_is_placed_and_its_way_back_only_turned():
    roof = PlanRoof("roof", "roof", (0.0, 0.0), (4000.0, 0.0), (0.0, -2000.0), 40.0, 1.0)
    (found,) = joined(plan(AGAIN, roofs=[roof])).roofs
    assert found.start_mm == pytest.approx((10_000.0, 0.0))
    assert found.end_mm == pytest.approx((10_000.0, 4000.0))
    assert found.back_mm == pytest.approx((2000.0, 0.0))


def test_wing_hinged_on_the_second_picture_hangs_on_the_first_at_its_own_corner():
    wing = wall(
        "wing", (6000.0, 0.0), (6000.0, -3000.0), -math.pi / 2,
        parent="front again", hinge_mm=4500.0,
    )  # fmt: skip
    found = {one.face: one for one in joined(plan(AGAIN, wing)).walls}["wing"]
    assert found.parent == "front"
    assert found.hinge_mm == pytest.approx(6000.0)
    assert found.heading_rad == pytest.approx(0.0)
