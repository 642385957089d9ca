"""The small schedule of openings on the sheet of their elevation."""

from dataclasses import replace

import pytest

from measure.delivery import lay_sheets
from measure.elevation.draw_facade import draw_facade
from measure.elevation.facade import Facade
from measure.elevation.page import make_sheets
from measure.elevation.paper import Paper, paper_named
from measure.elevation.primitives import Lettering, box_around, box_of
from measure.elevation.sheet import Sheet, make_frame
from measure.elevation.sheet_schedule import (
    HEADER,
    LONGEST_NAMES,
    MOST_ROWS,
    rows_of_openings,
    schedule_sheets,
    table_primitives,
    with_schedule,
)
from measure.elevation.title_block import INFERRED_NOTE
from tests.support.facades import small_front, window
from tests.support.maltings_drawing import make_maltings_block

SCALE = 148.0
BLOCK = make_maltings_block()


def sheet_of(facade: Facade, paper: Paper, scale: float = SCALE) -> Sheet:
    drawing = draw_facade(facade, scale, title="Pennywhistle Maltings", subtitle="front")
    (sheet,) = make_sheets(drawing, replace(BLOCK, scale_denominator=scale), papers=(paper,))
    return sheet


def words_on(items) -> list[str]:
    return [item.text for item in items if isinstance(item, Lettering)]


def test_alike_openings_share_a_row_by_sill_and_width():
    rows = rows_of_openings(small_front().openings, 100.0)
    assert [row.cells for row in rows] == [
        ("door", "semicircular", "1\u202f200 × 2\u202f600", "±0", "12.0 × 26.0"),
        ("g1, g2, g4, g5", "flat", "1\u202f000 × 1\u202f500", "+900", "10.0 × 15.0"),
        ("f1, f2, f3, f4, f5", "flat", "1\u202f000 × 1\u202f500", "+3\u202f900", "10.0 × 15.0"),
    ]


def test_what_was_invented_has_a_row_of_its_own_in_brackets():
    facade = small_front()
    twin = facade.opening("g1").moved(1000.0).copied("g1@mirrored")
    rows = rows_of_openings([facade.opening("g1"), twin], 100.0)
    assert [row.cells[0] for row in rows] == ["g1", "(g1@mirrored)"]
    assert rows[1].cells[2] == "(1\u202f000 × 1\u202f500)"


def test_a_sill_below_the_datum_has_a_minus():
    (row,) = rows_of_openings([window("area", 0.0, -1200.0)], 100.0)
    assert row.cells[3] == "\N{MINUS SIGN}1\u202f200"


def test_many_names_are_cut_short_and_counted():
    openings = [window(f"w{n}", 1500.0 * n, 900.0) for n in range(1, 41)]
    (row,) = rows_of_openings(openings, 100.0)
    assert row.cells[0] == "w1, w2, w3, w4, w5 + 35 more"
    assert len(row.cells[0]) <= LONGEST_NAMES


def test_a_name_longer_than_its_cell_is_cut_short_with_a_mark():
    (row,) = rows_of_openings([window("the-window-over-the-cart-arch-on-the-left", 0.0, 0.0)], 1.0)
    assert row.cells[0].endswith("…")
    assert len(row.cells[0]) <= LONGEST_NAMES


def test_columns_of_the_table_do_not_touch():
    items = table_primitives(rows_of_openings(small_front().openings, 100.0))
    cells = [item for item in items if isinstance(item, Lettering)]
    assert [each.text for each in cells[: len(HEADER.cells)]] == list(HEADER.cells)
    boxes = [box_of(each) for each in cells]
    for number, one in enumerate(boxes):
        for other in boxes[number + 1 :]:
            assert not one.overlaps(other)


@pytest.mark.parametrize("turned", ["A4", "A3"])
def test_schedule_stands_clear_of_the_drawing_inside_the_frame(turned):
    paper = paper_named(turned)
    sheet = sheet_of(small_front(), paper)
    scheduled = with_schedule(sheet, BLOCK, small_front().openings)
    added = scheduled.sheet_items[len(sheet.sheet_items) :]
    assert set(HEADER.cells) <= set(words_on(added))
    assert not box_around(added).overlaps(box_around(scheduled.drawing_items))
    area = make_frame(sheet.paper, BLOCK).area
    assert area.contains(box_around(added))
    assert area.contains(box_around(scheduled.drawing_items))


