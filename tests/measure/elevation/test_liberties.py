"""The table of what was not drawn as measured: places from the drawing's left edge."""

from dataclasses import replace

import numpy as np
import pytest

from measure.elevation.face_facade import left_edges
from measure.elevation.fit import fit_facade
from measure.elevation.liberties import (
    COLUMNS,
    Liberty,
    fitted,
    grown,
    invented,
    lined_up,
    moved_on,
    rows_of_table,
    text_of_liberties,
)
from measure.elevation.mirroring import Invented
from measure.elevation.repeating import repeat_bay
from measure.elevation.tidy import tidy, untidied
from shared.survey_drawing import PlotFit
from tests.support.facades import small_front
from tests.support.plain_numbers import plain_numbers

AWAY = 50_000.0  # the chart begins far from the wall
TWO = (
    ("w1", "flat", AWAY + 500.0, AWAY + 1500.0, 900.0, 2400.0, 2400.0),
    ("w2", "flat", AWAY + 2500.0, AWAY + 3504.0, 908.0, 2402.0, 2402.0),
)
CORNERS = ((0.0, 0.0), (4000.0, 0.0), (4008.0, 3000.0), (6.0, 3000.0))
WALL = tuple((AWAY + u, v) for u, v in CORNERS)


def liberties_of(numbers, extent_left=AWAY - 100.0):
    tidied = tidy(numbers)
    edges = left_edges(tidied.measured, tidied.numbers, extent_left)
    return {(each.id, each.part): each for each in lined_up(tidied, edges, 100.0)}


def test_a_sill_counts_from_the_datum_with_its_old_and_new_u():
    found = liberties_of(plain_numbers(TWO))
    sill = found["w1", "sill"]
    assert (sill.measured_mm, sill.drawn_mm) == pytest.approx((900.0, 904.0))
    assert (sill.u_measured_mm, sill.u_drawn_mm) == pytest.approx((5.0, 5.0 / np.sqrt(2.0)))
    assert (sill.moved_mm, sill.moved_model_mm) == pytest.approx((4.0, 0.04))
    assert sill.reason == "sill of w1, w2; height of w1, w2"


def test_jambs_and_corners_count_from_the_left_edge_of_the_outline():
    found = liberties_of(plain_numbers(TWO, outline=WALL))
    # both left corners are drawn 3 mm in, where the drawing now begins
    corner = found["o1", "corner 4 across"]
    assert (corner.measured_mm, corner.drawn_mm) == pytest.approx((6.0, 0.0))
    assert ("o1", "corner 1 across") not in found
    left = found["w1", "left"]
    # the width grows from 1000 to 1002, half of it to the left
    assert left.measured_mm == pytest.approx(500.0)
    assert left.drawn_mm == pytest.approx(496.0)
    right = found["o1", "corner 2 across"]
    assert (right.measured_mm, right.drawn_mm) == pytest.approx((4000.0, 4001.0))


def test_the_u_of_a_jamb_is_that_of_its_distance_from_the_edge():
    found = liberties_of(plain_numbers(TWO, outline=WALL))
    left = found["w1", "left"]
    assert left.u_measured_mm == pytest.approx(5.0 * np.sqrt(2.0))
    # the edge is the mean of two corners: 1/2; of the jamb a quarter went to the equal width
    assert left.u_drawn_mm == pytest.approx(5.0 * np.sqrt(0.75 + 0.5))


def test_a_wall_moved_as_a_whole_along_its_chart_has_moved_nowhere():
    numbers = plain_numbers(TWO, outline=WALL)
    sideways = [name.rpartition(".")[2] in ("left", "right", "u") for name in numbers.names]
    moved = replace(numbers, values=numbers.values + 100.0 * np.array(sideways))
    tidied = replace(untidied(numbers), numbers=moved)
    edges = left_edges(tidied.measured, tidied.numbers, AWAY)
    assert lined_up(tidied, edges, 100.0) == []


def test_without_an_outline_places_count_from_the_edge_of_what_was_picked():
    found = liberties_of(plain_numbers(TWO))
    right = found["w1", "right"]
    # the widths meet at 1002; the leftmost jamb stays 600 mm from the edge
    assert right.measured_mm == pytest.approx(1600.0)
    assert right.drawn_mm == pytest.approx(1602.0)
    assert right.u_measured_mm == pytest.approx(5.0 * np.sqrt(2.0))
    assert ("w1", "left") not in found


