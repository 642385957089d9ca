import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.elevation.annotate import paper_primitives
from measure.elevation.drawing import ELEVATION_LAYERS, Drawing, Polyline
from measure.elevation.page import make_sheets
from measure.elevation.paper import paper_named
from measure.elevation.path_geometry import Box
from measure.elevation.primitives import Fill, Lettering, box_around, box_of
from measure.elevation.tiling import CROSS_MM, lay_tiles, register_marks
from measure.elevation.title_block import JOIN_NOTE
from shared.errors import FieldError
from tests.support.maltings_drawing import make_maltings_block, make_maltings_drawing

A4 = [paper_named("A4")]


def large_sheets(**wishes):
    return make_sheets(make_maltings_drawing(), make_maltings_block(20.0), papers=A4, **wishes)


def crosses(sheet):
    """Places of the crosses in the drawing's own coordinates, by letter."""
    dx, dy = sheet.origin_mm
    return {
        item.text: (item.at_mm[0] - dx, item.at_mm[1] - dy)
        for item in sheet.sheet_items
        if isinstance(item, Lettering) and item.layer == "register"
    }


@settings(deadline=None, max_examples=50)
@given(
    width=st.floats(1.0, 1200.0),
    height=st.floats(1.0, 1200.0),
    area_width=st.floats(60.0, 260.0),
    area_height=st.floats(60.0, 260.0),
    overlap=st.floats(10.0, 25.0),
)
def test_windows_cover_the_whole_drawing_and_neighbours_overlap(
    width, height, area_width, area_height, overlap
):
    content = Box(-50.0, 20.0, -50.0 + width, 20.0 + height)
    tiling = lay_tiles(content, Box(0.0, 0.0, area_width, area_height), overlap)
    windows = {(tile.column, tile.row): tile.window for tile in tiling.tiles()}
    assert len(windows) == tiling.count
    assert box_around_boxes_of(windows.values()).contains(content, slack_mm=1e-6)
    for (column, row), window in windows.items():
        assert_allclose((window.width_mm, window.height_mm), (area_width, area_height))
        if (column + 1, row) in windows:
            beside = windows[column + 1, row]
            assert_allclose(window.right_mm - beside.left_mm, overlap)
        if (column, row + 1) in windows:
            below = windows[column, row + 1]
            assert_allclose(below.top_mm - window.bottom_mm, overlap)


def box_around_boxes_of(boxes):
    boxes = list(boxes)
    return Box(
        min(box.left_mm for box in boxes),
        min(box.bottom_mm for box in boxes),
        max(box.right_mm for box in boxes),
        max(box.top_mm for box in boxes),
    )


def test_drawing_that_just_fits_takes_one_window():
    area = Box(0.0, 0.0, 200.0, 100.0)
    assert lay_tiles(Box(0.0, 0.0, 200.0, 100.0), area, 14.0).count == 1
    assert lay_tiles(Box(0.0, 0.0, 200.1, 100.0), area, 14.0).count == 2
    assert lay_tiles(Box(0.0, 0.0, 386.0, 100.0), area, 14.0).count == 2
    assert lay_tiles(Box(0.0, 0.0, 386.1, 100.0), area, 14.0).count == 3


@pytest.mark.parametrize(("overlap", "said"), [(9.9, "10"), (float("nan"), "10"), (60.0, "half")])
def test_overlap_without_room_for_crosses_or_without_end_is_refused(overlap, said):
    with pytest.raises(FieldError, match=said):
        lay_tiles(Box(0, 0, 500, 500), Box(0, 0, 100, 100), overlap)


def test_every_seam_has_two_crosses_that_both_its_sheets_show():
    tiling = lay_tiles(Box(0, 0, 600, 400), Box(0, 0, 250, 150), 14.0)
    marks = register_marks(tiling)
    windows = {(tile.column, tile.row): tile.window for tile in tiling.tiles()}
    assert len({mark.letters for mark in marks}) == len(marks)
    for (column, row), window in windows.items():
        for neighbour in ((column + 1, row), (column, row + 1)):
            if neighbour in windows:
                shared = [
                    mark
                    for mark in marks
                    if window.contains(mark.box) and windows[neighbour].contains(mark.box)
                ]
                assert len(shared) >= 2


