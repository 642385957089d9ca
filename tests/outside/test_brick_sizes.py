"""Brick formats against published tables.

Sources
-------
BS EN 771-1, tolerance categories T1 and T2 of the mean: printed limits of five
work sizes (read in published tables).
DIN 4172 and DIN 105, octametric masonry: courses to the metre and work sizes
(read in summaries).
BIA Technical Note 10B (1993, reissued 2001), modular brickwork of the United
States: courses to 4, 8 and 16 inches (read).
AS/NZS 4455 (read in a summary), IS 1077:1992 (read second-hand).
A bricklayers' glossary: English imperial work rises four courses in 12 to
13 1/2 inches (read).
"""

from __future__ import annotations

import math

import pytest

from shared.reference_sizes import find_reference_size, mean_size_limit_mm


@pytest.mark.parametrize(
    ("work_size_mm", "t1_mm", "t2_mm"),
    [(65, 3, 2), (73, 3, 2), (102, 4, 3), (215, 6, 4), (225, 6, 4)],
)
def test_limit_of_the_mean_is_the_printed_one(work_size_mm: int, t1_mm: int, t2_mm: int) -> None:
    assert mean_size_limit_mm(work_size_mm, "T1") == t1_mm
    assert mean_size_limit_mm(work_size_mm, "T2") == t2_mm


@pytest.mark.parametrize("key", ["uk-brick-metric", "de-brick-nf", "de-brick-df", "de-brick-2df"])
def test_u_of_a_single_brick_is_half_the_limit_t2(key: str) -> None:
    brick = find_reference_size(key)
    for size_mm, u_mm in (
        (brick.length_mm, brick.u_length_mm),
        (brick.width_mm, brick.u_width_mm),
        (brick.height_mm, brick.u_height_mm),
    ):
        assert size_mm is not None
        assert u_mm == mean_size_limit_mm(size_mm, "T2") / 2


def test_uk_metric_brickwork_rises_four_courses_in_300() -> None:
    brick = find_reference_size("uk-brick-metric")
    assert brick.gauge_mm is not None
    assert brick.height_mm is not None
    assert brick.joint_mm is not None
    assert 4 * brick.gauge_mm == 300.0
    assert brick.height_mm + brick.joint_mm == brick.gauge_mm


def test_uk_metric_brickwork_takes_sixty_bricks_to_the_square_metre() -> None:
    brick = find_reference_size("uk-brick-metric")
    assert brick.length_mm is not None
    assert brick.gauge_mm is not None
    assert brick.joint_mm is not None
    per_m2 = 1e6 / ((brick.length_mm + brick.joint_mm) * brick.gauge_mm)
    assert round(per_m2) == 59  # 59.26, which the trade rounds up to 60


def test_uk_block_is_three_courses_of_metric_brick() -> None:
    block, brick = find_reference_size("uk-concrete-block"), find_reference_size("uk-brick")
    assert brick.gauge_mm is not None
    assert block.gauge_mm == 3 * brick.gauge_mm


@pytest.mark.parametrize(
    ("key", "courses_per_m"), [("de-brick-nf", 12), ("de-brick-df", 16), ("de-brick-2df", 8)]
)
def test_german_brickwork_has_its_courses_to_the_metre(key: str, courses_per_m: int) -> None:
    brick = find_reference_size(key)
    assert brick.gauge_mm is not None
    assert brick.height_mm is not None
    assert brick.joint_mm is not None
    assert courses_per_m * brick.gauge_mm == pytest.approx(1000.0, abs=1e-9)
    assert brick.height_mm + brick.joint_mm == pytest.approx(brick.gauge_mm, abs=0.05)


@pytest.mark.parametrize("key", ["de-brick-nf", "de-brick-df", "de-brick-2df"])
def test_german_brick_with_its_upright_joint_of_10_is_two_modules_long(key: str) -> None:
    length_mm = find_reference_size(key).length_mm
    assert length_mm is not None
    assert length_mm + 10.0 == 2 * 125.0


@pytest.mark.parametrize(
    ("key", "courses", "height_in"),
    [
        ("us-brick-modular", 3, 8),
        ("us-brick-engineer-modular", 5, 16),
        ("us-brick-closure-modular", 1, 4),
        ("us-brick-utility", 1, 4),
        ("us-brick-roman", 2, 4),
        ("us-brick-norman", 3, 8),
        ("us-brick-standard", 3, 8),
        ("us-brick-king", 5, 16),
        ("us-brick-queen", 5, 16),
    ],
)
def test_us_brickwork_rises_in_whole_inches(key: str, courses: int, height_in: int) -> None:
    gauge_mm = find_reference_size(key).gauge_mm
    assert gauge_mm is not None
    assert courses * gauge_mm == pytest.approx(height_in * 25.4, rel=1e-12)


def test_us_modular_brick_is_eight_inches_long_with_its_joint() -> None:
    brick = find_reference_size("us-brick-modular")
    assert brick.length_mm is not None
    assert brick.joint_mm is not None
    assert brick.length_mm + brick.joint_mm == pytest.approx(8 * 25.4, rel=1e-12)


def test_english_imperial_gauge_is_the_middle_of_its_range() -> None:
    row = find_reference_size("uk-brick-imperial-gauge")
    assert row.range_mm == pytest.approx((12 * 25.4 / 4, 13.5 * 25.4 / 4))
    assert row.gauge_mm == pytest.approx(12.75 * 25.4 / 4)
    # A value that may lie anywhere in a range has u = range / sqrt(12) (GUM 4.3.7).
    assert row.u_gauge_mm == pytest.approx(1.5 * 25.4 / 4 / math.sqrt(12), abs=0.005)


@pytest.mark.parametrize(("key", "gauge_mm"), [("au-brick", 86.0), ("in-brick-modular", 100.0)])
def test_brick_from_elsewhere_has_its_gauge(key: str, gauge_mm: float) -> None:
    assert find_reference_size(key).gauge_mm == gauge_mm
