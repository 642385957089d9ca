"""Reading and writing ``NAME.survey.json``, with one sentence for whatever is wrong with it."""

from __future__ import annotations

import errno
import hashlib
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from shared.errors import FieldError, SurveyFileError
from shared.survey import FORMAT, VERSION, Photo, Survey
from shared.survey_json import MAX_BYTES, format_json_for_validation, parse_json
from shared.survey_refusals import make_field_refusal
from shared.survey_versions import keep_version, list_versions
from shared.whole_file import write_whole

#: Migrations from each older version to the next; the first version has none.
MIGRATIONS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}

_SHORT_LIST = re.compile(r"\[\s+(-?[\d.eE+-]+),\s+(-?[\d.eE+-]+)(?:,\s+(-?[\d.eE+-]+))?\s+\]")


def parse_survey(document: bytes | str | dict[str, Any], name: str = "This survey") -> Survey:
    """Read a survey from JSON text or from plain data.

    Parameters
    ----------
    document : bytes, str or dict
    name : str
        What to call it in a refusal.

    Returns
    -------
    Survey

    Raises
    ------
    SurveyFileError
        Not JSON, not a survey, or from a newer version of the program.
    FieldError
        A key or a value that cannot be; the sentence names its place.
    """
    raw = parse_json(document, name) if isinstance(document, (bytes, str)) else document
    if not isinstance(raw, dict) or raw.get("format") != FORMAT:
        raise SurveyFileError(
            f'{name} is not a survey: it lacks "format": "{FORMAT}".',
            hint="Open a file made by storeyrod, or start one with 'storeyrod new PHOTO'.",
        )
    raw = _migrated(raw, name)
    try:
        return Survey.model_validate_json(format_json_for_validation(raw, name))
    except ValidationError as found:
        raise make_field_refusal(found, raw, name) from None


def _migrated(raw: dict[str, Any], name: str) -> dict[str, Any]:
    version = raw.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise SurveyFileError(
            f'{name} has no version that can be read: "version" must be {VERSION}.',
            hint="Restore an earlier version of the file.",
        )
    if version > VERSION:
        raise SurveyFileError(
            f"{name} was made by a newer storeyrod (survey version {version}, this one reads "
            f"up to {VERSION}).",
            hint="Install the newer storeyrod to open it.",
        )
    while version < VERSION:
        raw = MIGRATIONS[version](raw)
        version += 1
    return raw


def read_survey(path: Path | str) -> Survey:
    """Read a survey file.

    Raises
    ------
    SurveyFileError
        If it is missing, cannot be read, or is no survey.
    FieldError
        If something in it cannot be.
    """
    file = Path(path)
    try:
        if file.is_dir():
            raise SurveyFileError(
                f"{file.name} is a folder, not a survey file.", hint="Name the file inside it."
            )
        if file.stat().st_size > MAX_BYTES:
            raise SurveyFileError(
                f"{file.name} is too large for a survey ({file.stat().st_size // 2**20} MB).",
                hint="Name the survey file, NAME.survey.json.",
            )
        data = file.read_bytes()
    except FileNotFoundError:
        raise SurveyFileError(
            f"There is no file {file}.", hint="Check the name and the folder."
        ) from None
    except OSError as cause:
        raise SurveyFileError(
            f"{file.name} cannot be read ({cause.strerror or 'refused'}).",
            hint="Check that you may read it.",
        ) from None
    except ValueError:
        raise SurveyFileError(
            "That name cannot be a file's.", hint="Name the survey file, NAME.survey.json."
        ) from None
    if not data.strip():
        raise SurveyFileError(f"{file.name} is empty.", hint="Restore an earlier version of it.")
    return parse_survey(data, file.name)


def format_survey(survey: Survey) -> str:
    """Write a survey as JSON text that people can read: picks on one line each."""
    text = json.dumps(survey.model_dump(mode="json"), indent=1, ensure_ascii=False)

    def on_one_line(found: re.Match[str]) -> str:
        return "[" + ", ".join(part for part in found.groups() if part is not None) + "]"

    return _SHORT_LIST.sub(on_one_line, text) + "\n"


def write_survey(path: Path | str, survey: Survey) -> None:
    """Save a survey, keeping the version it replaces.

    Raises
    ------
    SurveyFileError
        If it cannot be written; the file on disk is then as it was.
    """
    file = Path(path)
    data = format_survey(survey).encode("utf-8")
    try:
        if file.is_file():
            if file.read_bytes() == data:
                return
            keep_version(file)
        write_whole(file, data)
    except OSError as cause:
        full = cause.errno in (errno.ENOSPC, errno.EDQUOT)
        raise SurveyFileError(
            f"{file.name} cannot be saved ({cause.strerror or 'refused'}); the file on disk is "
            "as it was.",
            hint="Free some space." if full else "Check that you may write to its folder.",
        ) from cause


def read_version(path: Path | str, name: str) -> Survey:
    """Read one earlier version.

    Raises
    ------
    SurveyFileError
        If there is none of that name, or it cannot be read.
    """
    for version in list_versions(path):
        if version.name == name:
            return read_survey(version.path)
    raise SurveyFileError(
        f"There is no earlier version called {name[:60]!r}.", hint="Choose one from the list."
    )


def restore_version(path: Path | str, name: str) -> Survey:
    """Put an earlier version back; the present one is kept among the earlier ones.

    Raises
    ------
    SurveyFileError
    """
    survey = read_version(path, name)
    write_survey(path, survey)
    return survey


def photo_path(survey_path: Path | str, photo: Photo, *, confine: bool = False) -> Path:
    """Path of a photo, which a survey names relative to itself.

    Parameters
    ----------
    survey_path : Path or str
    photo : Photo
    confine : bool
        Refuse a photo outside the survey's folder, links followed.

    Raises
    ------
    FieldError
        For an absolute path, a drive letter, or (confined) a path out of the folder.
    """
    text = photo.file
    if "\0" in text or text.startswith(("/", "\\")) or re.match(r"^[A-Za-z]:", text):
        raise FieldError(
            f"Photo '{photo.id}' is given by the path {text[:80]!r}, which does not start from "
            "the survey's folder.",
            hint="Put the photo beside the survey and give its name.",
            details={"photo": photo.id},
        )
    folder = Path(survey_path).parent
    file = folder / text
    if confine and not file.resolve().is_relative_to(folder.resolve()):
        raise FieldError(
            f"Photo '{photo.id}' lies outside the survey's folder ({text[:80]}).",
            hint="Put the photo beside the survey and give its name.",
            details={"photo": photo.id},
        )
    return file


def check_photo_unchanged(survey_path: Path | str, photo: Photo) -> None:
    """Refuse a photo whose contents differ from those the survey was picked on.

    Raises
    ------
    FieldError
        If the survey holds a checksum and the file has another.
    """
    if photo.sha256 is None:
        return
    file = photo_path(survey_path, photo)
    if not file.is_file():
        return
    with open(file, "rb") as stream:
        found = hashlib.file_digest(stream, "sha256").hexdigest()
    if found != photo.sha256:
        raise FieldError(
            f"Photo '{photo.id}' ({photo.file}) is not the file that the survey was picked on.",
            hint='Put the original back, or remove its "sha256" and check the picks.',
            details={"photo": photo.id},
        )
