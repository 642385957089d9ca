from dataclasses import replace

import pytest
from numpy.testing import assert_allclose

from measure.elevation.annotate import paper_primitives
from measure.elevation.bars import bar_scale_length
from measure.elevation.drawing import ELEVATION_LAYERS, Drawing, Polyline, Text
from measure.elevation.page import make_plain_sheet, make_sheets
from measure.elevation.paper import ISO_216, NORTH_AMERICAN, paper_named, safe_area
from measure.elevation.path_geometry import Box
from measure.elevation.primitives import Fill, Lettering, Stroke, box_around, box_of
from measure.elevation.sheet import make_frame
from measure.elevation.title_block import CAUTION, INFERRED_NOTE
from shared.errors import FieldError
from tests.support.maltings_drawing import OPENINGS, make_maltings_block, make_maltings_drawing

ALL_PAPERS = [
    turned for paper in (*ISO_216, *NORTH_AMERICAN) for turned in (paper, paper.landscape())
]
LONG = "The Pennywhistle Maltings with kiln, wing, hoist and lime-washed gable " * 4
STRANGE = "麦芽工場 Солодовня בית המאלט ξηραντήριο " * 6


def texts(sheet):
    return [item for item in sheet.sheet_items if isinstance(item, Lettering)]


def words(sheet):
    return " ".join(item.text for item in texts(sheet))


def of_measure(sheet, name):
    return next(
        item for item in sheet.drawing_items if isinstance(item, Stroke) and item.id == name
    )


def bar_ends(sheet):
    """Ends of the two check bars: the longest level and upright lines on their layer."""
    lines = [
        (item.start_mm, item.segments[0].to_mm)
        for item in sheet.sheet_items
        if isinstance(item, Stroke) and item.layer == "bar" and len(item.segments) == 1
    ]
    level = max((b[0] - a[0] for a, b in lines if a[1] == b[1]), default=0.0)
    upright = max((b[1] - a[1] for a, b in lines if a[0] == b[0]), default=0.0)
    return level, upright


def test_openings_lie_on_paper_at_the_scale_and_in_their_places():
    (sheet,) = make_sheets(make_maltings_drawing(), make_maltings_block(148.0))
    x0, y0 = sheet.origin_mm
    for name, left, sill, width, height, *_ in OPENINGS:
        box = box_of(replace(of_measure(sheet, name), width_mm=0.0))
        got = (box.left_mm, box.bottom_mm, box.right_mm, box.top_mm)
        wanted = (left, sill, left + width, sill + height)
        expected = [mm / 148.0 + (x0, y0)[n % 2] for n, mm in enumerate(wanted)]
        # p1 and p2 have an equilateral rise given to a tenth of a millimetre.
        assert_allclose(got, expected, atol=1e-3)


def test_sheet_is_chosen_as_small_as_holds_the_drawing_and_lies_as_the_drawing_does():
    drawing = make_maltings_drawing()
    (small,) = make_sheets(drawing, make_maltings_block(148.0))
    (large,) = make_sheets(drawing, make_maltings_block(43.5))
    assert (small.paper.name, small.paper.is_landscape) == ("A4", True)
    assert (large.paper.name, large.paper.is_landscape) == ("A3", True)


def test_tall_drawing_gets_an_upright_sheet():
    tower = Drawing("Kiln", ELEVATION_LAYERS, (Polyline("outline", ((0, 0), (0, 25000))),))
    (sheet,) = make_sheets(tower, make_maltings_block(148.0))
    assert not sheet.paper.is_landscape


@pytest.mark.parametrize("paper", ALL_PAPERS, ids=lambda p: f"{p.name} {p.width_mm:g} wide")
@pytest.mark.parametrize(
    "text", ["Pennywhistle Maltings", LONG, STRANGE], ids=["plain", "long", "strange"]
)
def test_nothing_on_a_sheet_leaves_the_margin_and_no_text_leaves_the_title_block(paper, text):
    block = make_maltings_block(
        148.0, title=text, subtitle=text, photo=text, plus_minus=text, notes=(text,)
    )
    if paper.name == "A6" and paper.is_landscape and text != "Pennywhistle Maltings":
        # No drawing fits beside so many words, and it has to say so.
        with pytest.raises(FieldError, match="larger paper"):
            make_frame(paper, block)
        return
    frame = make_frame(paper, block)
    safe = safe_area(paper)
    assert safe.grown(0.2).contains(box_around(frame.items))
    rules = [item for item in frame.items if isinstance(item, Stroke) and item.layer == "frame"]
    block_box = box_around(rules[:1])
    block_top = frame.area.bottom_mm
    for item in frame.items:
        if isinstance(item, Lettering) and item.layer == "title":
            box = box_of(item)
            assert block_box.contains(box)
            assert box.top_mm < block_top
    title = [box_of(item) for item in frame.items if isinstance(item, Lettering)]
    for number, box in enumerate(title):
        assert not any(box.grown(-0.35).overlaps(other.grown(-0.35)) for other in title[:number])


def test_title_block_says_what_it_must():
    (sheet,) = make_sheets(make_maltings_drawing(), make_maltings_block(148.0))
    said = words(sheet)
    for wanted in (
        "Pennywhistle Maltings",
        "Street front",
        "SCALE 1:148",
        "street.jpg",
        "2026-11-24",
        "Sizes good to ±11 mm",
        "1 of 1, A4",
        INFERRED_NOTE,
        CAUTION,
    ):
        assert wanted in said


