"""PDF read back and rendered by an independent reader (pypdfium2)."""

import ctypes
import io
import math
import re

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest
from numpy.testing import assert_allclose

from measure.elevation.drawing import ELEVATION_LAYERS, Drawing, Polyline
from measure.elevation.page import make_sheets
from measure.elevation.paper import paper_named, safe_area
from measure.elevation.path_geometry import Box
from measure.elevation.primitives import Stroke
from measure.export.pdf import letters_without_font, pdf_from_sheets
from tests.support.maltings_drawing import (
    DATE,
    OPENINGS,
    WALL_HEIGHT_MM,
    WALL_WIDTH_MM,
    make_maltings_block,
    make_maltings_drawing,
)

MM_PER_POINT = 25.4 / 72
DPI = 600


def paths_mm(page):
    """Points of every path of a page, in millimetres from its lower left corner."""
    found = []
    for item in page.get_objects(filter=[pdfium_c.FPDF_PAGEOBJ_PATH]):
        points = []
        matrix = item.get_matrix()
        for number in range(pdfium_c.FPDFPath_CountSegments(item)):
            segment = pdfium_c.FPDFPath_GetPathSegment(item, number)
            x, y = ctypes.c_float(), ctypes.c_float()
            assert pdfium_c.FPDFPathSegment_GetPoint(segment, x, y)
            points.append(matrix.on_point(x.value, y.value))
        found.append(np.array(points) * MM_PER_POINT)
    return found


@pytest.fixture(scope="module")
def sheet():
    (made,) = make_sheets(make_maltings_drawing(), make_maltings_block(148.0))
    return made


@pytest.fixture(scope="module")
def data(sheet):
    return pdf_from_sheets([sheet], DATE)


@pytest.fixture(scope="module")
def page(data):
    return pdfium.PdfDocument(data)[0]


@pytest.fixture(scope="module")
def darkness(page):
    """Ink of the rendered page, 0 to 1, row 0 at the top."""
    picture = page.render(scale=DPI / 72, grayscale=True).to_numpy()
    return 1.0 - picture.reshape(picture.shape[:2]) / 255.0


@pytest.mark.parametrize("name", ["A0", "A3", "A4", "A6", "Letter", "Legal", "Tabloid"])
def test_pages_have_the_true_size_of_the_paper(name):
    wall = Drawing("x", ELEVATION_LAYERS, (Polyline("outline", ((0, 0), (1000, 0))),))
    sheets = make_sheets(wall, make_maltings_block(), papers=[paper_named(name)])
    page = pdfium.PdfDocument(pdf_from_sheets(sheets, DATE))[0]
    size_mm = [points * MM_PER_POINT for points in page.get_size()]
    assert_allclose(size_mm, (sheets[0].paper.width_mm, sheets[0].paper.height_mm), atol=0.01)


def test_a4_is_as_many_points_as_the_arithmetic_says(page):
    # 297 / 25.4 * 72 and 210 / 25.4 * 72.
    assert_allclose(page.get_mediabox(), (0, 0, 841.8898, 595.2756), atol=1e-3)


def test_known_lines_and_openings_lie_within_a_hundredth_of_a_millimetre(sheet, page):
    x0, y0 = sheet.origin_mm
    boxes = [(*points.min(axis=0), *points.max(axis=0)) for points in paths_mm(page)]
    wanted = [
        (left, sill, left + width, sill + height) for _, left, sill, width, height, *_ in OPENINGS
    ]
    wanted += [
        (0.0, 0.0, WALL_WIDTH_MM, WALL_HEIGHT_MM),
        (9400.0, 4000.0, 10400.0, 4000.0),  # the known metre
    ]
    for size in wanted:
        expected = np.array(size) / 148.0 + np.array([x0, y0, x0, y0])
        # Handles of a curve over an eighth of a turn never leave the arc's own box here,
        # but for pointed heads, whose arcs end slanting.
        off = min(np.abs(np.array(box) - expected).max() for box in boxes)
        assert off < 0.01, size


