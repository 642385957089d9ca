"""Lines that the user drew elsewhere: they go there exactly, and nothing goes with them."""

from dataclasses import replace

import numpy as np
import pytest

from measure.elevation.face_facade import LeftEdge, left_edges
from measure.elevation.liberties import lined_up
from measure.elevation.moved_lines import move_lines
from measure.elevation.tidy import tidy, untidied
from shared.errors import FieldError
from shared.survey_drawing import MovedLine
from tests.support.plain_numbers import plain_numbers

AWAY = 50_000.0  # the chart begins far from the wall
ROWS = (
    ("w1", "flat", AWAY + 500.0, AWAY + 1500.0, 900.0, 2400.0, 2400.0),
    ("w2", "flat", AWAY + 2500.0, AWAY + 3504.0, 908.0, 2402.0, 2402.0),
    ("d1", "semicircular", AWAY + 4500.0, AWAY + 5700.0, 0.0, 2000.0, 2600.0),
    ("s1", "segmental", AWAY + 6500.0, AWAY + 7500.0, 900.0, 2200.0, 2400.0),
    ("r1", "round", AWAY + 8500.0, AWAY + 9300.0, 3000.0, 3800.0, 3800.0),
)
EDGE = LeftEdge(AWAY, None)


def numbers(**more):
    return plain_numbers(ROWS, levels=[("datum", 0.0), ("h1", 6000.0)], **more)


def level(*of, **where):
    return MovedLine(what="level", of=of, **where)


def plumb(*of, **where):
    return MovedLine(what="plumb", of=of, **where)


def moved(*wishes, tidied=None):
    """Every number that changed, and to what."""
    before = tidied or untidied(numbers())
    after = move_lines(before, wishes, EDGE).numbers
    pairs = zip(after.names, before.numbers.values, after.values, strict=True)
    return {name: float(new) for name, old, new in pairs if new != old}


def test_a_level_goes_where_it_is_put_and_takes_nothing_along():
    """Not even what is correlated with it: a liberty says nothing of the building."""
    common = numbers()
    cov = common.cov + 400.0  # one common error, as an unsure scale makes it
    tidied = tidy(replace(common, cov=cov))
    wishes = level("w1.sill", "w2.sill", to_mm=950.0)
    assert moved(wishes, tidied=tidied) == {"w1.sill": 950.0, "w2.sill": 950.0}


def test_a_plumb_line_counts_from_the_left_edge():
    assert moved(plumb("w1.left", to_mm=450.0)) == {"w1.left": AWAY + 450.0}


def test_a_line_is_put_onto_another():
    assert moved(level("w1.head", onto="h1.level")) == {"w1.head": 6000.0}


def test_lines_put_onto_one_that_is_moved_go_with_it_whatever_their_order():
    found = moved(level("w1.head", onto="w2.head"), level("w2.head", to_mm=2500.0))
    assert found == {"w1.head": 2500.0, "w2.head": 2500.0}


@pytest.mark.parametrize(
    ("wish", "wanted"),
    [
        (level("s1.head", to_mm=2450.0), {"s1.head": 2450.0, "s1.springing": 2250.0}),
        (level("s1.springing", to_mm=2150.0), {"s1.springing": 2150.0, "s1.head": 2350.0}),
        (level("d1.head", to_mm=2700.0), {"d1.head": 2700.0, "d1.springing": 2100.0}),
        (plumb("d1.right", to_mm=5900.0), {"d1.right": AWAY + 5900.0, "d1.head": 2700.0}),
        (level("r1.sill", to_mm=3100.0), {"r1.sill": 3100.0, "r1.head": 3900.0}),
        (plumb("r1.left", to_mm=8400.0), {"r1.left": AWAY + 8400.0, "r1.right": AWAY + 9200.0}),
    ],
    ids=["rise of a head", "rise of a springing", "half circle", "wider", "round up", "round"],
)
def test_an_opening_keeps_its_form(wish, wanted):
    assert moved(wish) == pytest.approx(wanted)


def test_what_was_moved_is_exact_from_where_it_counts():
    after = move_lines(untidied(numbers()), [level("w1.sill", to_mm=950.0)], EDGE).numbers
    assert after.u("w1.sill") == 0.0
    # the height keeps the ± of the head alone: 5 mm
    assert after.u_of_difference(after.place("w1.head"), after.place("w1.sill")) == 5.0


def test_a_moved_jamb_is_exact_from_an_edge_that_is_unsure_itself():
    corners = [(AWAY, 0.0), (AWAY + 9500.0, 0.0), (AWAY + 9500.0, 6000.0), (AWAY, 6000.0)]
    before = untidied(numbers(outline=corners))
    edge = left_edges(before.measured, before.numbers, 0.0)[1]
    after = move_lines(before, [plumb("w1.left", to_mm=450.0)], edge).numbers
    assert after.u_of_difference(after.place("w1.left"), edge.column) == 0.0
    assert np.linalg.eigvalsh(after.cov).min() >= -1e-9


def test_a_moved_line_is_a_liberty_with_its_reason():
    tidied = move_lines(untidied(numbers()), [level("w1.sill", to_mm=950.0)], EDGE)
    found = {(each.id, each.part): each for each in lined_up(tidied, (EDGE, EDGE), 100.0)}
    sill = found["w1", "sill"]
    assert (sill.moved_mm, sill.moved_model_mm, sill.u_drawn_mm) == (50.0, 0.5, 0.0)
    assert sill.reason == "moved to 950.0 mm, as asked"
    assert found["w1", "height"].reason == "moved to 950.0 mm, as asked"
    assert {id_ for id_, _ in found} == {"w1"}


@pytest.mark.parametrize(
    ("wishes", "sentence"),
    [
        ([level("w9.sill", to_mm=1.0)], "no level line 'w9.sill'"),
        ([level("w1.left", to_mm=1.0)], "no level line 'w1.left'"),
        ([plumb("w1.left", onto="w9.left")], "no plumb line 'w9.left'"),
        ([level("datum.level", to_mm=5.0)], "datum cannot be moved"),
        ([level("w1.sill", to_mm=2400.0)], "'w1' has no height left"),
        ([level("s1.sill", to_mm=2300.0)], "'s1' has no height left"),
        ([plumb("w1.left", to_mm=1600.0)], "'w1' has no width left"),
        (
            [level("d1.head", to_mm=2700.0), level("d1.springing", to_mm=2000.0)],
            "'d1' is no longer semicircular",
        ),
        (
            [level("r1.head", to_mm=4000.0), level("r1.sill", to_mm=3000.0)],
            "'r1' is no longer round",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(wishes, sentence):
    with pytest.raises(FieldError, match=sentence) as refusal:
        move_lines(untidied(numbers()), wishes, EDGE)
    assert refusal.value.hint


@pytest.mark.parametrize("where", [{}, {"to_mm": 1.0, "onto": "w2.sill"}, {"onto": "w1.sill"}])
def test_a_moved_line_has_one_place_and_it_is_not_its_own(where):
    with pytest.raises(ValueError, match=r"one place|onto itself"):
        level("w1.sill", **where)
