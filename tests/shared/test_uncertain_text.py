"""Values with their ± in words."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.number_text import readings_of_number, tidy_text
from shared.uncertain_text import decimals_from_u, format_uncertain_mm, format_uncertain_number
from shared.units import parse_length_mm


@pytest.mark.parametrize(
    ("value_mm", "u_mm", "text"),
    [
        (1204.1, 5.8, "1 204 ± 6 mm"),
        (2101.0, 7.4, "2 101 ± 7 mm"),
        (8.1372, 0.0392, "8.14 ± 0.04 mm"),
        (14.2, 0.11, "14.20 ± 0.11 mm"),
        (1204.13, 2.13, "1 204.1 ± 2.1 mm"),
        (1204.1, 11.4, "1 204 ± 11 mm"),
        (1204.1, 123.0, "1 200 ± 120 mm"),
        (12041.0, 960.0, "12 000 ± 1 000 mm"),
        (76.31, 0.97, "76.3 ± 1.0 mm"),
        (76.31, 0.2, "76.31 ± 0.20 mm"),
        (-153.2, 8.0, "−153 ± 8 mm"),
        (2032.0, 0.0, "2 032 mm"),
        (812.8, 0.0, "812.8 mm"),
        (2000.0, 0.0, "2 000 mm"),
        (1204.1, math.nan, "1 204 mm ± not known"),
        (1204.1, math.inf, "1 204 mm ± not known"),
        (math.nan, 5.0, "not known"),
    ],
)
def test_metric_value_is_rounded_to_what_its_u_is_worth(
    value_mm: float, u_mm: float, text: str
) -> None:
    assert format_uncertain_mm(value_mm, u_mm).replace("\u202f", " ") == text


def test_metres_carry_the_same_figures() -> None:
    assert format_uncertain_mm(6354.0, 18.0, unit="m") == "6.354 ± 0.018 m"
    assert format_uncertain_mm(6354.0, 60.0, unit="m") == "6.35 ± 0.06 m"


@pytest.mark.parametrize(
    ("value_mm", "u_mm", "text"),
    [
        (1204.1, 5.8, '3\' 11 3/8" ± 1/4"'),
        (2032.0, 1.6, '6\' 8" ± 1/16"'),
        (2032.0, 0.1, '6\' 8" ± 1/16"'),
        (2032.0, 0.0, "6' 8\""),
        (2044.7, 12.7, '6\' 8 1/2" ± 1/2"'),
        (2044.7, 30.0, '6\' 8 1/2" ± 1"'),
        (12041.0, 120.0, '39\' 6" ± 5"'),
        (12041.0, 400.0, "39' 6\" ± 1' 4\""),
        (2032.0, math.nan, "6' 8\" ± not known"),
        (math.inf, 1.0, "not known"),
    ],
)
def test_imperial_value_is_rounded_to_the_part_of_an_inch_its_u_is_worth(
    value_mm: float, u_mm: float, text: str
) -> None:
    assert format_uncertain_mm(value_mm, u_mm, "imperial") == text


def test_number_without_unit_is_written_for_angles_and_counts() -> None:
    assert format_uncertain_number(42.26, 0.38) == "42.3 ± 0.4"
    assert format_uncertain_number(42.0, math.nan) == "42 ± not known"


def test_negative_u_is_a_wrong_call() -> None:
    with pytest.raises(ValueError, match="not negative"):
        format_uncertain_mm(1.0, -1.0)
    with pytest.raises(ValueError, match="not negative"):
        format_uncertain_number(1.0, -1.0)
    with pytest.raises(ValueError, match="more than zero"):
        decimals_from_u(0.0)


def test_unknown_system_is_a_wrong_call() -> None:
    with pytest.raises(ValueError, match="system"):
        format_uncertain_mm(1.0, 1.0, "troy")  # type: ignore[arg-type]


@given(st.floats(1e-4, 9e4))
def test_u_as_printed_is_within_a_seventh_of_u(u: float) -> None:
    # One figure from 3.55 on errs by at most 0.5 in 3.55, two figures from 1.0 by 0.05 in 1.0.
    decimals = decimals_from_u(u)
    assert abs(round(u, decimals) - u) <= u / 7


@given(st.floats(1.0, 9e5), st.floats(1e-3, 1e3))
def test_value_read_back_lies_within_a_sixth_of_u(value_mm: float, u_mm: float) -> None:
    shown = format_uncertain_mm(value_mm, u_mm).split(" ± ")[0]
    (read_mm,) = readings_of_number(tidy_text(shown))
    # Half a unit of the last figure, which is at least u / 3.55 for one figure.
    assert abs(read_mm - value_mm) <= u_mm / 7 + 1e-9


@given(st.floats(10.0, 9e5), st.floats(0.0, 1e3))
def test_imperial_value_and_u_read_back_as_lengths(value_mm: float, u_mm: float) -> None:
    parts = re.split(r" ± ", format_uncertain_mm(value_mm, u_mm, "imperial"))
    coarsest_mm = max(25.4 / 16, u_mm / 2)
    assert abs(parse_length_mm(parts[0], allow_zero=True) - value_mm) <= coarsest_mm / 2 + 1e-6
    if len(parts) == 2:
        assert parse_length_mm(parts[1]) == pytest.approx(
            max(u_mm, 25.4 / 16), rel=0.26, abs=25.4 / 16
        )