def test_drawing_and_its_origin_move_together_for_the_schedule():
    sheet = sheet_of(small_front(), paper_named("A4"))
    scheduled = with_schedule(sheet, BLOCK, small_front().openings)
    before, after = box_around(sheet.drawing_items), box_around(scheduled.drawing_items)
    moved = (after.left_mm - before.left_mm, after.bottom_mm - before.bottom_mm)
    origins = zip(scheduled.origin_mm, sheet.origin_mm, strict=True)
    assert moved == pytest.approx(tuple(a - b for a, b in origins))
    assert moved != (0.0, 0.0)


def test_no_schedule_where_the_drawing_fills_the_sheet():
    scale = 72.0
    sheet = sheet_of(small_front(), paper_named("A4"), scale)
    block = replace(BLOCK, scale_denominator=scale)
    assert with_schedule(sheet, block, small_front().openings) is None


def test_no_schedule_of_more_rows_than_it_may_have():
    openings = tuple(
        window(f"w{n}", 500.0 + 20.0 * n, 900.0 + 20.0 * n) for n in range(MOST_ROWS + 1)
    )
    facade = replace(small_front(), openings=openings)
    sheet = sheet_of(facade, paper_named("A3"))
    assert with_schedule(sheet, BLOCK, openings) is None


MANY = tuple(window(f"w{n}", 500.0 + 20.0 * n, 900.0 + 20.0 * n) for n in range(200))


@pytest.mark.parametrize("name", ["A4", "A3", "Letter", "A6"])
@pytest.mark.parametrize("turned", ["portrait", "landscape"])
def test_a_schedule_of_its_own_names_every_opening_inside_the_frame(name, turned):
    paper = getattr(paper_named(name), turned)()
    sheets = schedule_sheets(paper, BLOCK, MANY, after=1)
    words = [word for sheet in sheets for word in words_on(sheet.sheet_items)]
    assert {each.id for each in MANY} <= set(words)
    for number, sheet in enumerate(sheets, start=2):
        empty = make_frame(paper, BLOCK, number=sheet.number)
        assert (sheet.number.number, sheet.number.count) == (number, len(sheets) + 1)
        assert empty.area.contains(box_around(sheet.sheet_items[len(empty.items) :]))


def test_columns_of_a_long_schedule_do_not_touch():
    (sheet,) = schedule_sheets(paper_named("A3").landscape(), BLOCK, MANY[:120], after=1)
    boxes = [box_of(item) for item in sheet.sheet_items if isinstance(item, Lettering)]
    for number, one in enumerate(boxes):
        assert not any(one.overlaps(other) for other in boxes[number + 1 :])


def test_brackets_on_a_sheet_of_its_own_are_explained():
    twin = small_front().opening("g1").copied("g1@copy")
    (sheet,) = schedule_sheets(paper_named("A4"), BLOCK, [twin], after=1)
    assert INFERRED_NOTE in words_on(sheet.sheet_items)


def test_without_openings_there_is_no_further_sheet():
    assert schedule_sheets(paper_named("A4"), BLOCK, (), after=1) == ()


@pytest.mark.parametrize("scale", [72.0, 20.0], ids=["one sheet", "tiled"])
def test_a_schedule_without_room_follows_the_drawing(scale):
    drawing = draw_facade(small_front(), scale, title="Pennywhistle Maltings")
    block = replace(BLOCK, scale_denominator=scale)
    sheets = lay_sheets(drawing, block, "A4", small_front().openings)
    assert "f1, f2, f3, f4, f5" in words_on(sheets[-1].sheet_items)
    assert [each.number.number for each in sheets] == list(range(1, len(sheets) + 1))
    assert {each.number.count for each in sheets} == {len(sheets)}
