"""Photos as they arrive from the page: a safe name, decoded before anything is kept."""

from __future__ import annotations

import hashlib
import secrets
import shutil
from collections.abc import AsyncIterator
from pathlib import Path, PurePosixPath

from rectify.photos.file import read_photo
from rectify.photos.photo import Photo
from shared.errors import FileError, PhotoError


def plain_photo_name(name: str) -> str:
    """Bare name of a file as a browser tells it; of a path only what comes last."""
    base = PurePosixPath(name.replace("\\", "/")).name
    return "".join(c for c in base if c.isprintable()).strip(". ")[-120:] or "photo.jpg"


async def receive_file(stream: AsyncIterator[bytes], target: Path) -> None:
    """Write a body to a file as it comes."""
    with target.open("wb") as file:
        async for chunk in stream:
            file.write(chunk)


def read_arrived(path: Path) -> Photo:
    """Decode the whole of a photo that has just come, so that a damaged one is refused now.

    Raises
    ------
    PhotoError
    """
    if path.stat().st_size == 0:
        raise PhotoError("That file is empty.", hint="Choose the photo itself.")
    return read_photo(path)


class Arrival:
    """A place inside a survey's folder where a photo waits until it is known to be one.

    Parameters
    ----------
    folder : Path
        Of the survey.
    name : str
        As the browser tells it.
    """

    def __init__(self, folder: Path, name: str) -> None:
        self.folder = folder
        self._waiting = folder / f".arriving-{secrets.token_hex(6)}"
        try:
            self._waiting.mkdir()
        except OSError as cause:
            raise FileError(
                f"No photo can be put into {folder.name}: {cause.strerror or 'refused'}.",
                hint="Move the survey to a folder that you may write to.",
            ) from cause
        self.path = self._waiting / plain_photo_name(name)

    def keep(self, beside: tuple[Path, ...]) -> tuple[Path, Photo]:
        """Put the photo beside the survey under a name of its own.

        Parameters
        ----------
        beside : tuple of Path
            Photos of the survey: one with the same content is taken and nothing is written.

        Raises
        ------
        PhotoError
            If it is no photo; then nothing is kept.
        """
        photo = read_arrived(self.path)
        for known in beside:
            if known.is_file() and _is_same(known, self.path):
                return known, photo
        stem, ending = self.path.stem, self.path.suffix
        for number in range(1, 10_000):
            target = self.folder / (
                f"{stem}{ending}" if number == 1 else f"{stem}-{number}{ending}"
            )
            try:
                target.touch(exist_ok=False)
            except FileExistsError:
                continue
            self.path.replace(target)
            return target, photo
        raise FileError(f"{self.folder.name} is full of photos called {stem}.")

    def clear(self) -> None:
        """Leave nothing behind."""
        shutil.rmtree(self._waiting, ignore_errors=True)


def _is_same(one: Path, other: Path) -> bool:
    if one.stat().st_size != other.stat().st_size:
        return False
    return _digest(one) == _digest(other)


def _digest(path: Path) -> bytes:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").digest()
