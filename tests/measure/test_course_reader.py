"""Courses read from drawn strips whose joints are known; tests/bench/bench_courses.py has more."""

from __future__ import annotations

import numpy as np
import pytest

from measure.course_reader import CourseReading, read_courses, read_stretchers
from shared.errors import InputError
from tests.support.strip_spec import StripSpec, draw_strip_spec
from tests.support.strips import Strip, make_strip


def read(strip: Strip) -> CourseReading:
    top_mm = strip.image.shape[0] * strip.mm_per_px
    return read_courses(strip.image, strip.mm_per_px, top_mm, strip.v_bottom_mm, strip.v_top_mm)


def is_right(strip: Strip, reading: CourseReading) -> bool:
    if reading.count != strip.count:
        return False
    off = np.abs(reading.joints_mm - strip.joints_between_mm)
    return bool(off.max() < 0.5 * strip.gauge_mm)


PLAIN_TALES = {
    "brick, light joints": StripSpec(seed=1),
    "brick, dark joints": StripSpec(seed=2, joint_tone="darker"),
    "English bond": StripSpec(seed=3, kind="english", px_per_course=12.0),
    "Flemish bond, burnt headers": StripSpec(seed=4, kind="flemish", header_tone=-25.0),
    "stone courses, grey picture": StripSpec(seed=5, kind="ashlar", colour=False, gauge_mm=300.0),
    "courses that lessen upwards": StripSpec(seed=6, kind="diminishing", gauge_mm=250.0),
    "coursed rubble, 2.5 to 1": StripSpec(seed=7, kind="rubble", gauge_mm=200.0, n_courses=12),
    "a window beside": StripSpec(seed=8, cover="windows", cover_part=0.4),
    "a downpipe": StripSpec(seed=9, cover="pipe", cover_part=0.4),
    "a raking shadow": StripSpec(seed=10, shadow="raking"),
    "the edge of a level shadow": StripSpec(seed=11, shadow="level"),
    "four pixels to a course": StripSpec(seed=12, px_per_course=4.5, n_courses=30),
    "sixty pixels to a course": StripSpec(seed=13, px_per_course=60.0, n_courses=6, width_px=360),
    "repointed half-way up": StripSpec(seed=15, joint_tone="repointed"),
    "picks a third of a course off": StripSpec(
        seed=14, pick_error_below=0.3, pick_error_above=-0.3
    ),
}


@pytest.mark.parametrize("spec", PLAIN_TALES.values(), ids=PLAIN_TALES.keys())
def test_clear_walls_are_counted_for_sure(spec: StripSpec) -> None:
    strip = make_strip(spec)
    reading = read(strip)
    assert (reading.count, reading.sure, reading.why) == (strip.count, True, "")
    assert is_right(strip, reading)


def test_rubble_is_read_joint_by_joint() -> None:
    strip = make_strip(StripSpec(seed=7, kind="rubble", gauge_mm=200.0, n_courses=12))
    reading = read(strip)
    assert not reading.regular
    true = np.diff(strip.joints_between_mm)
    assert true.max() > 1.9 * true.min()
    np.testing.assert_allclose(np.diff(reading.joints_mm), true, atol=0.1 * strip.gauge_mm)


def test_even_courses_are_said_to_be_regular() -> None:
    assert read(make_strip(StripSpec(seed=1))).regular


def test_no_wrong_count_is_given_as_sure_on_strips_over_the_whole_range() -> None:
    # seeds never used to set the reader up; sized so that the test takes seconds
    strips = [
        make_strip(
            draw_strip_spec(seed, n_courses=4 + seed % 21, px_per_course=2.5 + 1.1 * (seed % 17))
        )
        for seed in range(600000, 600024)
    ]
    readings = [read(strip) for strip in strips]
    right = np.array([is_right(*pair) for pair in zip(strips, readings, strict=True)])
    sure = np.array([reading.sure for reading in readings])
    fine = np.array([strip.least_course_px >= 4 for strip in strips])
    assert not (sure & ~right).any()
    assert (sure & right)[fine].mean() > 0.75  # 19 of 21 when the net was fitted


@pytest.mark.parametrize("seed", range(610000, 610006))
def test_nothing_is_sure_on_a_wall_without_courses(seed: int) -> None:
    strip = make_strip(draw_strip_spec(seed, kind="plain", n_courses=12, px_per_course=14.0))
    reading = read(strip)
    assert not reading.sure
    assert reading.why


def test_flat_grey_has_no_courses_and_no_gauge() -> None:
    reading = read_courses(np.full((200, 100), 128, np.uint8), 5.0, 1000.0, 100.0, 900.0)
    assert not reading.sure
    assert reading.count == len(reading.joints_mm) == 0
    assert np.isnan(reading.gauge_mm)


