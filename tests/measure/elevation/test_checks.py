"""A facade looked over before it is cut."""

from dataclasses import replace

import pytest

from measure.elevation.checks import MOST_SAID, check_facade
from measure.elevation.facade import Facade
from tests.support.facades import alone, small_front, window


def test_a_sound_front_has_nothing_said_of_it():
    assert check_facade(small_front(), 100.0) == ()


def test_an_empty_facade_has_nothing_said_of_it():
    assert check_facade(Facade(), 100.0) == ()


def test_an_opening_past_the_outline_is_named():
    (said,) = check_facade(alone(window("w1", 300.0, 900.0)), 100.0)
    assert said == "Opening 'w1' reaches past the outline of the wall."


@pytest.mark.parametrize("over_mm", [0.0, 1.9])
def test_rounding_at_the_edge_of_the_wall_is_let_pass(over_mm):
    said = check_facade(alone(window("w1", 500.0 - over_mm, 900.0)), 100.0)
    assert not any("reaches past" in each for each in said)


def test_a_door_may_go_down_below_the_foot_of_the_wall():
    assert check_facade(alone(window("door", 5000.0, -150.0, height=2600.0)), 100.0) == ()


def test_openings_across_each_other_are_both_named():
    facade = alone(window("w1", 3000.0, 900.0), window("w2", 3500.0, 1200.0))
    (said,) = check_facade(facade, 100.0)
    assert said == "Openings 'w1' and 'w2' stand across each other."


def test_a_light_inside_a_loading_door_is_no_clash():
    light = window("light", 3000.0, 2000.0, width=600.0, height=400.0)
    assert check_facade(alone(window("door", 3000.0, 900.0), light), 100.0) == ()


def test_openings_that_only_touch_are_a_thin_pier_and_no_clash():
    facade = alone(window("w1", 3000.0, 900.0), window("w2", 4000.0, 900.0))
    (said,) = check_facade(facade, 100.0)
    assert said.startswith("The pier between 'w1' and 'w2' is 0 mm")


@pytest.mark.parametrize(("gap_mm", "thin"), [(99.0, True), (101.0, False)])
def test_a_pier_thinner_than_a_millimetre_of_the_model_is_named(gap_mm, thin):
    facade = alone(window("w1", 3000.0, 900.0), window("w2", 4000.0 + gap_mm, 900.0))
    said = check_facade(facade, 100.0)
    assert bool(said) is thin
    if thin:
        assert said == (
            "The pier between 'w1' and 'w2' is 99 mm, 1.0 mm on the model: less than 1 mm breaks "
            "in the cutting.",
        )


def test_openings_on_different_storeys_have_no_pier_between_them():
    facade = alone(window("w1", 3000.0, 900.0), window("w2", 4000.0, 3900.0))
    assert check_facade(facade, 100.0) == ()


def test_wall_at_the_ends_is_looked_at_too():
    facade = alone(window("w1", 550.0, 900.0), window("w2", 9460.0, 900.0))
    said = check_facade(facade, 100.0)
    assert [each.split(" is ")[0] for each in said] == [
        "The pier left of 'w1'",
        "The pier right of 'w2'",
    ]


def test_many_of_a_kind_are_summed_up():
    openings = [window(f"w{n}", 400.0, 900.0 + n * 2000.0) for n in range(MOST_SAID + 3)]
    tall = replace(alone(*openings), outlines=())
    assert check_facade(tall, 100.0) == ()
    said = check_facade(alone(*openings), 100.0)
    assert said[MOST_SAID] == "... and 3 more of the same kind."
    assert len(said) == MOST_SAID + 1
