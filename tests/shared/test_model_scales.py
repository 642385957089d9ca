"""The table of scales, and reading what people type for one."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import UnitError
from shared.model_scales import (
    format_scale,
    parse_model_scale,
    read_drawing_scales,
    read_model_scales,
    redraw_factor,
)


@pytest.mark.parametrize(
    ("text", "denominator"),
    [
        ("1:148", 148.0),
        ("1 : 148", 148.0),
        ("1∶148", 148.0),
        ("1 to 148", 148.0),
        ("SCALE 1:148", 148.0),
        ("1/76.2", 76.2),
        ("1:76,2", 76.2),
        ("1:10 000", 10000.0),
        ("2:1", 0.5),
        ("4 mm/ft", 76.2),
        ("4mm to the foot", 76.2),
        ("4 mm = 1 ft", 76.2),
        ("3/16 in/ft", 64.0),
        ('1/4" = 1\'-0"', 48.0),
        ("¼ in per foot", 48.0),
        ("2 1/16 mm/ft", 304.8 / 2.0625),
        ("10 mm/m", 100.0),
        ("OO", 76.2),
        ("oo gauge", 76.2),
        ("00", 76.2),
        ("4 mm scale", 76.2),
        ("n british", 148.0),
        ("British N", 148.0),
        ("G scale", 22.5),
    ],
)
def test_scale_as_people_type_it(text: str, denominator: float) -> None:
    assert parse_model_scale(text).denominator == pytest.approx(denominator, rel=1e-15)


def test_ratio_in_the_table_gives_its_row_with_name_and_source() -> None:
    scale = parse_model_scale("1:148")
    assert scale.name == "N British"
    assert scale.kind == "model"
    assert scale.provenance == "read"
    assert "147.7818" in scale.note


def test_the_two_british_n_scales_are_never_swapped() -> None:
    nominal, per_foot = parse_model_scale("1:148"), parse_model_scale("2 1/16 mm/ft")
    assert nominal.name != per_foot.name
    assert per_foot.denominator == pytest.approx(147.78181818, rel=1e-10)
    assert parse_model_scale("N British").denominator == 148.0
    assert parse_model_scale("1:147.78").denominator == 147.78
    assert parse_model_scale("1:147.7818").kind == "given"


def test_near_miss_of_a_table_row_stays_as_given() -> None:
    assert parse_model_scale("1:76").denominator == 76.0
    assert parse_model_scale("1:76").kind == "given"
    assert parse_model_scale("1:87.1").denominator == 87.1


def test_h_nought_and_h_o_are_two_scales() -> None:
    assert parse_model_scale("H0").denominator == 87.0
    assert parse_model_scale("HO").denominator == pytest.approx(304.8 / 3.5, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "choices"),
    [
        ("N", ["1:160", "1:150", "1:148"]),
        ("N gauge", ["1:160", "1:150", "1:148"]),
        ("O", ["1:45", "1:43.5429", "1:48"]),
        ("0", ["1:45", "1:43.5429", "1:48"]),
        ("gauge 1", ["1:32", "1:30.48"]),
    ],
)
def test_name_of_several_scales_is_refused_and_all_are_named(text: str, choices: list[str]) -> None:
    with pytest.raises(UnitError, match="say which") as caught:
        parse_model_scale(text)
    for ratio in choices:
        assert ratio in str(caught.value)


@pytest.mark.parametrize(
    ("text", "near"),
    [("148", "1:148"), ("N Britsh", "N British"), ("tt4", "TT3"), ("HOO", "HO")],
)
def test_unknown_scale_is_refused_with_near_matches(text: str, near: str) -> None:
    with pytest.raises(UnitError, match="is not a scale known here") as caught:
        parse_model_scale(text)
    assert near in str(caught.value)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "nan:1",
        "1:nan",
        "1:inf",
        "0:1",
        "1:0",
        "1:-5",
        "1:1e9",
        "1:20000",
        "100:1",
        "1::2",
        "1:2:3",
        "q!",
        "1:1,000",
        "4 kg/ft",
        "4 mm/kg",
        "0 mm/ft",
        "x" * 4000,
        "1:" + "9" * 70,
        "-1:5",
    ],
)
def test_text_that_is_no_scale_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_model_scale(text)
    assert "\n" not in str(caught.value)
    assert str(caught.value).endswith(".")
    assert len(str(caught.value)) < 250


@given(st.text(max_size=100))
def test_any_text_at_all_is_read_or_refused_as_a_unit_error(text: str) -> None:
    try:
        scale = parse_model_scale(text)
    except UnitError:
        return
    assert 0.02 <= scale.denominator <= 10_000


@given(st.floats(0.03, 9_999.0))
def test_scale_written_then_read_is_the_same_within_rounding(denominator: float) -> None:
    read = parse_model_scale(format_scale(denominator)).denominator
    # Four decimals of the denominator, or of its inverse for an enlargement.
    tolerance = 5.1e-5 * max(1.0, denominator**2)
    assert abs(read - denominator) <= min(tolerance, 5.1e-5 if denominator >= 1 else tolerance)


def test_every_name_and_alias_in_the_table_is_read_or_named_as_shared() -> None:
    rows = read_model_scales()
    aliases = [alias for row in rows for alias in row.aliases]
    for row in rows:
        assert parse_model_scale(row.name) is row
        for alias in row.aliases:
            if aliases.count(alias) == 1:
                assert parse_model_scale(alias) is row
            else:
                with pytest.raises(UnitError, match=re.escape(row.name)):
                    parse_model_scale(alias)


def test_every_row_names_its_source_and_says_whether_it_was_read() -> None:
    for row in (*read_model_scales(), *read_drawing_scales()):
        assert row.source
        assert row.provenance in {"read", "read second-hand", "from memory", "computed"}
        assert parse_model_scale(row.definition).denominator == row.denominator


def test_size_on_the_model_is_the_full_size_over_the_denominator() -> None:
    assert parse_model_scale("OO").model_mm_from_full_mm(1981.2) == pytest.approx(26.0, rel=1e-15)


def test_redrawing_there_and_back_changes_nothing() -> None:
    one, other = parse_model_scale("N British"), parse_model_scale("OO")
    assert redraw_factor(one, other) * redraw_factor(other, one) == pytest.approx(1.0, rel=1e-15)


@pytest.mark.parametrize("denominator", [0.0, -1.0, float("nan"), float("inf")])
def test_scale_that_is_no_scale_cannot_be_written(denominator: float) -> None:
    with pytest.raises(ValueError, match="denominator"):
        format_scale(denominator)
