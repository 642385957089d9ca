"""SVG read back by an independent reader (svgelements) and as plain XML."""

import io
import math
import xml.etree.ElementTree as ET

import pytest
from numpy.testing import assert_allclose
from svgelements import SVG, Arc, Path, Text

from measure.elevation.drawing import (
    ELEVATION_LAYERS,
    Circle,
    Drawing,
    Polyline,
)
from measure.elevation.drawing import Text as Label
from measure.elevation.openings import opening_path
from measure.elevation.page import make_plain_sheet, make_sheets
from measure.elevation.paper import paper_named
from measure.export.svg import svg_from_sheet
from tests.support.maltings_drawing import (
    KNOWN_LINE_ID,
    OPENINGS,
    make_maltings_block,
    make_maltings_drawing,
)

SVG_NAMES = {"s": "http://www.w3.org/2000/svg"}
# svgelements counts in CSS pixels: 96 to the inch.
MM_PER_PX = 25.4 / 96


def read(data):
    return SVG.parse(io.BytesIO(data), ppi=96, reify=True)


def path_of(svg, name):
    (found,) = [e for e in svg.elements() if isinstance(e, Path) and e.id == name]
    return found


def box_mm(path):
    return [edge * MM_PER_PX for edge in path.bbox()]


@pytest.fixture(scope="module")
def sheet():
    (made,) = make_sheets(make_maltings_drawing(), make_maltings_block(148.0))
    return made


@pytest.fixture(scope="module")
def data(sheet):
    return svg_from_sheet(sheet)


@pytest.mark.parametrize("paper", ["A0", "A4", "A6", "Letter", "Tabloid"])
def test_size_and_view_box_are_millimetres_of_the_sheet(paper):
    drawing = Drawing("x", ELEVATION_LAYERS, (Polyline("outline", ((0, 0), (1000, 0))),))
    (sheet,) = make_sheets(drawing, make_maltings_block(), papers=[paper_named(paper)])
    root = ET.fromstring(svg_from_sheet(sheet))
    width, height = sheet.paper.width_mm, sheet.paper.height_mm
    assert root.get("width") == f"{width:g}mm"
    assert root.get("height") == f"{height:g}mm"
    assert root.get("viewBox") == f"0 0 {width:g} {height:g}"
    svg = read(svg_from_sheet(sheet))
    assert_allclose((svg.width * MM_PER_PX, svg.height * MM_PER_PX), (width, height), rtol=1e-6)


@pytest.mark.parametrize("opening", OPENINGS, ids=lambda row: row[0])
def test_each_opening_reads_back_within_a_hundredth_of_a_millimetre(sheet, data, opening):
    name, left, sill, width, height, *_ = opening
    x0, y0 = sheet.origin_mm
    expected = (
        x0 + left / 148,
        sheet.paper.height_mm - y0 - (sill + height) / 148,
        x0 + (left + width) / 148,
        sheet.paper.height_mm - y0 - sill / 148,
    )
    assert_allclose(box_mm(path_of(read(data), name)), expected, atol=0.01)


def test_line_of_a_known_metre_reads_back_as_a_metre(data):
    line = path_of(read(data), KNOWN_LINE_ID)
    assert_allclose(line.length() * MM_PER_PX * 148, 1000.0, atol=0.02)


def test_arch_is_a_true_arc_of_its_radius(data):
    # d1: semicircular head over 1400 mm, so a radius of 700 mm.
    arcs = [s for s in path_of(read(data), "d1") if isinstance(s, Arc)]
    # Two quarters: written as one half turn its height would hang on the last figure.
    assert len(arcs) == 2
    for arc in arcs:
        assert_allclose((arc.rx * MM_PER_PX * 148, arc.ry * MM_PER_PX * 148), 700.0, atol=0.02)
        assert_allclose(abs(arc.sweep), math.pi / 2, atol=1e-4)


@pytest.mark.parametrize("name", ["d1", "w1", "p1"])
def test_arches_bow_upwards(data, name):
    path = path_of(read(data), name)
    springings = [s.start.y for s in path if isinstance(s, Arc)][:1]
    _, top, _, _ = path.bbox()
    # Down is positive: the crown is above the springing.
    assert top < springings[0] - 100 / 148 / MM_PER_PX


