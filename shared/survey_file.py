"""Survey files: read with a clear refusal, write whole or not at all, go back to earlier versions.

Also takes in a survey that came some other way, with the same refusals.
"""

from __future__ import annotations

import contextlib
import difflib
import os
import stat
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from shared.errors import FieldError, SurveyFileError
from shared.survey import FORMAT, VERSION, Survey
from shared.survey_json import MAX_BYTES, format_json_for_validation, parse_json
from shared.survey_places import format_value, quote
from shared.survey_refusals import make_field_refusal
from shared.survey_text import format_survey
from shared.survey_versions import (
    is_same,
    keep_version,
    read_versions,
    thin_versions,
    versions_folder,
)
from shared.whole_file import describe_write_failure, write_whole

SUFFIX = ".survey.json"

MIGRATIONS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""For each earlier version of the format a function from its plain data to that of the next.

Version 1 is the first, so there are none yet.
"""


def read_survey(path: str | os.PathLike[str]) -> Survey:
    """Read a survey file.

    Raises
    ------
    SurveyFileError
        If the file is missing, is no file, cannot be read, is empty, damaged,
        no survey at all, or was made by a newer version of the program.
    FieldError
        If a key or a value in it is not allowed; the sentence names the place.
    """
    return parse_survey(_read_bytes(Path(path)), str(path))


def parse_survey(data: bytes | str | Mapping[str, Any], name: str = "The survey") -> Survey:
    """Make a survey from JSON text or from plain data.

    Parameters
    ----------
    data : bytes, str or mapping
        JSON text, or what a JSON reader made of it.
    name : str
        What to call it in a refusal.

    Raises
    ------
    SurveyFileError, FieldError
        As in :func:`read_survey`.
    TypeError
        If a mapping holds something that JSON cannot.

    Examples
    --------
    >>> parse_survey('{"format": "storeyrod survey", "version": 1, "titel": "Shed"}')
    Traceback (most recent call last):
    shared.errors.FieldError: The survey: key 'titel' is not known: did you mean 'title'?
    """
    raw = format_json_for_validation(data, name) if isinstance(data, Mapping) else data
    document = _migrate(_check_is_survey(parse_json(raw, name), name), name)
    try:
        # As JSON text, because only there pydantic's strict mode takes lists for tuples:
        # strict, so that true is no number and "12" is no 12.
        return Survey.model_validate_json(format_json_for_validation(document, name), strict=True)
    except ValidationError as found:
        raise make_field_refusal(found, document, name) from None


def write_survey(path: str | os.PathLike[str], survey: Survey) -> None:
    """Write a survey file in one step and keep the state before it as an earlier version.

    An unchanged survey is not written again.

    Raises
    ------
    SurveyFileError
        If it cannot be written; then the former file is as it was.
    FieldError
        If the survey holds what no file may, such as a control character.
    """
    content = format_survey(survey).encode("utf-8")
    if len(content) > MAX_BYTES:
        raise SurveyFileError(
            f"{path} was not saved because it would be larger than {MAX_BYTES // 2**20} MB, "
            "and could not be read again: split the survey."
        )
    parse_survey(content, str(path))  # nothing is written that could not be read again
    _replace(Path(path), content)


def restore_version(path: str | os.PathLike[str], version: str | None = None) -> Survey:
    """Bring back an earlier version; the present state becomes a version in turn.

    Parameters
    ----------
    path : path-like
        The survey file. It may be missing or damaged.
    version : str, optional
        Name of a version from :func:`shared.survey_versions.read_versions`;
        without it the newest that differs from the present file.

    Returns
    -------
    Survey
        The survey as it now stands in the file.

    Raises
    ------
    SurveyFileError
        If there is no such version, or it cannot be read or written.
    FieldError
        If that version holds a value that is not allowed.
    """
    versions = read_versions(path)
    if not versions:
        raise SurveyFileError(f"{path} has no earlier versions: there is nothing to go back to.")
    if version is None:
        wanted = [one for one in versions if not _holds_same(Path(path), one.path)]
        if not wanted:
            raise SurveyFileError(f"{path} has no earlier version that differs from it.")
    else:
        wanted = [one for one in versions if one.name == version]
        if not wanted:
            raise SurveyFileError(
                f"{path} has no earlier version {quote(version)}: "
                f"the newest of {len(versions)} is {quote(versions[0].name)}."
            )
    content = _read_bytes(wanted[0].path)
    survey = parse_survey(content, str(wanted[0].path))
    _replace(Path(path), content)
    return survey


def _holds_same(path: Path, version_path: Path) -> bool:
    try:
        return is_same(path, version_path)
    except OSError:  # a file that cannot be read is no reason to keep it
        return False


def _replace(path: Path, content: bytes) -> None:
    try:
        mode = _stat_mode(path)
        if mode is not None and stat.S_ISDIR(mode):
            raise SurveyFileError(
                f"{path} was not saved because there is a folder of that name: "
                "give it another name."
            )
        if mode is not None and not stat.S_ISREG(mode):
            raise SurveyFileError(f"{path} is not an ordinary file: save it under another name.")
        if mode is not None and not mode & 0o222:
            raise SurveyFileError(
                f"{path} is marked read-only: allow writing to it, or save under another name."
            )
        if mode is not None:
            if path.stat().st_size == len(content) and path.read_bytes() == content:
                return
            keep_version(path)
        write_whole(path, content)
    except SurveyFileError:
        raise
    except (OSError, ValueError) as cause:
        raise SurveyFileError(_describe_failure(cause, path)) from cause
    with contextlib.suppress(SurveyFileError):  # the survey is saved; thinning can wait
        thin_versions(path)


def _describe_failure(cause: OSError | ValueError, path: Path) -> str:
    if isinstance(cause, OSError):
        return describe_write_failure(cause, path)
    return f"{quote(str(path))} cannot be the name of a file: give it another name."


def _stat_mode(path: Path) -> int | None:
    try:
        return path.stat().st_mode
    except FileNotFoundError:
        return None


def _read_bytes(path: Path) -> bytes:
    try:
        state = path.stat()
        if stat.S_ISDIR(state.st_mode):
            raise SurveyFileError(f"{path} is a folder, not a survey: {_suggest_in(path)}")
        if not stat.S_ISREG(state.st_mode):
            raise SurveyFileError(f"{path} is not an ordinary file: name a survey file.")
        with path.open("rb") as stream:
            return stream.read(MAX_BYTES + 1)
    except SurveyFileError:
        raise
    except (FileNotFoundError, NotADirectoryError) as cause:
        raise SurveyFileError(f"{path} is not there: {_suggest_beside(path)}") from cause
    except PermissionError as cause:
        raise SurveyFileError(
            f"{path} may not be read by you: change its permissions, or copy it."
        ) from cause
    except OSError as cause:
        said = (cause.strerror or type(cause).__name__).lower()
        raise SurveyFileError(
            f"{path} cannot be read ({said}): check the disk, or restore a copy."
        ) from cause
    except ValueError as cause:
        raise SurveyFileError(f"{quote(str(path))} cannot be the name of a file.") from cause


def _suggest_in(folder: Path) -> str:
    try:
        found = sorted(one.name for one in folder.iterdir() if one.name.endswith(SUFFIX))
    except OSError:
        found = []
    return f"did you mean {folder / found[0]}?" if found else f"name a file {SUFFIX} in it."


def _suggest_beside(path: Path) -> str:
    try:
        names = [one.name for one in path.parent.iterdir() if one.is_file()]
    except OSError:
        return f"there is no folder {path.parent}."
    near = difflib.get_close_matches(path.name, names, n=1, cutoff=0.75)
    if near:
        return f"did you mean {path.with_name(near[0])}?"
    if versions_folder(path).is_dir():
        return "it was moved or deleted, and its earlier versions can be restored."
    return "check the name."


def _check_is_survey(document: Any, name: str) -> dict[str, Any]:
    if not isinstance(document, dict):
        raise SurveyFileError(
            f"{name} is not a survey but {format_value(document)}: check that it is the right file."
        )
    found = document.get("format")
    if found != FORMAT:
        state = (
            "key 'format' is missing" if found is None else f"its format is {format_value(found)}"
        )
        raise SurveyFileError(
            f'{name} is not a survey of this program: {state}, and should be "{FORMAT}".'
        )
    version = document.get("version")
    if version is None:
        raise FieldError(f"{name}: key 'version' is missing: the present one is {VERSION}.")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise FieldError(
            f"{name}: key 'version' must be a whole number from 1 on, not {format_value(version)}."
        )
    if version > VERSION:
        raise SurveyFileError(
            f"{name} was made by a newer storeyrod (its version is {version}, and this one reads "
            f"up to {VERSION}): update storeyrod."
        )
    return document


def _migrate(document: dict[str, Any], name: str) -> dict[str, Any]:
    for version in range(document["version"], VERSION):
        document = MIGRATIONS[version](document)
        if document["version"] != version + 1:
            raise RuntimeError(f"{name}: migration from version {version} gave another version")
    return document
