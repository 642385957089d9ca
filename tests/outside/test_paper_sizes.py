"""Sheet sizes and the designation of scales against their standards."""

import math

import pytest

from measure.elevation.paper import ISO_216, NORTH_AMERICAN, paper_named
from measure.elevation.title_block import scale_in_words

# ISO 216, A series, trimmed sizes in mm (as published; checked below against the rule that the
# standard derives them from).
PUBLISHED_MM = {
    "A0": (841, 1189),
    "A1": (594, 841),
    "A2": (420, 594),
    "A3": (297, 420),
    "A4": (210, 297),
    "A5": (148, 210),
    "A6": (105, 148),
}


def test_a_series_is_that_of_iso_216():
    assert {p.name: (p.width_mm, p.height_mm) for p in ISO_216} == PUBLISHED_MM


@pytest.mark.parametrize("number", range(7))
def test_a_series_follows_from_one_square_metre_and_root_two(number):
    # ISO 216: A0 has 1 m2 and sides as 1 to root 2; each size is the one before, halved.
    paper = paper_named(f"A{number}")
    short_mm = 1000 * 2 ** (-0.25 - number / 2)
    assert abs(paper.width_mm - short_mm) < 0.75
    assert abs(paper.height_mm - short_mm * math.sqrt(2)) < 0.75


def test_north_american_sheets_are_whole_half_inches():
    # 8 1/2 x 11, 8 1/2 x 14, 11 x 17 inches: common practice; the inch is 25.4 mm.
    inches = {p.name: (p.width_mm / 25.4, p.height_mm / 25.4) for p in NORTH_AMERICAN}
    assert inches == {
        "Letter": (8.5, pytest.approx(11)),
        "Legal": (8.5, pytest.approx(14)),
        "Tabloid": (pytest.approx(11), pytest.approx(17)),
    }


@pytest.mark.parametrize(
    ("denominator", "designation"),
    [
        # ISO 5455:1979, clause on designation: the word SCALE followed by the ratio.
        (1, "SCALE 1:1"),
        (0.5, "SCALE 2:1"),
        (0.2, "SCALE 5:1"),
        (0.1, "SCALE 10:1"),
        (0.05, "SCALE 20:1"),
        (0.02, "SCALE 50:1"),
        *((n, f"SCALE 1:{n}") for n in (2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000)),
        # Not recommended there, but what models are built to.
        (148, "SCALE 1:148"),
        (76.2, "SCALE 1:76.2"),
        (87.0857, "SCALE 1:87.0857"),
    ],
)
def test_scales_are_designated_after_iso_5455(denominator, designation):
    assert scale_in_words(denominator) == designation
