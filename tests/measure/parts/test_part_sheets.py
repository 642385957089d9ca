"""Sheets of parts read back from PDF and SVG: sizes, bars, correction, marks."""

import ctypes
import datetime as dt
import io
import itertools
import zipfile
from dataclasses import replace

import ezdxf
import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.elevation.paper import paper_named, safe_area
from measure.elevation.path_geometry import box_around_path
from measure.elevation.primitives import Lettering, Stroke, box_of
from measure.export.pdf import pdf_from_sheets
from measure.parts.build_order import build_order_text
from measure.parts.cut_files import archive_of, make_card_files
from measure.parts.joints import fit_to_sheet
from measure.parts.key_sheet import key_sheets
from measure.parts.part import flat_points, line_through, polygon_of
from measure.parts.part_frame import PART_LAYERS
from measure.parts.part_sheets import lay_parts, line_primitives
from measure.parts.printer import Correction, corrected_sheet, correction_from_bars
from shared.card_wishes import Band, CardWishes, FaceWish, PrintedBars, Sill
from shared.errors import FieldError
from tests.support.card_walls import make_front, make_side, make_tower, plan_of, window
from tests.support.folding import read_sheets

DATE = dt.date(2026, 11, 25)
MM_PER_POINT = 25.4 / 72


def make_plan(**wishes):
    wishes.setdefault("sill", Sill())
    return plan_of(make_front(), make_side(90.0), wishes=CardWishes(**wishes))


@pytest.fixture(scope="module")
def plan():
    return make_plan()


@pytest.fixture(scope="module")
def made(plan):
    return make_card_files(plan, DATE)


def boxes_mm(page):
    """Width and height of every stroked path of a PDF page."""
    sizes = []
    for item in page.get_objects(filter=[pdfium_c.FPDF_PAGEOBJ_PATH]):
        matrix, points = item.get_matrix(), []
        for number in range(pdfium_c.FPDFPath_CountSegments(item)):
            segment = pdfium_c.FPDFPath_GetPathSegment(item, number)
            x, y = ctypes.c_float(), ctypes.c_float()
            pdfium_c.FPDFPathSegment_GetPoint(segment, x, y)
            points.append(matrix.on_point(x.value, y.value))
        sizes.append(np.ptp(np.array(points), axis=0) * MM_PER_POINT)
    return np.array(sizes)


def has_size(sizes, width, height):
    return bool((np.abs(sizes - (width, height)).max(axis=1) <= 0.01).any())


def first_page(plan, correction):
    laid, _ = lay_parts(plan, correction)
    data = pdf_from_sheets([corrected_sheet(each.sheet, correction) for each in laid], DATE)
    return boxes_mm(pdfium.PdfDocument(data)[0])


def test_printed_size_reads_back_from_the_pdf(plan):
    """The front's carcass runs 60 - 0.38 to the side's overlay; it is 50 high."""
    sizes = first_page(plan, Correction())
    assert has_size(sizes, 60.0 - 0.38, 50.0)
    assert has_size(sizes, 150.0, 0.0)
    assert has_size(sizes, 0.0, 150.0)


def test_corrected_print_is_larger_by_what_the_printer_takes_off(plan):
    """Bars of 150 came out 149.4 and 150.3: drawn by 150/149.4 and 150/150.3, each its own."""
    correction = correction_from_bars(PrintedBars(across_mm=149.4, up_mm=150.3))
    sizes = first_page(plan, correction)
    assert has_size(sizes, (60.0 - 0.38) * 150 / 149.4, 50.0 * 150 / 150.3)
    assert has_size(sizes, 150.0 * 150 / 149.4, 0.0)
    assert has_size(sizes, 0.0, 150.0 * 150 / 150.3)


@given(st.floats(136, 164), st.floats(136, 164))
def test_what_the_printer_takes_off_is_put_on(across, up):
    correction = correction_from_bars(PrintedBars(across_mm=across, up_mm=up))
    assert_allclose(correction.across * across, 150.0)
    assert_allclose(correction.up * up, 150.0)


@pytest.mark.parametrize("bad", [0.0, -3.0])
def test_bar_of_no_length_is_refused(bad):
    with pytest.raises(FieldError, match="bar across the sheet is said to measure"):
        correction_from_bars(PrintedBars(across_mm=bad, up_mm=150.0))


def test_bar_of_zero_is_one_sentence():
    with pytest.raises(FieldError) as caught:
        correction_from_bars(PrintedBars(across_mm=150.0, up_mm=0.0))
    assert str(caught.value).count(".") == 1
    assert "up the sheet" in str(caught.value)


