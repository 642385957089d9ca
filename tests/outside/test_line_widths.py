"""Lines and values of an exported sheet against ISO 128 and ISO 129, read from the file."""

import datetime as dt
import math
import xml.etree.ElementTree as ET

import pytest

from measure.elevation.drawing import SHEET_LAYERS
from measure.elevation.page import make_sheets
from measure.elevation.primitives import Lettering
from measure.elevation.title_block import TitleBlock
from measure.export.svg import svg_from_sheet
from tests.support.maltings_drawing import make_maltings_drawing

# ISO 128-2:2020 (before: ISO 128-20:1996), widths of lines in mm, each root two of the one before.
PUBLISHED_WIDTHS_MM = {0.13, 0.18, 0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0}


@pytest.fixture(scope="module")
def sheet():
    drawing = make_maltings_drawing()
    (made,) = make_sheets(drawing, TitleBlock(drawing.title, 148.0, dt.date(2026, 11, 30)))
    return made


def test_every_line_of_the_file_has_a_width_of_iso_128(sheet):
    root = ET.fromstring(svg_from_sheet(sheet))
    widths = {float(each.get("stroke-width")) for each in root.iter() if each.get("stroke-width")}
    assert widths
    assert widths <= PUBLISHED_WIDTHS_MM


def test_outlines_are_twice_as_wide_as_thin_lines_or_nearly(sheet):
    """ISO 128-2: wide to narrow as 2 to 1 at least, by steps of root two."""
    width = {layer.name: layer.width_mm for layer in sheet.layers}
    assert width["outline"] >= 1.9 * width["dimensions"]
    assert width["frame"] >= 1.9 * min(layer.width_mm for layer in SHEET_LAYERS)


def test_values_of_dimensions_have_one_height_and_read_from_below_or_the_right(sheet):
    """ISO 129-1:2018: one character height for all values of a drawing."""
    values = [
        item
        for item in sheet.drawing_items
        if isinstance(item, Lettering) and item.layer == "dimensions"
    ]
    assert len(values) > 3
    assert len({item.size_mm for item in values}) == 1
    assert all(-math.pi / 2 < item.angle_rad <= math.pi / 2 + 1e-9 for item in values)
