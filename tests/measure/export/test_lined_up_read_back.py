"""A lined-up elevation in SVG, DXF and PDF, each read back by a reader that is not ours.

Every opening lies within 0.01 mm of where the elevation says, in the same place in all three.
"""

from __future__ import annotations

import copy
import datetime as dt
import math

import numpy as np
import pytest

from measure.elevation.build import Elevation, make_elevation
from measure.elevation.page import make_sheets
from measure.elevation.sheet_schedule import with_schedule
from measure.elevation.title_block import TitleBlock
from measure.evaluate import evaluate
from measure.export.dxf import dxf_from_drawing
from measure.export.pdf import pdf_from_sheets
from measure.export.svg import svg_from_sheet
from shared.survey import Survey
from tests.support.export_readers import boxes_in_dxf, boxes_in_pdf, boxes_in_svg
from tests.support.scenes import picks, rectangle
from tests.support.street_survey import CAMERA, street_survey
from tests.support.surveyed import facts

SCALE = 148.0
DATE = dt.date(2026, 11, 24)
WITHIN_MM = 0.01

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
    found = boxes_in_svg(svg_from_sheet(sheet), sheet.paper.height_mm)
    wanted = on_paper(elevation, sheet.origin_mm)
    assert len(wanted) == 11
    for id_, box in wanted.items():
        assert np.abs(found[id_] - box).max() < WITHIN_MM, id_


def test_dxf_passes_its_audit_and_agrees_for_every_opening(elevation, block):
    found = boxes_in_dxf(dxf_from_drawing(elevation.drawing, block))
    for id_, box in on_paper(elevation).items():
        # one unit of the file is one millimetre of the building
        assert np.abs(found[id_] / SCALE - box).max() < WITHIN_MM, id_


def test_pdf_agrees_for_every_opening(elevation, sheet):
    (read,) = boxes_in_pdf(pdf_from_sheets([sheet], DATE))
    for id_, box in on_paper(elevation, sheet.origin_mm).items():
        assert np.abs(read - box).max(axis=1).min() < WITHIN_MM, id_


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
