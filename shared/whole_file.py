"""Replace a file whole or not at all.

The new content is written to a file beside the old one, forced onto the disk,
and put in its place by one rename, so that a killed program or a full disk
leaves either the former file or the new one, never a part of it.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import secrets
import stat
import time
from pathlib import Path

_STALE_S = 600.0  # a file being written this long ago was left by a killed program
_NO_FOLDER_FSYNC = (errno.EINVAL, errno.ENOTSUP, errno.EBADF, errno.EACCES, errno.EPERM)


def write_whole(path: Path, content: bytes) -> None:
    """Write `content` as the file `path`, replacing a former file in one step.

    The permissions of a former file are kept. A symbolic link stays one: the
    file it points to is replaced.

    Raises
    ------
    OSError
        Whatever kept it from being written; then the former file is untouched.
    """
    target = Path(os.path.realpath(path))
    beside = target.with_name(f"{_part_start(target)}{secrets.token_hex(6)}.part")
    descriptor = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _binary(), 0o666)
    try:
        try:
            with contextlib.suppress(FileNotFoundError):
                os.chmod(beside, stat.S_IMODE(os.stat(target).st_mode))
            _write_all(descriptor, content)
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
        os.replace(beside, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(beside)
        raise
    flush_folder(target.parent)
    _remove_stale_parts(target)


def flush_folder(folder: Path) -> None:
    """Force the names in a folder onto the disk, where the system can do that."""
    if os.name == "nt":  # Windows opens no folders
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as cause:
        if cause.errno not in _NO_FOLDER_FSYNC:
            raise
    finally:
        os.close(descriptor)


def describe_write_failure(cause: OSError, path: Path) -> str:
    """Say in one sentence why `path` could not be written, and what to do.

    Examples
    --------
    >>> describe_write_failure(OSError(errno.ENOSPC, ""), Path("malthouse.survey.json"))
    'malthouse.survey.json was not saved because the disk is full: free some space and save again.'
    """
    folder = path.parent
    reasons = {
        errno.ENOSPC: "the disk is full: free some space and save again",
        errno.EDQUOT: "your share of the disk is used up: free some space and save again",
        errno.EFBIG: "the disk cannot hold a file of this size: save it on another disk",
        errno.EROFS: "the disk can only be read: save it on another disk",
        errno.EACCES: f"the folder {folder} does not allow it: save it in a folder of your own",
        errno.EPERM: f"the folder {folder} does not allow it: save it in a folder of your own",
        errno.ENOENT: f"the folder {folder} is not there: make it first",
        errno.ENOTDIR: f"{folder} is not a folder: save it elsewhere",
        errno.EISDIR: "there is a folder of that name: give it another name",
        errno.ENAMETOOLONG: "its name is too long: give it a shorter one",
        errno.EIO: "the disk reported a fault: save it on another disk",
    }
    said = (cause.strerror or type(cause).__name__).lower()
    reason = reasons.get(cause.errno or 0, f"of a fault of the system ({said}): try another folder")
    return f"{path} was not saved because {reason}."


def _write_all(descriptor: int, content: bytes) -> None:
    rest = memoryview(content)
    while rest:
        rest = rest[os.write(descriptor, rest) :]


def _part_start(target: Path) -> str:
    return f".{target.name[:40]}."  # names are limited to 255 bytes, four for a letter at most


def _binary() -> int:
    return getattr(os, "O_BINARY", 0)  # Windows would turn line breaks otherwise


def _remove_stale_parts(target: Path) -> None:
    """Clear away what killed programs left; failing at that harms nobody."""
    ours = re.compile(re.escape(_part_start(target)) + r"[0-9a-f]{12}\.part")
    oldest = time.time() - _STALE_S
    with contextlib.suppress(OSError), os.scandir(target.parent) as entries:
        for entry in entries:
            if ours.fullmatch(entry.name):
                with contextlib.suppress(OSError):
                    if entry.stat(follow_symlinks=False).st_mtime < oldest:
                        os.unlink(entry.path)
