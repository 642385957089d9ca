"""Roof slopes as parts: true length up the slope, and what is said of laying them on."""

import dataclasses
import datetime as dt
from pathlib import Path

import pytest

from measure.elevation.primitives import Lettering
from measure.parts.build_order import build_order_text
from measure.parts.card_plan import plan_survey
from measure.parts.cut_files import make_card_files
from measure.parts.cut_list import csv_of_parts
from measure.parts.key_sheet import key_sheets
from measure.parts.part import polygon_of
from measure.parts.part_sheets import lay_parts
from measure.parts.printer import Correction
from measure.survey_job import SurveyJob
from shared.card_wishes import CardWishes
from shared.errors import FieldError
from shared.survey import Survey
from tests.measure.test_roofs import CAMERA, roof, roof_point
from tests.support.scenes import rectangle
from tests.support.surveyed import Hand, facts, street_camera, street_front

SLOPE_MM, ALONG_MM = 4300.0, 8600.0


@pytest.fixture(scope="module")
def measured():
    """A front with its outline and the slope above it, measured."""
    from measure.evaluate import evaluate

    camera = street_camera(**CAMERA)
    hand = Hand(camera)
    front = street_front(hand)
    outline = hand.on_wall(rectangle(-4300, 0, 4300, 5600))
    front["measures"].append({"id": "o1", "kind": "outline", "at": outline})
    slope = roof(hand)
    corners = [(-4300.0, 0.0), (4300.0, 0.0), (4300.0, SLOPE_MM), (-4300.0, SLOPE_MM)]
    picked = hand.at([roof_point(u, s) for u, s in corners])
    slope["measures"].append({"id": "o2", "kind": "outline", "at": picked})
    survey = Survey.model_validate(
        {"photos": [{"id": "street", "file": "x.jpg"}], "faces": [front, slope]}
    )
    results = evaluate(survey, {"street": facts(camera)})
    return SurveyJob(survey, Path("x.survey.json")), results


def test_slope_is_cut_at_its_true_length_with_its_skin(measured):
    plan = plan_survey(*measured, CardWishes(), scale="1:100")
    slope, skin = [part for part in plan.parts if part.face == "roof"]
    assert (slope.mark, slope.role, skin.mark, skin.role) == ("B1", "roof", "B2", "skin")
    left, low, right, high = polygon_of(slope.line("B1")).bounds
    assert right - left == pytest.approx(ALONG_MM / 100, rel=1e-3)
    assert high - low == pytest.approx(SLOPE_MM / 100, rel=1e-3)
    assert "38.0°" in slope.note
    assert skin.pictures[0].face == "roof"


def test_slope_lies_on_a_sheet_in_the_list_and_in_the_build_order(measured):
    plan = plan_survey(*measured, CardWishes(), scale="1:148")
    sheets, parts = lay_parts(plan, Correction())
    assert sum("B1" in sheet.marks for sheet in sheets) == 1
    assert b"roof slope" in csv_of_parts(parts, sheets)
    text = build_order_text(plan)
    assert "roof slope: cut B1, glue its skin B2 on and lay it on along the eaves" in text
    assert "the other roofs" in text


def test_slope_has_its_own_key_with_its_marks(measured):
    plan = plan_survey(*measured, CardWishes(), scale="1:148")
    made = make_card_files(plan, dt.date(2026, 11, 25))
    assert "key-roof.svg" in made.files
    words = [i.text for i in key_sheets(plan)[-1].drawing_items if isinstance(i, Lettering)]
    assert any("B1 roof, B2 skin" in text for text in words)


def test_slope_without_an_outline_or_without_its_wall_is_refused(measured):
    job, results = measured
    with pytest.raises(FieldError, match="No wall is to be cut"):
        plan_survey(job, results, CardWishes(faces=("roof",)))
    bare = dataclasses.replace(
        results.faces["roof"],
        measures={k: m for k, m in results.faces["roof"].measures.items() if m.kind != "outline"},
    )
    without = dataclasses.replace(results, faces={**results.faces, "roof": bare})
    with pytest.raises(FieldError, match="Roof slope 'roof' has no outline"):
        plan_survey(job, without, CardWishes(faces=("front", "roof")))
