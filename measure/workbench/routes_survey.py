"""Routes of one survey as a document: read, save, hold, earlier versions, results."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import JSONResponse, Response
from starlette.concurrency import run_in_threadpool

from measure.workbench.answers import Answer
from measure.workbench.exports import list_exports
from measure.workbench.payloads import DocumentOnly, Holding, LettingGo, Restoring, Saving
from measure.workbench.shelf import OpenSurvey
from measure.workbench.stopping import Waiting, run_while_awaited
from measure.workbench.wiring import Bench, bench_of, survey_from_page
from shared.survey_versions import read_versions

router = APIRouter(prefix="/api/surveys/{key}", tags=["survey"])
AtBench = Annotated[Bench, Depends(bench_of)]


def survey_of(key: str, bench: AtBench) -> OpenSurvey:
    """Find the survey of a key."""
    return bench.shelf.find(key)


Opened = Annotated[OpenSurvey, Depends(survey_of)]


def tell_survey(opened: OpenSurvey) -> dict[str, Any]:
    """A survey as the page gets it when it opens it."""
    survey, revision = opened.read()
    return {
        "key": opened.key,
        "document": survey.model_dump(mode="json"),
        "revision": revision,
        "folder": str(opened.folder),
        "exports": list_exports(opened),
    }


@router.get("")
def read_document(opened: Opened) -> dict[str, Any]:
    """The document as it stands on disk, with its revision and the files written lately."""
    return tell_survey(opened)


@router.put("")
def save_document(sent: Saving, opened: Opened) -> dict[str, int]:
    """Save a document; refused with ``held`` or ``stale`` where it would overwrite another's work.

    Every save can be undone: the version before it is kept.
    """
    return {"revision": opened.save(survey_from_page(sent.document), sent.revision, sent.tab)}


@router.post("/hold")
def hold_survey(sent: Holding, opened: Opened, bench: AtBench) -> dict[str, Any]:
    """Hold the survey for a tab, or learn that another does. Said again every few seconds."""
    held = opened.hold(sent.tab, take_over=sent.take_over, now_s=bench.shelf.clock())
    _, revision = opened.read()
    return {"held": held, "revision": revision}


@router.post("/let-go")
def let_go_of_survey(sent: LettingGo, opened: Opened) -> dict[str, bool]:
    """Give the survey up, so that another tab may have it at once."""
    opened.let_go(sent.tab)
    return {"let_go": True}


@router.post("/results", response_class=JSONResponse)
async def show_results(sent: DocumentOnly, opened: Opened, request: Request) -> Response:
    """Solve and measure a document without saving it.

    ``results`` is what ``storeyrod measure --json`` prints; ``page`` holds where things stand on
    the wall, the suspects and the trust numbers; ``stamp`` names this answer for the pictures.
    """

    def work(waiting: Waiting) -> Answer:
        survey = survey_from_page(sent.document)
        return opened.answer(survey, quick=sent.quick, check=waiting.check)

    # while a pick is dragged each answer is done before it could be stopped
    quick = sent.quick
    answer = await (
        run_in_threadpool(work, Waiting()) if quick else run_while_awaited(request, work)
    )
    # plain JSON already: not looked through once more
    return JSONResponse(answer.payload)


@router.get("/versions")
def show_versions(opened: Opened, bench: AtBench) -> dict[str, Any]:
    """Earlier versions of the survey file, newest first."""
    now_s = bench.shelf.clock()
    return {
        "versions": [
            {
                "name": version.name,
                "seconds_ago": max(0.0, now_s - version.saved.timestamp()),
                "bytes": version.size_bytes,
            }
            for version in read_versions(opened.path)
        ]
    }


@router.post("/versions")
def bring_back_version(sent: Restoring, opened: Opened) -> dict[str, Any]:
    """Go back to an earlier version; the present one becomes a version in turn."""
    opened.restore(sent.name, sent.tab)
    return tell_survey(opened)
