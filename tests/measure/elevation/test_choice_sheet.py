"""The ways to fit a plot on one sheet."""

from itertools import combinations

import pytest

from measure.elevation.choice_sheet import NAMES, make_choice_sheet, ways_of
from measure.elevation.fit import list_choices
from measure.elevation.page import AREA_PAD_MM
from measure.elevation.paper import paper_named
from measure.elevation.primitives import Lettering, Stroke, box_around, box_of
from measure.elevation.sheet import make_frame
from tests.support.facades import alone, small_front, window
from tests.support.maltings_drawing import make_maltings_block

SCALE = 100.0  # the front is 100 by 70 mm


def sheet_for(width_mm, height_mm, facade=None, **more):
    facade = facade or small_front()
    choices = list_choices(facade, SCALE, width_mm=width_mm, height_mm=height_mm)
    return choices, make_choice_sheet(
        facade,
        SCALE,
        choices,
        make_maltings_block(SCALE),
        width_mm=width_mm,
        height_mm=height_mm,
        **more,
    )


def words_of(sheet):
    return [item.text for item in sheet.drawing_items if isinstance(item, Lettering)]


def test_every_choice_is_drawn_and_named_beside_the_elevation_as_it_is():
    choices, sheet = sheet_for(82.0, None)
    words = words_of(sheet)
    assert len(choices) == 3
    for kind in ("reduce", "fewer-bays", "narrow-piers"):
        assert f"{NAMES[kind]} ({kind})" in words
    assert "As it is" in words
    assert "100.0 × 70.0 mm at 1:100" in words
    outlines = [item for item in sheet.drawing_items if item.layer == "outline"]
    assert len(outlines) == 4


def test_costs_of_every_choice_are_written_out():
    choices, sheet = sheet_for(82.0, None)
    text = " ".join(words_of(sheet)).replace("\u202f", " ")
    for choice in choices:
        for cost in choice.costs:
            assert cost.replace("\u202f", " ") in text


@pytest.mark.parametrize("plot", [(82.0, None), (None, 60.0), (82.0, 60.0), (20.0, 30.0)])
@pytest.mark.parametrize("name", [None, "A3", "Letter"])
def test_pictures_and_words_stand_inside_the_frame_and_clear_of_each_other(plot, name):
    paper = paper_named(name) if name else None
    _, sheet = sheet_for(*plot, paper=paper)
    block = make_maltings_block(sheet.scale_denominator)
    area = make_frame(sheet.paper, block).area.grown(-AREA_PAD_MM + 1.0)
    assert area.contains(box_around(sheet.drawing_items))
    boxes = [box_of(item) for item in sheet.drawing_items if isinstance(item, Lettering)]
    assert not any(one.overlaps(other) for one, other in combinations(boxes, 2))
    drawn = [box_of(item) for item in sheet.drawing_items if isinstance(item, Stroke)]
    assert not any(box.overlaps(stroke) for box in boxes for stroke in drawn)


def test_pictures_are_at_the_scale_of_the_title_block():
    _, sheet = sheet_for(82.0, None)
    outlines = [item for item in sheet.drawing_items if item.layer == "outline"]
    widths = [box_of(item).grown(-item.width_mm / 2.0).width_mm for item in outlines]
    assert widths[0] == pytest.approx(10_000.0 / sheet.scale_denominator)
    # reduced to 82 of 100
    assert widths[1] == pytest.approx(0.82 * widths[0])


def test_the_plot_is_drawn_dashed_behind_every_picture():
    choices, sheet = sheet_for(82.0, 60.0)
    plots = [item for item in sheet.drawing_items if item.layer == "dimensions"]
    assert len(plots) == len(choices) + 1
    share = SCALE / sheet.scale_denominator
    for item in plots:
        box = box_of(item).grown(-item.width_mm / 2.0)
        assert (box.width_mm, box.height_mm) == pytest.approx((82.0 * share, 60.0 * share))
        assert item.line_kind == "dashed"


def test_a_door_below_the_wall_does_not_run_into_the_words():
    facade = alone(window("door", 5000.0, -900.0, height=2500.0))
    _, sheet = sheet_for(60.0, None, facade)
    texts = [box_of(i) for i in sheet.drawing_items if isinstance(i, Lettering)]
    doors = [box_of(i) for i in sheet.drawing_items if i.layer == "openings"]
    assert doors
    assert not any(text.overlaps(door) for text in texts for door in doors)


def test_ways_begin_with_the_elevation_as_it_is():
    assert [way.title for way in ways_of(small_front(), SCALE, [])] == ["As it is"]
