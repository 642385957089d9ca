"""Bricks told from walls as published tables say they are laid.

Sources
-------
DIN 4172 (read in summaries): bricks are modular in 12.5 cm; a stretcher with its joint is 25 cm,
NF rises 12 courses to the metre, DF 16, 2DF 8.
BIA Technical Note 10B (1993, reissued 2001; read): US modular, three courses to 8 inches, and
8 inches from brick to brick along the course.
Trade pages (read): UK metric bricks, 60 to the square metre; Dutch Waal bricks, 75; thick Waal
bricks, 58; UK bricks of 73 mm (read second-hand), 51.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from measure.bricks.evidence import BrickEvidence
from measure.bricks.hypotheses import stretcher_module_mm, weigh_format
from shared.reference_sizes import find_reference_size

GERMAN = ("de-brick-nf", "de-brick-df", "de-brick-2df")


@pytest.mark.parametrize(("key", "ratio"), list(zip(GERMAN, (3.0, 4.0, 2.0), strict=True)))
def test_octametric_bricks_are_a_whole_number_of_courses_long(key: str, ratio: float) -> None:
    size = find_reference_size(key)
    assert size.gauge_mm is not None
    assert stretcher_module_mm(size)[0] / size.gauge_mm == pytest.approx(ratio, rel=1e-9)


@pytest.mark.parametrize("true", GERMAN)
def test_a_wall_of_din_4172_is_told_from_its_ratio_alone(true: str) -> None:
    size = find_reference_size(true)
    assert size.gauge_mm is not None
    # no scale: both logarithms off by one unknown amount, here that of a wall read 7 % small
    seen = BrickEvidence(
        False, math.log(0.93 * size.gauge_mm), math.log(0.93 * 250.0), 1e-4 * np.eye(2), 24, 8
    )
    told = {key: weigh_format(find_reference_size(key), seen).verdict for key in GERMAN}
    assert told == {key: "agrees" if key == true else "contradicted" for key in GERMAN}


def test_us_modular_bricks_lie_8_inches_apart() -> None:
    module_mm, u_mm = stretcher_module_mm(find_reference_size("us-brick-modular"))
    assert abs(module_mm - 8 * 25.4) < u_mm


@pytest.mark.parametrize(
    ("key", "per_m2"),
    [
        ("uk-brick-metric", 60),
        ("uk-brick-northern", 51),
        ("nl-brick-waal", 75),
        ("nl-brick-waal-thick", 58),
    ],
)
def test_bricks_to_the_square_metre_are_those_of_the_trade(key: str, per_m2: int) -> None:
    size = find_reference_size(key)
    module_mm, u_module_mm = stretcher_module_mm(size)
    assert size.gauge_mm is not None
    assert size.u_gauge_mm is not None
    expected = 1e6 / (module_mm * size.gauge_mm)
    u = expected * math.hypot(u_module_mm / module_mm, size.u_gauge_mm / size.gauge_mm)
    # the trade rounds to a whole number and often up, for waste
    assert abs(expected - per_m2) < 2 * u + 0.5
