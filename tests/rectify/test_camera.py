"""Camera: focal length, lens, pixel to ray and back."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from rectify.camera import (
    Camera,
    focal_px_from_focal_35mm,
    make_camera_prior,
    photo_px_from_building_mm,
    ray_from_photo_px,
    u_k2_beside,
    undistorted_ab,
)
from rectify.frames import Pose
from shared.jets import Jet
from tests.support.scenes import SceneCamera, rotation_from_angles

POSE = Pose(rotation_from_angles(25.0, 8.0, 3.0), (0.0, 0.0, 12_000.0))


@pytest.mark.parametrize(
    ("focal_35mm", "size", "focal_px"),
    [(43.2666, (4000, 3000), 5000.0), (26.0, (4032, 3024), 3028.7), (50.0, (6000, 4000), 8333.3)],
    ids=["normal lens spans its diagonal", "phone, 4:3", "3:2 agrees with the width rule"],
)
def test_focal_length_follows_the_diagonal(focal_35mm, size, focal_px):
    assert focal_px_from_focal_35mm(focal_35mm, *size) == pytest.approx(focal_px, rel=2e-5)


def test_prior_is_as_the_blueprint_has_it():
    known = make_camera_prior(4000, 3000, 26.0)
    assert (known.u_log_focal, known.u_principal_px, known.u_k1) == (0.03, (75.0, 75.0), 0.02)
    assert known.principal_px == (2000.0, 1500.0)
    unknown = make_camera_prior(4000, 3000, None)
    assert (unknown.u_log_focal, unknown.focal_known, unknown.u_k1) == (0.35, False, 0.05)


def test_cropped_photo_loosens_focal_length_and_principal_point():
    """The whole it was cut from was larger by 1.5 or so, and its middle lies elsewhere."""
    whole, cropped = (make_camera_prior(4000, 3000, 26.0, cropped=cut) for cut in (False, True))
    assert cropped.focal_px == pytest.approx(1.49 * whole.focal_px, rel=1e-2)
    assert cropped.u_log_focal == pytest.approx(0.2518, rel=1e-3)
    assert cropped.u_principal_px == (760.0, 570.0)
    assert (whole.focal_known, cropped.focal_known) == (True, False)
    assert cropped.principal_px == (2000.0, 1500.0)
    unknown = make_camera_prior(4000, 3000, None, cropped=True)
    assert unknown.u_log_focal == pytest.approx(0.43, rel=1e-2)
    assert unknown.focal_px == pytest.approx(1.49 * 28.0 * 5000.0 / 43.2666, rel=1e-2)


def test_second_radial_term_is_believed_to_be_small_beside_a_small_first():
    # the hypotenuse of 0.01 and two fifths of k1
    assert [u_k2_beside(k1) for k1 in (0.0, 0.06, -0.06)] == pytest.approx([0.01, 0.026, 0.026])


@pytest.mark.parametrize(("k1", "k2"), [(0.0, 0.0), (-0.1, 0.0), (0.1, 0.0), (-0.28, 0.07)])
def test_pixel_to_ray_to_pixel_comes_back_to_the_corners(k1, k2):
    # -0.28 folds at s = 1 / 0.84 without k2; the corner of this photo has s = 0.64
    camera = Camera(3125.0, (2010.0, 1490.0), k1, k2)
    x, y = (g.ravel() for g in np.meshgrid(np.linspace(0, 4000, 9), np.linspace(0, 3000, 7)))
    ray = ray_from_photo_px(camera, POSE, x, y)
    far = tuple(c + 7_500.0 * d for c, d in zip(POSE.centre_mm, ray, strict=True))
    back = photo_px_from_building_mm(camera, POSE, far)
    assert_allclose(back, (x, y), atol=1e-7)


def test_projection_agrees_with_an_independent_camera():
    scene = SceneCamera(
        3000.0, yaw_deg=25.0, pitch_deg=8.0, roll_deg=3.0, centre_mm=(0, 0, 12_000.0),
        principal_shift_px=(12.0, -9.0), k1=-0.05, k2=0.01,
    )  # fmt: skip
    points = np.random.default_rng(2).uniform(-3000, 3000, (20, 3))
    camera = Camera(3000.0, (2012.0, 1491.0), -0.05, 0.01)
    ours = photo_px_from_building_mm(camera, POSE, tuple(points.T))
    assert_allclose(np.stack(ours, axis=-1), scene.project(points), atol=1e-9)


def test_lens_past_its_fold_gives_nan_and_spares_the_rest():
    # r (1 + k1 r^2) is greatest at r = 1 / sqrt(-3 k1), where it is 2/3 of that
    k1 = -0.3
    turn = 1.0 / math.sqrt(-3.0 * k1)
    a, _ = undistorted_ab(np.array([0.1, 0.66 * turn, 0.67 * turn]), np.zeros(3), k1, 0.0)
    assert np.isfinite(a).tolist() == [True, True, False]


#: A lens that folds back at a radius of 1 and grows again from 2: 1 + 3 k1 r^2 + 5 k2 r^4 is
#: (1 - r^2) (1 - r^2 / 4).
GROWS_AGAIN = {"k1": -5.0 / 12.0, "k2": 0.05}


def test_lens_that_grows_again_past_its_fold_shows_nothing_there_a_second_time():
    pose = Pose(np.diag([1.0, -1.0, -1.0]), (0.0, 0.0, 1000.0))
    camera = Camera(1000.0, (0.0, 0.0), **GROWS_AGAIN)
    x, _ = photo_px_from_building_mm(camera, pose, (np.array([990.0, 1500.0, 2500.0]), 0.0, 0.0))
    assert np.isfinite(x).tolist() == [True, False, False]


def test_pixel_past_the_fold_of_a_lens_that_grows_again_looks_nowhere():
    # shown at a radius of 0.99, and at radii that only the second growth reaches, from 2 on
    k1, k2 = GROWS_AGAIN["k1"], GROWS_AGAIN["k2"]
    radii = np.concatenate([[0.99], np.linspace(2.3, 4.0, 80)])
    shown = radii * (1.0 + k1 * radii**2 + k2 * radii**4)
    farthest = 1.0 + k1 + k2
    a, _ = undistorted_ab(shown, np.zeros(81), k1, k2)
    assert a[0] == pytest.approx(0.99)
    assert (shown[1:] > farthest).any()
    assert np.isnan(a[1:][shown[1:] > farthest]).all()
    # a hair past what it shows at all: nearly an answer is none
    assert np.isnan(undistorted_ab(np.float64(1.00001 * farthest), np.float64(0.0), k1, k2)[0])


def test_point_past_the_fold_is_not_projected_back_inside():
    pose = Pose(np.diag([1.0, -1.0, -1.0]), (0.0, 0.0, 1000.0))
    camera = Camera(1000.0, (0.0, 0.0), -0.3)
    x, _ = photo_px_from_building_mm(camera, pose, (np.array([500.0, 2000.0]), 0.0, 0.0))
    assert np.isfinite(x).tolist() == [True, False]


@given(st.floats(-0.6, 0.6), st.floats(-0.45, 0.45), st.floats(-0.25, 0.25), st.floats(-0.05, 0.05))
def test_undistorting_undoes_the_radial_terms(a, b, k1, k2):
    s = a * a + b * b
    grows = 1 + k1 * s + k2 * s * s
    a_back, b_back = undistorted_ab(np.float64(a * grows), np.float64(b * grows), k1, k2)
    assert_allclose((a_back, b_back), (a, b), atol=1e-10)


def test_derivatives_of_the_lens_are_those_of_differences():
    at = np.array([0.4, -0.3, -0.1, 0.02])
    unit = np.eye(4)
    out = undistorted_ab(*(Jet(at[i], unit[i]) for i in range(4)))
    h = 1e-6
    for i in range(4):
        high, low = (undistorted_ab(*(at + sign * h * unit[i])) for sign in (1, -1))
        for j in range(2):
            assert out[j].gradient[i] == pytest.approx((high[j] - low[j]) / (2 * h), abs=1e-8)


def test_stated_focal_length_lets_a_lens_bend_less_before_it_is_set_free():
    bends = [make_camera_prior(4000, 3000, stated).most_k1 for stated in (28.0, None)]
    assert bends == [0.025, 0.125]
