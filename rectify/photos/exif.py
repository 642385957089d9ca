"""What the camera wrote beside the picture: EXIF tags, read with suspicion.

Knows tags and how files carry them; never touches a pixel. A tag that is
missing, damaged or absurd becomes None: a photo is never refused for its tags.
"""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass
from datetime import datetime
from typing import Any, BinaryIO

from PIL import Image

TAG_MAKE = 0x010F
TAG_MODEL = 0x0110
TAG_ORIENTATION = 0x0112
TAG_X_RESOLUTION = 0x011A
TAG_Y_RESOLUTION = 0x011B
TAG_SOFTWARE = 0x0131
TAG_EXIF_IFD = 0x8769
TAG_DATE_ORIGINAL = 0x9003
TAG_DATE_DIGITISED = 0x9004
TAG_PIXEL_X = 0xA002
TAG_PIXEL_Y = 0xA003
TAG_USER_COMMENT = 0x9286
TAG_DIGITAL_ZOOM = 0xA404
TAG_FOCAL_35MM = 0xA405
TAG_LENS_MODEL = 0xA434

# Fisheye lenses start near 6 mm and the longest telescopes used on a camera end
# well below this; anything outside is a broken tag (common practice, no source).
FOCAL_35MM_RANGE = (4.0, 3000.0)


@dataclass(frozen=True, slots=True)
class ExifFacts:
    """Tags of one photo in a form that can be trusted to be of its type.

    Attributes
    ----------
    orientation : int
        1 to 8 as in EXIF tag 0x0112; 1 where the tag is missing or absurd.
    focal_35mm : float or None
        35 mm equivalent focal length in millimetres; None where unknown.
    camera_make, camera_model, software, lens_model, comment : str
        Cleaned text; empty where missing.
    taken : datetime or None
        When the shutter opened, in the camera's own clock, without time zone.
    digital_zoom : float or None
        Tag 0xA404; None where missing or "not used".
    recorded_width_px, recorded_height_px : int or None
        Size the camera says it recorded (before turning upright).
    pixel_aspect : float or None
        Width of a pixel over its height, from the two resolutions.
    present, readable : bool
        Whether the file carries EXIF at all, and whether it could be parsed.
    """

    orientation: int = 1
    focal_35mm: float | None = None
    camera_make: str = ""
    camera_model: str = ""
    software: str = ""
    lens_model: str = ""
    comment: str = ""
    taken: datetime | None = None
    digital_zoom: float | None = None
    recorded_width_px: int | None = None
    recorded_height_px: int | None = None
    pixel_aspect: float | None = None
    present: bool = False
    readable: bool = True


def read_exif_facts(image: Image.Image, stream: BinaryIO) -> ExifFacts:
    """Collect the tags of an opened, not yet decoded picture.

    Parameters
    ----------
    image : PIL.Image.Image
        Opened by Pillow; its pixels are not decoded here.
    stream : binary file
        The file `image` was opened from; its position is left as found.

    Returns
    -------
    ExifFacts
        With ``readable=False`` and no facts where the block is damaged.

    Notes
    -----
    HEIC carries its rotation twice: as a property of the image, which the
    decoder has to apply, and as an EXIF copy for information. Only the first
    counts (ISO/IEC 23008-12), so orientation is 1 here: the decoder has
    already turned the picture.
    """
    try:
        tags, present = _read_tags(image, stream)
    except Exception:  # tags come from unknown software and may be malformed in any way
        return ExifFacts(
            present=True, readable=False, pixel_aspect=_pixel_aspect_from_info(image.info)
        )
    turned_by_decoder = image.format == "HEIF"
    return ExifFacts(
        orientation=1 if turned_by_decoder else parse_orientation(tags.get(TAG_ORIENTATION)),
        focal_35mm=parse_focal_35mm(tags.get(TAG_FOCAL_35MM)),
        camera_make=parse_text(tags.get(TAG_MAKE)),
        camera_model=parse_text(tags.get(TAG_MODEL)),
        software=parse_text(tags.get(TAG_SOFTWARE)),
        lens_model=parse_text(tags.get(TAG_LENS_MODEL)),
        comment=parse_comment(tags.get(TAG_USER_COMMENT)),
        taken=parse_taken(tags.get(TAG_DATE_ORIGINAL)) or parse_taken(tags.get(TAG_DATE_DIGITISED)),
        digital_zoom=_positive(tags.get(TAG_DIGITAL_ZOOM)),
        recorded_width_px=_positive_int(tags.get(TAG_PIXEL_X)),
        recorded_height_px=_positive_int(tags.get(TAG_PIXEL_Y)),
        pixel_aspect=_pixel_aspect(tags) or _pixel_aspect_from_info(image.info),
        present=present,
    )


def parse_orientation(value: object) -> int:
    """Return a valid EXIF orientation, 1 for anything else.

    Examples
    --------
    >>> parse_orientation(6), parse_orientation(0), parse_orientation("up")
    (6, 1, 1)
    """
    number = _positive_int(value)
    return number if number is not None and number <= 8 else 1