def test_one_group_for_each_layer_in_drawing_order_named_after_it(sheet, data):
    root = ET.fromstring(data)
    groups = [group.get("id") for group in root.findall("s:g", SVG_NAMES)]
    used = {item.layer for item in (*sheet.drawing_items, *sheet.sheet_items)}
    assert groups == [layer.name for layer in sheet.layers if layer.name in used]
    assert {"ground", "outline", "openings", "courses", "levels", "dimensions"} <= set(groups)


def test_lines_have_the_width_and_dashes_of_their_layer(data):
    root = ET.fromstring(data)
    groups = {group.get("id"): group for group in root.findall("s:g", SVG_NAMES)}
    assert groups["outline"].get("stroke-width") == "0.5"
    assert groups["outline"].get("stroke-dasharray") is None
    assert groups["datum"].get("stroke-dasharray") == "6 0.75 0.125 0.75"


def test_what_was_not_measured_is_dashed_and_marked(data):
    root = ET.fromstring(data)
    marked = {
        p.get("id"): p for p in root.iter(f"{{{SVG_NAMES['s']}}}path") if p.get("data-inferred")
    }
    assert {"w5", "p2"} == {name for name in marked if name}
    assert marked["w5"].get("stroke-dasharray") == "2.1 1.05"


def test_lettering_reads_back_as_text_of_its_size(data):
    texts = {e.text: e for e in read(data).elements() if isinstance(e, Text)}
    scale = texts["SCALE 1:148"]
    # Capitals of 3.5 mm in a font whose capitals are 0.729 of its size.
    assert_allclose(float(scale.values["font-size"]), 3.5 / 0.729, atol=0.01)


def test_text_and_ids_that_could_break_the_file_are_made_safe():
    hostile = "a\" onload=\"x</text><script>alert(1)</script>&\x00\ud800 '2'"
    items = (
        Polyline("outline", ((0, 0), (5000, 0)), id=hostile),
        Label("notes", (0, 0), hostile),
    )
    sheet = make_plain_sheet(Drawing(hostile, ELEVATION_LAYERS, items), 148.0)
    root = ET.fromstring(svg_from_sheet(sheet))
    tags = {element.tag.split("}")[1] for element in root.iter()}
    assert tags == {"svg", "title", "desc", "g", "path", "text"}
    assert not [a for e in root.iter() for a in e.attrib if a.startswith("on")]
    (text,) = root.iter(f"{{{SVG_NAMES['s']}}}text")
    assert text.text == "a\" onload=\"x</text><script>alert(1)</script>& '2'"
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert not any(c in name for name in ids for c in " \"<>&'")


def test_ids_are_unique_and_a_measure_keeps_its_own_even_where_a_layer_is_called_so():
    items = (
        opening_path(0, 0, 1000, 2000, id="openings"),
        Circle("bands", (5000, 500), 300, id="window"),
        Circle("bands", (5700, 500), 300, id="window"),
        Polyline("outline", ((0, 0), (20000, 0)), id="麦1"),
    )
    drawing = Drawing("x", ELEVATION_LAYERS, items)
    sheets = make_sheets(drawing, make_maltings_block(40.0), papers=[paper_named("A4")])
    root = ET.fromstring(svg_from_sheet(sheets[0]))
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    by_id = {e.get("id"): e.tag.split("}")[1] for e in root.iter() if e.get("id")}
    assert by_id["openings"] == by_id["window"] == by_id["window-2"] == by_id["麦1"] == "path"
    assert by_id["openings-layer"] == "g"


def test_sheet_of_several_is_cut_off_at_its_window():
    sheets = make_sheets(
        make_maltings_drawing(), make_maltings_block(20.0), papers=[paper_named("A4")]
    )
    root = ET.fromstring(svg_from_sheet(sheets[0]))
    (rect,) = root.iter(f"{{{SVG_NAMES['s']}}}rect")
    window = sheets[0].window
    assert_allclose(float(rect.get("x")), window.left_mm, atol=1e-4)
    assert_allclose(float(rect.get("width")), window.width_mm, atol=1e-4)
    assert_allclose(float(rect.get("y")), sheets[0].paper.height_mm - window.top_mm, atol=1e-4)
    clipped = {g.get("id"): g.get("clip-path") for g in root.findall("s:g", SVG_NAMES)}
    assert clipped["outline"] == "url(#window)"
    assert clipped["frame"] is None


def test_same_sheet_gives_the_same_bytes(sheet, data):
    assert svg_from_sheet(sheet) == data


def test_nothing_is_fetched_from_anywhere(data):
    text = data.decode()
    assert text.count("http") == 1  # the namespace
    assert "href" not in text
