"""Lens terms from straight edges alone, in nine photographs of a chessboard.

Source: OpenCV sample photographs and their calibration; see fixtures/outside/chessboard.json.
The frame is clicked half a pixel off the board's outer corners; the rest is found in the
photo. The board's own lines, measured apart from all this, must come out straight.
"""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

from rectify.camera import undistorted_ab
from rectify.photo_lines import find_guides
from rectify.solution import PhotoFacts
from shared.survey import Face
from tests.support.real_photos import real_photo

BOARD = json.loads(
    (Path(__file__).parents[2] / "fixtures" / "outside" / "chessboard.json").read_text("utf-8")
)
PHOTOS = sorted(BOARD["corners_px"])
PUBLISHED = BOARD["camera"]
WIDTH_PX, HEIGHT_PX = BOARD["image_size_px"]

#: What a camera of the published focal length would write into EXIF: 28.8 mm, rounded.
FOCAL_35MM = 29.0
SQUARE_MM = 25.0  # nominal


def corners(photo):
    """Corners in rows from top to bottom and left to right as the photo shows them."""
    grid = np.array(BOARD["corners_px"][photo]).reshape(BOARD["rows"], BOARD["columns"], 2)
    turned = [np.rot90(grid, k) for k in range(4)]

    def uprightness(g):
        right, down = (g[:, -1] - g[:, 0]).mean(axis=0), (g[-1] - g[0]).mean(axis=0)
        return right[0] - abs(right[1]) + down[1] - abs(down[0])

    return max(turned, key=uprightness)


def bends_px(grid, k1, k2, focal_px, principal_px):
    """How far the worst corner of each row and column lies off that line's best straight."""
    ab = (grid - principal_px) / focal_px
    a, b = undistorted_ab(ab[..., 0], ab[..., 1], np.float64(k1), np.float64(k2))
    straight = np.stack([a, b], axis=-1) * focal_px
    out = []
    for lines in (straight, straight.transpose(1, 0, 2)):
        for line in lines:
            off = line - line.mean(axis=0)
            out.append(np.abs(off @ np.linalg.svd(off)[2][1]).max())
    return np.array(out)


@pytest.fixture(scope="module")
def found():
    made = {}
    for photo in PHOTOS:
        pixels = cv2.cvtColor(cv2.imread(str(real_photo(f"chessboard/{photo}"))), cv2.COLOR_BGR2RGB)
        grid = corners(photo)
        rows, columns = grid.shape[:2]
        rng = np.random.default_rng(1)
        frame = grid[[0, 0, -1, -1], [0, -1, -1, 0]] + rng.normal(0.0, 0.5, (4, 2))
        raw = {
            "id": "board",
            "photo": "p",
            "frame": frame.tolist(),
            "references": [
                {
                    "kind": "length",
                    "at": grid[rows // 2, columns // 2 - 1 : columns // 2 + 1].tolist(),
                    "length_mm": SQUARE_MM,
                }
            ],
        }
        facts = PhotoFacts("p", WIDTH_PX, HEIGHT_PX, FOCAL_35MM)
        made[photo] = find_guides(pixels, facts, [Face.model_validate(raw)])
    return made


@pytest.mark.parametrize("photo", PHOTOS)
def test_every_board_line_comes_out_straight_to_half_a_pixel(found, photo):
    solution = found[photo].solution
    assert solution is not None, found[photo].sentence
    camera, _ = solution.camera_and_pose
    grid = corners(photo)
    raw = bends_px(grid, 0.0, 0.0, camera.focal_px, camera.principal_px)
    left = bends_px(grid, camera.k1, camera.k2, camera.focal_px, camera.principal_px)
    print(f"{photo}: {raw.max():.2f} px -> {left.max():.2f} px at worst")
    assert raw.max() > 1.5
    assert left.max() <= 0.5


@pytest.mark.parametrize("photo", PHOTOS)
def test_lens_bends_as_the_published_calibration_has_it(found, photo):
    """Barrel, and as much of it where the board lies: compared by what the terms do.

    The published lens has a third radial term and ours two, and tangential terms besides.
    """
    camera, _ = found[photo].solution.camera_and_pose
    k1, k2, _, _, k3 = PUBLISHED["k1_k2_p1_p2_k3"]
    middle = np.array([PUBLISHED["cx_px"], PUBLISHED["cy_px"]])
    s_px2 = np.max(np.sum((corners(photo).reshape(-1, 2) - middle) ** 2, axis=1))
    s = s_px2 / PUBLISHED["fx_px"] ** 2
    theirs = k1 * s + k2 * s**2 + k3 * s**3
    s = s_px2 / camera.focal_px**2
    ours = camera.k1 * s + camera.k2 * s**2
    assert camera.k1 < -0.2
    assert ours == pytest.approx(theirs, rel=0.25)


def test_lens_on_the_whole_agrees_better_than_in_each_photo(found):
    k1 = np.array([one.after.k1 for one in found.values()])
    u = np.array([one.after.u_k1 for one in found.values()])
    assert np.abs(k1 - PUBLISHED["k1_k2_p1_p2_k3"][0]).max() < np.max(5.0 * u)
    assert np.median(k1) == pytest.approx(PUBLISHED["k1_k2_p1_p2_k3"][0], rel=0.1)


@pytest.mark.parametrize("photo", PHOTOS)
def test_focal_length_agrees_within_its_uncertainty(found, photo):
    after = found[photo].after
    assert abs(after.focal_px - PUBLISHED["fx_px"]) < 3.3 * after.u_focal_px
