"""Numbers as typed, numbers as written."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.number_text import (
    MINUS,
    THOUSANDS_GAP,
    UnreadableNumber,
    format_number,
    readings_of_number,
    shorten_text,
    tidy_text,
)


@pytest.mark.parametrize(
    ("text", "readings"),
    [
        ("2032", (2032.0,)),
        ("1 204", (1204.0,)),
        ("1 204 500", (1204500.0,)),
        ("1 204,5", (1204.5,)),
        ("1 204.5", (1204.5,)),
        ("2.03", (2.03,)),
        (".5", (0.5,)),
        (",5", (0.5,)),
        ("12.", (12.0,)),
        ("2,03", (2.03,)),
        ("1204,500", (1204.5,)),
        ("0,204", (0.204,)),
        ("1.204", (1.204,)),
        ("1,204", (1.204, 1204.0)),
        ("123,456", (123.456, 123456.0)),
        ("1,204.5", (1204.5,)),
        ("1.204,5", (1204.5,)),
        ("1,204,500", (1204500.0,)),
        ("1.204.500", (1204500.0,)),
        ("1/2", (0.5,)),
        ("8 1/2", (8.5,)),
        ("8-1/2", (8.5,)),
        ("1 204 3/8", (1204.375,)),
    ],
)
def test_number_is_read_in_every_way_it_can_be_meant(
    text: str, readings: tuple[float, ...]
) -> None:
    assert readings_of_number(text) == readings


@pytest.mark.parametrize(
    "text",
    [
        "",
        "x",
        "1 20",
        "1 2040",
        "1,20,450",
        "1.2.3",
        "1,2,3",
        "1 204 50",
        "--5",
        "1_000",
        "1e3",
        "nan",
        "inf",
        "1/0",
        "4/4",
        "81/2",
        "1/",
        "/2",
        "1/2/3",
        "1 1/2 1/2",
        "٣",
    ],
)
def test_text_that_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(UnreadableNumber):
        readings_of_number(text)


@pytest.mark.parametrize(
    ("typed", "tidy"),
    [
        ("6′ 8½″", "6' 8 1/2 \""),
        ("6’ 8”", "6' 8\""),
        ("6'8''", "6'8\""),
        ("８０　ＩＮ", "80 in"),
        ("−600", "-600"),
        ("1\u202f204\u00a0MM", "1 204 mm"),
        ("3⁄8", "3/8"),
        ("¾", "3/4"),
        ("1∶148", "1:148"),
    ],
)
def test_look_alike_characters_become_plain_ones(typed: str, tidy: str) -> None:
    assert tidy_text(typed) == tidy


def test_every_fraction_in_one_character_keeps_its_value() -> None:
    from unicodedata import numeric

    for sign in "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒":
        assert readings_of_number(tidy_text(f"8{sign}")) == pytest.approx((8 + numeric(sign),))


def test_text_longer_than_any_number_is_refused() -> None:
    with pytest.raises(UnreadableNumber, match="5000 characters"):
        tidy_text("9" * 5000)


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (1204.26, 1, "1 204.3"),
        (1204.26, 0, "1 204"),
        (1204.26, -2, "1 200"),
        (999.96, 1, "1 000.0"),
        (1234567.0, 0, "1 234 567"),
        (-600.0, 0, "−600"),
        (-0.04, 1, "0.0"),
        (0.0, 0, "0"),
        (math.nan, 0, "not known"),
        (math.inf, 2, "not known"),
    ],
)
def test_number_is_written_with_gaps_and_a_true_minus(
    value: float, decimals: int, text: str
) -> None:
    assert format_number(value, decimals).replace(THOUSANDS_GAP, " ") == text


@given(st.floats(-1e7, 1e7), st.integers(0, 4))
def test_number_written_then_read_is_the_same_within_rounding(value: float, decimals: int) -> None:
    text = tidy_text(format_number(value, decimals)).removeprefix("-")
    (read,) = readings_of_number(text)
    assert abs(read - abs(value)) <= 0.5 * 10.0**-decimals * (1 + 1e-9) + 1e-9
    assert format_number(value, decimals).startswith(MINUS) == (round(value, decimals) < 0)


def test_long_text_is_quoted_cut_short_on_one_line() -> None:
    assert shorten_text("6 ft\n8") == "“6 ft 8”"
    assert len(shorten_text("x" * 500)) == 42