def test_cautions_name_what_the_drawing_is_not_for():
    for wanted in ("models only", "not a survey", "building work", "boundaries", "structural"):
        assert wanted in CAUTION


def test_note_about_dashed_lines_stands_only_where_there_are_some():
    measured = Drawing("x", ELEVATION_LAYERS, (Polyline("outline", ((0, 0), (5000, 0))),))
    (sheet,) = make_sheets(measured, make_maltings_block(148.0))
    assert INFERRED_NOTE not in words(sheet)


@pytest.mark.parametrize("paper", ALL_PAPERS, ids=lambda p: f"{p.name} {p.width_mm:g} wide")
def test_check_bars_are_100_mm_both_ways_wherever_they_fit(paper):
    (sheet,) = make_sheets(
        Drawing("x", ELEVATION_LAYERS, (Polyline("outline", ((0, 0), (1000, 0))),)),
        make_maltings_block(148.0),
        papers=[paper],
        orientation="landscape" if paper.is_landscape else "portrait",
    )
    assert_allclose(bar_ends(sheet), 50.0 if paper.name == "A6" else 100.0, atol=1e-9)


@pytest.mark.parametrize("margin", [6.34, 0.0, -5.0, float("nan")])
def test_margin_that_printers_cut_off_is_refused(margin):
    with pytest.raises(FieldError, match=r"6\.35"):
        make_sheets(make_maltings_drawing(), make_maltings_block(), margin_mm=margin)


def test_margin_of_a_quarter_inch_is_allowed():
    (sheet,) = make_sheets(make_maltings_drawing(), make_maltings_block(), margin_mm=6.35)
    box = box_around(sheet.sheet_items)
    assert box.left_mm >= 6.35


def test_usual_margin_is_ten_millimetres():
    (sheet,) = make_sheets(make_maltings_drawing(), make_maltings_block(), common_area=False)
    box = box_around((*sheet.sheet_items, *sheet.drawing_items))
    # The frame is drawn on the margin: half its width lies outside.
    assert Box(10, 10, 287, 200).grown(0.2).contains(box)


@pytest.mark.parametrize("name", ["A4", "Letter"])
def test_sheets_for_a4_and_letter_print_on_either(name):
    sheets = make_sheets(make_maltings_drawing(), make_maltings_block(), papers=[paper_named(name)])
    for sheet in sheets:
        for width, height in ((297.0, 210.0), (279.4, 215.9)):
            # The same middle on the other sheet, as a printer sets it.
            dx, dy = (width - sheet.paper.width_mm) / 2, (height - sheet.paper.height_mm) / 2
            box = box_around(sheet.sheet_items).moved(dx, dy)
            assert Box(9.8, 9.8, width - 9.8, height - 9.8).contains(box)


def test_scale_that_is_no_scale_is_refused():
    with pytest.raises(FieldError, match="scale"):
        paper_primitives(make_maltings_drawing(), 0.0)


def test_empty_drawing_is_refused_by_its_title():
    with pytest.raises(FieldError, match="Kiln"):
        make_sheets(Drawing("Kiln", ELEVATION_LAYERS, ()), make_maltings_block())


def test_unknown_paper_is_refused_with_those_there_are():
    with pytest.raises(FieldError, match="A4"):
        paper_named("foolscap")


def test_label_is_made_to_fit_its_room_but_stays_readable():
    def label(room_mm):
        item = Text("notes", (0.0, 0.0), "loading door", 2.5, room_mm=room_mm)
        (made,) = paper_primitives(Drawing("x", ELEVATION_LAYERS, (item,)), 100.0)
        return made

    assert label(9000.0).size_mm == 2.5
    assert_allclose(label(1500.0).width_mm, 15.0)
    assert label(10.0).size_mm == 1.2


def test_label_in_the_middle_is_in_the_middle():
    item = Text("notes", (0, 0), "W", 2.0, horizontal="centre", vertical="middle")
    (made,) = paper_primitives(Drawing("x", ELEVATION_LAYERS, (item,)), 100.0)
    assert made.at_mm == (0.0, -1.0)
    assert made.align == "centre"


def test_plain_sheet_is_as_large_as_the_drawing():
    drawing = Drawing("x", ELEVATION_LAYERS, (Polyline("courses", ((0, 0), (14800, 0))),))
    sheet = make_plain_sheet(drawing, 148.0, margin_mm=5.0)
    assert_allclose(sheet.paper.width_mm, 110.0, atol=0.2)
    assert sheet.sheet_items == ()


@pytest.mark.parametrize(
    ("denominator", "room_mm", "unit", "expected"),
    [
        (148.0, 60.0, "m", (5.0, 5)),
        (76.2, 60.0, "m", (2.0, 4)),
        (43.5, 60.0, "m", (2.0, 4)),
        (1.0, 60.0, "m", (0.05, 5)),
        (148.0, 60.0, "ft", (20.0, 4)),
        (1000.0, 100.0, "m", (100.0, 5)),
    ],
)
def test_bar_scale_is_a_round_length_that_fits(denominator, room_mm, unit, expected):
    assert bar_scale_length(denominator, room_mm, unit) == pytest.approx(expected)


def test_bar_scale_is_drawn_true():
    (sheet,) = make_sheets(make_maltings_drawing(), make_maltings_block(148.0))
    fills = [box_of(item) for item in sheet.sheet_items if isinstance(item, Fill)]
    # 5 m in five parts, the first, third and last of them filled.
    assert_allclose([box.width_mm for box in fills], 1000.0 / 148.0)
    assert_allclose(fills[-1].right_mm - fills[0].left_mm, 5000.0 / 148.0)
