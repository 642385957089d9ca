"""A photo on disk -> upright pixels, size and focal length; or one clear refusal.

This is the only place where a photo is turned: everything else in the program
sees it upright. Decoding is strict, because a picture that was cut short must
not be measured on its grey half. Limits are checked from the header, before a
byte of picture is decoded.
"""

from __future__ import annotations

import math
import os
import stat
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

import pillow_heif
from PIL import Image, ImageFile, UnidentifiedImageError

from rectify.photos.doubts import list_photo_doubts
from rectify.photos.exif import TAG_ORIENTATION, parse_orientation, read_exif_facts
from rectify.photos.photo import Photo, PhotoHeader
from rectify.photos.pixels import RgbPixels, UnusablePixelsError, make_upright_rgb
from rectify.photos.whole import check_whole, count_flat_rows, make_cut_short_sentence
from shared.errors import PhotoError

MAX_MEGAPIXELS = 200.0
FORMATS = ("JPEG", "PNG", "TIFF", "WEBP", "HEIF")
TAG_RAW_VERSION = 0xC612  # DNGVersion
FORMATS_TEXT = "JPEG, PNG, TIFF, WebP or HEIC"

pillow_heif.register_heif_opener()

# Pillow keeps its size limit and its strictness in module globals, and Python its
# warning filters: the lock keeps two threads from restoring each other's values.
_pillow_lock = threading.RLock()


def read_photo(path: str | os.PathLike[str], max_megapixels: float = MAX_MEGAPIXELS) -> Photo:
    """Read a photo, whole and upright.

    Parameters
    ----------
    path : path-like
        A JPEG, PNG, TIFF, WebP or HEIC file.
    max_megapixels : float
        Largest size to decode, in millions of pixels.

    Returns
    -------
    Photo
        8-bit RGB, turned by its EXIF orientation exactly once. Transparency is
        composited on white, 16 bits are scaled to 8, colour profiles are
        ignored. Of several pictures in a file the first is taken (in HEIC the
        one marked as primary), with a warning.

    Raises
    ------
    PhotoError
        Missing, not a file, not permitted, empty, not an image, damaged or cut
        short, larger than the limit, or in numbers that are not brightness.
    ValueError
        If `max_megapixels` is not a positive number.

    Notes
    -----
    Memory: Pillow's decoded copy (4 bytes a pixel) and the result (3 bytes a
    pixel); measured peak 8 bytes a pixel, for WebP 17, whose decoder keeps its own canvases.
    """
    if not (math.isfinite(max_megapixels) and max_megapixels > 0):
        raise ValueError(f"max_megapixels: must be a positive number, got {max_megapixels!r}")
    with _opened(path) as (stream, image, header):
        _check_size(header, max_megapixels)
        check_whole(header.file_name, header.file_format, stream)
        pixels, flat_rows = _decode(header, image)
    pixels.flags.writeable = False
    extra: tuple[str, ...] = ()
    if flat_rows:
        extra = (
            f"The last {flat_rows} rows of the file are one flat colour, as in a damaged file: "
            "look at that side of the photo before trusting it.",
        )
    return Photo(pixels=pixels, header=header, warnings=header.warnings + extra)


def read_photo_header(path: str | os.PathLike[str]) -> PhotoHeader:
    """Read size, focal length and orientation without decoding the picture.

    Parameters
    ----------
    path : path-like
        A JPEG, PNG, TIFF, WebP or HEIC file of any size.

    Returns
    -------
    PhotoHeader
        Sizes are those of the upright photo.

    Raises
    ------
    PhotoError
        Missing, not a file, not permitted, empty or not an image. A file that
        is cut short behind its header passes here and is refused by
        :func:`read_photo`.
    """
    with _opened(path) as (_stream, _image, header):
        return header


def _open_file(path: str | os.PathLike[str]) -> BinaryIO:
    """Open a plain file that is not empty, or raise PhotoError."""
    name = Path(path).name or str(path)
    try:
        status = os.stat(path)
        if stat.S_ISDIR(status.st_mode):
            raise _refuse(name, "is a folder: choose the photo inside it")
        if not stat.S_ISREG(status.st_mode):
            raise _refuse(name, "is not a plain file: choose a photo saved on disk")
        if status.st_size == 0:
            raise _refuse(name, "is empty (0 bytes): copy it from the camera again")
        return open(path, "rb")
    except PhotoError:
        raise
    except FileNotFoundError as cause:
        raise _refuse(str(path), "is not there: check the name and the folder") from cause
    except PermissionError as cause:
        raise _refuse(name, "may not be read: change its permissions or copy it") from cause
    except (OSError, ValueError) as cause:  # ValueError: a null character in the name
        raise _refuse(name, "cannot be read: check the name, the folder and the disk") from cause


