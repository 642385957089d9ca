"""Write a file whole or not at all."""

from __future__ import annotations

import contextlib
import os
import secrets
from pathlib import Path


def write_whole(path: Path, data: bytes) -> None:
    """Write beside the target, flush to the disk, then rename over it.

    A reader sees the old file or the new one, never a part; a crash or a full disk
    leaves the old one.

    Parameters
    ----------
    path : Path
        Its folder must be there.
    data : bytes

    Raises
    ------
    OSError
        Nothing is left behind.
    """
    beside = path.with_name(f".{path.name[:60]}.{secrets.token_hex(6)}.part")
    try:
        with open(beside, "xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except BaseException:
        with contextlib.suppress(OSError):
            beside.unlink()
        raise
    flush_folder(path.parent)


def flush_folder(folder: Path) -> None:
    """Flush a folder's list of names to the disk, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
