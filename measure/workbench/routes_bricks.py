"""Route of the brick: which formats agree with a wall, and what each would make its openings."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from pydantic import Field

from measure.bricks.evidence import Stretchers
from measure.bricks.hypotheses import weigh_brick_formats
from measure.bricks.lengths import count_stretchers, read_along
from measure.bricks.telling import tell_choice
from measure.survey_job import SurveyJob
from measure.workbench.payloads import Name, Payload
from measure.workbench.routes_survey import Opened
from measure.workbench.telling import clean_json, facts_of
from measure.workbench.wiring import survey_from_page
from shared.errors import FieldError

router = APIRouter(prefix="/api/surveys/{key}", tags=["bricks"])


class Spanned(Payload):
    """A distance along one course, and the stretchers that it spans; none: count them there."""

    measure: Name
    count: int | None = Field(default=None, ge=1, le=1000)


class Weighing(Payload):
    """A face whose brick is to be told."""

    document: dict[str, Any]
    face: Name
    stretchers: list[Spanned] = Field(default_factory=list, max_length=100)
    openings: list[Name] | None = Field(default=None, max_length=20)


@router.post("/bricks")
def weigh_bricks(sent: Weighing, opened: Opened) -> dict[str, Any]:
    """Weigh the brick formats against the wall's other evidence; nothing is saved."""
    asked = survey = survey_from_page(sent.document)
    face = SurveyJob(survey, opened.path).face(sent.face)
    photo = next(one for one in survey.photos if one.id == face.photo)
    facts, told = facts_of(photo, lambda one: opened.header(survey, one))
    if facts is None:
        raise FieldError(str(told["problem"]["message"]), hint=str(told["problem"]["hint"]))
    counted = []
    for one in sent.stretchers:
        count = one.count
        if count is None:
            solution = opened.answer(asked).solution_of(face.id)
            pixels = opened.decoded(survey, photo.id).photo.pixels
            reading, survey = read_along(survey, pixels, solution, face, one.measure)
            count = count_stretchers(reading, one.measure)
        counted.append(Stretchers(one.measure, count))
    choice = weigh_brick_formats(
        survey,
        facts,
        face.id,
        stretchers=counted,
        openings=sent.openings,
    )
    answer: dict[str, Any] = clean_json(tell_choice(choice))
    return answer
