"""Small photo files of every kind, for tests of reading them."""

import struct
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import pillow_heif
from PIL import Image

pillow_heif.register_heif_opener()

# Suffix, arguments of Pillow's save, and how far a level may be off after decoding.
# Lossless formats must give the very numbers; the lossy ones are saved at a quality where
# a smooth picture comes back within a few levels of 255 (chroma is stored at half size).
FORMATS: dict[str, tuple[str, dict[str, Any], int]] = {
    "jpeg": (".jpg", {"quality": 98, "subsampling": 0}, 6),
    "jpeg-progressive": (".jpg", {"quality": 98, "subsampling": 0, "progressive": True}, 6),
    "png": (".png", {}, 0),
    "tiff": (".tif", {}, 0),
    "tiff-lzw": (".tif", {"compression": "tiff_lzw"}, 0),
    "webp": (".webp", {"lossless": True}, 0),
    "webp-lossy": (".webp", {"quality": 98}, 14),
    "heic": (".heic", {"quality": 98, "chroma": 444}, 8),
}


def make_asymmetric_picture(width_px: int = 64, height_px: int = 40) -> np.ndarray:
    """RGB picture with no symmetry at all: every turn and flip of it differs by a lot."""
    x = np.linspace(0.0, 1.0, width_px)
    y = np.linspace(0.0, 1.0, height_px)[:, np.newaxis]
    red = 40 + 180 * x + 0 * y
    green = 200 - 150 * y + 0 * x
    blue = 60 + 120 * x * x * (1 - y)
    return np.rint(np.stack([red, green, blue], axis=-1)).astype(np.uint8)


def make_stored(upright: np.ndarray, orientation: int) -> np.ndarray:
    """Store an upright picture as the EXIF text describes each orientation.

    Written out from the table of CIPA DC-008 (Exif 2.32), tag 274, which says
    where the stored 0th row and 0th column lie in the upright picture.
    """
    height, width = upright.shape[:2]
    row0, column0 = {
        1: ("top", "left"),
        2: ("top", "right"),
        3: ("bottom", "right"),
        4: ("bottom", "left"),
        5: ("left", "top"),
        6: ("right", "top"),
        7: ("right", "bottom"),
        8: ("left", "bottom"),
    }[orientation]
    upright_rows_run_along_stored_rows = row0 in ("top", "bottom")
    shape = (height, width) if upright_rows_run_along_stored_rows else (width, height)
    stored = np.empty((*shape, *upright.shape[2:]), upright.dtype)
    for r in range(shape[0]):
        for c in range(shape[1]):
            along = {row0: r, column0: c}
            y = along["top"] if "top" in along else height - 1 - along["bottom"]
            x = along["left"] if "left" in along else width - 1 - along["right"]
            stored[r, c] = upright[y, x]
    return stored


def make_exif(orientation: int | None = None, **camera_tags: Any) -> Image.Exif:
    """EXIF block with an orientation and tags by their hexadecimal number, as ``xA405=26``."""
    exif = Image.Exif()
    if orientation is not None:
        exif[0x0112] = orientation
    camera = exif.get_ifd(0x8769)
    for name, value in camera_tags.items():
        tag = int(name[1:], 16)
        (camera if tag > 0x8800 else exif)[tag] = value
    return exif


def write_picture(
    path: Path, pixels: np.ndarray, exif: Image.Exif | None = None, **save: Any
) -> Path:
    """Write pixels with Pillow, with EXIF where given."""
    if exif is None:
        Image.fromarray(pixels).save(path, **save)
    elif "compression" in save:
        # Pillow cannot write camera tags into a compressed TIFF.
        camera = dict(exif.get_ifd(0x8769))
        plain = Image.Exif()
        plain.update(exif)
        Image.fromarray(pixels).save(path, exif=plain, **save)
        _append_tiff_camera_tags(path, camera)
    else:
        # As bytes: given the object, Pillow leaves the camera tags out of a TIFF.
        Image.fromarray(pixels).save(path, exif=exif.tobytes(), **save)
    return path


def _append_tiff_camera_tags(path: Path, camera: dict[int, Any]) -> None:
    """Append a directory of camera tags and a first directory that points to it (TIFF 6.0)."""
    content = bytearray(path.read_bytes())
    assert content[:4] == b"II*\0"
    content += bytes(len(content) % 2)
    camera_entries = []
    for tag, value in sorted(camera.items()):
        if isinstance(value, str):
            text = value.encode() + b"\0"
            camera_entries.append(struct.pack("<HHII", tag, 2, len(text), len(content)))
            content += text + bytes(len(text) % 2)
        else:
            camera_entries.append(struct.pack("<HHII", tag, 4, 1, value))
    camera_at = len(content)
    content += struct.pack("<H", len(camera_entries)) + b"".join(camera_entries) + bytes(4)
    (first_at,) = struct.unpack_from("<I", content, 4)
    (count,) = struct.unpack_from("<H", content, first_at)
    entries = [bytes(content[first_at + 2 + 12 * i :][:12]) for i in range(count)]
    entries.append(struct.pack("<HHII", 0x8769, 4, 1, camera_at))
    entries.sort(key=lambda entry: struct.unpack_from("<H", entry))
    struct.pack_into("<I", content, 4, len(content))
    content += struct.pack("<H", len(entries)) + b"".join(entries) + bytes(4)
    path.write_bytes(content)


def make_png_chunk(kind: bytes, data: bytes) -> bytes:
    """One chunk with its length and checksum (W3C PNG specification, section 5.3)."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def write_png_bomb(path: Path, width_px: int, height_px: int) -> Path:
    """A few bytes of PNG that claim to be enormous."""
    header = struct.pack(">IIBBBBB", width_px, height_px, 8, 2, 0, 0, 0)
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n"
        + make_png_chunk(b"IHDR", header)
        + make_png_chunk(b"IDAT", zlib.compress(bytes(1000)))
        + make_png_chunk(b"IEND", b"")
    )
    return path


def write_grey_tiff(
    path: Path, levels: np.ndarray, bits: int, photometric: int = 1, sample_format: int = 1
) -> Path:
    """Uncompressed little-endian TIFF of one channel: 12 bits packed, or 16 or 32."""
    height, width = levels.shape
    packed = (_pack_twelve_bits(row) for row in levels)
    strip = b"".join(packed) if bits == 12 else levels.tobytes()
    tags = [
        (256, width),
        (257, height),
        (258, bits),
        (259, 1),
        (262, photometric),
        (273, 8),
        (277, 1),
        (278, height),
        (279, len(strip)),
        (339, sample_format),
    ]
    directory = struct.pack("<H", len(tags))
    for tag, value in tags:
        directory += struct.pack("<HHII", tag, 4, 1, value)
    padding = len(strip) % 2
    offset = 8 + len(strip) + padding
    path.write_bytes(
        b"II*\0" + struct.pack("<I", offset) + strip + bytes(padding) + directory + bytes(4)
    )
    return path


def _pack_twelve_bits(row: np.ndarray) -> bytes:
    bits = np.unpackbits(row.astype(">u2").view(np.uint8)).reshape(-1, 16)[:, 4:].ravel()
    return np.packbits(bits).tobytes()
