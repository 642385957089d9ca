"""A sheet as SVG: one user unit is one millimetre on paper.

``width`` and ``height`` in mm, a ``viewBox`` in mm, y down. One group for each
layer, its id the layer's name; a path that draws a measure has the measure's id.
Fonts are not carried along: a reader without DejaVu Sans takes another plain sans.
"""

from __future__ import annotations

import base64
import io
import math
import xml.etree.ElementTree as ET
from collections.abc import Iterable

from PIL import Image

from measure.elevation.drawing import Layer, LineKind
from measure.elevation.lettering import EM_FROM_CAPITAL, clean
from measure.elevation.path_geometry import (
    ArcSegment,
    Box,
    Point,
    arc_radius_mm,
    point_on_arc_mm,
    walk,
)
from measure.elevation.picture import SheetPicture
from measure.elevation.primitives import Fill, Lettering, Primitive, Stroke, dash_lengths_mm
from measure.elevation.sheet import Sheet
from measure.elevation.title_block import CAUTION, scale_in_words

INK = "#000000"
FONT = "DejaVu Sans, Verdana, sans-serif"
_NAMESPACE = "http://www.w3.org/2000/svg"


def svg_from_sheet(sheet: Sheet) -> bytes:
    """Write one sheet as SVG.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    bytes
        UTF-8 with an XML declaration; the same sheet gives the same bytes.
    """
    width, height = _number(sheet.paper.width_mm), _number(sheet.paper.height_mm)
    root = ET.Element(
        "svg",
        {
            "xmlns": _NAMESPACE,
            "version": "1.1",
            "width": f"{width}mm",
            "height": f"{height}mm",
            "viewBox": f"0 0 {width} {height}",
        },
    )
    ET.SubElement(root, "title").text = clean(sheet.title)
    ET.SubElement(root, "desc").text = f"{scale_in_words(sheet.scale_denominator)}. {CAUTION}"
    ids = _Ids(item for item in (*sheet.drawing_items, *sheet.sheet_items))
    clip = _add_window(root, sheet, ids)
    if sheet.pictures:
        root.set("xmlns:xlink", "http://www.w3.org/1999/xlink")
    for picture in sheet.pictures:
        _add_picture(root, picture, sheet.paper.height_mm)
    for items, clipped in ((sheet.drawing_items, clip), (sheet.sheet_items, "")):
        for layer in sheet.layers:
            on_layer = [item for item in items if item.layer == layer.name]
            if on_layer:
                _add_layer(root, layer, on_layer, sheet.paper.height_mm, ids, clipped)
    ET.indent(root, " ")
    text = ET.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _add_picture(root: ET.Element, picture: SheetPicture, height_mm: float) -> None:
    """Pixels as PNG within the file, stretched to their box."""
    file = io.BytesIO()
    Image.fromarray(picture.rgba, "RGBA").save(file, format="PNG", compress_level=6)
    box = picture.box
    ET.SubElement(
        root,
        "image",
        {
            "x": _number(box.left_mm),
            "y": _number(height_mm - box.top_mm),
            "width": _number(box.width_mm),
            "height": _number(box.height_mm),
            "preserveAspectRatio": "none",
            # the older name of this attribute is read by old and new programs alike
            "xlink:href": f"data:image/png;base64,{base64.b64encode(file.getvalue()).decode()}",
        },
    )


class _Ids:
    """Ids given out once each; the measures' own ids come first."""

    def __init__(self, items: Iterable[Primitive]) -> None:
        wanted = (item.id for item in items if isinstance(item, Stroke | Lettering))
        self._measures = {_safe(name) for name in wanted if name}
        self._used: set[str] = set()

    def of_measure(self, name: str) -> str:
        """Id of a measure; a second item of the same measure gets a number."""
        return self._fresh(_safe(name))

    def of_sheet(self, name: str) -> str:
        """Id of a group, out of the way of the measures."""
        while name in self._measures:
            name += "-layer"
        return self._fresh(name)

    def _fresh(self, name: str) -> str:
        fresh, number = name, 2
        while fresh in self._used or (fresh != name and fresh in self._measures):
            fresh, number = f"{name}-{number}", number + 1
        self._used.add(fresh)
        return fresh


def _safe(name: str) -> str:
    """Id without blanks and quotes: what SVG 2 asks of an id, and what selectors can hold."""
    kept = "".join("_" if c.isspace() or c in "\"'<>&#()" else c for c in clean(name))
    return kept or "_"


def _add_window(root: ET.Element, sheet: Sheet, ids: _Ids) -> str:
    """Define the window's clip; returns its reference, or an empty text without a window."""
    if sheet.window is None:
        return ""
    name = ids.of_sheet("window")
    clip = ET.SubElement(ET.SubElement(root, "defs"), "clipPath", {"id": name})
    box: Box = sheet.window
    ET.SubElement(
        clip,
        "rect",
        {
            "x": _number(box.left_mm),
            "y": _number(sheet.paper.height_mm - box.top_mm),
            "width": _number(box.width_mm),
            "height": _number(box.height_mm),
        },
    )
    return f"url(#{name})"


