"""A straightened strip of masonry -> its courses: how many, how high, where each joint lies.

Knows pixels and a scale, no camera and no survey; `measure.course_strip` cuts the strip.
How the joints are found is in `measure.joints`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from measure.joints.place import PlacedJoints, place_joints
from measure.joints.profile import StripProfile, make_strip_profile
from measure.joints.search import search_halves, search_runs
from measure.joints.verdict import Verdict, judge_runs, weigh_runs
from shared.errors import InputError

#: Rows beside one another between the picks, below which nothing is looked for.
FEWEST_ROWS = 6

#: Heights that differ by more than this, as a deviation over their mean, are not one gauge.
EVEN_VARIATION = 0.12

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class CourseReading:
    """Courses between two picks, as read from a strip.

    Attributes
    ----------
    count : int
        The likeliest number of courses; 0 where no joints were made out.
    sure : bool
        Whether the count can be relied on.
    confidence : float
        Probability of the count, 0 to 1.
    why : str
        One clause on what speaks against the count; empty when it is sure.
    regular : bool
        Whether the courses are of one gauge; false for coursed rubble.
    gauge_mm, u_gauge_mm : float
        Mean height of a course between the end joints and its ±; NaN where there are none.
    variation : float
        Deviation of the heights of the courses, as a part of their mean.
    joints_mm, u_joints_mm : ndarray, shape (count + 1,)
        Heights of the joints in the frame of the picks, upwards, and their ±.
    seen : ndarray of bool, shape (count + 1,)
        False for a joint that is hidden and was put where its neighbours want it.
    profile_mm, profile : ndarray, shape (n_rows,)
        Heights of the rows of the strip and how light each is: what a graph shows.
    """

    count: int
    sure: bool
    confidence: float
    why: str
    regular: bool
    gauge_mm: float
    u_gauge_mm: float
    variation: float
    joints_mm: Array
    u_joints_mm: Array
    seen: npt.NDArray[np.bool_]
    profile_mm: Array
    profile: Array


def read_courses(
    strip: npt.NDArray[np.uint8],
    mm_per_px: float,
    v_top_mm: float,
    low_mm: float,
    high_mm: float,
    visible: npt.NDArray[np.uint8] | None = None,
) -> CourseReading:
    """Count the courses between two bed joints of a straightened strip, and place every joint.

    Parameters
    ----------
    strip : ndarray of uint8, shape (n_rows, n_columns) or (n_rows, n_columns, 3)
        Straightened, row 0 on top, courses level within half a degree.
    mm_per_px : float
        Height of a row.
    v_top_mm : float
        Height of the upper edge of row 0.
    low_mm, high_mm : float
        Heights of the picks, each within a third of a course of its joint.
    visible : ndarray of uint8, shape (n_rows, n_columns), optional
        0 where the photo does not show the wall.

    Returns
    -------
    CourseReading

    Raises
    ------
    InputError
        If the picks lie outside the strip, or so close that no course fits between.

    Examples
    --------
    Five courses of ten pixels with light joints two pixels thick.

    >>> rows = np.full((70, 120), 90, np.uint8)
    >>> for joint in range(9, 70, 10):
    ...     rows[joint : joint + 2] = 180
    >>> reading = read_courses(rows, 7.5, 525.0, 75.0, 450.0)
    >>> reading.count, round(reading.gauge_mm, 1)
    (5, 75.0)
    """
    top_row, bottom_row = (v_top_mm - high_mm) / mm_per_px, (v_top_mm - low_mm) / mm_per_px
    _check_picks(top_row, bottom_row, strip.shape[0])
    mask = None if visible is None or bool(np.all(visible)) else np.asarray(visible > 127)
    profile = make_strip_profile(strip, top_row, bottom_row, mask)
    weighed = weigh_runs(search_runs(profile), mm_per_px)
    verdict = judge_runs(weighed)
    if verdict.why and (halves := search_halves(strip, top_row, bottom_row, mask)):
        verdict = judge_runs(weighed + weigh_runs(halves, mm_per_px))
    mm_per_row = mm_per_px / profile.rows_per_strip_row
    if verdict.trial is None:
        return _nothing(verdict, profile, v_top_mm, mm_per_row)
    placed = place_joints(verdict.trial)
    return _reading(verdict, placed, profile, v_top_mm, mm_per_row)


def read_stretchers(
    course: npt.NDArray[np.uint8],
    mm_per_px: float,
    u_left_mm: float,
    left_mm: float,
    right_mm: float,
    visible: npt.NDArray[np.uint8] | None = None,
) -> CourseReading:
    """Count the bricks along one course between two of its perpends, and place every perpend.

    Parameters
    ----------
    course : ndarray of uint8, shape (n_rows, n_columns) or (n_rows, n_columns, 3)
        Straightened, from within one course: bed joints left out.
    mm_per_px : float
        Width of a column.
    u_left_mm : float
        Chart position of the left edge of column 0.
    left_mm, right_mm : float
        Of the two perpends, each within a third of a brick.
    visible : ndarray of uint8, shape (n_rows, n_columns), optional

    Returns
    -------
    CourseReading
        As of courses, with `u` in the place of heights: ``gauge_mm`` is the length of a brick
        with its joint. Where headers and stretchers take turns it is not ``regular``.

    Raises
    ------
    InputError
        As `read_courses`.
    """
    turned = np.ascontiguousarray(np.swapaxes(course, 0, 1)[::-1])
    mask = None if visible is None else np.ascontiguousarray(visible.T[::-1])
    u_right_mm = u_left_mm + course.shape[1] * mm_per_px
    return read_courses(turned, mm_per_px, u_right_mm, left_mm, right_mm, mask)


def _check_picks(top_row: float, bottom_row: float, n_rows: int) -> None:
    # NaN fails every comparison, so it is refused too
    if not -1.0 <= top_row <= bottom_row <= n_rows + 1.0:
        raise InputError(
            "The picks of the courses lie outside the strip that shows them.",
            hint="Pick both bed joints where the photo shows the wall.",
        )
    if bottom_row - top_row < FEWEST_ROWS:
        raise InputError(
            f"The picks of the courses lie {bottom_row - top_row:.1f} px apart: too close to "
            "read courses between them.",
            hint="Pick bed joints farther apart, or count the courses and give the count.",
        )


def _reading(
    verdict: Verdict,
    placed: PlacedJoints,
    profile: StripProfile,
    v_top_mm: float,
    mm_per_row: float,
) -> CourseReading:
    joints = (v_top_mm - placed.rows * mm_per_row)[::-1]
    u_joints = (placed.u_rows * mm_per_row)[::-1]
    count = len(joints) - 1
    heights = np.diff(joints)
    gauge = float(joints[-1] - joints[0]) / count
    variation = float(heights.std() / gauge)
    rows_mm, shown = _shown(profile, v_top_mm, mm_per_row)
    return CourseReading(
        count=count,
        sure=not verdict.why,
        confidence=verdict.confidence,
        why=verdict.why,
        regular=variation < EVEN_VARIATION,
        gauge_mm=gauge,
        u_gauge_mm=float(np.hypot(u_joints[0], u_joints[-1])) / count,
        variation=variation,
        joints_mm=joints,
        u_joints_mm=u_joints,
        seen=placed.seen[::-1],
        profile_mm=rows_mm,
        profile=shown,
    )


def _nothing(
    verdict: Verdict, profile: StripProfile, v_top_mm: float, mm_per_row: float
) -> CourseReading:
    rows_mm, shown = _shown(profile, v_top_mm, mm_per_row)
    empty = np.zeros(0)
    return CourseReading(
        count=0,
        sure=False,
        confidence=0.0,
        why=verdict.why,
        regular=False,
        gauge_mm=float("nan"),
        u_gauge_mm=float("nan"),
        variation=float("nan"),
        joints_mm=empty,
        u_joints_mm=empty,
        seen=np.zeros(0, bool),
        profile_mm=rows_mm,
        profile=shown,
    )


def _shown(profile: StripProfile, v_top_mm: float, mm_per_row: float) -> tuple[Array, Array]:
    """Heights of the rows, and their mean lightness as a part of full white."""
    rows = np.arange(len(profile.grey)) + 0.5
    return np.asarray(v_top_mm - rows * mm_per_row, float), profile.lightness
