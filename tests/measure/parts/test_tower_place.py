"""Where towers stand: at an end, let into a wall, in a corner of two, by themselves."""

import dataclasses
import math

import pytest
import shapely
from numpy.testing import assert_allclose

from measure.parts.assembled import seams_of, tower_point
from measure.parts.face_shape import PlanLine, RoundPlan
from measure.parts.part import polygon_of
from shared.card_wishes import Band, CardWishes, FaceWish, TowerWish
from shared.errors import FieldError
from tests.support.card_walls import make_front, make_side, make_tower, plan_of, window


def tower_at(x, z, radius=2000.0, **more):
    """Tower on its axis in plan, picked beside the front."""
    made = make_tower(radius=radius, **more)
    return dataclasses.replace(
        made, plan=RoundPlan(radius, -z, "front", axis_mm=(float(x), float(z)))
    )


def carcass(plan, face):
    return next(p for p in plan.parts if p.role == "carcass" and p.face == face)


def lines_named(part, word):
    return [line for line in part.lines if line.id and word in line.id]


def test_every_wall_ends_on_the_round_of_a_tower_in_its_corner():
    """Front along x up to 60, side from there at right angles; the axis stands on the corner."""
    plan = plan_of(make_front(), make_side(90.0), tower_at(6000.0, 0.0))
    front, side = (plan.shell.face(name) for name in ("front", "side"))
    assert_allclose((front.box.right_mm, side.box.left_mm), (40.0, 20.0))
    # at 0.38 and 0.83 behind each face the circle of 20 is that much nearer
    for part, sign in ((carcass(plan, "front"), 1.0), (carcass(plan, "side"), -1.0)):
        box = part.line(part.mark).box
        run = box.right_mm - 60.0 if sign > 0 else -box.left_mm
        assert_allclose(run, -math.sqrt(20.0**2 - 0.83**2), atol=1e-9)
    assert all(seam.closes for seam in seams_of(plan))


@pytest.mark.parametrize(("turn", "shows"), [(90.0, 270.0), (-90.0, 90.0), (45.0, 225.0)])
def test_tower_on_a_corner_shows_outside_of_both_walls(turn, shows):
    """On the line where both faces meet, what shows is half a turn and the corner's turn."""
    plan = plan_of(make_front(), make_side(turn), tower_at(6000.0, 0.0, openings=()))
    meets = plan.shell.towers["tower"].meets
    assert [meet.wall for meet in meets] == ["front", "side"]
    angles = [math.degrees(meet.angle_rad(20.0)) for meet in meets]
    assert_allclose(angles, (-90.0, 90.0 + turn), atol=1e-9)
    tower = plan.towers["tower"]
    hidden = math.degrees(math.asin(0.83 / 20.0) + 3.0 / 20.0)
    assert_allclose(tower.arc_deg, shows + 2.0 * hidden)


def test_tower_meets_its_walls_where_their_faces_are():
    plan = plan_of(make_front(), make_side(50.0), tower_at(6300.0, 400.0))
    place = plan.shell.towers["tower"]
    for meet in place.meets:
        wall = plan.shell.face(meet.wall)
        x, _, z = tower_point(place, 20.0, meet.angle_rad(20.0), 0.0)
        u, behind = wall.plan.of((x, z))
        assert_allclose(behind, 0.0, atol=1e-9)
        assert_allclose(u, wall.box.right_mm if meet.wall == "front" else wall.box.left_mm)


def test_wall_has_a_gap_where_a_taller_tower_is_let_in():
    """Radius 10, axis 4 behind the face: the chord is 2 sqrt(100 - 16)."""
    plan = plan_of(make_front(openings=()), tower_at(3000.0, -400.0, 1000.0, openings=()))
    part = carcass(plan, "front")
    pieces = sorted(line.box.left_mm for line in part.lines if line.closed and line.use == "cut")
    half = math.sqrt(10.0**2 - (4.0 - 0.38) ** 2)
    assert_allclose(pieces, (0.0, 30.0 + half))
    far = math.sqrt(10.0**2 - (4.0 - 0.83) ** 2)
    bevels = sorted(line.box.left_mm for line in lines_named(part, "bevel-tower"))
    assert_allclose(bevels, (30.0 - far, 30.0 + far))
    assert "both edges at tower" in part.note
    assert [w.text for w in part.words].count(part.mark) == 2
    assert all(seam.closes for seam in seams_of(plan))
    arc = plan.towers["tower"]
    assert_allclose(arc.from_deg, -arc.to_deg)


def test_wall_goes_on_above_a_lower_tower():
    plan = plan_of(
        make_front(openings=()), tower_at(3000.0, -400.0, 1000.0, height=3000.0, openings=())
    )
    part = carcass(plan, "front")
    (outline,) = [line for line in part.lines if line.closed and line.use == "cut"]
    solid = polygon_of(outline)
    assert solid.contains(shapely.Point(30.0, 31.0))
    assert not solid.contains(shapely.Point(30.0, 29.0))


def test_openings_behind_a_tower_are_left_out_and_said():
    plan = plan_of(make_front(), tower_at(3950.0, -400.0, 1000.0))
    assert [o.id for o in plan.shell.face("front").openings] == ["w1"]
    assert any("stands where w2 of wall front would be" in c for c in plan.cautions)
    assert not any("w2" in part.openings for part in plan.parts)


