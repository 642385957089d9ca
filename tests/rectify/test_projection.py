"""Projection: arrays of chart points to pixels and back."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from rectify.camera import Camera
from rectify.frames import Pose
from rectify.projection import View, chart_mm_from_photo_px, photo_px_from_chart_mm
from rectify.surfaces import Round, make_wall
from tests.support.scenes import SceneCamera, rotation_from_angles

FACING = View(
    Camera(1000.0, (2000.0, 1500.0)), Pose(np.diag([1.0, -1, -1]), (0, 0, 5000.0)), make_wall()
)
OBLIQUE = View(
    Camera(3000.0, (2000.0, 1500.0), -0.03),
    Pose(rotation_from_angles(40, 12, 2), (0.0, 0.0, 9000.0)),
    make_wall(),
)


@pytest.mark.parametrize(
    ("uv", "pixel"),
    [((0, 0), (2000, 1500)), ((1000, 0), (2200, 1500)), ((0, 1000), (2000, 1300))],
    ids=["foot of the camera", "a metre right", "a metre up is less y"],
)
def test_square_view_is_proportion(uv, pixel):
    assert photo_px_from_chart_mm(uv, FACING).tolist() == list(pixel)
    assert_allclose(chart_mm_from_photo_px(pixel, FACING), uv, atol=1e-9)


@pytest.mark.parametrize("shape", [(2,), (5, 2), (3, 4, 2), (0, 2)])
def test_shape_in_is_shape_out(shape):
    assert photo_px_from_chart_mm(np.zeros(shape), FACING).shape == shape
    assert chart_mm_from_photo_px(np.full(shape, 1200.0), FACING).shape == shape


@pytest.mark.parametrize("points", [0.0, [1.0, 2.0, 3.0], np.zeros((2, 3))])
def test_points_that_are_no_pairs_are_refused(points):
    with pytest.raises(ValueError, match=r"^points_mm: last axis must be 2"):
        photo_px_from_chart_mm(points, FACING)
    with pytest.raises(ValueError, match=r"^points_px: last axis must be 2"):
        chart_mm_from_photo_px(points, FACING)


def test_whole_photo_comes_back_through_an_oblique_wall():
    x, y = np.meshgrid(np.linspace(0, 4000, 9), np.linspace(0, 3000, 7))
    pixels = np.stack([x, y], axis=-1)
    chart = chart_mm_from_photo_px(pixels, OBLIQUE)
    assert np.isfinite(chart).all()
    assert_allclose(photo_px_from_chart_mm(chart, OBLIQUE), pixels, atol=1e-6)


def test_wall_beyond_its_horizon_gives_nan_in_those_rows_only():
    view = View(
        Camera(3000.0, (2000.0, 1500.0)),
        Pose(rotation_from_angles(70, 0, 0), (0.0, 0.0, 9000.0)),
        make_wall(),
    )
    # the horizon of the wall stands f tan(20 deg) right of the middle, at x = 3092
    chart = chart_mm_from_photo_px([[3000.0, 1500.0], [3200.0, 1500.0]], view)
    assert np.isfinite(chart).all(axis=1).tolist() == [True, False]


def test_point_behind_the_camera_gives_nan():
    view = View(
        Camera(3000.0, (2000.0, 1500.0)),
        Pose(rotation_from_angles(60, 0, 0), (0.0, 0.0, 9000.0)),
        make_wall(),
    )
    pixels = photo_px_from_chart_mm([[10_000.0, 0.0], [-40_000.0, 0.0]], view)
    assert np.isfinite(pixels).all(axis=1).tolist() == [True, False]


def test_set_back_agrees_with_an_independent_camera():
    scene = SceneCamera(3000.0, yaw_deg=40, pitch_deg=12, roll_deg=2, centre_mm=(0, 0, 9000.0),
                        k1=-0.03)  # fmt: skip
    uv = np.array([[500.0, 800.0], [2500.0, -400.0]])
    assert_allclose(
        photo_px_from_chart_mm(uv, OBLIQUE, 150.0), scene.project_wall(uv, 150.0), atol=1e-9
    )


def test_tower_comes_back_over_its_visible_front():
    view = View(OBLIQUE.camera, OBLIQUE.pose, Round(5000.0, -2000.0, 2500.0))
    uv = np.stack(np.meshgrid(np.linspace(-3000, 1000, 5), np.linspace(-500, 2500, 4)), axis=-1)
    assert_allclose(chart_mm_from_photo_px(photo_px_from_chart_mm(uv, view), view), uv, atol=1e-6)


def test_picks_behind_the_wall_come_back_at_their_depth():
    uv = np.array([[500.0, 800.0], [2500.0, -400.0]])
    seen = photo_px_from_chart_mm(uv, OBLIQUE, 150.0)
    assert_allclose(chart_mm_from_photo_px(seen, OBLIQUE, 150.0), uv, atol=1e-6)


def test_camera_off_the_axes_agrees_with_an_independent_one():
    scene = SceneCamera(3000.0, yaw_deg=30, pitch_deg=8, roll_deg=-3,
                        centre_mm=(-700.0, 1600.0, 9000.0), k1=0.04)  # fmt: skip
    view = View(
        Camera(3000.0, (2000.0, 1500.0), 0.04),
        Pose(rotation_from_angles(30, 8, -3), (-700.0, 1600.0, 9000.0)),
        make_wall(),
    )
    uv = np.array([[500.0, 800.0], [2500.0, -400.0]])
    assert_allclose(photo_px_from_chart_mm(uv, view), scene.project_wall(uv), atol=1e-9)


@pytest.mark.parametrize(
    ("k1", "k2", "fold"),
    # radius at which r (1 + k1 r^2 + k2 r^4) stops growing: 1 + 3 k1 r^2 + 5 k2 r^4 = 0
    [(-1 / 3, 0.0, 1.0), (0.0, -0.2, 1.0), (-1 / 6, -0.1, 1.0), (-1 / 12, 0.0, 2.0)],
)
def test_lens_shows_nothing_past_the_radius_where_it_folds_back(k1, k2, fold):
    view = View(Camera(1000.0, (2000.0, 1500.0), k1, k2), FACING.pose, FACING.surface)
    reach_mm = 5000.0 * fold
    pixels = photo_px_from_chart_mm([[0.999 * reach_mm, 0.0], [1.001 * reach_mm, 0.0]], view)
    assert np.isfinite(pixels).all(axis=1).tolist() == [True, False]


def test_lens_shows_nothing_on_the_very_fold():
    # 1 + 3 k1 r^2 is nought at r = 1, in whole numbers but for k1, whose triple is -1 exactly
    view = View(Camera(1000.0, (2000.0, 1500.0), -1 / 3), FACING.pose, FACING.surface)
    assert np.isnan(photo_px_from_chart_mm([5000.0, 0.0], view)).all()


def test_point_beside_the_camera_itself_is_not_shown():
    beside, before = (View(FACING.camera, FACING.pose, make_wall(0.0, z)) for z in (5000.0, 4999.5))
    assert np.isnan(photo_px_from_chart_mm([300.0, 200.0], beside)).all()
    # half a millimetre before it: 0.3 mm to the right are 1000 * 0.3 / 0.5 px
    assert_allclose(photo_px_from_chart_mm([0.3, 0.0], before), (2600.0, 1500.0))


def test_points_and_pixels_farther_than_numbers_go_say_nothing_on_the_console():
    # numpy's warnings are errors in these tests
    far, farther = photo_px_from_chart_mm([[1e12, 0.0], [1e200, 0.0]], OBLIQUE)
    assert_allclose(far, farther)
    assert np.isnan(photo_px_from_chart_mm([1e160, 0.0], FACING)).all()
    assert np.isnan(chart_mm_from_photo_px([1e200, 0.0], OBLIQUE)).all()


@pytest.mark.parametrize("along", [1.0, -1.0], ids=["right", "left"])
def test_camera_that_looks_along_the_wall_sees_none_of_it_in_the_middle(along):
    pose = Pose(((0.0, 0.0, along), (0.0, -1.0, 0.0), (along, 0.0, 0.0)), (0.0, 0.0, 5000.0))
    view = View(FACING.camera, pose, make_wall())
    assert np.isnan(chart_mm_from_photo_px([2000.0, 1500.0], view)).all()


def test_tower_seen_from_off_its_axis_comes_back():
    pose = Pose(rotation_from_angles(20, 8, 0), (-1500.0, 1600.0, 12_000.0))
    view = View(OBLIQUE.camera, pose, Round(2000.0, -2000.0, 2500.0))
    uv = np.stack(np.meshgrid(np.linspace(-3000, 1000, 5), np.linspace(-500, 2500, 4)), axis=-1)
    assert_allclose(chart_mm_from_photo_px(photo_px_from_chart_mm(uv, view), view), uv, atol=1e-6)


@pytest.mark.parametrize(
    ("k1", "k2", "farthest"),
    # the largest r (1 + k1 r^2 + k2 r^4), at r = 1
    [(-1 / 3, 0.0, 2 / 3), (0.0, -0.2, 0.8), (-1 / 6, -0.1, 1 - 1 / 6 - 0.1)],
)
def test_pixel_farther_out_than_the_lens_bends_anything_shows_nothing(k1, k2, farthest):
    view = View(Camera(1000.0, (2000.0, 1500.0), k1, k2), FACING.pose, FACING.surface)
    shown = [[2000.0 + 1000.0 * farthest * part, 1500.0] for part in (0.99, 1.01, 1.3, 3.0)]
    chart = chart_mm_from_photo_px(shown, view)
    assert np.isfinite(chart).all(axis=1).tolist() == [True, False, False, False]
    # of the two points that would be shown there, the one before the fold
    assert 0.0 < chart[0, 0] < 5000.0
