"""The table of scales against published tables.

Sources
-------
NEM 010 (2011 edition), scales and gauges: ratios from Z to X and the worked
example of redrawing (both read). One transcription elsewhere prints S as 1:60;
the standard's own table, and 22.5 mm of track for 1440 mm, give 1:64.
NMRA and trade texts for scales in millimetres to the foot (read or read second-hand).
ISO 5455:1979: enlargements (read), reductions (from memory).
"""

from __future__ import annotations

import pytest

from shared.model_scales import (
    parse_model_scale,
    read_drawing_scales,
    read_model_scales,
    redraw_factor,
)


@pytest.mark.parametrize(
    ("name", "denominator"),
    [
        ("Z", 220),
        ("N (NEM)", 160),
        ("TT", 120),
        ("H0", 87),
        ("S", 64),
        ("0 Europe", 45),
        ("NEM I", 32),
        ("NEM II", 22.5),
        ("NEM III", 16),
        ("NEM V", 11),
        ("NEM VII", 8),
        ("NEM X", 5.5),
    ],
)
def test_scale_has_the_ratio_of_nem_010(name: str, denominator: float) -> None:
    scale = parse_model_scale(name)
    assert scale.denominator == denominator
    assert "NEM 010" in scale.source
    assert scale.provenance == "read"


def test_redrawing_from_0_to_h0_has_the_factor_of_nem_010() -> None:
    factor = redraw_factor(parse_model_scale("0 Europe"), parse_model_scale("H0"))
    assert round(factor, 3) == 0.517


def test_scale_s_agrees_with_its_gauge_of_22_5_mm() -> None:
    assert 22.5 * parse_model_scale("S").denominator == 1440.0


@pytest.mark.parametrize(
    ("text", "printed", "decimals"),
    [
        ("HO", 87.1, 1),  # NMRA
        ("OO", 76.2, 1),  # trade, read second-hand
        ("O UK", 43.5, 1),  # trade
        ("2 1/16 mm/ft", 147.78, 2),  # trade
        ("2 mm/ft", 152.4, 1),  # from memory
        ("3 mm/ft", 101.6, 1),  # worked out
        ("O US", 48.0, 1),  # NMRA S-1.2, read second-hand
    ],
)
def test_scale_to_the_foot_rounds_to_the_printed_ratio(
    text: str, printed: float, decimals: int
) -> None:
    assert round(parse_model_scale(text).denominator, decimals) == printed


def test_british_n_scales_differ_by_0_148_percent() -> None:
    nominal, per_foot = parse_model_scale("1:148"), parse_model_scale("2 1/16 mm/ft")
    assert 100 * (nominal.denominator / per_foot.denominator - 1) == pytest.approx(0.148, abs=5e-4)


@pytest.mark.parametrize(
    ("name", "course_mm", "door_mm"),
    [
        # Courses of 75 mm and doors of 1981.2 mm on the model, worked out by hand.
        ("Z", 0.341, 9.005),
        ("N British", 0.507, 13.386),
        ("OO", 0.984, 26.000),
        ("O UK", 1.722, 45.500),
        ("G", 3.333, 88.053),
    ],
)
def test_course_and_door_have_their_size_on_the_model(
    name: str, course_mm: float, door_mm: float
) -> None:
    scale = parse_model_scale(name)
    assert scale.model_mm_from_full_mm(75.0) == pytest.approx(course_mm, abs=5e-4)
    assert scale.model_mm_from_full_mm(1981.2) == pytest.approx(door_mm, abs=1e-3)


def test_drawing_scales_are_those_of_iso_5455() -> None:
    scales = read_drawing_scales()
    enlargements = [s.definition for s in scales if s.denominator < 1]
    reductions = [s.definition for s in scales if s.denominator > 1]
    assert enlargements == ["50:1", "20:1", "10:1", "5:1", "2:1"]
    assert [s.ratio for s in scales if s.denominator == 1] == ["1:1"]
    # From memory: 1, 2 and 5 times powers of ten up to 10 000.
    powers = [d * 10**p for p in range(5) for d in (1, 2, 5)]
    assert reductions == [f"1:{d}" for d in powers if 1 < d <= 10_000]


def test_drawing_scales_have_the_value_of_their_name() -> None:
    for scale in read_drawing_scales():
        drawn, full = map(float, scale.definition.split(":"))
        assert scale.denominator == full / drawn


def test_no_model_scale_of_148_is_recommended_for_drawings() -> None:
    assert 148.0 not in {scale.denominator for scale in read_drawing_scales()}


def test_scales_between_z_and_x_are_the_twelve_of_nem_010() -> None:
    listed = [s for s in read_model_scales() if s.source.startswith("NEM 010 (2011)")]
    from_nem = [s for s in listed if s.definition.startswith("1:")]
    assert len(from_nem) == 12
