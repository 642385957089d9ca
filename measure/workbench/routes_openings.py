"""Route of the finder: openings that a wall seems to have, to be accepted or not."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from measure.opening_finder import find_openings
from measure.opening_telling import tell_proposals
from measure.survey_job import SurveyJob
from measure.workbench.payloads import Name, Payload
from measure.workbench.routes_survey import Opened
from measure.workbench.telling import clean_json
from measure.workbench.wiring import survey_from_page

router = APIRouter(prefix="/api/surveys/{key}", tags=["openings"])


class Looking(Payload):
    """A face to look for openings on."""

    document: dict[str, Any]
    face: Name


@router.post("/openings")
def propose_openings(sent: Looking, opened: Opened) -> dict[str, Any]:
    """Propose openings on a face, with their rows and columns; nothing is saved."""
    survey = survey_from_page(sent.document)
    face = SurveyJob(survey, opened.path).face(sent.face)
    solution = opened.answer(survey).solution_of(face.id)
    decoded = opened.decoded(survey, face.photo)
    found = find_openings(
        decoded.photo.pixels,
        solution.view(face.id),
        face,
        scaled=solution.scaled,
        pyramid=decoded.pyramid,
    )
    answer: dict[str, Any] = clean_json(tell_proposals(found, scaled=solution.scaled))
    return answer
