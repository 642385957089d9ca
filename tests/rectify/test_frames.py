"""Frames: which way the axes point, and turns."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from rectify.frames import (
    TURNS,
    building_from_cam_direction,
    cam_from_building_direction,
    rotation_after_turn,
    squared_rotation,
    unit,
)
from tests.support.scenes import rotation_from_angles

FACING = np.diag([1.0, -1.0, -1.0])


@pytest.mark.parametrize(
    ("building", "camera"),
    [
        ((1, 0, 0), (1, 0, 0)),
        ((0, 1, 0), (0, -1, 0)),
        ((0, 0, 1), (0, 0, -1)),
    ],
    ids=["right stays right", "up is against y down", "out of the wall comes at the camera"],
)
def test_camera_facing_the_wall_sees_the_building_axes(building, camera):
    assert cam_from_building_direction(FACING, building) == camera


def test_both_frames_are_right_handed():
    assert np.linalg.det(FACING) == pytest.approx(1.0)
    for yaw, pitch, roll in [(30, 10, 5), (-60, 25, -10)]:
        assert np.linalg.det(rotation_from_angles(yaw, pitch, roll)) == pytest.approx(1.0)


def test_direction_turned_into_the_camera_and_back_is_the_same():
    rotation = rotation_from_angles(35.0, 12.0, -4.0)
    d = (0.3, -0.2, 0.9)
    back = building_from_cam_direction(rotation, cam_from_building_direction(rotation, d))
    assert_allclose(back, d, atol=1e-15)


@pytest.mark.parametrize("axis", [0, 1, 2], ids="xyz")
def test_quarter_turn_follows_the_right_hand(axis):
    # Rodrigues parameters: g = tan(angle / 2) and turn = 2 g, so a quarter turn is 2 exactly
    turn = np.zeros(3)
    turn[axis] = 2.0
    turned = rotation_after_turn(np.eye(3), turn)
    assert_allclose(turned[:, (axis + 1) % 3], np.eye(3)[(axis + 2) % 3], atol=1e-15)
    assert_allclose(turned[:, axis], np.eye(3)[axis], atol=1e-15)


@given(st.tuples(*[st.floats(-3, 3)] * 3))
def test_turned_rotation_is_a_rotation(turn):
    turned = rotation_after_turn(rotation_from_angles(20, 5, 3), turn)
    assert_allclose(turned @ turned.T, np.eye(3), atol=1e-12)
    assert np.linalg.det(turned) == pytest.approx(1.0)


def test_derivative_of_a_small_turn_is_the_table():
    h = 1e-6
    for k in range(3):
        step = np.zeros(3)
        step[k] = h
        numeric = (rotation_after_turn(np.eye(3), step) - rotation_after_turn(np.eye(3), -step)) / (
            2 * h
        )
        assert_allclose(numeric, TURNS[k], atol=1e-9)


def test_many_turns_at_once_are_each_by_itself():
    turns = np.random.default_rng(1).normal(size=(3, 5))
    base = rotation_from_angles(20, 5, 3)
    many = rotation_after_turn(np.repeat(base[:, :, None], 5, axis=2), turns)
    for i in range(5):
        assert_allclose(many[:, :, i], rotation_after_turn(base, turns[:, i]), atol=1e-15)


def test_squared_rotation_keeps_directions_that_are_square_already():
    rotation = rotation_from_angles(40, 10, -6)
    assert_allclose(squared_rotation(rotation[:, 0] * 7.0, rotation[:, 1]), rotation, atol=1e-14)


def test_squared_rotation_shares_what_is_out_of_square():
    lean = np.radians(2.0)
    x, y = np.array([1.0, 0, 0]), np.array([np.sin(lean), np.cos(lean), 0])
    squared = squared_rotation(x, y)
    assert np.arccos(squared[:, 0] @ x) == pytest.approx(lean / 2)
    assert np.arccos(squared[:, 1] @ y) == pytest.approx(lean / 2)


def test_vectors_in_a_stack_are_each_scaled_to_length_one():
    stack = np.array([[3.0, 0.0], [4.0, 0.0], [0.0, 2.0]])
    assert_allclose(unit(stack), [[0.6, 0.0], [0.8, 0.0], [0.0, 1.0]])


def test_stacked_directions_are_squared_each_by_itself():
    x, y = np.random.default_rng(2).normal(size=(2, 3, 5)) * 0.1
    x[0] += 1.0
    y[1] += 1.0
    many = squared_rotation(x, y)
    assert many.shape == (3, 3, 5)
    for i in range(5):
        assert_allclose(many[..., i], squared_rotation(x[:, i], y[:, i]), atol=1e-15)
