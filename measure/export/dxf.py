"""A drawing as DXF: millimetres, true arcs, layers in plain trade words.

Version R2010. ``$INSUNITS`` is 4 (millimetres) and ``$MEASUREMENT`` 1 (metric).
Dimensions are plain lines and text, which every reader shows alike. A path that
draws a measure carries the measure's id as extended data under ``STOREYROD``.
"""

from __future__ import annotations

import datetime as dt
import io
import math
import re
import threading
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

import ezdxf
from ezdxf.enums import TextEntityAlignment

from measure.elevation.annotate import paper_primitives
from measure.elevation.caption import caption_primitives
from measure.elevation.drawing import SHEET_LAYERS, Drawing, Layer, LineKind
from measure.elevation.lettering import clean
from measure.elevation.path_geometry import ArcSegment, arc_centre_mm, arc_radius_mm, walk
from measure.elevation.primitives import (
    Fill,
    Lettering,
    Primitive,
    Stroke,
    box_around,
    dash_lengths_mm,
    moved,
    scaled,
)
from measure.elevation.sheet import Sheet
from measure.elevation.title_block import INFERRED_NOTE, TitleBlock, scale_in_words

VERSION = "R2010"
APPLICATION = "STOREYROD"
LETTERING_STYLE = "lettering"
CAPTION_GAP_MM = 8.0
# Day numbers as this format writes them: 2451545.0 is the start of 2000-01-01.
_DAY_NUMBER_OF_2000 = 2451545
_LONGEST_ID = 255
# The switch for reproducible files belongs to the whole program: one file at a time.
_ONE_AT_A_TIME = threading.Lock()
_ALIGNMENT = {
    "left": TextEntityAlignment.LEFT,
    "centre": TextEntityAlignment.CENTER,
    "right": TextEntityAlignment.RIGHT,
}


def dxf_from_drawing(drawing: Drawing, block: TitleBlock, *, full_size: bool = True) -> bytes:
    """Write a drawing as DXF.

    Parameters
    ----------
    drawing : Drawing
    block : TitleBlock
        Its scale decides how large lettering is against the building; its words stand below the
        drawing.
    full_size : bool
        One unit is one millimetre of the building; otherwise one millimetre of the model at the
        block's scale.

    Returns
    -------
    bytes
        The same drawing and block give the same bytes.

    Notes
    -----
    The chart's (0, 0) is the origin of the file.
    """
    items = list(paper_primitives(drawing, block.scale_denominator))
    if any(isinstance(item, Stroke | Lettering) and item.inferred for item in items):
        block = replace(block, notes=(*block.notes, INFERRED_NOTE))
    words = "FULL SIZE: 1 unit is 1 mm of the building"
    if not full_size:
        words = f"{scale_in_words(block.scale_denominator)}: 1 unit is 1 mm of the model"
    left_mm, bottom_mm, width_mm = 0.0, 0.0, 0.0
    if items:
        box = box_around(items)
        left_mm, bottom_mm, width_mm = box.left_mm, box.bottom_mm, box.width_mm
    items += [
        moved(item, left_mm, bottom_mm - CAPTION_GAP_MM)
        for item in caption_primitives(block, width_mm, words)
    ]
    factor = block.scale_denominator if full_size else 1.0
    return _dxf(items, (*drawing.layers, *SHEET_LAYERS), factor, block.date)


def dxf_from_sheet(sheet: Sheet, date: dt.date) -> bytes:
    """Write a sheet as DXF, one unit one millimetre of paper, from its lower left corner.

    What a window cuts off on paper is written whole.
    """
    items = [*sheet.drawing_items, *sheet.sheet_items]
    return _dxf(items, sheet.layers, 1.0, date)


def _dxf(
    items: Iterable[Primitive], layers: Sequence[Layer], factor: float, date: dt.date
) -> bytes:
    """Items in millimetres of paper, everything multiplied by `factor`."""
    with _ONE_AT_A_TIME:
        before = ezdxf.options.write_fixed_meta_data_for_testing
        ezdxf.options.write_fixed_meta_data_for_testing = True
        try:
            doc = ezdxf.new(VERSION, units=4)
            _add_tables(doc, layers, factor)
            space = doc.modelspace()
            widths_mm = {layer.name: layer.width_mm for layer in layers}
            for item in items:
                _add_item(space, item, factor, widths_mm[item.layer])
            _set_view(doc, space)
            # The library would register these in the order of a set, another in every run.
            for kind in sorted(doc.entitydb.dxf_types_in_use()):
                doc.classes.add_class(kind)
            stream = io.StringIO()
            doc.write(stream)
        finally:
            ezdxf.options.write_fixed_meta_data_for_testing = before
    return _dated(stream.getvalue(), date).encode("utf-8", errors="dxfreplace")


def _dated(text: str, date: dt.date) -> str:
    """Put the day into the four places where the library wrote a fixed one."""
    day = _DAY_NUMBER_OF_2000 + (date - dt.date(2000, 1, 1)).days
    return re.sub(r"(\$TDU?(?:CREATE|UPDATE)\n 40\n)[0-9.]+", rf"\g<1>{day}.0", text)


def _add_tables(doc: Any, layers: Sequence[Layer], factor: float) -> None:
    """Units, layers, kinds of line, lettering."""
    doc.header["$INSUNITS"] = 4
    doc.header["$MEASUREMENT"] = 1
    doc.header["$LASTSAVEDBY"] = APPLICATION.lower()
    # Lengths of dashes are kept in millimetres of paper.
    doc.header["$LTSCALE"] = factor
    doc.appids.new(APPLICATION)
    doc.styles.new(LETTERING_STYLE, dxfattribs={"font": "DejaVuSans.ttf"})
    for layer in layers:
        linetype = _linetype(doc, layer.line_kind, layer.width_mm)
        attributes = {"linetype": linetype, "lineweight": _lineweight(layer.width_mm)}
        entry = doc.layers.new(layer.name, dxfattribs=attributes)
        entry.description = layer.holds
        if not layer.shown:
            entry.off()


