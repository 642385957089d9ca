"""Lengths and angles as typed and as written."""

from __future__ import annotations

import contextlib
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import InputError, UnitError
from shared.units import (
    deg_from_rad,
    format_length_mm,
    parse_length_mm,
    parse_scale,
    rad_from_deg,
)


@pytest.mark.parametrize(
    ("text", "size_mm"),
    [
        ("2032", 2032.0),
        ("2032 mm", 2032.0),
        ("2032MM", 2032.0),
        ("2.03 m", 2030.0),
        ("2,03 m", 2030.0),
        ("203,2 cm", 2032.0),
        ("2.03 metres", 2030.0),
        ("2 m 3 cm", 2030.0),
        ("6'8\"", 2032.0),
        ("6' 8 1/2\"", 2044.7),
        ("6'-8 1/2\"", 2044.7),
        ("6′ 8½″", 2044.7),
        ("6’ 8⅜”", 2041.525),
        ("6 ft", 1828.8),
        ("6ft 8in", 2032.0),
        ("6 ft. 8 in.", 2032.0),
        ("6 ft, 8 in", 2032.0),
        ("6 feet 8 inches", 2032.0),
        ("6'8", 2032.0),
        ("6'8''", 2032.0),
        ("6.5 ft", 1981.2),
        ('80"', 2032.0),
        ("80 in", 2032.0),
        ("¾ in", 19.05),
        ("1 204", 1204.0),
        ("1\u202f204 mm", 1204.0),
        ("1,204.5 mm", 1204.5),
        ("1.204,5 mm", 1204.5),
        ("1,204,500 mm", None),
        ("1204,500", 1204.5),
        ("0,204 m", 204.0),
        ("1.204", 1.204),
        ("1,204 m", 1204.0),
        ("12,500 m", 12500.0),
        ("12,345 ft", 3762.756),
    ],
)
def test_length_as_people_type_it(text: str, size_mm: float | None) -> None:
    if size_mm is None:  # over a kilometre
        with pytest.raises(UnitError, match="kilometre"):
            parse_length_mm(text)
    else:
        assert parse_length_mm(text) == size_mm


def test_default_unit_is_that_of_a_bare_figure_only() -> None:
    assert parse_length_mm("80", "in") == 2032.0
    assert parse_length_mm("80 mm", "in") == 80.0
    assert parse_length_mm("6'8", "m") == 2032.0


@pytest.mark.parametrize("text", ["1,204", "1,204 mm", "1,204 cm", "1,204 in", "1,345 ft"])
def test_comma_that_can_be_read_in_two_ways_is_refused_with_both_readings(text: str) -> None:
    with pytest.raises(UnitError, match=r"can mean [\d.]+ mm or [\d.]+ mm: write it like"):
        parse_length_mm(text)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "nan",
        "NaN mm",
        "inf",
        "-inf",
        "0",
        "0 mm",
        "-5",
        "−5 mm",
        "1e3",
        "1000 m",
        "4000 ft",
        "0.0001 mm",
        "5 km",
        "5 furlongs",
        "6.5 ft 3 in",
        "6 ft 12 in",
        "8 in 6 ft",
        "2 m 3 in",
        "6 ft 6 ft",
        "2 m 30",
        "81/2 in",
        "1/0",
        "1 20",
        "6 8",
        "1'204",
        "x" * 5000,
        "9" * 400,
        "mm",
        "'",
        "5²",
        "2 m 200 cm",
        "6 ft 8 in 3 mm",
        "12 mm x 4 mm",
        "$5",
        "5 mm²",
        "½½",
        "\x00",
        "٣ mm",
    ],
)
def test_text_that_is_no_length_is_refused_in_one_sentence_with_two_examples(text: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_length_mm(text)
    sentence = str(caught.value)
    assert sentence.endswith(": write it like 2032 mm or 6 ft 8 in.")
    assert "\n" not in sentence
    assert len(sentence) < 250
    assert caught.value.exit_status == 2


def test_refusal_is_an_input_error_and_a_value_error() -> None:
    assert issubclass(UnitError, InputError)
    assert issubclass(UnitError, ValueError)


def test_set_back_may_be_nought_or_negative_where_allowed() -> None:
    assert parse_length_mm("0", allow_zero=True) == 0.0
    assert parse_length_mm("-600 mm", allow_negative=True) == -600.0
    assert parse_length_mm("−2 ft", allow_negative=True) == -609.6
    with pytest.raises(UnitError, match="more than nought"):
        parse_length_mm("0", allow_negative=True)


def test_unknown_default_unit_is_a_wrong_call() -> None:
    with pytest.raises(ValueError, match="default_unit"):
        parse_length_mm("5", "furlong")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("size_mm", "options", "text"),
    [
        (2032.0, {}, "2 032 mm"),
        (812.4, {}, "812 mm"),
        (13.39, {"decimals": 2}, "13.39 mm"),
        (6350.0, {"unit": "m"}, "6.35 m"),
        (6000.0, {"unit": "m"}, "6 m"),
        (2032.0, {"unit": "m", "decimals": 2}, "2.03 m"),
        (2032.0, {"unit": "cm"}, "203.2 cm"),
        (2032.0, {"system": "imperial"}, "6' 8\""),
        (2044.7, {"system": "imperial"}, "6' 8 1/2\""),
        (1828.8, {"system": "imperial"}, "6' 0\""),
        (1840.0, {"system": "imperial"}, "6' 0 1/2\""),
        (1828.0, {"system": "imperial"}, "6' 0\""),
        (9.5, {"system": "imperial"}, '3/8"'),
        (30.0, {"system": "imperial", "parts_of_inch": 16}, '1 3/16"'),
        (0.0, {"system": "imperial"}, '0"'),
        (-600.0, {}, "−600 mm"),
        (-609.6, {"system": "imperial"}, "−2' 0\""),
        (-0.1, {"system": "imperial"}, '0"'),
        (math.nan, {}, "not known"),
        (math.nan, {"system": "imperial"}, "not known"),
    ],
)
def test_length_as_it_is_written(size_mm: float, options: dict[str, str], text: str) -> None:
    assert format_length_mm(size_mm, **options).replace("\u202f", " ") == text  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "options", [{"system": "troy"}, {"unit": "km"}, {"system": "imperial", "parts_of_inch": 10}]
)
def test_unknown_way_of_writing_is_a_wrong_call(options: dict[str, str]) -> None:
    with pytest.raises(ValueError, match=next(reversed(options))):
        format_length_mm(100.0, **options)  # type: ignore[arg-type]


