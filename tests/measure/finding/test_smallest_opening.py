"""Nothing is offered that is narrower or lower than 12 pixels of the photo."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from measure.opening_finder import SMALLEST_PX, find_openings
from rectify.adjust import solve_photo
from tests.support.front_canvas import Canvas, outline
from tests.support.scenes import SceneCamera, rectangle
from tests.support.surveyed import Hand, face, facts, length

#: Left, right, sill and top of a wide window, a narrow and a low one, in mm on the wall.
WINDOWS = {
    "wide": (1500.0, 2700.0, 1500.0, 3100.0),
    "narrow": (4500.0, 5300.0, 1500.0, 3100.0),
    "low": (7500.0, 9100.0, 1500.0, 2300.0),
}
WALL_MM = (11_000.0, 5000.0)
DISTANCE_MM = 15_000.0


def offered(px_per_m: float) -> set[str]:
    """Windows offered from a photo taken square on, with so many pixels to the metre."""
    camera = SceneCamera(
        focal_px=px_per_m * DISTANCE_MM / 1000.0,
        width_px=round(13.0 * px_per_m),
        height_px=round(7.0 * px_per_m),
        centre_mm=(WALL_MM[0] / 2, WALL_MM[1] / 2, DISTANCE_MM),
    )
    canvas = Canvas(*WALL_MM, 250.0 / px_per_m)
    canvas.rectangle((0, 0, *WALL_MM), (0.7, 0.66, 0.6), grain=0.03, rng=np.random.default_rng(3))
    for left, right, sill, top in WINDOWS.values():
        canvas.polygon(outline(left, right, sill, top, top, "flat"), (0.13, 0.15, 0.18))
    corners_mm = np.array([(0, 0), (WALL_MM[0], 0), WALL_MM, (0, WALL_MM[1])])
    tall, wide = canvas.pixels.shape[:2]
    to_photo = cv2.getPerspectiveTransform(
        np.array([(0, tall), (wide, tall), (wide, 0), (0, 0)], np.float32),
        camera.project_wall(corners_mm).astype(np.float32),
    )
    soft = cv2.GaussianBlur(canvas.pixels, (0, 0), 1.8)
    photo = cv2.warpPerspective(soft, to_photo, (camera.width_px, camera.height_px))
    hand = Hand(camera)
    frame = rectangle(200, 200, WALL_MM[0] - 200, WALL_MM[1] - 200)
    front = face(
        {
            "id": "front",
            "photo": "street",
            "frame": hand.on_wall(frame),
            "references": [length(hand, [[500, 500], [500, 4500]], "the height", 5.0)],
        }
    )
    solution = solve_photo(facts(camera), [front])
    pixels = np.clip(255 * photo, 0, 255).astype(np.uint8)
    found = find_openings(pixels, solution.view("front"), front)
    out = set()
    for one in found:
        left, low, right, top = one.box_mm
        # the chart counts from the middle of the frame
        at = np.array([(left + right) / 2, (low + top) / 2]) + frame.mean(axis=0)
        off = {
            name: np.hypot(at[0] - (x0 + x1) / 2, at[1] - (y0 + y1) / 2)
            for name, (x0, x1, y0, y1) in WINDOWS.items()
        }
        out.add(min(off, key=off.__getitem__))
    return out


def test_the_smallest_are_twelve_pixels():
    assert SMALLEST_PX == 12.0


@pytest.mark.parametrize(
    ("px_per_m", "names"),
    [
        (30.0, {"wide", "narrow", "low"}),  # 0.8 m is 24 px
        (13.0, {"wide"}),  # 0.8 m is 10.4 px, 1.2 m 15.6
    ],
)
def test_what_has_fewer_photo_pixels_across_or_up_is_not_offered(px_per_m, names):
    assert offered(px_per_m) == names