def test_band_stops_at_a_tower_that_is_let_in():
    band = Band(foot_mm=2500.0, head_mm=2800.0, out_mm=48.0)
    wishes = CardWishes(by_face={"front": FaceWish(bands=(band,))})
    plan = plan_of(make_front(openings=()), tower_at(3000.0, -400.0, 1000.0), wishes=wishes)
    left, right = sorted(
        (p for p in plan.parts if p.role == "band"), key=lambda p: p.line(p.mark).box.left_mm
    )
    half = math.sqrt(10.0**2 - (4.0 + 0.48) ** 2)
    assert_allclose(left.line(left.mark).box.right_mm, 30.0 - half)
    assert_allclose(right.line(right.mark).box.left_mm, 30.0 + half)


def test_wall_drawn_a_little_into_its_tower_is_cut_off_at_it():
    plan = plan_of(make_front(), tower_at(7500.0, -500.0))
    assert_allclose(plan.shell.face("front").box.right_mm, 75.0 - math.sqrt(400.0 - 25.0))
    assert all(seam.closes for seam in seams_of(plan))


def test_wall_that_ends_short_of_its_tower_is_said_and_flagged():
    plan = plan_of(make_front(), tower_at(8900.0, -500.0))
    short = 89.0 - math.sqrt(400.0 - 25.0) - 60.0
    assert any(f"ends {short:.1f} mm (model) before tower" in c for c in plan.cautions)
    (seam,) = [s for s in seams_of(plan) if s.name == "skin: front and tower"]
    assert_allclose(seam.gap_mm, short, atol=0.3)  # the nearest point lies behind the face


def test_tower_picked_beside_a_wing_faces_the_way_its_chart_does():
    """Angle 0 faces as the main wall does, however the wing beside the tower is turned."""
    side = make_side(60.0)
    axis = side.plan.at(4000.0 + 1900.0, 500.0)
    tower = dataclasses.replace(
        make_tower(openings=(window("t1", -300.0, 2000.0, 600.0),)),
        plan=RoundPlan(2000.0, 500.0, "side", axis_mm=axis, turn_rad=math.radians(60.0)),
    )
    plan = plan_of(make_front(), side, tower)
    place = plan.shell.towers["tower"]
    front = tower_point(place, 20.0, 0.0, 0.0) - tower_point(place, 0.0, 0.0, 0.0)
    assert_allclose(front, (0.0, 0.0, 20.0), atol=1e-9)
    # the side's right end meets the tower's left: acos(5 / 20) left of the side's own facing
    assert_allclose(
        math.degrees(place.meets[0].angle_rad(20.0)), 60.0 - math.degrees(math.acos(0.25))
    )
    assert all(seam.closes for seam in seams_of(plan))


def test_tower_kept_at_the_end_by_a_wish_faces_its_way_too():
    side = make_side(60.0)
    tower = dataclasses.replace(
        make_tower(), plan=RoundPlan(2000.0, 500.0, "wing", turn_rad=math.radians(60.0))
    )
    wishes = CardWishes(by_face={"tower": FaceWish(tower=TowerWish(meets="side"))})
    place = plan_of(make_front(), side, tower, wishes=wishes).shell.towers["tower"]
    front = tower_point(place, 20.0, 0.0, 0.0) - tower_point(place, 0.0, 0.0, 0.0)
    assert_allclose(front, (0.0, 0.0, 20.0), atol=1e-9)


def test_tower_by_itself_beside_no_wall_stays_by_itself():
    """No caution takes some wall for the one that it never stood beside."""
    alone = dataclasses.replace(make_tower(), plan=RoundPlan(2000.0, 0.0, None))
    plan = plan_of(make_front(), alone)
    assert plan.towers["tower"].is_full
    assert plan.shell.towers["tower"].meets == ()
    assert not any("taken for the same wall" in c for c in plan.cautions)


def test_tower_on_an_end_that_another_tower_has_is_refused():
    other = dataclasses.replace(tower_at(6000.0, -500.0, openings=()), id="second")
    with pytest.raises(FieldError, match="both stand at the right end of wall front"):
        plan_of(make_front(), tower_at(6000.0, 0.0, openings=()), other)


def test_plan_line_finds_again_what_it_placed():
    line = PlanLine((3.0, -4.0), 0.7)
    assert_allclose(line.of(line.at(12.0, 5.0)), (12.0, 5.0))


def test_sloping_outline_is_cut_off_at_its_tower():
    """A triangle 60 wide and 60 high, cut off 5 before its tip: 5 high are left there."""
    slope = ((0.0, 0.0), (6000.0, 0.0), (0.0, 6000.0))
    front = dataclasses.replace(make_front(openings=()), outline_mm=slope)
    plan = plan_of(front, tower_at(7500.0, 0.0, openings=()))
    assert_allclose(plan.shell.face("front").area.area, (60.0**2 - 5.0**2) / 2)


def test_wall_without_an_outline_goes_on_to_its_tower():
    """What was picked on it ends 9.6 mm before the tower; nothing says that the wall does."""
    front = dataclasses.replace(make_front(), outlined=False)
    plan = plan_of(front, tower_at(8900.0, -500.0))
    assert_allclose(plan.shell.face("front").box.right_mm, 89.0 - math.sqrt(375.0))
    assert all(seam.closes for seam in seams_of(plan))


def test_wall_that_lies_within_its_tower_is_refused():
    with pytest.raises(FieldError, match="Nothing of wall front is left"):
        plan_of(make_front(1000.0, openings=()), tower_at(500.0, -100.0, openings=()))


def test_tower_just_before_a_corner_leaves_the_corner():
    """The chord ends 2 before the corner: the wall goes on to it and the corner is cut."""
    plan = plan_of(make_front(openings=()), make_side(90.0), tower_at(4800.0, 0.0, 1000.0))
    assert [meet.wall for meet in plan.shell.towers["tower"].meets] == ["front", "front"]
    assert plan.shell.face("front").box.right_mm == 60.0
    assert any(seam.name.endswith("front and side") for seam in seams_of(plan))