def test_what_did_not_move_is_not_listed():
    assert liberties_of(plain_numbers(TWO[:1])) == {}


def test_openings_pushed_along_are_listed_with_how_far():
    before = small_front()
    after = repeat_bay(before, ["f1", "g1"], 1, 2000.0, "right", True).facade
    found = {(each.id, each.part): each for each in moved_on(before, after, 100.0)}
    assert found["f5", "left"].moved_mm == pytest.approx(2000.0)
    assert found["f5", "left"].moved_model_mm == pytest.approx(20.0)
    assert ("f1", "left") not in found
    assert ("f5", "sill") not in found


def test_a_wall_that_grows_to_hold_copies_is_listed_with_how_far():
    before = small_front()
    after = repeat_bay(before, ["f4"], 2, 1000.0, "right", push=True).facade
    (found,) = grown(before, after, 100.0)
    assert (found.id, found.part) == (before.outlines[0].id, "width")
    # two copies push the end of the wall on by two spacings
    assert (found.moved_mm, found.moved_model_mm) == pytest.approx((2000.0, 20.0))
    assert grown(before, before, 100.0) == []


def test_openings_left_out_are_listed_as_such():
    before = small_front()
    plot = PlotFit(width_mm=82.0, choice="fewer-bays")
    choice = fit_facade(before, 100.0, plot)
    gone = {each.id for each in moved_on(before, choice.facade, 100.0) if each.part == "all"}
    assert gone == {"f5", "g5"}
    assert [each.reason for each in fitted(choice)] == list(choice.costs)
    assert fitted(None) == []


def test_levels_moved_by_stacking_are_listed():
    before = small_front()
    levels = tuple(replace(each, v_mm=each.v_mm + 3000.0) for each in before.levels)
    found = moved_on(before, replace(before, levels=levels), 100.0)
    assert {(each.id, each.moved_mm) for each in found} == {("eaves", 3000.0), ("string", 3000.0)}


def test_rows_have_the_header_first_and_plain_numbers():
    liberty = Liberty("w1", "sill", 900.0, 5.0, 904.0, None, 4.0, 0.027, "sill of w1, w2")
    header, row = rows_of_table([liberty])
    assert tuple(header) == COLUMNS
    assert row == ["w1", "sill", "900.00", "5.00", "904.00", "", "4.00", "0.0270", "sill of w1, w2"]


def test_text_lists_the_largest_move_first_then_what_was_invented_then_notes():
    small = Liberty("w1", "sill", 900.0, 5.0, 899.0, 3.0, -1.0, -0.01, "sill of w1, w2")
    large = Liberty("w2", "sill", 895.0, 5.0, 899.0, None, 4.0, 0.04, "sill of w1, w2")
    made = invented([Invented("w1@mirrored", "w1", "mirrored about 6 450 mm")])
    lines = text_of_liberties([small, large, *made], ["Look out."]).splitlines()
    assert lines == [
        "2 sizes are drawn other than measured, by 0.04 mm of the model at most:",
        "  w2 sill: 895.0 ± 5.0 mm is drawn 899.0 mm (+4.0 mm, +0.040 mm on the model): "
        "sill of w1, w2",
        "  w1 sill: 900.0 ± 5.0 mm is drawn 899.0 ± 3.0 mm (\N{MINUS SIGN}1.0 mm, "
        "\N{MINUS SIGN}0.010 mm on the model): sill of w1, w2",
        "  w1@mirrored: w1 mirrored about 6 450 mm",
        "  Note: Look out.",
    ]


def test_text_says_when_nothing_moved():
    assert text_of_liberties([]) == "Everything measured is drawn as it was measured.\n"


def test_text_says_what_the_ids_in_it_stand_for():
    moved = Liberty("w1", "sill", 900.0, 5.0, 899.0, 3.0, -1.0, -0.01, "level of w1.sill, w-2.sill")
    labels = {"w1": "Left window", "w-2": "Right window", "w": "Never named", "h1": ""}
    lines = text_of_liberties([moved], (), labels).splitlines()
    at = lines.index("What the short names stand for:")
    assert lines[at + 1 :] == ["  w1: Left window", "  w-2: Right window"]
