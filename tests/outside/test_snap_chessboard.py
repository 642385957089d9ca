"""Snapping on real chessboard photographs, judged by a camera model and by OpenCV's corners.

Sources: the photographs and their corners (``findChessboardCorners`` and ``cornerSubPix``)
ship with OpenCV, Apache 2.0, see ../shared/photos/README.md. The judge is a camera: nine
views of one board overdetermine it, so whoever places corners better leaves smaller
residuals. J.-Y. Bouguet, "Camera Calibration Toolbox for Matlab", and OpenCV's
``calibrateCameraRO`` after K. H. Strobl and G. Hirzinger, "More accurate pinhole camera
calibration with imperfect planar target", 2011, which lets the board be uneven.
"""

import json

import cv2
import numpy as np
import pytest
from numpy.testing import assert_allclose

from rectify.photos.file import read_photo
from rectify.snap import snap_corner
from tests.support.real_photos import real_photo

NAMES = [f"left0{i}.jpg" for i in range(1, 10)]
BOARD = np.array([(25.0 * x, 25.0 * y, 0.0) for y in range(6) for x in range(9)], np.float32)


@pytest.fixture(scope="module")
def truth():
    return json.loads(real_photo("chessboard/truth.json").read_text())


@pytest.fixture(scope="module")
def snapped(truth):
    """Corners of each photo snapped from clicks up to 5 px off, and their stated ±."""
    rng = np.random.default_rng(12)
    places, uncertainties = {}, {}
    for name in NAMES:
        pixels = read_photo(real_photo(f"chessboard/{name}")).pixels
        snaps = []
        for corner in truth["corners_px"][name]:
            off, toward = 5.0 * np.sqrt(rng.random()), rng.uniform(0, 2 * np.pi)
            click = np.add(corner, off * np.array([np.cos(toward), np.sin(toward)]))
            snaps.append(snap_corner(pixels, click))
        assert all(snap.kind == "corner" for snap in snaps)
        places[name] = np.array([snap.point_photo_px for snap in snaps])
        uncertainties[name] = np.array([snap.u_px for snap in snaps])
    return places, uncertainties


def calibrate(corners: dict[str, np.ndarray], uneven_board: bool) -> float:
    """Root mean square residual of one coordinate, in pixels, of the best camera."""
    # OpenCV counts from the first pixel's centre.
    seen = [(np.asarray(corners[n]) - 0.5).astype(np.float32).reshape(-1, 1, 2) for n in NAMES]
    boards = [BOARD] * len(NAMES)
    if uneven_board:
        rms_px = cv2.calibrateCameraRO(boards, seen, (640, 480), 8, None, None)[0]
    else:
        rms_px = cv2.calibrateCamera(boards, seen, (640, 480), None, None)[0]
    return float(rms_px) / np.sqrt(2.0)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_corners_lie_where_opencv_sees_them(truth, snapped, name):
    distances = np.hypot(*(snapped[0][name] - truth["corners_px"][name]).T)
    # OpenCV's own corners scatter by 0.1 px about the camera (see below).
    assert np.median(distances) < 0.2
    assert distances.max() < 0.6


@pytest.mark.slow
def test_pixel_origin_is_that_of_the_published_corners(truth, snapped):
    differences = np.concatenate([snapped[0][n] - truth["corners_px"][n] for n in NAMES])
    # A mistaken half pixel would stand out; 486 differences of 0.13 px leave 0.006.
    assert_allclose(differences.mean(axis=0), (0.0, 0.0), atol=0.03)


@pytest.mark.slow
@pytest.mark.parametrize("uneven_board", [False, True])
def test_camera_agrees_better_with_snapped_corners_than_with_opencvs(truth, snapped, uneven_board):
    ours = calibrate(snapped[0], uneven_board)
    theirs = calibrate(truth["corners_px"], uneven_board)
    assert ours < theirs


@pytest.mark.slow
def test_stated_uncertainty_is_what_the_camera_leaves(snapped):
    residual_px = calibrate(snapped[0], uneven_board=True)
    # 972 coordinates, less 3 for each of 54 board points, 6 for each view and 9 of the camera.
    residual_px *= np.sqrt(972 / (972 - 162 - 54 - 9))
    stated_px = float(np.sqrt(np.mean(np.concatenate(list(snapped[1].values())) ** 2)))
    assert 0.6 < residual_px / stated_px < 1.5
