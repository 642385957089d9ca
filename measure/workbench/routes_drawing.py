"""Routes of the drawing: the elevation as it will be exported, and the files."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections.abc import Callable
from dataclasses import asdict
from functools import cache, partial
from typing import Annotated, Any

from fastapi import APIRouter, Path, Request
from fastapi.responses import FileResponse

from measure.delivery import FORMATS, Wish, make_files, remarks_on_letters
from measure.elevation.build import compose, draw_composed, naming_face
from measure.elevation.drawing import ELEVATION_LAYERS
from measure.workbench.answers import Answer
from measure.workbench.bench_job import (
    BenchJob,
    Laid,
    elevation_of,
    inferred_paths_of,
    lay,
    paths_of,
    shown_items,
)
from measure.workbench.completing import handles_of, tried
from measure.workbench.dragging import dragged, tell_lines
from measure.workbench.exports import bare_name, find_export, list_exports, write_export
from measure.workbench.payloads import Choosing, Dragging, Drawing, Exporting, Trying
from measure.workbench.routes_pictures import answer_of
from measure.workbench.routes_survey import AtBench, Opened
from measure.workbench.shelf import OpenSurvey
from measure.workbench.stopping import Waiting, run_while_awaited
from measure.workbench.telling import clean_json
from measure.workbench.wiring import survey_from_page
from shared.errors import FieldError, UnderdeterminedError
from shared.survey_drawing import FaceDrawing

router = APIRouter(prefix="/api/surveys/{key}", tags=["drawing"])

#: Pixels to the inch of the straightened photo: what a home printer shows.
PRINT_DPI = 300.0

#: Liberties told to the page; a file has them all.
MOST_LIBERTIES = 500

_KINDS = {
    "svg": "image/svg+xml",
    "pdf": "application/pdf",
    "dxf": "image/vnd.dxf",
    "png": "image/png",
    "csv": "text/csv; charset=utf-8",
    "zip": "application/zip",
}


@router.post("/elevation")
def show_elevation(sent: Drawing, opened: Opened, bench: AtBench) -> dict[str, Any]:
    """Draw a face: the first sheet as SVG, its lines as paths on the chart, what can be dragged."""
    answer = _whole_answer(opened, sent.document, sent.face)
    job = BenchJob(opened, answer)
    with naming_face(sent.face):
        lined = bench.lined_up.find(opened.key, answer, sent.face)
        wishes = lined.face.drawing or FaceDrawing()
        done = compose(lined, wishes, answer.results.denominator)
        drawn = draw_composed(lined, done, answer.survey.title)
    laid = lay(job, answer, sent.face, drawn, sent.how)
    picked = [item for item in laid.elevation.drawing.items if item.layer == "as-picked"]
    from measure.export.svg import svg_from_sheet

    shown = shown_items(laid.drawing)
    used = {item.layer for item in laid.elevation.drawing.items}
    warnings = list(laid.elevation.notes)
    joined = sum(each.window is not None for each in laid.sheets)
    if joined:
        warnings.append(
            f"It takes {joined} sheets of this paper, with crosses to join them by. "
            "This is the first."
        )
    if len(laid.sheets) > max(joined, 1):
        warnings.append("The schedule of the openings is on a sheet of its own, after these.")
    return {
        "svg": svg_from_sheet(laid.sheets[0]).decode(),
        "sheets": len(laid.sheets),
        "paths": paths_of(shown, laid.elevation.origin_chart_mm),
        "inferred": inferred_paths_of(shown, laid.elevation.origin_chart_mm),
        "stamp": answer.stamp,
        "ghost": paths_of(picked, laid.elevation.origin_chart_mm),
        "lines": tell_lines(lined, done),
        "layers": [
            {"id": layer.name, "name": layer.name, "hover": layer.holds}
            for layer in ELEVATION_LAYERS
            if layer.name in used and layer.shown
        ],
        "warnings": warnings,
        "liberties": clean_json([asdict(one) for one in laid.elevation.liberties[:MOST_LIBERTIES]]),
    }


@router.post("/elevation/lines")
def drag_line(sent: Dragging, opened: Opened, bench: AtBench) -> dict[str, Any]:
    """Where everything stands while a line is dragged; the survey is not touched.

    A place where a line cannot be is part of dragging: it is told as ``refused``, one sentence.
    """
    answer = answer_of(opened, sent.stamp)
    lined = bench.lined_up.find(opened.key, answer, sent.face)
    try:
        return dragged(lined, tuple(sent.moved), answer.results.denominator)
    except FieldError as refusal:
        return {"refused": refusal.message}


@router.post("/elevation/handles")
def choose_openings(sent: Choosing, opened: Opened, bench: AtBench) -> dict[str, Any]:
    """What handles at the openings chosen go by."""
    answer = answer_of(opened, sent.stamp)
    lined = bench.lined_up.find(opened.key, answer, sent.face)
    return handles_of(lined, sent.of, answer.results.denominator)


@router.post("/elevation/completion")
def try_completion(sent: Trying, opened: Opened, bench: AtBench) -> dict[str, Any]:
    """What a completion in hand would make; the survey is not touched.

    What cannot be is part of dragging: it is told as ``refused``, one sentence.
    """
    answer = answer_of(opened, sent.stamp)
    lined = bench.lined_up.find(opened.key, answer, sent.face)
    try:
        return tried(lined, sent.wish, answer.results.denominator, sent.count)
    except FieldError as refusal:
        return {"refused": refusal.details.get("sentence", refusal.message), "hint": refusal.hint}


@router.post("/exports")
async def write_exports(sent: Exporting, opened: Opened, request: Request) -> dict[str, Any]:
    """Write one file, or all of them in an archive, beside the survey; it is listed first.

    When the page stops waiting, the work stops too and nothing is written. What should be known
    of the files is told in ``remarks``.
    """
    return await run_while_awaited(request, partial(_write, opened, sent))


def _write(opened: OpenSurvey, sent: Exporting, waiting: Waiting) -> dict[str, Any]:
    answer = _whole_answer(opened, sent.document, sent.face)
    formats = FORMATS if sent.format == "zip" else (sent.format,)
    job = BenchJob(opened, answer)
    laid = cache(
        lambda: lay(job, answer, sent.face, elevation_of(job, answer, sent.face), sent.how)
    )
    files: dict[str, bytes] = {}
    remarks: list[str] = []
    for one in formats:
        waiting.check()
        if one == "pdf":
            remarks = remarks_on_letters(bare_name(opened, sent.face, one), laid().sheets)
        files |= _files(job, laid, bare_name(opened, sent.face, one), sent, one, waiting)
    waiting.check()
    if sent.format == "zip" or bare_name(opened, sent.face, sent.format) not in files:
        data = _archive(files)
        written = write_export(opened, bare_name(opened, sent.face, "zip"), data)
    else:
        # what was asked for comes last, so that it is listed first
        for name, data in files.items():
            written = write_export(opened, name, data)
    return {"exports": list_exports(opened, first=written.name), "remarks": remarks}


@router.get("/exports/{name}", response_class=FileResponse)
def read_export(
    opened: Opened, name: Annotated[str, Path(min_length=1, max_length=160)]
) -> FileResponse:
    """One of the files written lately."""
    path = find_export(opened, name)
    kind = _KINDS[path.suffix[1:]]
    return FileResponse(path, media_type=kind, filename=path.name)


def _whole_answer(opened: OpenSurvey, document: dict[str, Any], face: str) -> Answer:
    answer = opened.answer(survey_from_page(document))
    solution = answer.solution_of(face)
    if not solution.scaled:
        raise UnderdeterminedError(
            "The wall has no size yet, so it cannot be drawn to scale.",
            hint="Give it one known size.",
            details={"face": face},
        )
    return answer


def _files(
    job: BenchJob,
    lay_once: Callable[[], Laid],
    name: str,
    sent: Exporting,
    kind: str,
    waiting: Waiting,
) -> dict[str, bytes]:
    """Files of one kind by name; each kind loads only its own library."""
    if kind in ("csv", "png"):
        wish = Wish(dt.date.today(), (kind,), (sent.face,), dpi=PRINT_DPI)
        made = dict(make_files(job, wish, waiting.report))
        stem = name.removesuffix(f".{kind}")
        main = "schedule.csv" if kind == "csv" else next(iter(made))
        also = {
            f"{stem}-liberties.csv": data
            for each, data in made.items()
            if each.endswith("-liberties.csv")
        }
        return {**also, name: made[main]}
    laid = lay_once()
    if kind == "dxf":
        from measure.export.dxf import dxf_from_drawing

        return {name: dxf_from_drawing(laid.drawing, laid.block)}
    if kind == "pdf":
        from measure.export.pdf import pdf_from_sheets

        return {name: pdf_from_sheets(laid.sheets, dt.date.today())}
    from measure.export.svg import svg_from_sheet

    stem = name.removesuffix(".svg")
    first, *others = laid.sheets
    if first.window is None:
        also = {
            f"{stem}-openings-{n}.svg": svg_from_sheet(one) for n, one in enumerate(others, start=1)
        }
        return {**also, name: svg_from_sheet(first)}
    return {f"{stem}-{n}.svg": svg_from_sheet(one) for n, one in enumerate(laid.sheets, start=1)}


def _archive(files: dict[str, bytes]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return buffer.getvalue()
