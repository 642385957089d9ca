from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measure.elevation.fit import doors_of, fit_facade, list_choices
from measure.elevation.wall_strips import strips_along, strips_up
from shared.errors import FieldError
from shared.survey_drawing import PlotFit
from tests.support.facades import HEIGHT_MM, WIDTH_MM, small_front, window

SCALE = 100.0  # 100 by 70 mm, the door 12 by 26


def fitted(**plot: object):
    return fit_facade(small_front(), SCALE, PlotFit.model_validate(plot))


def sizes(facade) -> dict[str, tuple[float, float]]:
    return {o.id: (round(o.width_mm, 6), round(o.height_mm, 6)) for o in facade.openings}


def test_strips_of_the_front_are_its_bays_and_its_rows() -> None:
    facade = small_front()
    bays = strips_along(facade.openings, 0.0, WIDTH_MM)
    assert [round(strip.low_mm) for strip in bays.strips] == [500, 2500, 4400, 6500, 8500]
    # 500 + 1000 + 900 + 900 + 1000 + 500
    assert bays.solid_mm == pytest.approx(4800.0)
    rows = strips_up(facade.openings, 0.0, HEIGHT_MM)
    assert [(r.low_mm, r.high_mm) for r in rows.strips] == [(0.0, 2600.0), (3900.0, 5400.0)]


def test_what_fits_needs_no_choice() -> None:
    assert fitted(width_mm=100.0, height_mm=70.0, choice="reduce") is None
    assert list_choices(small_front(), SCALE, width_mm=101.0) == []


def test_reducing_says_what_becomes_of_door_and_course() -> None:
    choice = fitted(width_mm=80.0, choice="reduce", keep_true=False)
    assert choice.denominator == pytest.approx(125.0)
    assert (choice.width_model_mm, choice.height_model_mm) == pytest.approx((80.0, 56.0))
    assert not choice.door_true
    text = " ".join(choice.costs)
    assert "20.8 mm high instead of 26.0 mm" in text
    assert "0.60 mm instead of 0.75 mm" in text


def test_leaving_out_bays_takes_twins_far_from_the_door() -> None:
    choice = fitted(width_mm=82.0, choice="fewer-bays")
    gone = set(sizes(small_front())) - set(sizes(choice.facade))
    assert gone == {"g5", "f5"}
    assert choice.width_model_mm == pytest.approx(80.0)
    assert "1 of 5 bays left out" in choice.costs[0]
    assert "No longer the real building: it has 5 bays, this has 4" in choice.costs[1]


def test_the_bay_with_the_door_stays() -> None:
    choice = fitted(width_mm=25.0, choice="fewer-bays")
    assert {each.id for each in choice.facade.openings} == {"door", "f3"}


def test_narrow_piers_fill_the_plot_exactly_and_keep_every_opening() -> None:
    choice = fitted(width_mm=80.0, choice="narrow-piers")
    assert choice.width_model_mm == pytest.approx(80.0)
    assert sizes(choice.facade) == sizes(small_front())
    # 4800 of solid wall become 2800
    assert "0.58 of its width" in choice.costs[0]
    assert "piers are 2\u202f000 mm wider in sum" in choice.costs[1]


def test_lower_storeys_keep_openings_and_the_gauge_of_courses() -> None:
    choice = fitted(height_mm=60.0, choice="lower-storeys")
    assert choice.height_model_mm == pytest.approx(60.0)
    assert sizes(choice.facade) == sizes(small_front())
    joints = choice.facade.courses[0].joints_mm
    assert joints[1] - joints[0] == pytest.approx(75.0)


def test_fewer_storeys_keep_the_one_with_the_door() -> None:
    choice = fitted(height_mm=45.0, choice="fewer-storeys")
    assert {each.id for each in choice.facade.openings} == {"g1", "g2", "door", "g4", "g5"}
    # the upper row and the wall below it, 5400 - 2600, are gone
    assert choice.height_model_mm == pytest.approx(42.0)


def test_both_ways_too_large_are_both_met() -> None:
    choice = fitted(width_mm=80.0, height_mm=60.0, choice="narrow-piers")
    assert choice.width_model_mm == pytest.approx(80.0)
    assert choice.height_model_mm == pytest.approx(60.0)
    assert len(choice.costs) == 4


def test_choices_are_listed_each_with_its_cost() -> None:
    choices = list_choices(small_front(), SCALE, width_mm=80.0)
    assert [choice.kind for choice in choices] == ["reduce", "fewer-bays", "narrow-piers"]
    assert all(choice.costs for choice in choices)


def test_door_and_course_kept_true_leave_no_reduction() -> None:
    choices = list_choices(small_front(), SCALE, width_mm=80.0, keep_true=True)
    assert [choice.kind for choice in choices] == ["fewer-bays", "narrow-piers"]
    assert all(choice.door_true for choice in choices)
    with pytest.raises(FieldError, match="kept true"):
        fitted(width_mm=80.0, choice="reduce", keep_true=True)


@pytest.mark.parametrize(
    ("plot", "words"),
    [
        ({"width_mm": 11.0, "choice": "reduce"}, "narrower than opening 'door'"),
        ({"height_mm": 25.0, "choice": "fewer-storeys"}, "lower than opening 'door'"),
        ({"width_mm": 12.1, "choice": "fewer-bays"}, "Leaving out bays does not fit"),
        ({"width_mm": 54.0, "choice": "narrow-piers"}, "cannot be cut"),
        ({"width_mm": 80.0, "choice": "lower-storeys"}, "not too high for its plot"),
    ],
)
def test_plot_that_cannot_be_met_is_one_sentence(plot: dict, words: str) -> None:
    with pytest.raises(FieldError) as refusal:
        fitted(**plot)
    assert words in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_front_without_a_door_takes_its_lowest_openings() -> None:
    facade = replace(small_front(), openings=(window("w1", 900, 800), window("w2", 4000, 4000)))
    assert [each.id for each in doors_of(facade)] == ["w1"]


@given(st.floats(0.05, 1.0))
def test_narrowing_keeps_order_and_openings(factor: float) -> None:
    facade = small_front()
    strips = strips_along(facade.openings, 0.0, WIDTH_MM)
    moved = strips.narrowed(factor)
    for each in facade.openings:
        assert moved(each.right_mm) - moved(each.left_mm) == pytest.approx(each.width_mm)
    places = [moved(u) for u in range(-200, 10400, 50)]
    assert all(a <= b + 1e-9 for a, b in pairwise(places))
    assert moved(WIDTH_MM) - moved(0.0) == pytest.approx(WIDTH_MM - (1 - factor) * strips.solid_mm)
