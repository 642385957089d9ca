"""Lettering on an elevation strikes through nothing."""

from dataclasses import replace
from itertools import combinations

import pytest

from measure.elevation.annotate import paper_primitives
from measure.elevation.draw_facade import draw_facade
from measure.elevation.drawing import Drawing, Text
from measure.elevation.facade import DrawnMark, DrawnOutline, DrawnSpan, Facade
from measure.elevation.labels import Label, Place, Room, boxes_of_label, first_free
from measure.elevation.path_geometry import Box
from measure.elevation.primitives import Lettering, box_of
from tests.support.facades import WIDTH_MM, alone, drawn, small_front, window

ONE = Label((("W1", 1.8),), "w1")


def drawing_of(facade: Facade, scale: float, **more) -> Drawing:
    return draw_facade(facade, scale, title="Pennywhistle Maltings", **more)


def names_on(drawing: Drawing, scale: float) -> dict[str, Box]:
    """Boxes of lettering in the notes, on paper."""
    found = {}
    for item in paper_primitives(drawing, scale):
        if isinstance(item, Lettering) and item.layer == "notes":
            found[item.text] = box_of(item)
    return found


def openings_on(facade: Facade, scale: float) -> dict[str, Box]:
    return {
        each.id: Box(*(edge / scale for edge in (each.left_mm, each.sill_mm, each.right_mm,
                                                 each.head_mm)))
        for each in facade.openings
    }  # fmt: skip


def row_of(count: int, spacing: float, **more) -> Facade:
    openings = tuple(window(f"w{n}", 1000.0 + spacing * n, 900.0, **more) for n in range(count))
    width = 2000.0 + spacing * (count - 1)
    outline = ((0.0, 0.0), (width, 0.0), (width, 4000.0), (0.0, 4000.0))
    return Facade(openings, (DrawnOutline("o1", outline),))


def test_label_takes_the_first_place_that_is_free():
    room = Room(100.0)
    room.take(Box(-5.0, -5.0, 5.0, 5.0))
    places = [Place((0.0, 0.0), (0.0, 0.0), 1.8), Place((0.0, 0.0), (0.0, 9.0), 1.8)]
    (text,) = first_free(ONE, places, (room,))
    assert text.offset_paper_mm == (0.0, 9.0)


def test_what_it_belongs_to_is_not_in_its_way():
    room = Room(100.0)
    room.take(Box(-5.0, -5.0, 5.0, 5.0), "w1")
    assert first_free(ONE, [Place((0.0, 0.0), (0.0, 0.0), 1.8)], (room,))


def test_a_second_label_does_not_stand_on_the_first():
    room = Room(100.0)
    place = Place((0.0, 0.0), (0.0, 0.0), 1.8)
    assert first_free(ONE, [place], (room,))
    assert first_free(ONE, [place], (room,)) == []


def test_without_a_free_place_a_label_is_left_out_or_takes_the_least_crowded():
    room = Room(100.0)
    room.take(Box(-50.0, -50.0, 50.0, 50.0))
    room.take(Box(-5.0, -5.0, 5.0, 5.0))
    places = [Place((0.0, 0.0), (0.0, 0.0), 1.8), Place((0.0, 0.0), (0.0, 20.0), 1.8)]
    assert first_free(ONE, places, (room,)) == []
    (text,) = first_free(ONE, places, (room,), always=True)
    assert text.offset_paper_mm == (0.0, 20.0)


def test_a_line_along_a_slope_is_taken_only_where_it_runs():
    room = Room(1.0)
    room.take_line((0.0, 0.0), (100.0, 100.0))
    assert room.covered_mm2([Box(40.0, 40.0, 60.0, 60.0)]) > 1.0
    assert room.covered_mm2([Box(60.0, 10.0, 90.0, 40.0)]) == 0.0


def test_places_given_back_are_free_again():
    room = Room(1.0)
    before = room.taken
    room.take(Box(0.0, 0.0, 1.0, 1.0))
    assert room.covered_mm2([Box(0.0, 0.0, 1.0, 1.0)]) == pytest.approx(1.0)
    room.free_from(before)
    assert room.covered_mm2([Box(0.0, 0.0, 1.0, 1.0)]) == 0.0


def test_boxes_of_a_label_are_those_of_its_lettering_on_paper():
    drawing = drawing_of(alone(window("w1", 3000.0, 900.0)), 100.0)
    (text,) = (item for item in drawing.items if isinstance(item, Text))
    place = Place(text.at_mm, text.offset_paper_mm, text.size_paper_mm)
    (box,) = boxes_of_label(Label((("w1", 1.8),)), place, 100.0)
    assert box == names_on(drawing, 100.0)["w1"]


