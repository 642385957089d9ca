"""The map of a plain wall against two other makers of homographies.

Sources: OpenCV's ``getPerspectiveTransform`` and ``warpPerspective`` (opencv-python), and
scikit-image's ``ProjectiveTransform`` and ``warp``: each works the map out from four
pairs of points, where the program takes it from camera and wall.
"""

import cv2
import numpy as np
import pytest
from numpy.testing import assert_allclose
from skimage import transform

from rectify.projection import photo_px_from_chart_mm
from rectify.straighten import straighten
from rectify.straightening.target_map import TargetMap
from rectify.window import Window, make_window
from tests.support.faces_to_straighten import ROOF, WALL, WING, camera, noise_photo, view_of

FACES = [
    pytest.param(WALL, {}, id="wall"),
    pytest.param(WALL, {"yaw_deg": 35.0, "pitch_deg": 18.0, "roll_deg": -7.0}, id="wall-askew"),
    pytest.param(WING, {}, id="wing"),
    pytest.param(ROOF, {"pitch_deg": 20.0}, id="roof"),
]
WINDOW = Window(-1200.0, 0.0, 1400.0, 2600.0, 520, 520)
CORNERS_PX = np.array([[0.0, 0.0], [520.0, 0.0], [520.0, 520.0], [0.0, 520.0]])


def corner_pairs(face, changes):
    view = view_of(camera(**changes), face)
    return view, photo_px_from_chart_mm(WINDOW.chart_mm_from_target_px(CORNERS_PX), view)


def scaled(matrix):
    return matrix / matrix[2, 2]


@pytest.mark.parametrize(("face", "changes"), FACES)
def test_opencv_finds_the_same_homography_from_four_corners(face, changes):
    view, photo_px = corner_pairs(face, changes)
    theirs = cv2.getPerspectiveTransform(CORNERS_PX.astype(np.float32), photo_px.astype(np.float32))
    # OpenCV takes its points in single precision: 1e-4 px at 900
    points = np.random.default_rng(1).uniform(0, 520, (1, 200, 2))
    ours = TargetMap(view, WINDOW).homography()
    assert_allclose(
        cv2.perspectiveTransform(points, ours), cv2.perspectiveTransform(points, theirs), atol=2e-3
    )


@pytest.mark.parametrize(("face", "changes"), FACES)
def test_scikit_image_finds_the_same_homography_from_four_corners(face, changes):
    view, photo_px = corner_pairs(face, changes)
    theirs = transform.ProjectiveTransform.from_estimate(CORNERS_PX, photo_px).params
    assert_allclose(scaled(TargetMap(view, WINDOW).homography()), scaled(theirs), rtol=1e-8)


@pytest.mark.parametrize(("face", "changes"), FACES)
def test_scikit_image_draws_the_same_picture(face, changes):
    """As far as both go: it reads pixel centres at whole numbers, like OpenCV."""
    view = view_of(camera(**changes), face)
    photo = noise_photo(900, 700)
    window = make_window(-1200.0, 0.0, 1400.0, 2600.0, 0.25)
    made = straighten(photo, view, window)
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    centres = np.linalg.inv(half) @ TargetMap(view, window).homography() @ half
    theirs = transform.warp(
        photo,
        transform.ProjectiveTransform(centres),
        output_shape=made.visible.shape,
        order=1,
        mode="edge",
        preserve_range=True,
    )
    apart = np.abs(made.rgb - theirs)[made.visible > 0]
    assert made.visible.mean() > 255 * 0.2
    assert apart.max() < 1.01
    assert apart.mean() < 0.3
