"""Courses of a real wall: scikit-image's brick wall, whose courses were counted by eye.

The picture (skimage.data.brick(), CC0, 512 x 512) shows a wall turned a quarter, so that its
courses run up the picture, and seen aslant, so that they fan out. Counted by eye in it:
12 whole courses along row 500 and 14 along row 256; the places of the bed joints along rows 0,
256 and 511 were read off at the same time, to about a pixel.
"""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
import skimage.data
from numpy.typing import NDArray

from measure.course_reader import CourseReading, read_courses, read_stretchers

FILE = Path(skimage.data.__file__).parent / "brick.png"

#: x of the bed joints along rows 0, 256 and 511, from the right; pixel centres at whole numbers.
JOINTS = [
    (452.6, 500.4, 548.1),
    (424.7, 466.8, 508.7),
    (395.1, 431.2, 467.1),
    (365.6, 395.6, 425.4),
    (339.3, 363.9, 388.4),
    (309.8, 328.3, 346.7),
    (280.3, 292.7, 305.0),
    (249.1, 255.1, 261.0),
    (219.5, 219.4, 219.3),
    (189.9, 183.8, 177.6),
    (160.3, 148.1, 135.9),
    (130.8, 112.5, 94.2),
    (99.5, 74.8, 50.2),
    (68.3, 37.1, 6.1),
    (40.4, 3.4, -33.3),
]

PX_PER_COURSE = 40.0
#: The wall was not measured: any usual gauge will do, here 76 mm.
MM_PER_PX = 1.9

pytestmark = pytest.mark.skipif(not FILE.is_file(), reason="scikit-image came without pictures")


def straight_strip(
    joints: list[tuple[float, float, float]], rows: tuple[int, int]
) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Straighten some rows so that the outer joints are level, and what of it is the picture."""
    picture = np.asarray(cv2.imread(str(FILE), cv2.IMREAD_GRAYSCALE), np.uint8)
    (right_0, right_1), (left_0, left_1) = (
        np.interp(rows, (0, 256, 511), joint) for joint in (joints[0], joints[-1])
    )
    height, width = PX_PER_COURSE * (len(joints) - 1), rows[1] - rows[0]
    margin = 0.5 * PX_PER_COURSE
    corners = [[right_0, rows[0]], [right_1, rows[1]], [left_1, rows[1]], [left_0, rows[0]]]
    level = [
        [0.0, margin],
        [width, margin],
        [width, margin + height],
        [0.0, margin + height],
    ]
    straight_from_picture = cv2.getPerspectiveTransform(
        np.array(corners, np.float32), np.array(level, np.float32) - 0.5
    )
    size = (width, int(height + 2 * margin))
    strip, seen = (
        cv2.warpPerspective(layer, straight_from_picture, size)
        for layer in (picture, np.full_like(picture, 255))
    )
    return np.asarray(strip, np.uint8), np.asarray(seen, np.uint8)


def read_wall(
    joints: list[tuple[float, float, float]],
    rows: tuple[int, int],
    off: tuple[float, float] = (0.0, 0.0),
) -> CourseReading:
    """Read between the outer joints, the picks off them by parts of a course."""
    strip, seen = straight_strip(joints, rows)
    low_mm = (0.5 + off[0]) * PX_PER_COURSE * MM_PER_PX
    high_mm = (len(joints) - 0.5 + off[1]) * PX_PER_COURSE * MM_PER_PX
    return read_courses(strip, MM_PER_PX, strip.shape[0] * MM_PER_PX, low_mm, high_mm, seen)


@pytest.mark.parametrize("off", [(0.0, 0.0), (0.1, -0.1), (-0.12, 0.08)])
@pytest.mark.parametrize("rows", [(430, 511), (480, 511), (300, 511)])
def test_twelve_courses_are_read_along_row_500(
    rows: tuple[int, int], off: tuple[float, float]
) -> None:
    reading = read_wall(JOINTS[1:14], rows, off)
    assert (reading.count, reading.sure) == (12, True)


@pytest.mark.parametrize("off", [(0.0, 0.0), (0.1, -0.1), (-0.12, 0.08)])
@pytest.mark.parametrize("rows", [(180, 330), (216, 296)])
def test_fourteen_courses_are_read_along_row_256(
    rows: tuple[int, int], off: tuple[float, float]
) -> None:
    reading = read_wall(JOINTS, rows, off)
    assert (reading.count, reading.sure) == (14, True)


@pytest.mark.parametrize("off", [(0.2, -0.2), (0.15, 0.3), (-0.3, 0.3), (0.3, -0.3), (-0.3, -0.3)])
@pytest.mark.parametrize("rows", [(430, 511), (300, 511)])
def test_no_wrong_count_is_sure_where_picks_lie_a_third_of_a_course_off(
    rows: tuple[int, int], off: tuple[float, float]
) -> None:
    reading = read_wall(JOINTS[1:14], rows, off)
    assert reading.count == 12 or not reading.sure


def test_joints_lie_where_the_eye_put_them() -> None:
    rows = (430, 511)
    strip, _ = straight_strip(JOINTS[1:14], rows)
    reading = read_wall(JOINTS[1:14], rows)
    right, left = JOINTS[1], JOINTS[13]
    along = np.interp(470, (0, 256, 511), right), np.interp(470, (0, 256, 511), left)
    by_eye = [float(np.interp(470, (0, 256, 511), joint)) for joint in JOINTS[1:14]]
    even = (np.array(by_eye) - along[1]) / (along[0] - along[1]) * 12
    read = reading.joints_mm[::-1] / (PX_PER_COURSE * MM_PER_PX) - 0.5
    assert strip.shape[0] == 13 * PX_PER_COURSE
    # read by eye to a pixel, a thirtieth of a course; perspective bends `even` by as much again
    assert np.abs(read - even).max() < 0.15


@pytest.mark.parametrize(
    ("row", "ends_px", "regular"),
    [(196, (53.5, 505.0), True), (397, (20.0, 473.0), True), (234, (83.5, 475.0), False)],
)
def test_bricks_along_a_course_are_counted(
    row: int, ends_px: tuple[float, float], regular: bool
) -> None:
    # by eye: four stretchers along the first two, three and a half brick along the last
    strip, seen = straight_strip(JOINTS, (0, 511))
    course, visible = strip[row - 11 : row + 11], seen[row - 11 : row + 11]
    left_mm, right_mm = (end * MM_PER_PX for end in ends_px)
    reading = read_stretchers(course, MM_PER_PX, 0.0, left_mm, right_mm, visible)
    assert (reading.count, reading.sure, reading.regular) == (4, True, regular)


def test_stretchers_are_three_courses_long_less_a_little() -> None:
    # read off by eye to a pixel in 450: perpends at 53.5 and 505 px, courses of 40 px
    strip, _ = straight_strip(JOINTS, (0, 511))
    reading = read_stretchers(strip[185:207], MM_PER_PX, 0.0, 53.5 * MM_PER_PX, 505.0 * MM_PER_PX)
    assert reading.gauge_mm / MM_PER_PX == pytest.approx(451.5 / 4, abs=1.0)
