"""Is the file all there? End marks and lengths that decoders do not insist on.

Pillow refuses a picture whose data runs out while it still needs some. It does
not notice a missing tail behind the last pixel, nor a tail of zeros where the
rest of the data should be, as left by an interrupted copy. Each format says
where it ends, and that is checked here.
"""

from __future__ import annotations

import mmap
import struct
from typing import BinaryIO

import numpy as np

from rectify.photos.pixels import RgbPixels, stored_view_of_upright
from shared.errors import PhotoError

# Twice the tallest block row of a JPEG: a smaller flat strip may well be sky.
FLAT_ROWS_SUSPECT = 32
# Compressed data is never zero for long; an interrupted copy leaves whole disk blocks of it.
ZERO_TAIL_BYTES = 1024


def check_whole(file_name: str, file_format: str, stream: BinaryIO) -> None:
    """Raise if the file ends before its format says it does.

    Parameters
    ----------
    file_name : str
        For the sentence.
    file_format : str
        One of the formats of :mod:`rectify.photos.file`. A TIFF has nothing to
        check here: its directory says what must be there, and the decoder
        insists on it.
    stream : binary file
        On disk; its position is left as found.

    Raises
    ------
    PhotoError
        The file was cut short.
    """
    finders = {
        "JPEG": _jpeg_ends,
        "PNG": _png_ends,
        "WEBP": _webp_ends,
        "HEIF": _ends_in_data,
    }
    if file_format not in finders:
        return
    with mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ) as content:
        ended = finders[file_format](content)
    if not ended:
        raise PhotoError(make_cut_short_sentence(file_name), details={"file": file_name})


def make_cut_short_sentence(file_name: str) -> str:
    """Word the refusal of an incomplete or damaged file."""
    return (
        f"{file_name} is damaged or cut short, so part of the picture is missing: "
        "copy it from the camera again."
    )


def count_flat_rows(pixels: RgbPixels, orientation: int) -> int:
    """Count the last stored rows that are all one colour, 0 if too few to be suspicious.

    Decoders fill what they could not read with the last colour they had.

    Parameters
    ----------
    pixels : ndarray, shape (H, W, 3)
        Upright RGB.
    orientation : int
        EXIF orientation of the stored picture, so that its last rows are looked at.
    """
    stored = stored_view_of_upright(pixels, orientation)
    last = stored[-1, -1]
    count = 0
    for row in stored[::-1]:
        if not np.array_equal(row, np.broadcast_to(last, row.shape)):
            break
        count += 1
    return count if FLAT_ROWS_SUSPECT <= count < len(stored) else 0


def _jpeg_ends(content: mmap.mmap) -> bool:
    """Look for the end mark behind the start of the scan, whose own data never holds FF D9."""
    position = 2
    while position + 4 <= len(content) and content[position] == 0xFF:
        kind = content[position + 1]
        if kind == 0xFF:  # a fill byte
            position += 1
            continue
        if kind == 0xDA:
            return content.find(b"\xff\xd9", position) >= 0
        if kind in (0x01, *range(0xD0, 0xD8)):  # marks that have no length
            position += 2
            continue
        position += 2 + struct.unpack(">H", content[position + 2 : position + 4])[0]
    return content.find(b"\xff\xd9", max(position - 4, 2)) >= 0


def _png_ends(content: mmap.mmap) -> bool:
    """Walk the chunks to the closing one."""
    position = 8
    while position + 12 <= len(content):
        length, kind = struct.unpack(">I4s", content[position : position + 8])
        if kind == b"IEND":
            return True
        position += 12 + length
    return False


def _webp_ends(content: mmap.mmap) -> bool:
    """Compare the length in the container's header with the file's."""
    length = 8 + struct.unpack("<I", content[4:8])[0]
    return length <= len(content) and _ends_in_data(content)


def _ends_in_data(content: mmap.mmap) -> bool:
    tail = content[-ZERO_TAIL_BYTES:]
    return len(tail) < ZERO_TAIL_BYTES or any(tail)
