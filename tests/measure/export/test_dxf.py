"""DXF read back by ezdxf, and checked by its audit."""

import io
import math

import ezdxf
import pytest
from ezdxf.bbox import extents
from numpy.testing import assert_allclose

from measure.elevation.bars import CHECK_BAR_MM
from measure.elevation.drawing import ELEVATION_LAYERS, SHEET_LAYERS, Drawing, Polyline, Text
from measure.elevation.page import make_sheets
from measure.export.dxf import APPLICATION, dxf_from_drawing, dxf_from_sheet
from tests.support.maltings_drawing import (
    DATE,
    KNOWN_LINE_ID,
    OPENINGS,
    make_maltings_block,
    make_maltings_drawing,
)


def read(data, tmp_path):
    path = tmp_path / "drawing.dxf"
    path.write_bytes(data)
    return ezdxf.readfile(path)


def entity_of(doc, name):
    (found,) = [
        e
        for e in doc.modelspace()
        if e.has_xdata(APPLICATION) and e.get_xdata(APPLICATION)[0].value == name
    ]
    return found


@pytest.fixture
def doc(tmp_path):
    return read(dxf_from_drawing(make_maltings_drawing(), make_maltings_block()), tmp_path)


def test_file_passes_the_audit_without_a_single_repair(doc):
    audit = doc.audit()
    assert audit.errors == []
    assert audit.fixes == []


def test_units_are_millimetres_and_metric(doc):
    assert doc.header["$INSUNITS"] == 4
    assert doc.header["$MEASUREMENT"] == 1
    assert doc.dxfversion == "AC1024"  # R2010


@pytest.mark.parametrize("full_size", [True, False], ids=["full size", "to scale"])
@pytest.mark.parametrize("opening", OPENINGS, ids=lambda row: row[0])
def test_each_opening_reads_back_within_a_hundredth_of_a_millimetre(tmp_path, opening, full_size):
    drawing, block = make_maltings_drawing(), make_maltings_block(148.0)
    doc = read(dxf_from_drawing(drawing, block, full_size=full_size), tmp_path)
    name, left, sill, width, height, *_ = opening
    box = extents([entity_of(doc, name)], fast=False)
    expected = [left, sill, left + width, sill + height]
    divisor = 1.0 if full_size else 148.0
    # The reader's boxes follow arcs by chords within 0.01; the ends of arcs are exact.
    assert_allclose(
        (box.extmin.x, box.extmin.y, box.extmax.x, box.extmax.y),
        [mm / divisor for mm in expected],
        atol=0.01,
    )


def test_line_of_a_known_metre_reads_back_as_a_metre(doc):
    line = entity_of(doc, KNOWN_LINE_ID)
    assert_allclose(line.dxf.start.distance(line.dxf.end), 1000.0, atol=1e-6)


def test_arch_is_one_bulge_of_a_half_turn(doc):
    bulges = [b for *_, b in entity_of(doc, "d1").get_points("xyb") if b]
    # The tangent of a quarter of half a turn.
    assert_allclose(bulges, [1.0])


def test_segmental_arch_has_its_radius(doc):
    (arc,) = [e for e in entity_of(doc, "w1").virtual_entities() if e.dxftype() == "ARC"]
    assert_allclose(arc.dxf.radius, (600**2 + 180**2) / (2 * 180), rtol=1e-9)


def test_round_opening_is_a_circle(doc):
    circle = entity_of(doc, "o1")
    assert circle.dxftype() == "CIRCLE"
    assert_allclose(circle.dxf.radius, 450.0)
    assert_allclose((circle.dxf.center.x, circle.dxf.center.y), (4800.0, 6850.0))


def test_layers_have_plain_trade_words_and_the_widths_of_their_lines(doc):
    for layer in (*ELEVATION_LAYERS, *SHEET_LAYERS):
        entry = doc.layers.get(layer.name)
        assert entry.dxf.lineweight == round(100 * layer.width_mm)
    names = {e.dxf.layer for e in doc.modelspace()}
    assert names <= {layer.name for layer in (*ELEVATION_LAYERS, *SHEET_LAYERS)}
    assert doc.layers.get("datum").dxf.linetype.startswith("chain")


def test_what_was_not_measured_is_dashed(doc):
    assert entity_of(doc, "w5").dxf.linetype == "dashed-035"
    assert entity_of(doc, "w4").dxf.linetype == "BYLAYER"


