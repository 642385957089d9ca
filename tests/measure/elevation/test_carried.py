"""Details go where their wall goes when it is fitted to a plot."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from measure.elevation.carried import carried_details, place_maps
from measure.elevation.fit import fit_facade
from shared.survey_details import Detail
from shared.survey_drawing import PlotFit
from tests.support.facades import HEIGHT_MM, WIDTH_MM, small_front


def maps_of(**plot):
    choice = fit_facade(small_front(), 100.0, PlotFit.model_validate(plot))
    return *place_maps(small_front(), choice.facade), choice.facade


def test_nothing_moves_where_nothing_was_fitted():
    front = small_front()
    along, up = place_maps(front, front)
    assert (along(1234.5), up(-3.0)) == (1234.5, -3.0)


def test_the_middle_of_a_pier_stays_in_its_middle():
    along, up, after = maps_of(width_mm=80.0, choice="narrow-piers")
    g1, g2 = after.opening("g1"), after.opening("g2")
    assert along(2000.0) == pytest.approx((g1.right_mm + g2.left_mm) / 2.0)
    assert up(4321.0) == pytest.approx(4321.0)


def test_the_middle_of_an_opening_stays_in_its_middle():
    along, _, after = maps_of(width_mm=80.0, choice="narrow-piers")
    assert along(9000.0) == pytest.approx(after.opening("f5").centre_mm)


def test_beyond_the_wall_places_go_as_far_as_its_end():
    along, _, after = maps_of(width_mm=80.0, choice="narrow-piers")
    shorter = WIDTH_MM - after.wall_box.width_mm
    assert along(WIDTH_MM + 500.0) == pytest.approx(WIDTH_MM + 500.0 - shorter)


@given(st.floats(-2000.0, 12000.0), st.floats(-2000.0, 12000.0))
def test_order_along_the_wall_is_kept(one, other):
    along, _, _ = maps_of(width_mm=82.0, choice="fewer-bays")
    low, high = sorted((one, other))
    assert along(low) <= along(high) + 1e-9


def test_pipes_and_levels_in_millimetres_are_carried_and_names_are_not():
    along, up, _ = maps_of(height_mm=60.0, choice="lower-storeys")
    wishes = [
        {"kind": "rainwater-pipe", "at_mm": 2000, "foot": 100, "head": "eaves"},
        {"kind": "band", "foot": HEIGHT_MM, "head": "f1.sill"},
    ]
    details = [TypeAdapter(Detail).validate_python(wish) for wish in wishes]
    pipe, band = carried_details(details, along, up)
    assert (pipe.at_mm, pipe.head, band.head) == (2000.0, "eaves", "f1.sill")
    assert pipe.foot == pytest.approx(up(100.0))
    assert band.foot == pytest.approx(6000.0)
