"""Walls continued down to what stands below their outline."""

from dataclasses import replace

import pytest
from pydantic import TypeAdapter

from measure.elevation.facade import DrawnOutline
from measure.elevation.foot import continue_down
from shared.survey_details import Detail
from tests.support.facades import small_front, window

PLINTH = {"kind": "plinth", "foot": -450.0, "head": 0.0}


def front_with(*openings, points=None):
    front = small_front()
    outlines = front.outlines
    if points is not None:
        outlines = (DrawnOutline("o1", tuple((float(u), float(v)) for u, v in points)),)
    return replace(front, openings=(*front.openings, *openings), outlines=outlines)


def details(*wishes):
    return [TypeAdapter(Detail).validate_python(wish) for wish in wishes]


def test_wall_goes_down_to_the_foot_of_its_lowest_door():
    facade, continued = continue_down(front_with(window("cart", 3000.0, -600.0, height=2500.0)))
    assert facade.wall_box.bottom_mm == -600.0
    assert continued.how == "continued 600 mm down to the foot of 'cart'"


def test_wall_goes_down_to_the_foot_of_its_plinth():
    facade, continued = continue_down(small_front(), details(PLINTH))
    assert facade.wall_box.bottom_mm == -450.0
    assert continued.to == "the plinth"


def test_a_plinth_may_start_at_a_named_level():
    plinth = {"kind": "plinth", "foot": "cart.sill", "head": "datum"}
    door = window("cart", 3000.0, -600.0, height=2500.0)
    assert continue_down(front_with(door), details(plinth))[0].wall_box.bottom_mm == -600.0


def test_just_what_was_added_is_inferred():
    facade, _ = continue_down(small_front(), details(PLINTH))
    outline = facade.outlines[0]
    inferred = {
        frozenset((outline.points_mm[at], outline.points_mm[(at + 1) % len(outline.points_mm)]))
        for at in outline.inferred_edges
    }
    left, right = (0.0, -450.0), (10000.0, -450.0)
    assert inferred == {
        frozenset(((0.0, 0.0), left)),
        frozenset((left, right)),
        frozenset((right, (10000.0, 0.0))),
    }


@pytest.mark.parametrize("turn", [1, -1])
def test_either_direction_of_picking_gives_the_same_wall(turn):
    points = small_front().outlines[0].points_mm[::turn]
    facade, _ = continue_down(front_with(points=points), details(PLINTH))
    assert set(facade.outlines[0].points_mm) >= {(0.0, -450.0), (10000.0, -450.0)}


def test_eaves_that_reach_over_the_wall_stay_where_they_are():
    points = ((0, 0), (10000, 0), (10000, 6800), (10300, 7000), (-300, 7000), (0, 6800))
    facade, _ = continue_down(front_with(points=points), details(PLINTH))
    assert {u for u, v in facade.outlines[0].points_mm if v < 0} == {0.0, 10000.0}


def test_only_the_lower_part_of_a_stepped_foot_goes_down():
    points = ((0, 300), (4000, 300), (4000, 0), (10000, 0), (10000, 7000), (0, 7000))
    facade, _ = continue_down(front_with(points=points), details(PLINTH))
    assert {u for u, v in facade.outlines[0].points_mm if v < 0} == {4000.0, 10000.0}


def test_a_sloping_foot_goes_down_over_its_whole_width():
    points = ((0, 500), (5000, 200), (10000, 0), (10000, 7000), (0, 7000))
    facade, _ = continue_down(front_with(points=points), details(PLINTH))
    assert facade.outlines[0].points_mm == (
        (0.0, 500.0),
        (0.0, -450.0),
        (10000.0, -450.0),
        (10000.0, 0.0),
        (10000.0, 7000.0),
        (0.0, 7000.0),
    )


@pytest.mark.parametrize(
    "facade",
    [
        pytest.param(small_front(), id="nothing below"),
        pytest.param(replace(small_front(), outlines=()), id="no outline"),
        pytest.param(front_with(window("low", 3000.0, -1.5)), id="rounding of picks"),
        pytest.param(front_with(window("off", 12000.0, -600.0)), id="beside the wall"),
        pytest.param(
            front_with(
                window("cart", 3000.0, -600.0),
                points=((0.0, 0.0), (10000.0, 7000.0), (10000.0, 0.0), (0.0, 7000.0)),
            ),
            id="a crossed outline",
        ),
    ],
)
def test_wall_stays_as_it_is(facade):
    same, continued = continue_down(facade)
    assert same is facade
    assert continued is None
