"""A facade as items of a drawing."""

from dataclasses import replace

import pytest

from measure.elevation.annotate import paper_primitives
from measure.elevation.draw_facade import draw_facade, ghost_items
from measure.elevation.drawing import Dimension, Drawing, LevelMark, Path, Polyline, Text
from measure.elevation.facade import DrawnLevel, DrawnMark, DrawnOutline, DrawnSpan, Facade
from measure.elevation.primitives import Stroke
from tests.support.facades import HEIGHT_MM, WIDTH_MM, alone, drawn, small_front, window


def drawing_of(facade: Facade, scale: float = 100.0, **more) -> Drawing:
    return draw_facade(facade, scale, title="Pennywhistle Maltings", **more)


def of_kind(drawing: Drawing, kind: type, layer: str | None = None) -> list:
    items = [item for item in drawing.items if isinstance(item, kind)]
    return [item for item in items if layer is None or item.layer == layer]


def test_outline_and_openings_bear_the_ids_of_their_measures():
    drawing = drawing_of(small_front())
    assert drawing.items[0] == Polyline(
        "outline", small_front().outlines[0].points_mm, closed=True, id="o1"
    )
    names = {item.id for item in of_kind(drawing, Path, "openings")}
    assert names == {each.id for each in small_front().openings}


def test_an_untitled_building_is_called_so():
    assert draw_facade(small_front(), 100.0, title="").title == "Untitled building"


def test_wall_is_dimensioned_as_a_whole():
    found = of_kind(drawing_of(small_front()), Dimension)
    sizes = {item.direction: item.text for item in found if item.id is None}
    assert sizes == {"horizontal": "10\u202f000", "vertical": "7\u202f000"}


def test_a_wall_without_an_outline_has_no_size_of_its_own():
    drawing = drawing_of(replace(small_front(), outlines=()))
    assert not of_kind(drawing, Polyline, "outline")
    assert all(item.id is not None for item in of_kind(drawing, Dimension))


@pytest.mark.parametrize(
    ("edges", "in_brackets"),
    [
        pytest.param({1}, {"horizontal"}, id="right side"),
        pytest.param({0}, {"vertical"}, id="foot"),
        pytest.param({1, 2}, {"horizontal", "vertical"}, id="right side and top"),
        pytest.param(set(), set(), id="all measured"),
    ],
)
def test_size_of_a_wall_up_to_an_inferred_edge_is_in_brackets(edges, in_brackets):
    outline = replace(small_front().outlines[0], inferred_edges=frozenset(edges))
    drawing = drawing_of(replace(small_front(), outlines=(outline,)))
    own = [item for item in of_kind(drawing, Dimension) if item.id is None]
    assert {item.direction for item in own if item.inferred} == in_brackets


def test_second_outline_is_a_band():
    extra = DrawnOutline("o2", ((0.0, 3000.0), (WIDTH_MM, 3000.0), (WIDTH_MM, 3200.0)))
    facade = replace(small_front(), outlines=(*small_front().outlines, extra))
    assert [item.id for item in of_kind(drawing_of(facade), Polyline, "bands")] == ["o2"]


def test_each_level_is_marked_once_the_datum_first():
    marks = of_kind(drawing_of(small_front()), LevelMark)
    assert [mark.text for mark in marks] == [
        "datum ±0",
        "eaves +6\u202f900",
        "string +3\u202f200",
        "sill +900",
        "head +2\u202f400",
        "head +2\u202f600",
        "sill +3\u202f900",
        "head +5\u202f400",
    ]
    assert {mark.u_mm for mark in marks} == {WIDTH_MM}


def test_levels_closer_than_the_lettering_share_a_mark_at_small_scales():
    facade = replace(small_front(), levels=(DrawnLevel("eaves", "", 950.0, 6.0),))
    near = [mark.text for mark in of_kind(drawing_of(facade), LevelMark)]
    assert "eaves +950" in near
    assert "sill +900" not in near
    assert "sill +900" in [m.text for m in of_kind(drawing_of(facade, 10.0), LevelMark)]


def test_a_roomy_opening_says_its_name_and_size():
    drawing = drawing_of(alone(window("w1", 3000.0, 900.0)), 20.0)
    assert [item.text for item in of_kind(drawing, Text)] == ["W1", "1\u202f000 × 1\u202f500"]


def test_a_narrow_opening_says_its_id_alone():
    drawing = drawing_of(alone(window("w1", 3000.0, 900.0)), 100.0)
    assert [item.text for item in of_kind(drawing, Text)] == ["w1"]


def test_size_of_an_invented_opening_is_in_brackets_and_its_lines_are_inferred():
    twin = window("w1", 3000.0, 900.0).copied("w1@mirrored")
    drawing = drawing_of(alone(twin), 20.0)
    assert of_kind(drawing, Text)[1].text == "(1\u202f000 × 1\u202f500)"
    assert [item.inferred for item in of_kind(drawing, Path, "openings")] == [True]