lengths_mm = st.floats(1.0, 900_000.0)


@given(lengths_mm, st.integers(0, 3))
def test_metric_length_written_then_read_is_the_same_within_rounding(
    size_mm: float, decimals: int
) -> None:
    read_mm = parse_length_mm(format_length_mm(size_mm, decimals=decimals))
    assert abs(read_mm - size_mm) <= 0.5 * 10.0**-decimals + 1e-6


@given(lengths_mm)
def test_length_in_metres_written_then_read_is_the_same_to_half_a_millimetre(
    size_mm: float,
) -> None:
    assert abs(parse_length_mm(format_length_mm(size_mm, unit="m")) - size_mm) <= 0.5 + 1e-6


@given(st.floats(4.0, 900_000.0), st.sampled_from([8, 16]))
def test_imperial_length_written_then_read_is_the_same_within_half_a_part(
    size_mm: float, parts_of_inch: int
) -> None:
    text = format_length_mm(size_mm, "imperial", parts_of_inch=parts_of_inch)
    assert abs(parse_length_mm(text) - size_mm) <= 25.4 / parts_of_inch / 2 + 1e-6


@given(st.floats(-90_000.0, -1.0))
def test_negative_length_written_then_read_is_the_same(size_mm: float) -> None:
    text = format_length_mm(size_mm, decimals=3)
    assert parse_length_mm(text, allow_negative=True) == pytest.approx(size_mm, abs=5.1e-4)


@given(st.text(max_size=120))
def test_any_text_at_all_is_read_or_refused_as_a_unit_error(text: str) -> None:
    with contextlib.suppress(UnitError):
        assert 0.001 <= parse_length_mm(text) < 1e6


@given(st.text(alphabet="0123456789 .,/-'\"½ftinmc ", max_size=14))
def test_any_mix_of_figures_and_units_is_read_or_refused_as_a_unit_error(text: str) -> None:
    with contextlib.suppress(UnitError):
        assert abs(parse_length_mm(text, allow_zero=True, allow_negative=True)) < 1e6


def test_scale_is_read_as_its_denominator() -> None:
    assert parse_scale("1:148") == 148.0
    assert parse_scale("1/76.2") == 76.2
    assert parse_scale("2 1/16 mm/ft") == pytest.approx(304.8 / 2.0625, rel=1e-15)
    assert parse_scale("OO") == parse_scale("4 mm/ft")


def test_half_a_turn_is_180_degrees() -> None:
    assert rad_from_deg(180.0) == math.pi
    assert deg_from_rad(math.pi / 6) == pytest.approx(30.0, rel=1e-15)


def test_angles_of_an_array_keep_its_shape() -> None:
    angles_deg = np.array([[0.0, 90.0, -45.0]])
    assert rad_from_deg(angles_deg).shape == (1, 3)
    np.testing.assert_allclose(deg_from_rad(rad_from_deg(angles_deg)), angles_deg, rtol=1e-15)