def test_page_scaled_to_fit_is_recognised():
    with pytest.raises(FieldError, match="scaled to fit"):
        correction_from_bars(PrintedBars(across_mm=120.0, up_mm=120.0))


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter"])
@pytest.mark.parametrize(
    "correction", [Correction(), Correction(1.01, 0.99)], ids=["plain", "corrected"]
)
def test_everything_stays_within_the_margins(paper, correction):
    plan = make_plan(paper=paper)
    laid, _ = lay_parts(plan, correction)
    safe = safe_area(paper_named(paper), 10.0).grown(0.2)
    for each in laid:
        sheet = corrected_sheet(each.sheet, correction)
        for item in (*sheet.drawing_items, *sheet.sheet_items):
            assert safe.contains(box_of(item)), item


def test_every_part_lies_on_a_sheet_as_often_as_it_is_needed(made):
    counts = {}
    for each in made.sheets:
        for mark in each.marks:
            counts[mark] = counts.get(mark, 0) + 1
    assert counts == {part.mark: part.count for part in made.parts}


def test_each_sheet_holds_one_material(made):
    thickness = {part.mark: part.material.key for part in made.parts}
    for each in made.sheets:
        assert {thickness[mark] for mark in each.marks} == {each.material.key}


def test_marks_agree_between_sheets_key_and_cut_list(plan, made):
    listed = made.files["cut-list.csv"].decode("utf-8-sig").splitlines()[1:]
    marks = {row.split(",")[0] for row in listed}
    assert marks == {part.mark for part in made.parts}
    on_key = " ".join(
        item.text for sheet in key_sheets(plan) for item in sheet.drawing_items
        if isinstance(item, Lettering)
    )  # fmt: skip
    words = set(on_key.replace(",", " ").split())
    for part in plan.parts:
        assert part.mark in words, part.mark


def test_lines_differ_by_width_or_dashes_and_not_by_colour():
    """Of two alike in dashes one is about twice as wide, as ISO 128-2 has wide and narrow.

    Glue is hatched, and what is scored on the back has rings at its ends.
    """
    lines = [layer for layer in PART_LAYERS[:6] if layer.name not in ("glue", "score-back")]
    for one, other in itertools.combinations(lines, 2):
        if one.line_kind == other.line_kind:
            widths = sorted((one.width_mm, other.width_mm))
            assert widths[1] / widths[0] >= 1.8, (one.name, other.name)


@pytest.mark.parametrize(("use", "rings"), [("score-face", 0), ("score-back", 2)])
def test_only_ends_that_are_pricked_through_have_rings(use, rings):
    """They touch the line from outside, so that nothing is pricked but its very end."""
    line = line_through(use, [(2.0, 1.0), (8.0, 9.0)], id="A1.fold")
    score, *around = line_primitives(line)
    assert score.id == "A1.fold"
    assert len(around) == rings
    boxes = [box_around_path(ring.start_mm, ring.segments) for ring in around]
    middles = [shapely.Point(box.centre_mm) for box in boxes]
    radii = [box.width_mm / 2.0 for box in boxes]
    ends = [shapely.Point(2, 1), shapely.Point(8, 9)][:rings]
    assert_allclose(shapely.distance(middles, ends), radii)
    assert_allclose(shapely.distance(middles, shapely.LineString([(2, 1), (8, 9)])), radii)


def test_grain_is_kept_on_the_sheet(made):
    """Arrows of parts whose fibres run up them point up the sheet."""
    parts = read_sheets(dict(made.files))
    for part in made.parts:
        if part.grain == "up" and "up" in parts[part.mark].lines:
            assert np.ptp(parts[part.mark].lines["up"][:, 0]) < 1e-6


def test_svg_part_has_the_size_of_the_cut_list(made):
    parts = read_sheets(dict(made.files))
    for row in made.files["cut-list.csv"].decode("utf-8-sig").splitlines()[1:]:
        cells = row.replace('"', "").split(",")
        mark = cells[0]
        if mark in parts and "" in parts[mark].lines and "skin" not in row:
            size = np.ptp(parts[mark].lines[""], axis=0)
            listed = [float(c) for c in cells if c.replace(".", "").isdigit() and "." in c]
            assert_allclose(sorted(size), sorted(listed[-2:]), atol=0.006)


def test_dxf_of_each_sheet_passes_an_audit_and_is_never_corrected():
    bars = PrintedBars(across_mm=149.0, up_mm=151.0)
    files = make_card_files(make_plan(printed_bars=bars), DATE).files
    name = next(n for n in files if n.endswith(".dxf"))
    doc = ezdxf.read(io.StringIO(files[name].decode()))
    assert not doc.audit().errors
    assert doc.header["$INSUNITS"] == 4
    widths = []
    for line in doc.modelspace().query("LWPOLYLINE[layer=='cut']"):
        points = np.array(list(line.get_points("xy")))
        widths.append(np.ptp(points, axis=0))
    assert (np.abs(np.array(widths) - (59.62, 50.0)).max(axis=1) < 0.01).any()