def test_words_of_a_glazed_opening_stand_under_its_sill_stone():
    facade = alone(window("w1", 3000.0, 900.0))
    details = drawn(facade, {"kind": "sills", "height_mm": 120}, {"kind": "glazing-bars"})
    (text,) = of_kind(drawing_of(facade, details=details), Text)
    assert text.at_mm == (3000.0, 900.0 - 120.0)
    assert text.offset_paper_mm[1] < 0.0


def test_courses_are_drawn_beside_openings_and_dimensioned():
    drawing = drawing_of(alone(window("w1", 3000.0, 500.0)))
    lines = of_kind(drawing, Polyline, "courses")
    at_600 = sorted(item.points_mm for item in lines if item.points_mm[0][1] == 600.0)
    assert at_600 == [((0.0, 600.0), (2500.0, 600.0)), ((3500.0, 600.0), (WIDTH_MM, 600.0))]
    assert "12 × 75.0" in [item.text for item in of_kind(drawing, Dimension)]


def test_course_lines_that_were_asked_for_replace_those_measured():
    facade = alone(window("w1", 3000.0, 500.0))
    details = drawn(facade, {"kind": "course-lines", "gauge_mm": 75})
    lines = of_kind(drawing_of(facade, details=details), Polyline, "courses")
    assert len(lines) == sum(item.layer == "courses" for item in details)


@pytest.mark.parametrize(
    ("end", "direction"),
    [
        ((5000.0, 1010.0), "horizontal"),
        ((1010.0, 5000.0), "vertical"),
        ((4000.0, 4000.0), "aligned"),
    ],
)
def test_distance_is_dimensioned_the_way_it_runs(end, direction):
    span = DrawnSpan("d9", "distance", ((1000.0, 1000.0), end))
    drawing = drawing_of(replace(small_front(), spans=(span,)))
    (found,) = (item for item in of_kind(drawing, Dimension) if item.id == "d9")
    assert found.direction == direction


def test_spacings_are_dimensioned_along_the_foot_of_the_wall():
    span = DrawnSpan("b1", "spacing", ((5000.0, 900.0), (1000.0, 905.0), (3000.0, 902.0)))
    drawing = drawing_of(replace(small_front(), spans=(span,)))
    found = [item for item in of_kind(drawing, Dimension) if item.id == "b1"]
    assert [(item.start_mm, item.end_mm, item.text) for item in found] == [
        ((1000.0, 0.0), (3000.0, 0.0), "2\u202f000"),
        ((3000.0, 0.0), (5000.0, 0.0), "2\u202f000"),
    ]


def test_marks_stand_on_their_side():
    marks = (
        DrawnMark("a1", "arc", (5000.0, 2600.0), "R 600"),
        DrawnMark("s1", "slope", (2000.0, 7000.0), "45.0°", "left"),
    )
    drawing = drawing_of(replace(small_front(), marks=marks, spans=()))
    texts = {item.text: item for item in of_kind(drawing, Text)}
    assert (texts["R 600"].id, texts["R 600"].horizontal) == ("a1", "centre")
    assert (texts["45.0°"].horizontal, texts["45.0°"].size_paper_mm) == ("right", 2.5)


def test_ghost_is_drawn_without_ids_on_the_layer_of_places_as_picked():
    ghost = alone(window("w1", 3004.0, 905.0))
    drawing = drawing_of(alone(window("w1", 3000.0, 900.0)), ghost=ghost)
    found = [item for item in drawing.items if item.layer == "as-picked"]
    assert found == ghost_items(ghost)
    assert len(found) == 2
    assert all(item.id is None for item in found)
    (layer,) = (layer for layer in drawing.layers if layer.name == "as-picked")
    assert not layer.shown


def test_inferred_edges_of_an_outline_are_dashed_and_the_others_are_not():
    outline = replace(small_front().outlines[0], inferred_edges=frozenset({1}))
    drawing = drawing_of(replace(small_front(), outlines=(outline,)))
    strokes = [
        item
        for item in paper_primitives(drawing, 100.0)
        if isinstance(item, Stroke) and item.layer == "outline"
    ]
    assert [(item.id, item.inferred, len(item.segments)) for item in strokes] == [
        ("o1", False, 3),
        (None, True, 1),
    ]
    assert strokes[0].start_mm == (WIDTH_MM / 100.0, HEIGHT_MM / 100.0)
    assert strokes[1].line_kind == "dashed"


def test_an_outline_inferred_all_round_is_dashed_in_one_piece():
    outline = replace(small_front().outlines[0], inferred_edges=frozenset(range(4)))
    drawing = drawing_of(replace(small_front(), outlines=(outline,)))
    (stroke,) = (
        item
        for item in paper_primitives(drawing, 100.0)
        if isinstance(item, Stroke) and item.layer == "outline"
    )
    assert (stroke.id, stroke.closed, stroke.inferred) == ("o1", True, True)
