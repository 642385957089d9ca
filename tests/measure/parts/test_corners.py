"""Where layers end at corners: closed form at a right angle, plan geometry at any other."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.parts.corners import (
    CornerEnd,
    FreeEnd,
    TowerEnd,
    mitre_shift_mm,
    shift_at_plane_mm,
    turn_between,
)
from measure.parts.materials import Material
from measure.parts.workshop import WallLayer

CARD = Material("card", "card", 1.4, "carcass")
LAYER = WallLayer("carcass", CARD, 0.2, 1.6)
SKIN = WallLayer("skin", CARD, 0.0, 0.2)
RIGHT_ANGLE = math.pi / 2


def corner(kind, through, turn=RIGHT_ANGLE):
    return CornerEnd("other", turn, kind, through)


def test_butt_joint_at_a_right_angle_is_short_by_the_thickness():
    """One wall runs to the other's face, the other stops at its back: short by t (trade)."""
    through, stopped = corner("butt", True), corner("butt", False)
    assert_allclose(through.layer_end(LAYER).outer_mm, -0.2, atol=1e-12)
    assert_allclose(stopped.layer_end(LAYER).outer_mm, -1.6, atol=1e-12)
    assert not through.layer_end(LAYER).is_bevelled
    assert not stopped.layer_end(LAYER).is_bevelled


def test_mitre_keeps_the_outside_at_full_length():
    outermost = WallLayer("carcass", CARD, 0.0, 1.4)
    end = corner("mitred", True).layer_end(outermost)
    assert_allclose(end.outer_mm, 0.0)
    assert_allclose(end.inner_mm, -1.4)
    assert end.is_bevelled


def test_corner_that_stands_in_makes_the_inner_face_the_longer_one():
    end = corner("mitred", True, -RIGHT_ANGLE).layer_end(LAYER)
    assert_allclose((end.outer_mm, end.inner_mm), (0.2, 1.6))


def test_folded_layer_ends_where_its_middle_meets():
    end = corner("wrapped", True).layer_end(SKIN)
    assert_allclose((end.outer_mm, end.inner_mm), (-0.1, -0.1))
    assert corner("wrapped", True).is_folded(SKIN)
    assert not corner("wrapped", True).is_folded(LAYER)


def test_straight_joint_is_cut_square():
    for kind in ("butt", "mitred", "wrapped"):
        end = corner(kind, True, 0.0).layer_end(LAYER)
        assert (end.outer_mm, end.inner_mm) == (0.0, 0.0)


def plan_of_wall(heading, u, depth):
    along = np.array([math.cos(heading), math.sin(heading)])
    inward = np.array([math.sin(heading), -math.cos(heading)])
    return u * along + depth * inward


TURNS = st.one_of(st.floats(10, 170), st.floats(-170, -10))


@given(TURNS, st.floats(0, 3), st.floats(0, 3))
def test_face_ends_on_the_plane_of_the_other_wall(turn_deg, depth, other_depth):
    """Plan coordinates worked out apart: the right wall heads away by the turn."""
    turn = math.radians(turn_deg)
    point = plan_of_wall(0.0, shift_at_plane_mm(depth, other_depth, turn), depth)
    inward = np.array([math.sin(-turn), -math.cos(-turn)])
    assert_allclose(point @ inward, other_depth, atol=1e-9)


@given(TURNS, st.floats(0, 3))
def test_mitred_faces_of_both_walls_meet_in_one_line(turn_deg, depth):
    turn = math.radians(turn_deg)
    shift = mitre_shift_mm(depth, turn)
    left = plan_of_wall(0.0, shift, depth)
    right = plan_of_wall(-turn, -shift, depth)
    assert_allclose(left, right, atol=1e-9)


def test_slight_turn_is_mitred_whatever_was_wished_for():
    butt, mitred = (corner(kind, True, math.radians(10)) for kind in ("butt", "mitred"))
    assert butt.layer_end(LAYER) == mitred.layer_end(LAYER)


@given(st.one_of(st.floats(26, 170), st.floats(-170, -26)))
def test_ends_of_a_butt_joint_touch_and_do_not_overlap(turn_deg):
    """The stopped wall's end lies in the face of the through wall, whichever way it turns."""
    turn = math.radians(turn_deg)
    stopped = corner("butt", False, turn).layer_end(LAYER)
    face = LAYER.inner_mm if turn > 0 else LAYER.outer_mm
    for shift, depth in ((stopped.outer_mm, 0.2), (stopped.inner_mm, 1.6)):
        _, z = plan_of_wall(-turn, -shift, depth)
        assert_allclose(-z, face, atol=1e-9)


@given(st.floats(5, 60), st.floats(-0.9, 0.9), st.floats(0.1, 1.5))
def test_wall_ends_on_the_round_of_its_tower(radius, part, depth):
    back = part * (radius - 2.0)
    end = TowerEnd("tower", radius, back)
    layer = WallLayer("carcass", CARD, 0.0, depth)
    shifts = end.layer_end(layer)
    axis = math.sqrt(radius**2 - back**2)
    for shift, at in ((shifts.outer_mm, 0.0), (shifts.inner_mm, depth)):
        assert_allclose(math.hypot(axis - shift, back - at), radius, rtol=1e-9)


def test_band_runs_on_round_a_corner_by_its_projection():
    assert_allclose(corner("butt", True).band_shift_mm(0.5), 0.5)
    assert FreeEnd().band_shift_mm(0.5) == 0.0


@pytest.mark.parametrize(
    ("left", "right", "turn"),
    [(0, -90, 90), (-62, 0, -62), (0, 90, -90), (170, -170, -20), (90, 0, 90)],
)
def test_turn_is_positive_where_the_corner_stands_out(left, right, turn):
    found = math.degrees(turn_between(math.radians(left), math.radians(right)))
    assert_allclose(found, turn)