def test_round_opening_stays_a_circle(page, sheet):
    x0, y0 = sheet.origin_mm
    centre = np.array([x0 + 4800.0 / 148, y0 + 6850.0 / 148])
    radius = 450.0 / 148
    circles = [
        points
        for points in paths_mm(page)
        if len(points) > 20 and np.abs(points.mean(axis=0) - centre).max() < 0.3
    ]
    (points,) = circles
    ends = points[::3]
    assert_allclose(np.hypot(*(ends - centre).T), radius, atol=1e-3)


def centroid_of_tick(strip, guess_px):
    """Where the ink near a place lies, in pixels."""
    low, high = int(guess_px) - 8, int(guess_px) + 9
    ink = strip[low:high]
    assert ink.sum() > 2.0
    return float((ink * (np.arange(low, high) + 0.5)).sum() / ink.sum())


@pytest.mark.parametrize("upright", [False, True], ids=["across", "up"])
def test_check_bar_measures_100_mm_in_the_rendered_page(sheet, darkness, upright):
    (frame,) = [
        item for item in sheet.sheet_items if isinstance(item, Stroke) and item.layer == "frame"
    ][:1]
    x, y = frame.start_mm
    # The ticks of the bars lie 1.2 to 3.2 mm outside the frame; their middle is at 2 mm.
    px = DPI / 25.4
    height = darkness.shape[0]
    if upright:
        strip = darkness[:, int((x - 2.0) * px)][::-1]
        ends = (y, y + 100.0)
        assert strip.shape == (height,)
    else:
        strip = darkness[height - int((y - 2.0) * px), :]
        ends = (x, x + 100.0)
    places = [centroid_of_tick(strip, end * px) for end in ends]
    length_mm = (places[1] - places[0]) / px
    assert_allclose(length_mm, 100.0, atol=0.03)


def test_known_metre_measures_a_metre_in_the_rendered_page(sheet, darkness):
    x0, y0 = sheet.origin_mm
    px = DPI / 25.4
    row = darkness.shape[0] - (y0 + 4000.0 / 148) * px
    ink = darkness[int(row) - 2 : int(row) + 3, :].max(axis=0)
    left, right = ((x0 + u / 148) * px for u in (9400.0, 10400.0))
    length_px = ink[int(left) - 15 : int(right) + 15].sum()
    # A fifth of a pixel is 0.008 mm on paper, 1.3 mm of the building.
    assert_allclose(length_px / px * 148, 1000.0, atol=1.3)


def test_every_font_is_embedded_as_truetype(data, page):
    seen = set()
    for item in page.get_objects(filter=[pdfium_c.FPDF_PAGEOBJ_TEXT]):
        font = pdfium_c.FPDFTextObj_GetFont(item)
        assert pdfium_c.FPDFFont_GetIsEmbedded(font) == 1
        length = pdfium_c.FPDFFont_GetBaseFontName(font, None, 0)
        name = ctypes.create_string_buffer(length)
        pdfium_c.FPDFFont_GetBaseFontName(font, name, length)
        seen.add(name.value.decode())
    assert seen
    assert all("DejaVuSans" in name for name in seen)
    # Type 42 shows in the file as a TrueType font program.
    assert b"/FontFile2" in data
    assert b"/Type3" not in data


def test_printing_is_asked_to_keep_the_size(data):
    document = pdfium.PdfDocument(data)
    # The reader answers 1 (scaling wished) unless /PrintScaling is /None.
    assert pdfium_c.FPDF_VIEWERREF_GetPrintScaling(document) == 0


def test_texts_can_be_read_and_searched(page):
    text = page.get_textpage().get_text_bounded()
    for wanted in ("Pennywhistle Maltings", "SCALE 1:148", "For models only: not a survey"):
        assert wanted in text


