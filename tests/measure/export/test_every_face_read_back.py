"""Every face of the demo and invented fronts, on any paper at any scale, read back elsewhere.

Every opening lies within 0.01 mm of paper of where the elevation says, on every sheet it is on.
"""

from __future__ import annotations

import datetime as dt
from functools import cache

import numpy as np
import pytest

from measure.delivery import lay_sheets
from measure.elevation.build import Elevation, make_elevation
from measure.elevation.sheet import Sheet
from measure.elevation.title_block import TitleBlock
from measure.evaluate import evaluate
from measure.export.dxf import dxf_from_drawing
from measure.export.pdf import pdf_from_sheets
from measure.export.svg import svg_from_sheet
from shared.survey_file import read_survey
from tests.support.demo_walls import TRUTH, demo_facts
from tests.support.export_readers import boxes_in_dxf, boxes_in_pdf, boxes_in_svg
from tests.support.varied_fronts import varied_front

DATE = dt.date(2026, 11, 30)
WITHIN_MM = 0.01
FACES = ("front", "wing", "front-oblique", "wing-oblique", "front-kiln", "tower")
WISHES = {
    "completions": [{"kind": "mirror"}],
    "details": [
        {"kind": "sills"},
        {"kind": "glazing-bars", "across": 2, "up": 3},
        {"kind": "plinth", "foot": -600.0, "head": 100.0},
    ],
}


@cache
def demo_results():
    survey = read_survey(TRUTH.parent / "pennywhistle.survey.json")
    return survey, evaluate(survey, demo_facts(survey), stop_at_problem=False)


@cache
def elevation_of(name: str, scale: float) -> Elevation:
    """A face of the demo, or the invented front of a number."""
    if name in FACES:
        survey, results = demo_results()
    else:
        front = varied_front(int(name), openings=(20, 26), odd_names=True, drawing=WISHES)
        survey, results, name = front.survey, evaluate(front.survey, front.facts), "front"
    face = next(face for face in survey.faces if face.id == name)
    solution = results.photos[face.photo].solution
    return make_elevation(survey, face, results.faces[name], solution, scale)


def laid(elevation: Elevation, paper: str) -> tuple[TitleBlock, tuple[Sheet, ...]]:
    drawing = elevation.drawing
    block = TitleBlock(drawing.title, elevation.denominator, DATE, drawing.subtitle)
    return block, lay_sheets(drawing, block, paper, elevation.facade.openings)


def at_full_size(elevation: Elevation) -> dict[str, np.ndarray]:
    return {
        each.id: np.array([each.left_mm, each.sill_mm, each.right_mm, each.head_mm])
        for each in elevation.facade.openings
    }


def on_sheet(elevation: Elevation, sheet: Sheet) -> dict[str, np.ndarray]:
    """Where a sheet should have each opening that it shows whole or in part."""
    x, y = sheet.origin_mm
    boxes = {
        id_: box / elevation.denominator + [x, y, x, y]
        for id_, box in at_full_size(elevation).items()
    }
    if sheet.window is None:
        return boxes if sheet.drawing_items else {}
    window = sheet.window
    return {
        id_: box
        for id_, box in boxes.items()
        if box[0] < window.right_mm - 1.0
        and box[2] > window.left_mm + 1.0
        and box[1] < window.top_mm - 1.0
        and box[3] > window.bottom_mm + 1.0
    }


def is_whole(box: np.ndarray, sheet: Sheet) -> bool:
    """Whether it lies on the paper; the writer of the PDF cuts lines at its edge."""
    return bool(min(box) > 0.0 and box[2] < sheet.paper.width_mm and box[3] < sheet.paper.height_mm)


CASES = [
    *zip(FACES, [("A4", 148.0), ("Letter", 87.0), ("A3", 43.5)] * 2, strict=True),
    ("2001", ("A3", 76.2)),
    ("2003", ("Letter", 148.0)),
    pytest.param(*("front", ("A4", 40.0)), marks=pytest.mark.slow),
    ("wing", ("Letter", 20.0)),
    pytest.param(*("wing-oblique", ("A0", 1.0)), marks=pytest.mark.slow),
]


@pytest.mark.parametrize(("name", "on"), CASES, ids=lambda each: str(each))
def test_every_opening_reads_back_on_every_sheet(name, on):
    paper, scale = on
    elevation = elevation_of(name, scale)
    _, sheets = laid(elevation, paper)
    pages = boxes_in_pdf(pdf_from_sheets(sheets, DATE))
    seen = set()
    for sheet, page in zip(sheets, pages, strict=True):
        found = boxes_in_svg(svg_from_sheet(sheet), sheet.paper.height_mm)
        for id_, box in on_sheet(elevation, sheet).items():
            assert np.abs(found[id_] - box).max() < WITHIN_MM, id_
            if is_whole(box, sheet):
                assert np.abs(page - box).max(axis=1).min() < WITHIN_MM, id_
            seen.add(id_)
    assert seen == {each.id for each in elevation.facade.openings}


@pytest.mark.parametrize("name", [*FACES, "2001", "2003"])
def test_dxf_passes_its_audit_and_has_every_opening_at_full_size(name):
    elevation = elevation_of(name, 148.0)
    block, _ = laid(elevation, "A3")
    found = boxes_in_dxf(dxf_from_drawing(elevation.drawing, block))
    for id_, box in at_full_size(elevation).items():
        assert np.abs(found[id_] - box).max() < WITHIN_MM, id_