def _add_layer(
    root: ET.Element,
    layer: Layer,
    items: list[Primitive],
    height_mm: float,
    ids: _Ids,
    clip: str,
) -> None:
    """One group with everything on a layer."""
    group = ET.SubElement(
        root,
        "g",
        {
            "id": ids.of_sheet(layer.name),
            "fill": "none",
            "stroke": INK,
            "stroke-width": _number(layer.width_mm),
            "stroke-linecap": "butt",
            "stroke-linejoin": "miter",
        },
    )
    if clip:
        group.set("clip-path", clip)
    if not layer.shown:
        group.set("display", "none")
    dashes = _dashes(layer.line_kind, layer.width_mm)
    if dashes:
        group.set("stroke-dasharray", dashes)
    for item in items:
        if isinstance(item, Lettering):
            _add_text(group, item, height_mm, ids)
        else:
            _add_path(group, layer, item, height_mm, ids)


def _add_path(
    group: ET.Element, layer: Layer, item: Stroke | Fill, height_mm: float, ids: _Ids
) -> None:
    """A stroked or filled path."""
    path = ET.SubElement(group, "path")
    if isinstance(item, Fill):
        path.set("d", _path_data(item, height_mm, closed=True))
        path.set("fill", INK)
        path.set("stroke", "none")
        return
    if item.id:
        path.set("id", ids.of_measure(item.id))
    path.set("d", _path_data(item, height_mm, closed=item.closed))
    if item.width_mm != layer.width_mm:
        path.set("stroke-width", _number(item.width_mm))
    if item.line_kind != layer.line_kind:
        path.set("stroke-dasharray", _dashes(item.line_kind, item.width_mm) or "none")
    if item.inferred:
        path.set("data-inferred", "true")


def _path_data(item: Stroke | Fill, height_mm: float, *, closed: bool) -> str:
    """Path commands; y is turned to point down, so anticlockwise arcs have sweep flag 0."""
    parts = ["M" + _point(item.start_mm, height_mm)]
    for start, segment in walk(item.start_mm, item.segments):
        if isinstance(segment, ArcSegment):
            radius = _number(arc_radius_mm(start, segment), 6)
            sweep = int(segment.sweep_rad < 0)
            for end in _ends_of_pieces(start, segment):
                parts.append(f"A{radius} {radius} 0 0 {sweep} {_point(end, height_mm)}")
        else:
            parts.append("L" + _point(segment.to_mm, height_mm))
    if closed:
        parts.append("Z")
    return " ".join(parts)


def _ends_of_pieces(start_mm: Point, arc: ArcSegment) -> list[Point]:
    """Ends of the pieces of at most a quarter turn that an arc is written in.

    The format gives a radius and the two ends. Near half a turn the height of such an arc hangs
    on the last figure of both: a tenth of a micrometre of rounding moves its crown by 17.
    """
    pieces = math.ceil(abs(arc.sweep_rad) / (math.pi / 2) - 1e-9)
    inner = [point_on_arc_mm(start_mm, arc, arc.sweep_rad * n / pieces) for n in range(1, pieces)]
    return [*inner, arc.to_mm]


def _add_text(group: ET.Element, item: Lettering, height_mm: float, ids: _Ids) -> None:
    """A line of lettering."""
    x, y = item.at_mm
    down = height_mm - y
    text = ET.SubElement(
        group,
        "text",
        {
            "x": _number(x),
            "y": _number(down),
            "font-family": FONT,
            "font-size": _number(item.size_mm * EM_FROM_CAPITAL),
            "fill": INK,
            "stroke": "none",
        },
    )
    if item.align != "left":
        text.set("text-anchor", {"centre": "middle", "right": "end"}[item.align])
    if item.angle_rad:
        turned = _number(-math.degrees(item.angle_rad), 6)
        text.set("transform", f"rotate({turned} {_number(x)} {_number(down)})")
    if item.id:
        text.set("id", ids.of_measure(item.id))
    if item.inferred:
        text.set("data-inferred", "true")
    text.text = clean(item.text)


def _point(point_mm: Point, height_mm: float) -> str:
    return f"{_number(point_mm[0])},{_number(height_mm - point_mm[1])}"


def _dashes(line_kind: LineKind, width_mm: float) -> str:
    lengths = dash_lengths_mm(line_kind, width_mm)
    return " ".join(_number(length) for length in lengths)


def _number(value: float, decimals: int = 4) -> str:
    """Plain decimal number; four decimals are a tenth of a micrometre on paper."""
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
