"""A layer that is not shown: there to be turned on in SVG and DXF, absent from the PDF."""

import io
import xml.etree.ElementTree as ET

import ezdxf
import pypdfium2

from measure.elevation.drawing import ELEVATION_LAYERS, Drawing, Polyline
from measure.elevation.page import make_plain_sheet
from measure.export.dxf import dxf_from_drawing
from measure.export.pdf import pdf_from_sheets
from measure.export.svg import svg_from_sheet
from tests.support.maltings_drawing import DATE, make_maltings_block

SEEN = Polyline("outline", ((0.0, 0.0), (5000.0, 0.0)))
HIDDEN = Polyline("as-picked", ((0.0, 500.0), (5000.0, 500.0)))
NAMESPACE = "{http://www.w3.org/2000/svg}"


def drawing(*items: Polyline) -> Drawing:
    return Drawing("x", ELEVATION_LAYERS, items)


def test_svg_has_the_layer_turned_off() -> None:
    root = ET.fromstring(svg_from_sheet(make_plain_sheet(drawing(SEEN, HIDDEN), 148.0)))
    groups = {group.get("id"): group for group in root.iter(f"{NAMESPACE}g")}
    assert groups["as-picked"].get("display") == "none"
    assert groups["outline"].get("display") is None
    assert len(groups["as-picked"]) == 1


def test_dxf_has_the_layer_turned_off() -> None:
    content = dxf_from_drawing(drawing(SEEN, HIDDEN), make_maltings_block())
    doc = ezdxf.read(io.StringIO(content.decode()))
    assert doc.layers.get("as-picked").is_off()
    assert not doc.layers.get("outline").is_off()
    assert any(entity.dxf.layer == "as-picked" for entity in doc.modelspace())
    assert not doc.audit().has_errors


def test_pdf_leaves_the_layer_out() -> None:
    found = []
    for items in ((SEEN, HIDDEN), (SEEN,)):
        content = pdf_from_sheets((make_plain_sheet(drawing(*items), 148.0),), DATE)
        document = pypdfium2.PdfDocument(content)
        found.append(sum(1 for _ in document[0].get_objects()))
    assert found[0] == found[1]
