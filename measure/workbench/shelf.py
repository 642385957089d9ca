"""Surveys that are open or were: where they lie, who holds each, and saving them.

A survey is named on the page by a key made from its path, so that an address survives a restart
of the program. Only surveys that this computer's user opened or started here have a key: the
page cannot name a file.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from measure.course_strip import read_courses_from_photo
from measure.survey_job import SurveyJob
from measure.workbench.answers import Answer, Answerer
from measure.workbench.photo_shelf import Decoded, PhotoShelf
from rectify.photos.photo import PhotoHeader
from shared.errors import FileError, SurveyFileError
from shared.photo_paths import photo_path
from shared.survey import Photo, Survey
from shared.survey_file import read_survey, restore_version, write_survey

#: A tab that has not been heard of for so long has gone.
HOLD_S = 12.0

MOST_RECENT = 30
SUFFIX = ".survey.json"


class HeldError(FileError):
    """Another tab holds the survey."""

    code = "held"


class StaleError(FileError):
    """The file on disk is not the one this page started from."""

    code = "stale"


def key_of(path: Path) -> str:
    """Name a survey file on the page."""
    return hashlib.sha256(str(path.resolve()).encode()).hexdigest()[:16]


def revision_of(path: Path) -> int:
    """Number that changes with the content of a file; exact in JavaScript."""
    try:
        return int(hashlib.sha256(path.read_bytes()).hexdigest()[:12], 16)
    except FileNotFoundError:
        return 0


@dataclass
class OpenSurvey:
    """One survey on the bench.

    Parameters
    ----------
    path : Path
        Of the survey file.
    photos : PhotoShelf
        Shared by all surveys.
    """

    path: Path
    photos: PhotoShelf
    answerer: Answerer = field(default_factory=Answerer)
    _holder: str | None = None
    _heard_s: float = 0.0
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _headers: dict[tuple[str, int], PhotoHeader] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """Name on the page."""
        return key_of(self.path)

    @property
    def folder(self) -> Path:
        """Folder of the survey and its photos; nothing outside it is read or written."""
        return self.path.parent

    def read(self) -> tuple[Survey, int]:
        """Document and revision as they stand on disk."""
        with self._lock:
            return read_survey(self.path), revision_of(self.path)

    def hold(self, tab: str, *, take_over: bool, now_s: float) -> bool:
        """Try to hold the survey for a tab; True if the tab holds it now."""
        with self._lock:
            free = self._holder is None or now_s - self._heard_s > HOLD_S
            if free or take_over or self._holder == tab:
                self._holder, self._heard_s = tab, now_s
            return self._holder == tab

    def let_go(self, tab: str) -> None:
        """Give the survey up, if this tab held it."""
        with self._lock:
            if self._holder == tab:
                self._holder = None

    def save(self, survey: Survey, revision: int, tab: str) -> int:
        """Write the document and return its new revision.

        Raises
        ------
        HeldError
            If another tab holds the survey.
        StaleError
            If the file changed on disk since this page read it.
        """
        with self._lock:
            self._check_holder(tab)
            on_disk = revision_of(self.path)
            if on_disk != revision and on_disk != 0:
                raise StaleError(
                    "The survey file was changed by someone else meanwhile.",
                    hint="Take it over to go on from what is on disk.",
                )
            write_survey(self.path, survey)
            return revision_of(self.path)

    def restore(self, version: str, tab: str) -> None:
        """Bring an earlier version back.

        Raises
        ------
        HeldError
            If another tab holds the survey.
        SurveyFileError
            If there is no such version.
        """
        with self._lock:
            self._check_holder(tab)
            restore_version(self.path, version)

    def _check_holder(self, tab: str) -> None:
        if self._holder is not None and self._holder != tab:
            raise HeldError(
                "This survey is being worked on in another tab, so nothing was saved here."
            )

    def header(self, survey: Survey, photo: Photo) -> PhotoHeader:
        """What is known of a photo; read again only when the file changed.

        Raises
        ------
        PhotoError, FieldError, SurveyFileError
        """
        file = photo_path(self.path, photo, confine=True)
        try:
            changed = file.stat().st_mtime_ns
        except OSError:
            changed = 0
        name = (photo.model_dump_json(), changed)
        with self._lock:
            found = self._headers.get(name)
        if found is None:
            found = SurveyJob(survey, self.path).header(photo.id)
            with self._lock:
                if len(self._headers) > 64:
                    self._headers.clear()
                self._headers[name] = found
        return found

    def decoded(self, survey: Survey, photo_id: str) -> Decoded:
        """Pixels of a photo of the survey.

        Raises
        ------
        FieldError
            If there is no such photo.
        PhotoError
        """
        photo = SurveyJob(survey, self.path).photo(photo_id)
        self.header(survey, photo)
        return self.photos.decoded(photo_path(self.path, photo, confine=True))

    def answer(
        self, survey: Survey, *, quick: bool = False, check: Callable[[], None] = lambda: None
    ) -> Answer:
        """Results of a document; see :class:`measure.workbench.answers.Answerer`."""
        reader = partial(read_courses_from_photo, lambda id_: self.decoded(survey, id_).photo)
        look = partial(self.header, survey)
        return self.answerer.answer(survey, look, reader, quick=quick, check=check)


class Shelf:
    """All surveys that have a key.

    Parameters
    ----------
    home : Path
        Where surveys started from a dropped photo are put, each in a folder of its own.
    state_folder : Path
        Where the list of recent surveys is kept.
    clock : callable
        Seconds; a test gives its own.
    """

    def __init__(
        self, home: Path, state_folder: Path, clock: Callable[[], float] = time.time
    ) -> None:
        self.home = home
        self.photos = PhotoShelf()
        self.clock = clock
        self._list = state_folder / "recent.json"
        self._open: dict[str, OpenSurvey] = {}
        self._lock = threading.Lock()

    def open(self, path: Path) -> OpenSurvey:
        """Put a survey file on the bench and remember it.

        Raises
        ------
        SurveyFileError, FieldError
        """
        path = path.resolve()
        survey = read_survey(path)
        with self._lock:
            found = self._open.setdefault(key_of(path), OpenSurvey(path, self.photos))
        self._remember(path, survey.title)
        return found

    def find(self, key: str) -> OpenSurvey:
        """The survey of a key: one that is open, or one that was.

        Raises
        ------
        SurveyFileError
        """
        with self._lock:
            found = self._open.get(key)
        if found is not None:
            return found
        for row in self._read_list():
            path = Path(row["path"])
            if key_of(path) == key:
                return self.open(path)
        raise SurveyFileError(
            "That survey is not among those opened here.", hint="Open it from the first page."
        )

    def recent(self) -> list[dict[str, Any]]:
        """Surveys worked on before, latest first, as the first page lists them."""
        rows = []
        for row in self._read_list():
            path = Path(row["path"])
            rows.append(
                {
                    "key": key_of(path),
                    "name": path.name.removesuffix(SUFFIX),
                    "title": str(row.get("title", "")),
                    "folder": str(path.parent),
                    "missing": not path.is_file(),
                    "seconds_ago": max(0.0, self.clock() - float(row.get("opened_s", 0.0))),
                }
            )
        return rows

    def new_folder(self, stem: str) -> Path:
        """Make an empty folder of a readable name under `home`."""
        tidy = re.sub(r"[^\w-]+", "-", stem, flags=re.UNICODE).strip("-_")[:60] or "survey"
        for number in range(1, 10_000):
            folder = self.home / (tidy if number == 1 else f"{tidy}-{number}")
            try:
                folder.mkdir(parents=True)
            except FileExistsError:
                continue
            except OSError as cause:
                raise SurveyFileError(
                    f"No folder could be made in {self.home}: {cause.strerror or 'refused'}.",
                    hint="Start storeyrod with --home and a folder that you may write to.",
                ) from cause
            return folder
        raise SurveyFileError(f"{self.home} is full of surveys called {tidy}.")

    def _read_list(self) -> list[dict[str, Any]]:
        try:
            rows = json.loads(self._list.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return []
        return [row for row in rows if isinstance(row, dict) and isinstance(row.get("path"), str)]

    def _remember(self, path: Path, title: str) -> None:
        with self._lock:
            rows = [row for row in self._read_list() if row["path"] != str(path)]
            rows.insert(0, {"path": str(path), "title": title, "opened_s": self.clock()})
            beside = self._list.with_suffix(".part")
            try:
                self._list.parent.mkdir(parents=True, exist_ok=True)
                beside.write_text(json.dumps(rows[:MOST_RECENT], indent=1), encoding="utf-8")
                os.replace(beside, self._list)
            except OSError:
                pass  # the list is a convenience; the surveys themselves are safe