@contextmanager
def _opened(path: str | os.PathLike[str]) -> Iterator[tuple[BinaryIO, Image.Image, PhotoHeader]]:
    """Open a picture strictly and without Pillow's own limits; decode nothing yet."""
    name = Path(path).name
    with _open_file(path) as stream, _strict_pillow():
        try:
            image = Image.open(stream, formats=FORMATS)
            header = _make_header(Path(path), image, stream)
        except UnidentifiedImageError as cause:
            raise _refuse(
                name, f"is not a picture that can be read here: save it as {FORMATS_TEXT}"
            ) from cause
        except PhotoError:
            raise
        except Exception as cause:  # a hostile or damaged header fails in any way
            raise PhotoError(make_cut_short_sentence(name), details={"file": name}) from cause
        yield stream, image, header


@contextmanager
def _strict_pillow() -> Iterator[None]:
    """Hold Pillow to our limit and to whole files, whatever others have set."""
    with _pillow_lock, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # damaged tags are reported as a doubt instead
        before = Image.MAX_IMAGE_PIXELS, ImageFile.LOAD_TRUNCATED_IMAGES
        Image.MAX_IMAGE_PIXELS, ImageFile.LOAD_TRUNCATED_IMAGES = None, False
        try:
            yield
        finally:
            Image.MAX_IMAGE_PIXELS, ImageFile.LOAD_TRUNCATED_IMAGES = before


def _make_header(path: Path, image: Image.Image, stream: BinaryIO) -> PhotoHeader:
    facts = read_exif_facts(image, stream)
    width_px, height_px = _stored_size(image)
    if facts.orientation >= 5:
        width_px, height_px = height_px, width_px
    if width_px < 1 or height_px < 1:
        raise _refuse(path.name, f"has no pixels ({width_px} x {height_px}): use another photo")
    tags = getattr(image, "tag_v2", {})
    if TAG_RAW_VERSION in tags:
        raise _refuse(path.name, "is a raw file of a camera: develop it to JPEG or TIFF first")
    file_format = image.format or ""
    # Phones keep depth and brightness maps behind the photo of a JPEG (MPO); they are no pages.
    frame_count = 1 if file_format == "MPO" else int(getattr(image, "n_frames", 1))
    file_format = "JPEG" if file_format == "MPO" else file_format
    doubts = list_photo_doubts(facts, file_format, width_px, height_px, frame_count)
    return PhotoHeader(
        path=path,
        file_name=path.name,
        file_format=file_format,
        width_px=width_px,
        height_px=height_px,
        orientation=facts.orientation,
        focal_35mm=facts.focal_35mm,
        camera_make=facts.camera_make,
        camera_model=facts.camera_model,
        taken=facts.taken,
        warnings=doubts,
    )


def _stored_size(image: Image.Image) -> tuple[int, int]:
    """Size as stored: Pillow gives that of a TIFF already turned."""
    tags = getattr(image, "tag_v2", None)
    if image.format == "TIFF" and tags is not None:
        return int(tags[256]), int(tags[257])  # ImageWidth, ImageLength
    return image.size


def _check_size(header: PhotoHeader, max_megapixels: float) -> None:
    megapixels = header.width_px * header.height_px / 1e6
    if megapixels > max_megapixels:
        raise _refuse(
            header.file_name,
            f"has {megapixels:.4g} megapixels ({header.width_px} x {header.height_px}), over the "
            f"limit of {max_megapixels:g}: make it smaller, or raise max_megapixels if the "
            f"computer has {8e-3 * megapixels:.2g} GB of memory to spare",
        )


def _decode(header: PhotoHeader, image: Image.Image) -> tuple[RgbPixels, int]:
    """Decode strictly; also count suspicious flat rows at the end."""
    name = header.file_name
    try:
        image.load()
        orientation = header.orientation
        if header.file_format == "TIFF":  # turned by Pillow while loading, which takes the tag off
            orientation = parse_orientation(image.getexif().get(TAG_ORIENTATION))
        pixels = make_upright_rgb(image, orientation)
    except UnusablePixelsError as cause:
        raise _refuse(
            name, f"holds {cause} numbers instead of brightness: save it as 8-bit RGB"
        ) from cause
    except MemoryError as cause:
        raise _refuse(name, "does not fit into memory: make it smaller first") from cause
    except Exception as cause:  # decoders meet damage in any way
        raise PhotoError(make_cut_short_sentence(name), details={"file": name}) from cause
    if pixels.shape[:2] != (header.height_px, header.width_px):
        raise PhotoError(make_cut_short_sentence(name), details={"file": name})
    return pixels, count_flat_rows(pixels, orientation)


def _refuse(name: str, reason: str) -> PhotoError:
    """Make the one sentence of a refusal."""
    return PhotoError(f"{name} {reason}.", details={"file": name})