def test_lines_are_vectors_not_pictures(page):
    kinds = {item.type for item in page.get_objects()}
    assert pdfium_c.FPDF_PAGEOBJ_IMAGE not in kinds


STRANGE = "Солодовня Ξηραντήριο בית המאלט مصنع 麦芽工場 🏭 " * 3


@pytest.mark.parametrize("title", ["x" * 400, STRANGE, "$\\frac{1}{2}$ \\alpha_{x} $", ""])
def test_long_and_strange_titles_stay_inside_the_margins(title):
    block = make_maltings_block(148.0, title=title, subtitle=title, photo=title, plus_minus=title)
    sheets = make_sheets(make_maltings_drawing(title or "untitled"), block)
    page = pdfium.PdfDocument(pdf_from_sheets(sheets, DATE))[0]
    safe = safe_area(sheets[0].paper)
    checked = 0
    for item in page.get_objects(filter=[pdfium_c.FPDF_PAGEOBJ_TEXT]):
        left, bottom, right, top = (edge * MM_PER_POINT for edge in item.get_bounds())
        if right > left:
            checked += 1
            assert safe.grown(0.1).contains(Box(left, bottom, right, top))
    assert checked > 20


def test_dollar_signs_and_backslashes_are_plain_text():
    block = make_maltings_block(148.0, title="$5 \\alpha $ wall")
    sheets = make_sheets(make_maltings_drawing(), block)
    page = pdfium.PdfDocument(pdf_from_sheets(sheets, DATE))[0]
    assert "$5 \\alpha $ wall" in page.get_textpage().get_text_bounded()


def test_letters_that_no_font_has_are_named():
    block = make_maltings_block(148.0, title="Malt \U0001e030\U00012345 house")
    sheets = make_sheets(make_maltings_drawing(), block)
    assert "\U00012345" in letters_without_font(sheets)
    plain = make_sheets(make_maltings_drawing(), make_maltings_block(148.0))
    assert letters_without_font(plain) == ""


def test_several_sheets_are_several_pages_cut_off_at_their_windows():
    sheets = make_sheets(
        make_maltings_drawing(), make_maltings_block(32.0), papers=[paper_named("A4")]
    )
    document = pdfium.PdfDocument(pdf_from_sheets(sheets, DATE))
    assert len(document) == len(sheets) > 2
    picture = document[0].render(scale=150 / 72, grayscale=True).to_numpy()
    ink = picture.reshape(picture.shape[:2]) < 250
    px = 150 / 25.4
    # Right of the frame there is nothing, although the wall runs on.
    frame_right = math.ceil((sheets[0].window.right_mm + 0.3) * px)
    assert not ink[:, frame_right + 1 :].any()
    assert ink[:, : frame_right + 1].any()


def test_same_sheets_and_date_give_the_same_bytes(sheet, data):
    assert pdf_from_sheets([sheet], DATE) == data
    assert b"(D:20261124000000Z)" in data


def test_cross_reference_points_at_the_objects(data):
    # Readers that do not repair need each offset to be right; one object is written twice.
    start = int(re.search(rb"startxref\s+(\d+)", data).group(1))
    table = data[start:].split(b"trailer")[0].splitlines()
    offsets = [int(line[:10]) for line in table if line.rstrip().endswith(b"n")]
    assert len(offsets) > 5
    for number, offset in enumerate(offsets, start=1):
        assert data[offset:].startswith(b"%d 0 obj" % number)


def test_no_sheet_is_a_wrong_call():
    with pytest.raises(ValueError, match="at least 1"):
        pdf_from_sheets([], DATE)


def test_settings_of_matplotlib_are_left_as_they_were(sheet):
    import matplotlib as mpl

    before = dict(mpl.rcParams)
    pdf_from_sheets([sheet], DATE)
    assert dict(mpl.rcParams) == before


def test_pages_open_from_a_stream(data):
    assert len(pdfium.PdfDocument(io.BytesIO(data))) == 1
