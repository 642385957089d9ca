"""Route of the guides that a photo holds: found, with what they change, and nothing saved."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from measure.found_guides import faces_picked_in, tell_found
from measure.workbench.payloads import Name, Payload
from measure.workbench.routes_survey import Opened
from measure.workbench.telling import clean_json, facts_of
from measure.workbench.wiring import survey_from_page
from rectify.photo_lines import find_guides
from shared.errors import FieldError

router = APIRouter(prefix="/api/surveys/{key}", tags=["guides"])


class Looking(Payload):
    """A photo whose straight edges are to hold its camera."""

    document: dict[str, Any]
    photo: Name


@router.post("/guides")
def look_for_guides(sent: Looking, opened: Opened) -> dict[str, Any]:
    """Find level and plumb edges in a photo, and what they change, before and after.

    ``guides`` holds new guides by face, each with ``found`` true, to be added to those of the
    document in place of any found earlier; empty, with a ``sentence`` why, where there are none.
    """
    survey = survey_from_page(sent.document)
    faces = faces_picked_in(survey, sent.photo)
    photo = next(one for one in survey.photos if one.id == sent.photo)
    facts, told = facts_of(photo, lambda one: opened.header(survey, one))
    if facts is None:
        raise FieldError(str(told["problem"]["message"]), hint=str(told["problem"]["hint"]))
    found = find_guides(opened.decoded(survey, photo.id).photo.pixels, facts, faces)
    scaled = found.solution is not None and found.solution.scaled
    answer: dict[str, Any] = clean_json(tell_found(found, scaled=scaled))
    return answer
