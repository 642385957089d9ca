"""Pictures for the screen as JPEG, large ones compressed in strips at the same time.

A JPEG file may hold marks after which its decoder starts afresh ("restart markers"). So strips
of one picture, compressed side by side with the same tables, can be joined into one file that
is, pixel for pixel, the file that one long compression would have made.

References
----------
Recommendation ITU-T T.81, *Digital compression and coding of continuous-tone still images*,
1992: B.2.2 the frame header, B.2.4.4 the restart interval, F.1.2.3 padding before a marker.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor

import cv2

from rectify.photos.pixels import RgbPixels

#: Quality at rest; above it the files grow and the eye sees nothing.
JPEG_QUALITY = 86

#: Quality while a pick is dragged: a quarter fewer bytes for a picture seen for an instant.
DRAG_QUALITY = 75

#: Colour is stored at half the resolution, so that a block of the file is so many pixels high.
_BLOCK_PX = 16

#: Pictures of fewer pixels are compressed in one go.
_SMALL_PX = 300_000

_STRIPS = min(4, os.cpu_count() or 1)
_WORKERS = ThreadPoolExecutor(_STRIPS, thread_name_prefix="jpeg")

_FRAME, _SCAN, _END = b"\xff\xc0", b"\xff\xda", b"\xff\xd9"


def jpeg_bytes(pixels: RgbPixels, quality: int = JPEG_QUALITY) -> bytes:
    """Compress RGB pixels.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (h, w, 3)
    quality : int
        1 to 100.
    """
    height, width = pixels.shape[:2]
    block_rows = -(-height // _BLOCK_PX)
    strips = 1 if height * width < _SMALL_PX else min(_STRIPS, block_rows)
    rows = -(-block_rows // strips) * _BLOCK_PX
    interval = rows // _BLOCK_PX * -(-width // _BLOCK_PX)
    if strips == 1 or interval > 0xFFFF:
        return _compressed(pixels, quality)
    parts = [pixels[top : top + rows] for top in range(0, height, rows)]
    files = list(_WORKERS.map(_compressed, parts, [quality] * len(parts)))
    return _joined(files, height, interval)


def _compressed(pixels: RgbPixels, quality: int) -> bytes:
    flags = [
        cv2.IMWRITE_JPEG_QUALITY,
        quality,
        cv2.IMWRITE_JPEG_SAMPLING_FACTOR,
        cv2.IMWRITE_JPEG_SAMPLING_FACTOR_420,
    ]
    done, encoded = cv2.imencode(".jpg", cv2.cvtColor(pixels, cv2.COLOR_RGB2BGR), flags)
    if not done:
        raise RuntimeError("JPEG encoding failed")
    return bytes(encoded)


def _joined(files: list[bytes], height_px: int, interval: int) -> bytes:
    """One file of strips that share their width and tables; `interval` in blocks of a strip."""
    head, first = _parted(files[0])
    frame = _segment(head, _FRAME)
    scan = _segment(head, _SCAN)
    out = [
        head[: frame + 5],
        height_px.to_bytes(2, "big"),
        head[frame + 7 : scan],
        b"\xff\xdd\x00\x04" + interval.to_bytes(2, "big"),
        head[scan:],
        first,
    ]
    for number, file in enumerate(files[1:]):
        out += [bytes((0xFF, 0xD0 + number % 8)), _parted(file)[1]]
    return b"".join([*out, _END])


def _parted(file: bytes) -> tuple[bytes, bytes]:
    """Headers up to the compressed data, and the compressed data."""
    scan = _segment(file, _SCAN)
    start = scan + 2 + int.from_bytes(file[scan + 2 : scan + 4], "big")
    return file[:start], file[start : -len(_END)]


def _segment(file: bytes, marker: bytes) -> int:
    """Where a segment of the headers begins."""
    at = 2
    while file[at : at + 2] != marker:
        length = int.from_bytes(file[at + 2 : at + 4], "big")
        if file[at] != 0xFF or length < 2 or at + length > len(file):
            raise ValueError("file: not the headers of a JPEG file")
        at += 2 + length
    return at