def test_archive_holds_every_file_and_is_the_same_each_time(made):
    data = archive_of(made.files, DATE)
    assert data == archive_of(make_card_files(make_plan(), DATE).files, DATE)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.namelist() == list(made.files)
        assert archive.read("build-order.txt") == made.files["build-order.txt"]


def test_progress_runs_from_start_to_end():
    shares = []
    make_card_files(make_plan(), DATE, lambda what, share: shares.append(share))
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)


def test_build_order_says_what_first_and_warns_of_blade_and_glue():
    plan = plan_of(make_front(), make_tower())
    text = build_order_text(plan)
    for words in ("For models only", "finger guard", "Fast glue", "medical help", "actual size"):
        assert words in text
    tower = text.index("Only now glue")
    assert text.index("Cut the formers") < tower
    assert "°" not in text.splitlines()[0]
    for part in plan.parts:
        if part.role in ("carcass", "wrap", "former"):
            assert part.mark in text


def test_build_order_says_what_is_left_to_make():
    text = build_order_text(plan_of(make_front(), make_side(90.0)))
    assert "Make to fit what the photo does not show" in text
    assert "Walls go on from the free ends of Front (left) and Side (right)." in text


def test_marks_of_skins_are_printed_beside_the_picture():
    plan = plan_of(make_front())
    skin = next(p for p in plan.parts if p.role == "skin")
    outline = polygon_of(next(line for line in skin.lines if line.use == "cut"))
    assert [w.text for w in skin.words] == [skin.mark]
    assert not skin.words[0].area.intersects(outline)
    pieces = [p for p in fit_to_sheet(skin, 40.0, 30.0) if "/" in p.mark]
    assert len(pieces) > 2
    for piece in pieces:
        assert piece.box.width_mm <= 40.0
        assert piece.box.height_mm <= 30.0
        shapes = [polygon_of(line) for line in piece.lines if line.closed]
        assert not any(piece.words[0].area.intersects(shape) for shape in shapes)


def test_key_says_nothing_across_an_edge_of_the_wall():
    """A small window near the slope of a gable, and a band too low for words."""
    gable = ((0.0, 0.0), (6000.0, 0.0), (6000.0, 3000.0), (3000.0, 6000.0), (0.0, 3000.0))
    face = replace(
        make_front(openings=(window("eye", 3300.0, 4700.0, 300.0, 300.0),)), outline_mm=gable
    )
    band = Band(label="string course", foot_mm=2800.0, head_mm=2900.0, out_mm=48.0)
    plan = plan_of(face, wishes=CardWishes(by_face={"front": FaceWish(bands=(band,))}))
    (key,) = key_sheets(plan)
    strokes = [
        shapely.LineString([*points, points[0]] if s.closed else points)
        for s in key.drawing_items
        if isinstance(s, Stroke) and s.layer in ("frame", "trim", "mark")
        for points in [flat_points(s.start_mm, s.segments)]
    ]
    words = [item for item in key.drawing_items if isinstance(item, Lettering)]
    assert any("eye" in w.text for w in words)
    assert any("string course" in w.text for w in words)
    for each in words:
        left, low = each.left_end_mm
        box = shapely.box(left, low, left + each.width_mm, low + each.size_mm)
        assert not any(line.intersects(box) for line in strokes), each.text


def checked_photo(face, chart, px_per_mm):
    """A picture that says where it is: red grows along u, green up v; all of it visible."""
    width = round(chart.width_mm * px_per_mm)
    height = round(chart.height_mm * px_per_mm)
    rgba = np.full((height, width, 4), 255, dtype=np.uint8)
    u = chart.left_mm + (np.arange(width) + 0.5) / width * chart.width_mm
    v = chart.top_mm - (np.arange(height) + 0.5) / height * chart.height_mm
    rgba[..., 0] = np.clip(u / 6000.0 * 255, 0, 255)[None, :]
    rgba[..., 1] = np.clip(v / 5000.0 * 255, 0, 255)[:, None]
    return rgba, chart


def rendered(data, page, dpi=200):
    picture = pdfium.PdfDocument(data)[page].render(scale=dpi / 72).to_numpy()
    return picture[..., 2::-1] if picture.shape[2] == 3 else picture[..., [2, 1, 0]]


