"""Faces of several photos in one model: tied, named the same, or neither."""

import dataclasses
import math

from numpy.testing import assert_allclose

from measure.parts.assembled import seams_of
from measure.parts.face_shape import RoundPlan
from measure.parts.placed_faces import placed_together
from rectify.placements import Placement
from tests.support.card_walls import make_front, make_side, make_tower, plan_of

PHOTOS = {"front": "street", "front-yard": "yard", "side": "yard", "tower": "yard"}
SAME = {"front": ("front", "front-yard"), "front-yard": ("front", "front-yard")}
YARD = Placement(math.radians(30.0), 500.0, 1600.0, -700.0)


def seen_from_the_yard(face):
    """The face in the yard's own frame, so that placing it brings it back."""
    back = dataclasses.replace

    def at(point):
        x, _, z = YARD.from_reference((point[0], 0.0, point[1]))
        return float(x), float(z)

    if isinstance(face.plan, RoundPlan):
        plan = back(face.plan, axis_mm=at(face.plan.axis_mm))
    else:
        heading = face.plan.heading_rad - math.radians(30.0)
        plan = back(face.plan, origin_mm=at(face.plan.origin_mm), heading_rad=heading)
    lower = tuple((u, v - 1600.0) for u, v in face.outline_mm)
    openings = tuple(o.moved(0.0, -1600.0) for o in face.openings)
    return back(face, plan=plan, outline_mm=lower, openings=openings)


def test_wing_of_a_tied_photo_is_joined_to_the_same_wall_of_the_first():
    side = dataclasses.replace(make_side(70.0), hinge="front-yard")
    placed, said = placed_together(
        (make_front(), seen_from_the_yard(side)), PHOTOS, SAME,
        {"street": ("street", Placement(0.0, 0.0, 0.0, 0.0)), "yard": ("street", YARD)},
    )  # fmt: skip
    assert said == ()
    assert placed[1].hinge == "front"
    assert_allclose(placed[1].plan.heading_rad, -math.radians(70.0))
    seams = seams_of(plan_of(*placed))
    assert {seam.name for seam in seams} >= {"carcass: front and side", "foot: front and side"}
    assert all(seam.closes for seam in seams)


def test_tower_of_a_tied_photo_stands_on_its_own_axis_and_faces_its_own_way():
    stands = RoundPlan(2000.0, 500.0, "front-yard", axis_mm=(3000.0, -500.0))
    tower = dataclasses.replace(make_tower(openings=()), plan=stands)
    tied = {"yard": ("street", YARD)}
    placed, _ = placed_together(
        (make_front(openings=()), seen_from_the_yard(tower)), PHOTOS, SAME, tied
    )
    place = plan_of(*placed).shell.towers["tower"]
    assert_allclose(place.axis_mm, (30.0, -5.0), atol=1e-9)
    assert [meet.wall for meet in place.meets] == ["front", "front"]


def test_tower_of_an_untied_photo_goes_to_the_end_of_the_wall_it_is_said_to_stand_beside():
    stands = RoundPlan(2000.0, 500.0, "front-yard", axis_mm=(3000.0, -500.0))
    tower = dataclasses.replace(make_tower(openings=()), plan=stands)
    placed, said = placed_together((make_front(openings=()), tower), PHOTOS, SAME, {})
    assert said == ()
    plan = plan_of(*placed)
    assert_allclose(plan.shell.towers["tower"].axis_mm[0], 60.0 + math.sqrt(375.0))
    assert not any("taken for the same wall" in caution for caution in plan.cautions)


def test_walls_that_nothing_ties_stand_apart_and_it_is_said():
    side = dataclasses.replace(make_side(70.0, width=1000.0), hinge="front-yard")
    placed, said = placed_together((make_front(), side), PHOTOS, SAME, {})
    assert len(said) == 1
    assert "front; side" in said[0]
    plan = plan_of(*placed)
    assert any("hinged on face front-yard, which is not cut" in c for c in plan.cautions)
    assert_allclose(placed[1].plan.origin_mm[0], 8000.0)
