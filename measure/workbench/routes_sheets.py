"""Routes of the card model: materials, sheets to look at, and the archive to take away."""

from __future__ import annotations

from functools import partial
from typing import Any

from fastapi import APIRouter, Request

from measure.workbench.answers import Answer
from measure.workbench.card_job import list_materials, pack_cards, show_cards
from measure.workbench.exports import list_exports, write_export
from measure.workbench.payloads import Payload
from measure.workbench.routes_survey import Opened
from measure.workbench.shelf import OpenSurvey
from measure.workbench.stopping import Waiting, run_while_awaited
from measure.workbench.wiring import survey_from_page

router = APIRouter(prefix="/api/surveys/{key}", tags=["sheets"])


class Cutting(Payload):
    """A document to be cut from card."""

    document: dict[str, Any]


@router.post("/materials")
def show_materials(sent: Cutting, opened: Opened) -> dict[str, Any]:
    """Sheet materials to choose from; `opened` only says whose page asks."""
    return {"materials": list_materials(survey_from_page(sent.document).card)}


@router.post("/cards")
async def show_sheets(sent: Cutting, opened: Opened, request: Request) -> dict[str, Any]:
    """Lay the parts out on sheets and tell them as SVG, with what is to be minded."""

    def work(waiting: Waiting) -> dict[str, Any]:
        return show_cards(opened, _answer(opened, sent), waiting)

    return await run_while_awaited(request, work)


@router.post("/cards/archive")
async def write_archive(sent: Cutting, opened: Opened, request: Request) -> dict[str, Any]:
    """Write all files of the model into one archive beside the survey; it is listed first."""
    return await run_while_awaited(request, partial(_pack, opened, sent))


def _pack(opened: OpenSurvey, sent: Cutting, waiting: Waiting) -> dict[str, Any]:
    name, data = pack_cards(opened, _answer(opened, sent), waiting)
    written = write_export(opened, name, data)
    return {"exports": list_exports(opened, first=written.name)}


def _answer(opened: OpenSurvey, sent: Cutting) -> Answer:
    return opened.answer(survey_from_page(sent.document))
