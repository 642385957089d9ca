"""Routes of the first page: what it shows, a new survey from a photo, the demo, lengths typed."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request
from starlette.concurrency import run_in_threadpool

from measure.demo_building import DEMO_SURVEY, copy_demo
from measure.elevation.paper import ISO_216, NORTH_AMERICAN
from measure.workbench.payloads import Payload, Typed
from measure.workbench.photo_intake import plain_photo_name, read_arrived, receive_file
from measure.workbench.routes_survey import tell_survey
from measure.workbench.shelf import SUFFIX, OpenSurvey, Shelf
from measure.workbench.wiring import Bench, bench_of
from rectify.photos.file import read_photo
from shared.errors import InputError, SurveyFileError
from shared.model_scales import read_model_scales
from shared.reference_sizes import ReferenceSize, read_reference_sizes
from shared.survey import Face, Photo, Survey
from shared.survey_file import write_survey
from shared.units import parse_length_mm

router = APIRouter(prefix="/api", tags=["start"])
AtBench = Annotated[Bench, Depends(bench_of)]


class Nothing(Payload):
    """No fields."""


@router.get("/start")
def show_start(bench: AtBench) -> dict[str, Any]:
    """Everything the first page and the lists need: recent surveys, scales, known sizes, papers.

    `opened` is the key of the survey that the command line named, or null.
    """
    return {
        "recent": bench.shelf.recent(),
        "opened": bench.opened,
        "scales": _scales(),
        "sizes": [row for size in read_reference_sizes() for row in _size_rows(size)],
        "papers": _papers(),
    }


@router.post("/lengths")
def read_length(typed: Typed) -> dict[str, float]:
    """Read a length in any usual way of writing it: ``6ft 8in``, ``2.03 m``, ``2032``."""
    return {"length_mm": parse_length_mm(typed.text, allow_zero=True, allow_negative=True)}


@router.post("/photos")
async def start_from_photo(
    request: Request, bench: AtBench, name: Annotated[str, Query(max_length=255)] = "photo.jpg"
) -> dict[str, Any]:
    """Start a survey from a photo; the body is the file as it is.

    The photo is decoded whole before anything is kept, so what is refused leaves nothing behind.
    """
    plain = Path(plain_photo_name(name))
    folder = await run_in_threadpool(bench.shelf.new_folder, plain.stem)
    try:
        target = folder / plain.name
        await receive_file(request.stream(), target)
        return await run_in_threadpool(_begin, bench.shelf, target)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise


def _begin(shelf: Shelf, photo_file: Path) -> dict[str, Any]:
    photo = read_arrived(photo_file)
    path = photo_file.with_name(photo_file.stem + SUFFIX)
    return tell_survey(_write_first(shelf, path, photo_file.name, photo.width_px, photo.height_px))


def _write_first(
    shelf: Shelf, path: Path, photo_name: str, width_px: int, height_px: int
) -> OpenSurvey:
    survey = Survey(
        title=path.name.removesuffix(SUFFIX),
        photos=(Photo(id="photo", file=photo_name, width_px=width_px, height_px=height_px),),
        faces=(Face(id="front", label="Front", photo="photo"),),
    )
    write_survey(path, survey)
    return shelf.open(path)


def survey_beside_photo(shelf: Shelf, photo_file: Path) -> OpenSurvey:
    """Open the survey that lies beside a photo, or begin one there, as ``storeyrod open`` does.

    Raises
    ------
    PhotoError
        If it is not a photo.
    """
    path = photo_file.with_name(photo_file.stem + SUFFIX)
    if path.is_file():
        return shelf.open(path)
    photo = read_photo(photo_file)
    return _write_first(shelf, path, photo_file.name, photo.width_px, photo.height_px)


@router.post("/demo")
def open_demo(_: Nothing, bench: AtBench) -> dict[str, Any]:
    """Put a copy of the demo survey among the user's own and open it; an earlier copy is reused."""
    source = bench.demo_folder
    if source is None or not (source / DEMO_SURVEY).is_file():
        raise SurveyFileError("The demo is missing from this installation.")
    path = copy_demo(source, bench.shelf.home / "pennywhistle-demo", tied=False)
    return tell_survey(bench.shelf.open(path))


def _papers() -> list[str]:
    """Names of papers, those that people have at home first."""
    home = ["A4", "Letter", "A3"]
    known = [paper.name for paper in (*ISO_216, *NORTH_AMERICAN)]
    return home + [name for name in known if name not in home]


def _scales() -> list[dict[str, str]]:
    rows = [
        {
            "name": f"{scale.name} ({scale.ratio})" if scale.name != scale.ratio else scale.ratio,
            "value": scale.definition if "/" in scale.definition else scale.ratio,
            "group": "Model scales",
        }
        for scale in read_model_scales()
    ]
    return list({row["value"]: row for row in reversed(rows)}.values())[::-1]


def _size_rows(size: ReferenceSize) -> list[dict[str, Any]]:
    """A row of the catalogue as the page lists it: one entry for each length it can lend."""
    if not (size.usable and size.in_wall_plane):
        return []
    base = {
        "name": size.name,
        "group": size.group[:1].upper() + size.group[1:],
        "note": f"{size.meant}{'; ' + size.note if size.note else ''}",
        "source": f"{size.source} ({size.provenance})",
        "door_face": size.part if size.part in ("leaf", "frame", "opening") else None,
        "size": size.key,
        "words": f"{size.key} {' '.join(size.aliases)} {size.region}",
    }
    if size.gauge_mm is not None:
        gauge = {"gauge_mm": size.gauge_mm, "u_gauge_mm": size.u_gauge_mm or 0.0}
        return [{**base, **gauge, "key": size.key, "kind": "courses"}]
    rows = []
    for side, along in (("height", "plumb"), ("width", "level"), ("length", "free")):
        length_mm = getattr(size, f"{side}_mm")
        if length_mm is None or (size.kind == "unit" and side == "width"):
            continue
        rows.append(
            {
                **base,
                "key": f"{size.key}.{side}",
                "kind": "length",
                "name": f"{size.name}: {side}",
                "length_mm": length_mm,
                "u_mm": getattr(size, f"u_{side}_mm") or 0.0,
                "along": along,
            }
        )
    return rows


def check_is_photo_or_survey(path: Path) -> str:
    """Say whether a path names a survey or a photo, from its name.

    Raises
    ------
    InputError
        If it does not exist.
    """
    if not path.exists():
        raise InputError(f"{path.name} is not there.", hint="Name a photo or a survey file.")
    return "survey" if path.name.endswith(".json") else "photo"