def test_lettering_is_as_high_as_on_paper_times_the_scale(doc):
    label = next(t for t in doc.modelspace().query("TEXT") if t.dxf.text == "D1")
    assert_allclose(label.dxf.height, 1.8 * 148)


def test_dimensions_are_lines_and_text_that_any_reader_shows(doc):
    space = doc.modelspace()
    assert len(space.query("DIMENSION")) == 0
    texts = [t.dxf.text for t in space.query('TEXT[layer=="dimensions"]')]
    assert "11 000 ± 9" in texts
    turned = next(t for t in space.query("TEXT") if t.dxf.text == "8 400 ± 11")
    assert_allclose(turned.dxf.rotation, 90.0)


@pytest.mark.parametrize(("full_size", "said"), [(True, "FULL SIZE"), (False, "SCALE 1:148")])
def test_words_below_the_drawing_say_scale_and_cautions(tmp_path, full_size, said):
    data = dxf_from_drawing(make_maltings_drawing(), make_maltings_block(), full_size=full_size)
    texts = " ".join(t.dxf.text for t in read(data, tmp_path).modelspace().query("TEXT"))
    for wanted in (said, "Pennywhistle Maltings", "For models only: not a survey", "2026-11-24"):
        assert wanted in texts


@pytest.mark.parametrize(
    "text", ["50%%d", "%%u100%%%", "^I caret", "麦芽 Солод ±\u202f5", "\\U+00B1 {x}", "a\nb\x00c"]
)
def test_text_with_signs_that_the_format_reads_as_commands_stays_text(tmp_path, text):
    drawing = Drawing("x", ELEVATION_LAYERS, (Text("notes", (0, 0), text),))
    doc = read(dxf_from_drawing(drawing, make_maltings_block()), tmp_path)
    assert doc.audit().errors == []
    shown = doc.modelspace().query('TEXT[layer=="notes"]')[0].plain_text()
    wanted = text.replace("\u202f", " ").replace("\n", " ").replace("\x00", "")
    assert shown.replace("% ", "%") == wanted


def test_same_drawing_gives_the_same_bytes_dated_as_asked(tmp_path):
    drawing, block = make_maltings_drawing(), make_maltings_block()
    data = dxf_from_drawing(drawing, block)
    assert dxf_from_drawing(drawing, block) == data
    lines = data.decode().splitlines()
    # 2026-11-24 is 9824 days after 2000-01-01, whose number is 2451545.
    for name in ("$TDCREATE", "$TDUPDATE"):
        assert lines[lines.index(name) + 2] == "2461369.0"


def test_switch_of_the_library_is_put_back(tmp_path):
    before = ezdxf.options.write_fixed_meta_data_for_testing
    dxf_from_drawing(make_maltings_drawing(), make_maltings_block())
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


def test_sheet_as_dxf_is_in_millimetres_of_paper(tmp_path):
    (sheet,) = make_sheets(make_maltings_drawing(), make_maltings_block())
    doc = read(dxf_from_sheet(sheet, DATE), tmp_path)
    assert doc.audit().errors == []
    bars = [e.dxf.start.distance(e.dxf.end) for e in doc.modelspace().query('LINE[layer=="bar"]')]
    assert bars.count(pytest.approx(CHECK_BAR_MM)) == 2


def test_empty_drawing_is_still_a_good_file(tmp_path):
    doc = read(
        dxf_from_drawing(Drawing("x", ELEVATION_LAYERS, ()), make_maltings_block()), tmp_path
    )
    assert doc.audit().errors == []


def test_extents_in_the_header_hold_the_building(doc):
    low, high = doc.header["$EXTMIN"], doc.header["$EXTMAX"]
    assert low[0] <= 0.0
    assert low[1] <= 0.0
    assert high[0] >= 11000.0
    assert high[1] >= 8400.0


def test_open_line_has_no_bulge_and_no_closing():
    drawing = Drawing(
        "x", ELEVATION_LAYERS, (Polyline("outline", ((0, 0), (9, 0), (9, 9)), id="o"),)
    )
    doc = ezdxf.read(io.StringIO(dxf_from_drawing(drawing, make_maltings_block()).decode()))
    line = entity_of(doc, "o")
    assert not line.closed
    assert_allclose(line.get_points("xyb"), [(0, 0, 0), (9, 0, 0), (9, 9, 0)], atol=1e-9)
    assert math.isclose(line.dxf.const_width if line.dxf.hasattr("const_width") else 0.0, 0.0)