def _linetype(doc: Any, line_kind: LineKind, width_mm: float) -> str:
    """Name of a kind of line at a width, made where it is not yet there."""
    lengths = dash_lengths_mm(line_kind, width_mm)
    if not lengths:
        return "Continuous"
    name = f"{line_kind}-{_lineweight(width_mm):03d}"
    if name not in doc.linetypes:
        signed = [length if n % 2 == 0 else -length for n, length in enumerate(lengths)]
        words = f"{line_kind}, for lines of {width_mm:g} mm"
        doc.linetypes.add(name, pattern=[sum(lengths), *signed], description=words)
    return name


def _lineweight(width_mm: float) -> int:
    """Width in hundredths of a millimetre, as the format counts it."""
    return round(100 * width_mm)


def _add_item(space: Any, item: Primitive, factor: float, layer_width_mm: float) -> None:
    """One primitive as entities."""
    large = scaled(item, factor, 0.0, 0.0)
    if isinstance(large, Lettering):
        _add_lettering(space, large)
    elif isinstance(large, Fill):
        hatch = space.add_hatch(dxfattribs={"layer": large.layer, "color": 7})
        hatch.paths.add_polyline_path(_vertices(large, closed=True), is_closed=True)
    elif isinstance(large, Stroke) and isinstance(item, Stroke):
        attributes: dict[str, Any] = {"layer": large.layer}
        if item.width_mm != layer_width_mm:
            attributes["lineweight"] = _lineweight(item.width_mm)
        if item.inferred:
            attributes["linetype"] = _linetype(space.doc, item.line_kind, item.width_mm)
        entity = _add_stroke(space, large, attributes)
        if item.id:
            entity.set_xdata(APPLICATION, [(1000, clean(item.id)[:_LONGEST_ID])])


def _add_stroke(space: Any, item: Stroke, attributes: dict[str, Any]) -> Any:
    """A line, a circle, or a polyline whose bulges are its arcs."""
    circle = _as_circle(item)
    if circle is not None:
        return space.add_circle(*circle, dxfattribs=attributes)
    vertices = _vertices(item, closed=item.closed)
    if len(vertices) == 2 and not item.closed and vertices[0][2] == 0.0:
        return space.add_line(vertices[0][:2], vertices[1][:2], dxfattribs=attributes)
    return space.add_lwpolyline(vertices, format="xyb", close=item.closed, dxfattribs=attributes)


def _as_circle(item: Stroke) -> tuple[tuple[float, float], float] | None:
    """Centre and radius of a path that is one full circle in two half turns."""
    if len(item.segments) != 2 or item.segments[1].to_mm != item.start_mm:
        return None
    first, second = item.segments
    if not (isinstance(first, ArcSegment) and isinstance(second, ArcSegment)):
        return None
    if first.sweep_rad != second.sweep_rad or abs(first.sweep_rad) != math.pi:
        return None
    return arc_centre_mm(item.start_mm, first), arc_radius_mm(item.start_mm, first)


def _vertices(item: Stroke | Fill, *, closed: bool) -> list[tuple[float, float, float]]:
    """Points with the bulge of what follows: the tangent of a quarter of the arc's sweep."""
    vertices = []
    for start, segment in walk(item.start_mm, item.segments):
        bulge = math.tan(segment.sweep_rad / 4) if isinstance(segment, ArcSegment) else 0.0
        vertices.append((start[0], start[1], bulge))
    last = item.segments[-1].to_mm
    if not (closed and last == item.start_mm):
        vertices.append((last[0], last[1], 0.0))
    return vertices


def _add_lettering(space: Any, item: Lettering) -> None:
    """A line of text, its height that of its capitals."""
    entity = space.add_text(
        _plain_text(item.text),
        height=item.size_mm,
        rotation=math.degrees(item.angle_rad),
        dxfattribs={"layer": item.layer, "style": LETTERING_STYLE},
    )
    entity.set_placement(item.at_mm, align=_ALIGNMENT[item.align])
    if item.id:
        entity.set_xdata(APPLICATION, [(1000, clean(item.id)[:_LONGEST_ID])])


def _plain_text(text: str) -> str:
    """Text without the signs that this format reads as commands, and with plain blanks."""
    plain = clean(text).replace("\N{NARROW NO-BREAK SPACE}", " ").replace("\N{NO-BREAK SPACE}", " ")
    return re.sub("%(?=%)", "% ", plain).replace("^", "^ ")


def _set_view(doc: Any, space: Any) -> None:
    """Show all of the drawing when the file is opened."""
    boxes = []
    for entity in space:
        if entity.dxftype() == "LINE":
            boxes += [entity.dxf.start, entity.dxf.end]
        elif entity.dxftype() == "LWPOLYLINE":
            boxes += [(x, y) for x, y in entity.get_points("xy")]
    if not boxes:
        return
    xs, ys = [point[0] for point in boxes], [point[1] for point in boxes]
    low, high = (min(xs), min(ys)), (max(xs), max(ys))
    doc.header["$EXTMIN"], doc.header["$EXTMAX"] = (*low, 0.0), (*high, 0.0)
    space.reset_extents((*low, 0.0), (*high, 0.0))
    # Twice the height also shows a drawing that is twice as wide as the window.
    height = max(high[1] - low[1], (high[0] - low[0]) / 2) * 1.1
    doc.set_modelspace_vport(height or 1.0, ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2))
