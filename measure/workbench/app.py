"""The program's side of the page: routes, errors, the page's own files, behind the guard."""

from __future__ import annotations

import logging
import mimetypes
import secrets
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, JSONResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from measure.workbench import (
    routes_bricks,
    routes_drawing,
    routes_faces,
    routes_guides,
    routes_openings,
    routes_photos,
    routes_pictures,
    routes_sheets,
    routes_start,
    routes_survey,
)
from measure.workbench.guard import Guard, Keys
from measure.workbench.shelf import Shelf
from measure.workbench.wiring import Bench
from shared.errors import (
    ExportError,
    FileError,
    GeometryError,
    InputError,
    StoreyrodError,
    SurveyFileError,
)

STATIC = Path(__file__).parent / "static"

log = logging.getLogger("storeyrod")

# Some computers say that a .js file is plain text, and browsers then refuse it as a module.
mimetypes.add_type("text/javascript", ".js")
mimetypes.add_type("image/svg+xml", ".svg")


def make_app(
    home: Path,
    state_folder: Path,
    *,
    keys: Keys | None = None,
    opened: str | None = None,
    demo_folder: Path | None = None,
    shelf: Shelf | None = None,
) -> FastAPI:
    """Make the web application.

    Parameters
    ----------
    home : Path
        Where new surveys are put.
    state_folder : Path
        Where the list of recent surveys and the page's key are kept.
    keys : Keys, optional
        One-time token and cookie; by default fresh ones.
    opened : str, optional
        Key of the survey to show first.
    demo_folder : Path, optional
        The demo as it was installed.
    shelf : Shelf, optional
        By default a new one on `home`.
    """
    app = FastAPI(
        title="storeyrod workbench",
        description="Spoken only by the program's own page, on this computer.",
        docs_url=None,
        redoc_url=None,
    )
    app.state.bench = Bench(shelf or Shelf(home, state_folder), opened, demo_folder)
    app.state.keys = keys or Keys(state_folder)
    app.add_middleware(Guard, keys=app.state.keys)
    for routes in (
        routes_start,
        routes_survey,
        routes_photos,
        routes_pictures,
        routes_faces,
        routes_drawing,
        routes_sheets,
        routes_bricks,
        routes_guides,
        routes_openings,
    ):
        app.include_router(routes.router)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")

    @app.get("/", include_in_schema=False)
    def show_page() -> Response:
        return FileResponse(STATIC / "index.html", headers={"cache-control": "no-cache"})

    _add_refusals(app)
    return app


def status_of(problem: StoreyrodError) -> int:
    """HTTP status of a refusal."""
    if isinstance(problem, InputError):
        return 422
    if isinstance(problem, GeometryError):
        return 409
    if isinstance(problem, ExportError):
        return 500 if problem.code == "export" else 409
    if problem.code in ("held", "stale", "stamp", "stopped"):
        return 409
    if isinstance(problem, SurveyFileError):
        return 404
    return 422 if isinstance(problem, FileError) else 500


def _add_refusals(app: FastAPI) -> None:
    @app.exception_handler(StoreyrodError)
    def refuse(_: Request, problem: StoreyrodError) -> JSONResponse:
        told = {
            "code": problem.code,
            "message": problem.message,
            "hint": problem.hint,
            "details": problem.details,
        }
        return JSONResponse(told, status_of(problem))

    @app.exception_handler(RequestValidationError)
    def refuse_request(_: Request, problem: RequestValidationError) -> JSONResponse:
        first = problem.errors()[0]
        where = ".".join(str(step) for step in first["loc"][1:]) or "the request"
        return _told(422, "field", f"The page sent a {where} that cannot be: {first['msg']}.")

    @app.exception_handler(HTTPException)
    def refuse_route(_: Request, problem: HTTPException) -> JSONResponse:
        return _told(problem.status_code, "http", f"{problem.detail}.")

    @app.exception_handler(Exception)
    def refuse_bug(request: Request, problem: Exception) -> JSONResponse:
        name = secrets.token_hex(4)
        log.error("bug %s at %s", name, request.url.path, exc_info=problem)
        return _told(
            500,
            "bug",
            "Something went wrong inside the program; your work up to here is saved.",
            f"It is written down as {name} where storeyrod was started.",
        )


def _told(status: int, code: str, message: str, hint: str = "") -> JSONResponse:
    told: dict[str, Any] = {"code": code, "message": message, "hint": hint, "details": {}}
    return JSONResponse(told, status)