def parse_focal_35mm(value: object) -> float | None:
    """Return tag 0xA405 in millimetres, or None for 0 (unknown) and absurd values.

    References
    ----------
    CIPA DC-008 (Exif 2.32), tag FocalLengthIn35mmFilm: "value of 0 means the
    focal length is unknown".

    Examples
    --------
    >>> parse_focal_35mm(26), parse_focal_35mm(0), parse_focal_35mm(65535)
    (26.0, None, None)
    """
    number = _positive(value)
    if number is None or not FOCAL_35MM_RANGE[0] <= number <= FOCAL_35MM_RANGE[1]:
        return None
    return number


def parse_text(value: object) -> str:
    """Return tag text on one line without padding or control characters.

    Examples
    --------
    >>> parse_text("Kerbside  Optics" + chr(0) + chr(0))
    'Kerbside Optics'
    """
    if isinstance(value, bytes):
        value = value.decode("utf-8", errors="replace")
    if not isinstance(value, str):
        return ""
    printable = "".join(c if c.isprintable() else " " for c in value.split("\0", 1)[0])
    return " ".join(printable.split())[:200]


def parse_comment(value: object) -> str:
    """Return tag 0x9286 on one line; its first eight bytes name how it is encoded.

    References
    ----------
    CIPA DC-008 (Exif 2.32), tag UserComment.

    Examples
    --------
    >>> parse_comment(b"ASCII" + bytes(3) + b"Screenshot")
    'Screenshot'
    """
    if isinstance(value, bytes) and len(value) >= 8:
        code, rest = value[:8], value[8:]
        if code.startswith(b"UNICODE"):
            value = rest.decode("utf-16-be" if rest[:1] == bytes(1) else "utf-16-le", "replace")
        elif code in (b"ASCII\0\0\0", bytes(8)):
            value = rest
    return parse_text(value)


def parse_taken(value: object) -> datetime | None:
    """Return an EXIF date, or None where it is blank or impossible.

    Examples
    --------
    >>> parse_taken("2024:05:17 10:30:00").isoformat()
    '2024-05-17T10:30:00'
    >>> parse_taken("0000:00:00 00:00:00") is None
    True
    """
    try:
        return datetime.strptime(parse_text(value), "%Y:%m:%d %H:%M:%S")
    except ValueError:
        return None


def _read_tags(image: Image.Image, stream: BinaryIO) -> tuple[dict[int, Any], bool]:
    """Merge the first tag directory with its Exif directory."""
    info = image.info
    if image.format == "PNG" and not ("exif" in info or "Raw profile type exif" in info):
        # The block may follow the pixels, where Pillow finds it only by decoding.
        block = _find_png_exif(stream)
        if block is not None:
            info["exif"] = block
    # The base method: the PNG override would decode the whole picture.
    exif = Image.Image.getexif(image)
    tags = dict(exif)
    camera_tags = dict(exif.get_ifd(TAG_EXIF_IFD))
    # A TIFF file always has a tag directory; only camera tags in it count as EXIF.
    present = bool(camera_tags or TAG_MAKE in tags) if image.format == "TIFF" else bool(tags)
    return {**tags, **camera_tags}, present


def _find_png_exif(stream: BinaryIO) -> bytes | None:
    """Walk the chunks of a PNG for ``eXIf`` without reading any pixel."""
    start = stream.tell()
    try:
        end = stream.seek(0, 2)
        position = 8
        while position + 12 <= end:
            stream.seek(position)
            length, kind = struct.unpack(">I4s", stream.read(8))
            if kind == b"eXIf":
                block = stream.read(length)
                return block if len(block) == length else None
            position += 12 + length
        return None
    finally:
        stream.seek(start)


def _positive(value: object) -> float | None:
    """Return a finite number above zero, or None; a one-element tuple counts as its element."""
    if isinstance(value, tuple) and len(value) == 1:
        value = value[0]
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if math.isfinite(number) and number > 0 else None


def _positive_int(value: object) -> int | None:
    number = _positive(value)
    return int(number) if number is not None and number == int(number) else None


def _pixel_aspect(tags: dict[int, Any]) -> float | None:
    x_per_unit, y_per_unit = (
        _positive(tags.get(TAG_X_RESOLUTION)),
        _positive(tags.get(TAG_Y_RESOLUTION)),
    )
    # Many pixels to the inch across means narrow pixels.
    return y_per_unit / x_per_unit if x_per_unit and y_per_unit else None


def _pixel_aspect_from_info(info: dict[Any, Any]) -> float | None:
    """Use JFIF density or PNG pHYs, which are two pixel counts for one unit of length."""
    for key in ("dpi", "jfif_density", "aspect"):
        density = info.get(key)
        if isinstance(density, tuple) and len(density) == 2:
            x_per_unit, y_per_unit = _positive(density[0]), _positive(density[1])
            if x_per_unit and y_per_unit:
                return y_per_unit / x_per_unit
    return None