@pytest.mark.parametrize("scale", [30.0, 76.0, 148.0, 220.0])
def test_names_stand_on_no_opening_but_their_own_and_not_on_each_other(scale):
    facade = row_of(6, 1900.0)
    names, openings = names_on(drawing_of(facade, scale), scale), openings_on(facade, scale)
    labels = [(name.lower(), box) for name, box in names.items() if "×" not in name]
    assert len(labels) == 6
    for name, box in labels:
        assert not any(box.overlaps(other) for id_, other in openings.items() if id_ != name)
    for one, other in combinations([box for _, box in labels], 2):
        assert not one.overlaps(other)


def test_name_of_a_small_round_window_stands_outside_of_it():
    oculus = replace(window("oculus", 5000.0, 4000.0, width=440.0, height=440.0), form="round")
    facade = alone(oculus)
    box = names_on(drawing_of(facade, 148.0), 148.0)["oculus"]
    assert not box.overlaps(openings_on(facade, 148.0)["oculus"])


def test_a_long_name_stands_upright_in_a_narrow_opening():
    facade = alone(window("stair-light", 5000.0, 900.0, width=700.0, height=3000.0))
    drawing = drawing_of(facade, 148.0)
    (text,) = (item for item in drawing.items if isinstance(item, Text))
    assert text.angle_rad == pytest.approx(1.5708, abs=1e-4)
    box = names_on(drawing, 148.0)["stair-light"]
    assert openings_on(facade, 148.0)["stair-light"].contains(box)


def test_name_under_a_door_does_not_run_into_the_dimensions_below():
    door = window("door", 5000.0, 0.0, width=1000.0, height=2100.0)
    span = DrawnSpan("b1", "spacing", ((4500.0, 0.0), (5500.0, 0.0)))
    facade = replace(alone(door), spans=(span,))
    details = drawn(facade, {"kind": "door-panels", "of": ["door"]})
    box = names_on(drawing_of(facade, 148.0, details=details), 148.0)["door"]
    assert box.bottom_mm > 0.0


def test_where_many_names_find_no_room_none_stands_outside_and_it_is_said():
    facade = row_of(40, 1500.0, height=1200.0)
    drawing = drawing_of(facade, 500.0)
    assert not [item for item in drawing.items if isinstance(item, Text)]
    assert drawing.remarks == (
        "40 openings have no room for a name at this scale: see the schedule.",
    )


def test_words_of_a_mark_do_not_stand_on_the_line_of_an_opening():
    facade = replace(
        small_front(), marks=(DrawnMark("r1", "set-back", (2500.0, 1500.0), "97 back", "right"),)
    )
    box = names_on(drawing_of(facade, 148.0), 148.0)["97 back"]
    for opening in openings_on(facade, 148.0).values():
        inside = opening.contains(box)
        assert inside or not box.overlaps(opening)


def test_value_of_a_sloping_dimension_moves_along_it_to_where_it_is_free():
    span = DrawnSpan("d1", "distance", ((500.0, 800.0), (WIDTH_MM - 500.0, 2600.0)))
    free = replace(alone(window("w9", 500.0, 5000.0, width=100.0)), spans=(span,), courses=())
    blocked = replace(free, openings=(window("w1", 5000.0, 900.0, width=1500.0, height=2200.0),))
    places = [
        next(item for item in drawing_of(facade, 100.0).items if getattr(item, "id", "") == "d1")
        for facade in (free, blocked)
    ]
    assert places[0].text_at == 0.5
    assert places[1].text_at != 0.5


def test_datum_does_not_cross_an_opening():
    facade = alone(window("door", 5000.0, -300.0, width=1000.0, height=2400.0))
    lines = [item.points_mm for item in drawing_of(facade, 100.0).items if item.layer == "datum"]
    assert lines == [((0.0, 0.0), (4500.0, 0.0)), ((5500.0, 0.0), (WIDTH_MM, 0.0))]


def test_names_beside_openings_stay_on_the_wall():
    facade = row_of(5, 1900.0)
    low = replace(facade.outlines[0], points_mm=tuple((u, min(v, 2600.0)) for u, v in
                                                      facade.outlines[0].points_mm))  # fmt: skip
    facade = replace(facade, outlines=(low,))
    details = drawn(facade, {"kind": "glazing-bars"})
    names = names_on(drawing_of(facade, 148.0, details=details), 148.0)
    wall = Box(0.0, 0.0, facade.wall_box.width_mm / 148.0, 2600.0 / 148.0)
    assert len(names) == 5
    assert all(wall.contains(box) for box in names.values())


def test_an_invented_opening_says_in_brackets_what_it_is_a_copy_of():
    twin = window("w1", 3000.0, 900.0).copied("w1@bay1").moved(3000.0)
    again = twin.copied("w1@bay1@mirrored").moved(-4000.0)
    drawing = drawing_of(alone(window("w1", 9000.0, 900.0), twin, again), 100.0)
    words = [item.text for item in drawing.items if isinstance(item, Text)]
    assert words == ["w1", "(w1)", "(w1)"]
    assert "w1@bay1" in {item.id for item in drawing.items if item.layer == "openings"}
