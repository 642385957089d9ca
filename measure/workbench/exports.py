"""Files written from the page: kept in ``exports/`` beside the survey, listed latest first."""

from __future__ import annotations

import re
import time
from pathlib import Path
from typing import Any

from measure.workbench.shelf import SUFFIX, OpenSurvey
from shared.errors import ExportError

FOLDER = "exports"
MOST_LISTED = 20

_NAME = re.compile(r"^[\w][\w .()-]{0,150}\.(svg|dxf|pdf|png|csv|zip)$", re.UNICODE)


def exports_folder(opened: OpenSurvey) -> Path:
    """Folder of the survey's exports; a link that leads elsewhere is refused.

    Raises
    ------
    ExportError
    """
    folder = opened.folder / FOLDER
    if folder.exists() and folder.resolve().parent != opened.folder.resolve():
        raise ExportError(
            f"{FOLDER} beside the survey leads to another place.", hint="Rename or remove it."
        )
    return folder


def write_export(opened: OpenSurvey, name: str, data: bytes) -> Path:
    """Write one file, replacing an earlier one of the same name only when complete.

    Raises
    ------
    ExportError
    """
    folder = exports_folder(opened)
    target = folder / name
    beside = folder / f".{name}.part"
    try:
        folder.mkdir(exist_ok=True)
        beside.write_bytes(data)
        beside.replace(target)
    except OSError as cause:
        raise ExportError(
            f"{name} could not be written: {cause.strerror or 'refused'}.",
            hint="Free some space, or move the survey to a folder that you may write to.",
        ) from cause
    return target


def find_export(opened: OpenSurvey, name: str) -> Path:
    """File of an export by its bare name.

    Raises
    ------
    ExportError
        If there is none, or the name is no bare name.
    """
    path = exports_folder(opened) / name
    if not _NAME.match(name) or not path.is_file() or path.is_symlink():
        raise MissingExportError("That file is not among the exports.", hint="Write it again.")
    return path


class MissingExportError(ExportError):
    """No such export."""

    code = "no-export"


def list_exports(opened: OpenSurvey, *, first: str = "") -> list[dict[str, Any]]:
    """Exports as the page lists them, latest first; before them the one named `first`."""
    folder = opened.folder / FOLDER
    if not folder.is_dir():
        return []
    rows = []
    for file in folder.iterdir():
        if file.is_file() and not file.is_symlink() and _NAME.match(file.name):
            stat = file.stat()
            rows.append((stat.st_mtime, file.name, stat.st_size))
    rows.sort(reverse=True)
    listed = [
        {
            "name": name,
            "bytes": size,
            "seconds_ago": max(0.0, time.time() - changed),
            "href": f"/api/surveys/{opened.key}/exports/{name}",
            "folder": str(folder),
        }
        for changed, name, size in rows[:MOST_LISTED]
    ]
    return sorted(listed, key=lambda row: row["name"] != first)


def bare_name(opened: OpenSurvey, face: str, ending: str) -> str:
    """Name of an export: the survey's own, the face, the ending; safe on every system."""
    stem = f"{opened.path.name.removesuffix(SUFFIX)}-{face}"
    tidy = re.sub(r"[^\w-]+", "-", stem, flags=re.UNICODE).strip("-_")[:100] or "drawing"
    return f"{tidy}.{ending}"