def test_every_drawn_item_is_whole_or_in_parts_on_the_sheets():
    drawing = make_maltings_drawing()
    items = paper_primitives(drawing, 20.0)
    sheets = large_sheets()
    assert len(sheets) > 3
    windows = [sheet.window.moved(-sheet.origin_mm[0], -sheet.origin_mm[1]) for sheet in sheets]
    assert box_around_boxes_of(windows).contains(box_around(items))
    for item in items:
        shown = [window for window in windows if window.overlaps(box_of(item))]
        assert shown
    counted = sum(len(sheet.drawing_items) for sheet in sheets)
    assert counted >= len(items)


def test_same_cross_stands_at_the_same_place_of_the_building_on_each_sheet():
    seen = {}
    for sheet in large_sheets():
        for letter, place in crosses(sheet).items():
            seen.setdefault(letter, []).append(place)
    assert len(seen) >= 4
    for places in seen.values():
        assert len(places) >= 2
        for place in places[1:]:
            assert_allclose(place, places[0], atol=1e-9)


def test_crosses_lie_inside_the_window_far_from_the_edges_of_the_paper():
    for sheet in large_sheets():
        for item in sheet.sheet_items:
            if getattr(item, "layer", "") == "register" and not isinstance(item, Lettering):
                assert sheet.window.grown(0.1).contains(box_of(item))
                assert min(box_of(item).width_mm, box_of(item).height_mm) < CROSS_MM
        assert sheet.window.left_mm > 10.0
        assert sheet.window.bottom_mm > 10.0


def test_sheets_are_numbered_keyed_and_say_how_to_join_them():
    sheets = large_sheets()
    keys = set()
    for number, sheet in enumerate(sheets, start=1):
        said = " ".join(item.text for item in sheet.sheet_items if isinstance(item, Lettering))
        assert f"{number} of {len(sheets)}, A4" in said
        assert JOIN_NOTE in said
        (here,) = [
            box_of(item)
            for item in sheet.sheet_items
            if isinstance(item, Fill) and item.layer == "title"
        ]
        keys.add((round(here.left_mm, 3), round(here.bottom_mm, 3)))
    assert len(keys) == len(sheets)


def test_fewest_sheets_are_taken_whichever_way_they_lie():
    # 460 mm by 90 mm: two upright sheets would show 2 x 155 mm less the overlap.
    wall = Drawing(
        "x", ELEVATION_LAYERS, (Polyline("outline", ((0, 0), (46000, 0), (46000, 9000))),)
    )
    sheets = make_sheets(wall, make_maltings_block(100.0), papers=A4)
    assert len(sheets) == 2
    assert sheets[0].paper.is_landscape


def test_endless_drawing_is_refused_with_advice():
    with pytest.raises(FieldError, match="smaller scale"):
        make_sheets(make_maltings_drawing(), make_maltings_block(0.2), papers=A4)


@settings(max_examples=10, deadline=None)
@given(st.floats(15.0, 60.0))
def test_whole_drawing_is_covered_at_any_scale(denominator):
    drawing = make_maltings_drawing()
    sheets = make_sheets(drawing, make_maltings_block(denominator), papers=A4)
    content = box_around(paper_primitives(drawing, denominator))
    windows = [
        (sheet.window or Box(0, 0, sheet.paper.width_mm, sheet.paper.height_mm)).moved(
            -sheet.origin_mm[0], -sheet.origin_mm[1]
        )
        for sheet in sheets
    ]
    # A grid of points a centimetre apart: each lies in some window.
    columns = int(content.width_mm / 10) + 1
    rows = int(content.height_mm / 10) + 1
    for column, row in itertools.product(range(columns), range(rows)):
        x, y = content.left_mm + 10 * column, content.bottom_mm + 10 * row
        point = Box(x, y, x, y)
        assert any(window.contains(point) for window in windows)
