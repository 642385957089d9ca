"""Route of the solids: every solved face as lines over its photo and in a plan."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from measure.workbench.payloads import Payload, Stamp
from measure.workbench.routes_pictures import answer_of
from measure.workbench.routes_survey import Opened
from measure.workbench.solids import solid_of
from measure.workbench.telling import clean_json

router = APIRouter(prefix="/api/surveys/{key}", tags=["faces"])


class OfAnswer(Payload):
    """An answer by its stamp."""

    stamp: Stamp


@router.post("/solids")
def show_solids(sent: OfAnswer, opened: Opened) -> dict[str, Any]:
    """Lines of every solved face, by its id.

    ``plan_of`` names the photo in whose axes its plan is drawn: its own, or that of a photo which
    ties place it beside.
    """
    answer = answer_of(opened, sent.stamp)
    solids = {}
    for face in answer.survey.faces:
        if face.id not in answer.results.faces:
            continue
        solution = answer.results.photos[face.photo].solution
        made = solid_of(face, solution, answer.results.placements.get(face.photo))
        if made is not None:
            solids[face.id] = {**made, "photo": face.photo}
    told: dict[str, Any] = clean_json({"faces": solids})
    return told
