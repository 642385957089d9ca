"""Where the photos of a survey lie, and whether they are still the ones that were measured."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path, PurePosixPath, PureWindowsPath

from shared.errors import FieldError, PhotoError
from shared.survey import Photo
from shared.survey_places import quote


def photo_path(survey_path: str | os.PathLike[str], photo: Photo, *, confine: bool = False) -> Path:
    """Find the file of a photo, named relative to the survey file.

    Parameters
    ----------
    survey_path : path-like
        The survey file; a link is followed, and the photo lies beside its target.
    photo : Photo
        The photo as the survey names it.
    confine : bool
        If true the photo must lie in the survey's folder or below it, links
        resolved: the workbench reads for a page, and a page may not name any
        file of the computer. On the command line the person names the files.

    Returns
    -------
    Path
        Whether there is a photo is found on reading it.

    Raises
    ------
    FieldError
        If the path holds a zero character or, confined, leads elsewhere.

    Examples
    --------
    >>> street = Photo(id="street", file="../street.jpg")
    >>> photo_path("plots/malthouse.survey.json", street, confine=True)
    Traceback (most recent call last):
    shared.errors.FieldError: Photo 'street' lies outside the folder of the survey (file \
'../street.jpg'): copy it beside the survey and name it without a path.
    """
    if "\0" in photo.file:
        raise FieldError(
            f"Photo {quote(photo.id)} has a zero character in its file name: type the name anew.",
            details={"photo": photo.id},
        )
    folder = Path(os.path.realpath(survey_path)).parent
    if not confine:
        return folder / photo.file
    if _is_absolute(photo.file):
        raise FieldError(
            f"Photo {quote(photo.id)} is named by a whole path (file {quote(photo.file)}): "
            "copy it beside the survey and name it without a path.",
            details={"photo": photo.id},
        )
    found = Path(os.path.realpath(folder / photo.file))
    if _climbs_out(photo.file) or not found.is_relative_to(folder) or found == folder:
        raise FieldError(
            f"Photo {quote(photo.id)} lies outside the folder of the survey "
            f"(file {quote(photo.file)}): copy it beside the survey and name it without a path.",
            details={"photo": photo.id},
        )
    return found


def hash_photo(path: str | os.PathLike[str]) -> str:
    """Hash a photo file: SHA-256 as 64 hexadecimal digits.

    Raises
    ------
    PhotoError
        If it cannot be read.
    """
    try:
        with open(path, "rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except (OSError, ValueError) as cause:
        said = (getattr(cause, "strerror", None) or "no such name").lower()
        raise PhotoError(
            f"{path} cannot be read ({said}): put the photo back where it was."
        ) from cause


def describe_photo_change(photo: Photo, path: str | os.PathLike[str]) -> str | None:
    """Say whether a photo has changed since its hash was written into the survey.

    Returns
    -------
    str or None
        One sentence if the bytes differ; None if they agree or the survey
        holds no hash.

    Raises
    ------
    PhotoError
        If the file cannot be read.
    """
    if photo.sha256 is None or hash_photo(path) == photo.sha256:
        return None
    return (
        f"Photo {quote(photo.id)} is not the file it was when the survey was saved "
        f"({Path(path).name} has changed): put the former photo back, or check every pick."
    )


def check_photo_unchanged(survey_path: str | os.PathLike[str], photo: Photo) -> None:
    """Refuse a photo that is not the one the survey was picked on.

    A photo that is missing passes: reading it says so.

    Raises
    ------
    FieldError
        With the sentence of :func:`describe_photo_change`.
    PhotoError
        If the file is there and cannot be read.
    """
    path = photo_path(survey_path, photo)
    sentence = describe_photo_change(photo, path) if _is_file(path) else None
    if sentence is not None:
        raise FieldError(sentence, details={"photo": photo.id})


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name too long, a loop of links: reading it says so
        return False


def _is_absolute(file: str) -> bool:
    """Absolute here or on any other system, or with a drive, so that a survey travels."""
    windows = PureWindowsPath(file)
    return bool(windows.drive or windows.root) or PurePosixPath(file).is_absolute()


def _climbs_out(file: str) -> bool:
    depth = 0
    for part in PureWindowsPath(file).parts:  # takes both kinds of slash
        depth += -1 if part == ".." else 1
        if depth < 0:
            return True
    return False
