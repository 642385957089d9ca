"""Writing outputs so that a file is whole or not there at all.

Bytes go to a new file beside the wanted one, are forced onto the disk, and take
the wanted name in one step. A program killed at any moment leaves the old file or
the new one.
"""

from __future__ import annotations

import errno
import os
import unicodedata
from collections.abc import Mapping
from pathlib import Path

from shared.errors import ExportError
from shared.whole_file import write_whole

LONGEST_STEM = 80
_NOT_IN_NAMES = set('<>:"/\\|?*%')
# Names that one family of systems keeps for devices (from memory).
_KEPT_NAMES = {"con", "prn", "aux", "nul"} | {
    f"{port}{number}" for port in ("com", "lpt") for number in range(1, 10)
}


def write_bytes_atomically(path: Path | str, data: bytes) -> None:
    """Write a file whole, or leave everything as it was.

    Parameters
    ----------
    path : Path or str
        The folder must be there.
    data : bytes

    Raises
    ------
    ExportError
        One sentence: no such folder, no right to write, a full disk, a folder of that name.
    """
    target = Path(path)
    try:
        is_folder = target.is_dir()
    except OSError as reason:
        raise ExportError(_sentence(target, reason)) from reason
    if is_folder:
        raise ExportError(f"{target.name} is a folder, so no file can be written under that name.")
    try:
        write_whole(target, data)
    except OSError as reason:
        raise ExportError(_sentence(target, reason)) from reason


def write_files(folder: Path | str, files: Mapping[str, bytes]) -> list[Path]:
    """Write several files into a folder, made where it is not there.

    Parameters
    ----------
    folder : Path or str
    files : mapping of str to bytes
        Contents by name.

    Returns
    -------
    list of Path
        In the order given.

    Raises
    ------
    ExportError
        As :func:`write_bytes_atomically`; files written before it stay, each whole.
    """
    place = Path(folder)
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError as reason:
        raise ExportError(_sentence(place, reason)) from reason
    written = []
    for name, data in files.items():
        write_bytes_atomically(place / name, data)
        written.append(place / name)
    return written


def safe_stem(*words: str) -> str:
    """Beginning of a file name from a title, good on every system.

    Examples
    --------
    >>> safe_stem("Pennywhistle Maltings", "Street front")
    'pennywhistle-maltings-street-front'
    """
    plain = unicodedata.normalize("NFC", " ".join(words)).casefold()
    kept = "".join(
        character
        if character.isprintable() and character not in _NOT_IN_NAMES and not character.isspace()
        else " "
        for character in plain
    )
    stem = "-".join(kept.split()).strip(".-'")
    # Names are counted in bytes on most systems: at most 255.
    while len(stem) > LONGEST_STEM or len(stem.encode()) > 200:
        stem = stem[:-1].rstrip(".-'")
    if not stem:
        return "drawing"
    return f"{stem}-drawing" if stem.split(".")[0] in _KEPT_NAMES else stem


def _sentence(target: Path, reason: OSError) -> str:
    """Say why a file could not be written, and what to do."""
    name, folder = target.name, target.parent.name or str(target.parent)
    if reason.errno == errno.ENOSPC or reason.errno == getattr(errno, "EDQUOT", None):
        return f"{name} was not written because the disk is full; make room and try again."
    if reason.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return (
            f"{name} was not written because the folder “{folder}” may not be written to; "
            "choose another folder."
        )
    if reason.errno in (errno.ENOENT, errno.ENOTDIR):
        return f"{name} was not written because there is no folder “{folder}”; make it first."
    if reason.errno == errno.ENAMETOOLONG:
        return f"{name[:40]}… was not written because its name is too long; choose a shorter one."
    why = os.strerror(reason.errno).lower() if reason.errno else "of an unknown fault"
    return f"{name} was not written ({why}); try another folder."
