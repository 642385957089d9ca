"""Openings of an exported elevation, read back by readers that are not ours."""

from __future__ import annotations

import ctypes
import io

import ezdxf
import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
from ezdxf.bbox import extents
from svgelements import SVG, Path

from measure.export.dxf import APPLICATION

MM_PER_POINT = 25.4 / 72
MM_PER_PX = 25.4 / 96


def boxes_in_svg(data: bytes, sheet_height_mm: float) -> dict[str, np.ndarray]:
    """Left, bottom, right and top of everything with an id, in mm from the sheet's corner."""
    svg = SVG.parse(io.BytesIO(data), ppi=96, reify=True)
    found = {}
    for each in svg.elements():
        if isinstance(each, Path) and each.id and each.bbox() is not None:
            left, top, right, bottom = (edge * MM_PER_PX for edge in each.bbox())
            box = [left, sheet_height_mm - bottom, right, sheet_height_mm - top]
            found[each.id] = np.array(box)
    return found


def boxes_in_dxf(data: bytes) -> dict[str, np.ndarray]:
    """The same in units of the file, which must pass its audit without a repair."""
    doc = ezdxf.read(io.StringIO(data.decode()))
    audit = doc.audit()
    assert not audit.errors
    assert not audit.fixes
    found = {}
    for each in doc.modelspace():
        if each.has_xdata(APPLICATION):
            around = extents([each], fast=False)
            low, high = around.extmin, around.extmax
            found[each.get_xdata(APPLICATION)[0].value] = np.array([low.x, low.y, high.x, high.y])
    return found


def boxes_in_pdf(data: bytes) -> list[np.ndarray]:
    """Boxes of all paths, for each page; in mm from the sheet's corner, shape (n, 4)."""
    pages = []
    for page in pdfium.PdfDocument(data):
        boxes = []
        for item in page.get_objects(filter=[pdfium_c.FPDF_PAGEOBJ_PATH]):
            points = ends_of_path(item)
            boxes.append([*points.min(axis=0), *points.max(axis=0)])
        pages.append(np.array(boxes))
    return pages


def ends_of_path(item) -> np.ndarray:
    """Points of a path and points along its curves, in mm from the corner of the page."""
    matrix = item.get_matrix()
    points: list[tuple[float, float]] = []
    handles: list[tuple[float, float]] = []
    for number in range(pdfium_c.FPDFPath_CountSegments(item)):
        segment = pdfium_c.FPDFPath_GetPathSegment(item, number)
        x, y = ctypes.c_float(), ctypes.c_float()
        assert pdfium_c.FPDFPathSegment_GetPoint(segment, x, y)
        at = matrix.on_point(x.value, y.value)
        if pdfium_c.FPDFPathSegment_GetType(segment) != pdfium_c.FPDF_SEGMENT_BEZIERTO:
            points.append(at)
            continue
        handles.append(at)
        if len(handles) == 3:
            start, (one, other, end) = np.array(points[-1]), np.array(handles)
            for t in np.linspace(0.0, 1.0, 33)[1:]:
                s = 1.0 - t
                on = s**3 * start + 3 * s * s * t * one + 3 * s * t * t * other + t**3 * end
                points.append((float(on[0]), float(on[1])))
            handles.clear()
    return np.array(points) * MM_PER_POINT