def test_skin_is_printed_where_its_lines_are():
    """Seen in the PDF: the colour at a point of the wall is that of its u and v."""
    plan = plan_of(make_front(), wishes=CardWishes(overlay=None))
    laid, _ = lay_parts(plan, Correction(), photo=checked_photo)
    (number,) = [n for n, each in enumerate(laid) if each.material.use == "skin"]
    sheet = laid[number].sheet
    data = pdf_from_sheets([each.sheet for each in laid], DATE)
    image = rendered(data, number)
    trim = next(i for i in sheet.drawing_items if getattr(i, "id", "") == "A2")
    corner = box_of(trim)
    for u, v in ((15.0, 5.0), (30.0, 40.0), (55.0, 25.0)):
        x, y = corner.left_mm + u, sheet.paper.height_mm - (corner.bottom_mm + v)
        row, column = int(y / 25.4 * 200), int(x / 25.4 * 200)
        red, green, blue = image[row, column]
        assert_allclose((red, green, blue), (u / 60 * 255, v / 50 * 255, 255), atol=3)


def test_skin_ends_at_its_bleed():
    plan = plan_of(make_front(), wishes=CardWishes(overlay=None))
    laid, _ = lay_parts(plan, Correction(), photo=checked_photo)
    (sheet,) = [each.sheet for each in laid if each.material.use == "skin"]
    (picture,) = sheet.pictures
    bleed = next(i for i in sheet.drawing_items if getattr(i, "id", "") == "A2.bleed")
    assert box_of(bleed).grown(0.1).contains(picture.box)
    assert_allclose(picture.box.width_mm, 64.0, atol=0.1)


def test_pictures_are_corrected_with_the_lines():
    plan = plan_of(make_front(), wishes=CardWishes(overlay=None))
    laid, _ = lay_parts(plan, Correction(1.02, 0.99), photo=checked_photo)
    (sheet,) = [each.sheet for each in laid if each.material.use == "skin"]
    (plain,), (stretched,) = sheet.pictures, corrected_sheet(sheet, Correction(1.02, 0.99)).pictures
    assert_allclose(stretched.box.width_mm, plain.box.width_mm * 1.02)
    assert_allclose(stretched.box.height_mm, plain.box.height_mm * 0.99)


def test_what_the_photo_does_not_show_is_said():
    def half(face, chart, px_per_mm):
        rgba, covered = checked_photo(face, chart, px_per_mm)
        rgba[:, rgba.shape[1] // 2 :, 3] = 0
        return rgba, covered

    plan = plan_of(make_front(), wishes=CardWishes(overlay=None))
    made = make_card_files(plan, DATE, photo=half)
    assert any("no more than 50 % of the skin A2" in c for c in made.cautions)
    assert b"no more than 50 %" in made.files["build-order.txt"]


def test_skins_can_be_left_unprinted():
    plan = plan_of(make_front(), wishes=CardWishes(overlay=None, print_skins=False))
    made = make_card_files(plan, DATE, photo=checked_photo)
    assert not any(each.sheet.pictures for each in made.sheets)


def test_svg_carries_the_picture_at_its_place():
    plan = plan_of(make_front(), wishes=CardWishes(overlay=None))
    made = make_card_files(plan, DATE, photo=checked_photo)
    (name,) = [n for n in made.files if n.endswith("label-paper.svg")]
    assert made.files[name].count(b"<image") == 1
    assert b"data:image/png;base64," in made.files[name]
    assert read_sheets(dict(made.files))["A2"].polygon().bounds[2] > 0


def test_carcasses_of_a_corner_that_stands_in_are_glued_once_it_is_folded():
    """Flat, two carcasses that both run past the fold would lie on each other."""
    text = build_order_text(plan_of(make_front(), make_side(-60.0)))
    assert "fold it to the angles of its corners" in text
    assert "dry it flat under a weight before it is folded" not in text
    outer = build_order_text(plan_of(make_front(), make_side(60.0)))
    assert "dry it flat under a weight before it is folded" in outer


def test_build_order_says_where_each_tab_is_glued():
    text = build_order_text(plan_of(make_front(), make_side(90.0), wishes=CardWishes(tabs=True)))
    assert "fold the tab of B1 and glue it flat onto the back of Front." in text
    assert text.index("fold the tab of B1") > text.index("Glue Front and Side together")


def test_every_kind_of_line_a_part_can_have_is_explained_on_the_sheet(made):
    words = " ".join(
        item.text for item in made.sheets[0].sheet.sheet_items if isinstance(item, Lettering)
    )
    for said in ("cut", "trim", "score the face", "score the back", "bevel", "glue here"):
        assert said in words
