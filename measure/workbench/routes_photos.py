"""Route of one more photo for a survey that is open."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool

from measure.workbench.photo_intake import Arrival, receive_file
from measure.workbench.routes_survey import Opened
from measure.workbench.shelf import OpenSurvey
from shared.errors import StoreyrodError
from shared.photo_paths import photo_path

router = APIRouter(prefix="/api/surveys/{key}", tags=["photos"])


@router.post("/photos")
async def add_photo(
    request: Request,
    opened: Opened,
    name: Annotated[str, Query(max_length=255)] = "photo.jpg",
) -> dict[str, Any]:
    """Put one more photo beside a survey; the body is the file as it is.

    The document is not touched: the page adds the photo to it, so that it can be undone. A file
    that the survey has already is found again and not written twice.
    """
    arrival = await run_in_threadpool(Arrival, opened.folder, name)
    try:
        await receive_file(request.stream(), arrival.path)
        return await run_in_threadpool(_keep, opened, arrival)
    finally:
        arrival.clear()


def _keep(opened: OpenSurvey, arrival: Arrival) -> dict[str, Any]:
    survey, _ = opened.read()
    beside = []
    for known in survey.photos:
        try:
            beside.append(photo_path(opened.path, known, confine=True))
        except StoreyrodError:
            continue  # a photo that lies elsewhere is not beside the survey
    path, photo = arrival.keep(tuple(beside))
    return {"file": path.name, "width_px": photo.width_px, "height_px": photo.height_px}
