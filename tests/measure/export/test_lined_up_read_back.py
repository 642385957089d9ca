"""A lined-up elevation in SVG, DXF and PDF, each read back by a reader that is not ours.

Every opening lies within 0.01 mm of where the elevation says, in the same place in all three.
"""

from __future__ import annotations

import copy
import ctypes
import datetime as dt
import io
import math

import ezdxf
import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest
from ezdxf.bbox import extents
from svgelements import SVG, Path

from measure.elevation.build import Elevation, make_elevation
from measure.elevation.page import make_sheets
from measure.elevation.sheet_schedule import with_schedule
from measure.elevation.title_block import TitleBlock
from measure.evaluate import evaluate
from measure.export.dxf import APPLICATION, dxf_from_drawing
from measure.export.pdf import pdf_from_sheets
from measure.export.svg import svg_from_sheet
from shared.survey import Survey
from tests.support.scenes import picks, rectangle
from tests.support.street_survey import CAMERA, street_survey
from tests.support.surveyed import facts

SCALE = 148.0
DATE = dt.date(2026, 11, 24)
WITHIN_MM = 0.01
MM_PER_POINT = 25.4 / 72
MM_PER_PX = 25.4 / 96

HEADS = (
    ("flat", 0.0),
    ("segmental", 140.0),
    ("semicircular", 400.0),
    ("pointed", 500.0),
    ("round", 0.0),
)


def survey_of_heads() -> Survey:
    """Two rows of windows, all heads, picked with a shaking hand; the upper row repeated."""
    rng = np.random.default_rng(11)
    raw = copy.deepcopy(street_survey())
    face = raw["faces"][0]

    def at(points) -> list[list[float]]:
        px = CAMERA.project_wall(np.asarray(points, dtype=float))
        return picks(px + rng.normal(0.0, 0.2, px.shape))

    measures = [each for each in face["measures"] if each["id"] == "o1"]
    for row, sill in enumerate((900.0, 3900.0)):
        for column, (head, rise) in enumerate(HEADS):
            left = -3300.0 + 1350.0 * column
            one = {"id": f"w{row}{column}", "kind": "opening", "head": head}
            if head == "round":
                turns = np.linspace(0.0, 2.0 * math.pi, 6, endpoint=False)
                ring = np.column_stack([np.cos(turns), np.sin(turns)]) * 400.0
                one["at"] = at(rectangle(left, sill, left + 800.0, sill + 800.0))
                one["head_at"] = at(ring + np.array([left + 400.0, sill + 400.0]))
            else:
                one["at"] = at(rectangle(left, sill, left + 800.0, sill + 1100.0))
                if rise:
                    one["head_at"] = at([[left + 400.0, sill + 1100.0 + rise]])
            measures.append(one)
    face["measures"] = measures
    face["drawing"] = {
        "completions": [{"kind": "copy", "of": "w00", "centre_mm": 3600, "sill_mm": 2000}],
        "details": [{"kind": "sills"}, {"kind": "glazing-bars", "of": ["w10", "w12"]}],
    }
    return Survey.model_validate(raw)


@pytest.fixture(scope="module")
def elevation() -> Elevation:
    survey = survey_of_heads()
    results = evaluate(survey, {"street": facts(CAMERA)})
    solution = results.photos["street"].solution
    made = make_elevation(survey, survey.faces[0], results.faces["front"], solution, SCALE)
    moved = [each for each in made.liberties if each.moved_mm is not None]
    assert len(moved) > 20  # lining up had something to do
    return made


@pytest.fixture(scope="module")
def block(elevation) -> TitleBlock:
    return TitleBlock(elevation.drawing.title, SCALE, DATE, notes=elevation.sheet_notes)


@pytest.fixture(scope="module")
def sheet(elevation, block):
    (made,) = make_sheets(elevation.drawing, block)
    return with_schedule(made, block, elevation.facade.openings)


def on_paper(elevation: Elevation, origin_mm=(0.0, 0.0)) -> dict[str, np.ndarray]:
    """Left, bottom, right and top of every opening, in mm of paper."""
    x, y = origin_mm
    return {
        each.id: np.array([each.left_mm, each.sill_mm, each.right_mm, each.head_mm]) / SCALE
        + [x, y, x, y]
        for each in elevation.facade.openings
    }


def test_svg_agrees_for_every_opening(elevation, sheet):
    svg = SVG.parse(io.BytesIO(svg_from_sheet(sheet)), ppi=96, reify=True)
    found = {each.id: each for each in svg.elements() if isinstance(each, Path)}
    height = sheet.paper.height_mm
    wanted = on_paper(elevation, sheet.origin_mm)
    assert len(wanted) == 11
    for id_, box in wanted.items():
        left, top, right, bottom = (edge * MM_PER_PX for edge in found[id_].bbox())
        read = [left, height - bottom, right, height - top]
        assert np.abs(read - box).max() < WITHIN_MM, id_


def test_dxf_passes_its_audit_and_agrees_for_every_opening(elevation, block):
    doc = ezdxf.read(io.StringIO(dxf_from_drawing(elevation.drawing, block).decode()))
    audit = doc.audit()
    assert not audit.errors
    assert not audit.fixes
    found = {
        each.get_xdata(APPLICATION)[0].value: each
        for each in doc.modelspace()
        if each.has_xdata(APPLICATION)
    }
    for id_, box in on_paper(elevation).items():
        around = extents([found[id_]], fast=False)
        low, high = around.extmin, around.extmax
        # one unit of the file is one millimetre of the building
        read = np.array([low.x, low.y, high.x, high.y]) / SCALE
        assert np.abs(read - box).max() < WITHIN_MM, id_


def test_pdf_agrees_for_every_opening(elevation, sheet):
    page = pdfium.PdfDocument(pdf_from_sheets([sheet], DATE))[0]
    boxes = []
    for item in page.get_objects(filter=[pdfium_c.FPDF_PAGEOBJ_PATH]):
        points = ends_of_path(item)
        boxes.append([*points.min(axis=0), *points.max(axis=0)])
    read = np.array(boxes)
    for id_, box in on_paper(elevation, sheet.origin_mm).items():
        assert np.abs(read - box).max(axis=1).min() < WITHIN_MM, id_


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


def test_places_as_picked_are_off_by_more_than_the_readers_can_be(elevation):
    """The comparison can fail: what was picked lies further off than 0.01 mm of paper."""
    measured = {each.id: each for each in elevation.tidied.measured.openings}
    numbers = elevation.tidied.measured
    off = [
        abs(numbers.values[measured[each.id].sill] - each.sill_mm) / SCALE
        for each in elevation.facade.openings
        if each.id in measured
    ]
    assert max(off) > WITHIN_MM