def test_uncertainties_of_joints_and_gauge_are_honest() -> None:
    specs = [
        draw_strip_spec(
            seed, kind=kind, n_courses=12, px_per_course=px, contrast=45.0, cover="none"
        )
        for seed, (kind, px) in enumerate(
            [(kind, px) for kind in ("stretcher", "flemish", "ashlar") for px in (6, 9, 14, 20)] * 3
        )
    ]
    joints, gauges = [], []
    for spec in specs:
        strip = make_strip(spec)
        reading = read(strip)
        if reading.sure:
            off = (reading.joints_mm - strip.joints_between_mm) / reading.u_joints_mm
            joints.append(np.sqrt(np.mean(off[reading.seen] ** 2)))
            gauges.append((reading.gauge_mm - strip.gauge_mm) / reading.u_gauge_mm)
    assert len(gauges) >= 18
    # n values of deviation 1 have an rms within 1 +- 1 / sqrt(2 n): 0.16 for 20
    # the ± is to hold over all strips, clear or not, so it is generous to most of these clear ones
    assert 0.55 < np.sqrt(np.mean(np.square(joints))) < 1.35
    assert 0.55 < np.sqrt(np.mean(np.square(gauges))) < 1.4


def test_reading_upside_down_gives_the_same_courses() -> None:
    strip = make_strip(StripSpec(seed=21, n_courses=15))
    top_mm = strip.image.shape[0] * strip.mm_per_px
    turned = read_courses(
        np.ascontiguousarray(strip.image[::-1]),
        strip.mm_per_px,
        top_mm,
        top_mm - strip.v_top_mm,
        top_mm - strip.v_bottom_mm,
    )
    upright = read(strip)
    assert turned.count == upright.count
    off = top_mm - turned.joints_mm[::-1] - upright.joints_mm
    assert np.abs(off).max() < 0.1 * strip.mm_per_px


def test_part_that_the_photo_does_not_show_is_not_looked_at() -> None:
    strip = make_strip(StripSpec(seed=22, n_courses=15))
    image, visible = strip.image.copy(), np.full(strip.image.shape[:2], 255, np.uint8)
    image[:, :60], visible[:, :60] = 0, 0
    top_mm = strip.image.shape[0] * strip.mm_per_px
    reading = read_courses(
        image, strip.mm_per_px, top_mm, strip.v_bottom_mm, strip.v_top_mm, visible
    )
    assert (reading.count, reading.sure) == (15, True)


def test_a_wall_half_covered_is_read_from_its_other_half() -> None:
    strip = make_strip(StripSpec(seed=24, n_courses=15, px_per_course=6.0))
    image = strip.image.copy()
    rng = np.random.default_rng(1)
    heights = np.cumsum(rng.integers(3, 9, 60))
    for low, high in zip(heights[:-1:2], heights[1::2], strict=False):  # slats of a shutter
        image[low:high, :100], image[high : high + 1, :100] = 200, 60
    top_mm = image.shape[0] * strip.mm_per_px
    reading = read_courses(image, strip.mm_per_px, top_mm, strip.v_bottom_mm, strip.v_top_mm)
    assert (reading.count, reading.sure) == (15, True)
    # one half tells where joints lie at the middle of the strip: beds are level to 0.3 degrees
    assert np.abs(reading.joints_mm - strip.joints_between_mm).max() < 0.1 * strip.spec.gauge_mm


def test_stretchers_along_a_course_are_counted() -> None:
    spec = StripSpec(seed=23, n_courses=6, px_per_course=30.0, width_px=1000, wobble=0.0)
    strip = make_strip(spec)
    low_px, high_px = strip.joints_mm[[strip.first_joint, strip.first_joint + 1]] / strip.mm_per_px
    inside_px = 0.18 * spec.px_per_course  # bed joints are a seventh of a course
    course = strip.image[
        round(strip.image.shape[0] - high_px + inside_px) : round(
            strip.image.shape[0] - low_px - inside_px
        )
    ]
    # the lowest course is the third drawn, whose perpends lie at whole stretchers
    perpends_mm = np.arange(1, 11) * 3.0 * spec.gauge_mm
    reading = read_stretchers(
        course, strip.mm_per_px, 0.0, perpends_mm[0] + 20.0, perpends_mm[-1] - 20.0
    )
    assert (reading.count, reading.sure) == (9, True)
    assert abs(reading.gauge_mm - 3.0 * spec.gauge_mm) < 3 * reading.u_gauge_mm
    np.testing.assert_allclose(reading.joints_mm, perpends_mm, atol=0.1 * spec.gauge_mm)


@pytest.mark.parametrize(
    ("low_mm", "high_mm", "words"),
    [
        (100.0, 1200.0, "outside the strip"),
        (-50.0, 500.0, "outside the strip"),
        (float("nan"), 500.0, "outside the strip"),
        (100.0, 120.0, "4.0 px apart"),
        (500.0, 100.0, "outside the strip"),
    ],
)
def test_picks_that_enclose_no_courses_are_refused(
    low_mm: float, high_mm: float, words: str
) -> None:
    with pytest.raises(InputError, match=words):
        read_courses(np.zeros((200, 50), np.uint8), 5.0, 1000.0, low_mm, high_mm)
