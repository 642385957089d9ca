"""Rolling a tower: handbook lengths, segments; facts of the trade: common practice, no source."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.parts.materials import find_material, read_materials, sheet_thickness_mm
from measure.parts.tower_wrap import (
    former_diameter_mm,
    former_levels_mm,
    opening_springs,
    plan_scores,
    plan_strips,
    wrap_length_mm,
)
from shared.errors import FieldError


def test_wrap_is_taken_at_the_middle_of_the_thickness():
    """A public sheet-metal lesson: outer diameter 650, thickness 10 gives 2010.62."""
    assert_allclose(wrap_length_mm(650, 10), 2010.62, atol=0.005)


def test_thin_card_round_forty():
    """D 40, t 0.25: 124.878, against 125.664 without allowing for the card (recomputed)."""
    assert_allclose(wrap_length_mm(40, 0.25), 124.878, atol=0.0005)
    assert_allclose(math.pi * 40 - wrap_length_mm(40, 0.25), math.pi * 0.25, rtol=1e-12)


def test_half_a_turn_takes_half_the_length():
    assert_allclose(wrap_length_mm(30, 0.5, 180), wrap_length_mm(30, 0.5) / 2)


@pytest.mark.parametrize("diameter", [20, 25, 30, 35, 40, 60, 90, 150])
def test_half_turn_is_scored_fifty_times_at_least(diameter):
    """40 scores to the half turn show, 50 read as round (common practice, no source)."""
    plan = plan_scores(diameter, 0.25, 180.0)
    assert plan.count >= 50
    assert "read as round" in plan.advice
    assert "squashes" in plan.advice


def test_tower_that_would_need_closer_scores_than_card_holds_gets_none():
    """50 scores to the half turn of 18 mm lie 0.56 apart: card parts at less than 0.6."""
    plan = plan_scores(18, 0.25, 180.0)
    assert plan.count == 0
    assert "roll it unscored over a dowel" in plan.advice
    assert "squashes" in plan.advice


@pytest.mark.parametrize("diameter", [30, 40, 50])
def test_sagitta_agrees_with_the_table_of_segments(diameter):
    """Circle segments, Machinery's Handbook 31st ed. p. 83: h = r (1 - cos(a / 2))."""
    plan = plan_scores(diameter, 0.25)
    expected = diameter / 2 * (1 - math.cos(math.radians(plan.turn_deg) / 2))
    assert_allclose(plan.sagitta_mm, expected)
    # a hundred facets on 40 mm lie 9.9 micrometres inside (trade table); more lie closer
    assert plan.sagitta_mm < 0.0124


@given(st.floats(5, 300), st.floats(0.1, 0.6))
def test_scores_keep_both_limits_or_are_not_given(diameter, thickness):
    plan = plan_scores(diameter, thickness)
    if plan.count:
        assert plan.turn_deg <= 3.6 + 1e-9
        assert 0.6 - 1e-9 <= plan.spacing_mm <= 1.2 + 1e-9
        assert_allclose(plan.count * plan.spacing_mm, wrap_length_mm(diameter, thickness))
    else:
        assert wrap_length_mm(diameter, thickness) / 100 < 0.6
        assert "unscored" in plan.advice or "over a dowel" in plan.advice


@pytest.mark.parametrize(("thickness", "breaks"), [(0.45, False), (0.95, False), (2.0, True)])
def test_card_thicker_than_its_lines_are_apart_is_said(thickness, breaks):
    plan = plan_scores(40.0, thickness, 360.0)
    assert ("ribs break off" in plan.advice) == breaks


def test_thin_carcass_gets_its_formers_before_a_second_layer():
    assert "formers in before a second layer" in plan_scores(40, 0.5).advice
    assert "formers in before" not in plan_scores(40, 0.55).advice


def test_formers_fit_inside_the_layers():
    assert_allclose(former_diameter_mm(40, [0.2, 0.5], 0.1), 40 - 1.4 - 0.1)
    with pytest.raises(FieldError, match="no room for formers"):
        former_diameter_mm(3, [1.0], 0.1)


def test_formers_stand_at_both_ends_and_close_enough():
    levels = former_levels_mm(60)
    assert levels[0] == 0
    assert levels[-1] == 60
    assert max(b - a for a, b in itertools.pairwise(levels)) <= 28


def test_large_opening_springs_and_a_small_one_does_not():
    """A large opening cut before rolling springs outwards (common practice, no source)."""
    assert opening_springs(12, 36)
    assert not opening_springs(4, 36)


def test_strips_of_three_millimetres_can_be_laid():
    """Stone strips about 3 mm wide can be cut and laid by hand (common practice, no source)."""
    plan = plan_strips(60, 3, 36, 0.25, layers=2)
    assert plan.count == 20
    assert "cannot" not in plan.advice
    assert_allclose(plan.lengths_mm[1] - plan.lengths_mm[0], 2 * math.pi * 0.25)
    assert "print the courses flat" in plan_strips(60, 0.4, 36, 0.1).advice


@pytest.mark.parametrize(
    "arguments", [(0, 0.2), (40, 0), (40, -1), (1, 0.5), (math.nan, 0.2), (40, 0.2, 0)]
)
def test_impossible_wraps_are_refused(arguments):
    with pytest.raises(FieldError):
        wrap_length_mm(*arguments)


def test_materials_say_where_they_come_from():
    assert all(m.source and m.provenance for m in read_materials())
    assert find_material("mount-board").thickness_mm == 1.4
    with pytest.raises(FieldError, match="There are"):
        find_material("velvet")


def test_stack_of_ten_gives_one_sheet():
    thickness, u = sheet_thickness_mm(3.0)
    assert_allclose(thickness, 0.3)
    assert_allclose(u, 0.5 / math.sqrt(12) / 10)
    with pytest.raises(FieldError):
        sheet_thickness_mm(0)
