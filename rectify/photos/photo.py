"""A photo as the rest of the program sees it: upright pixels and what is known of them.

Holds no knowledge of file formats; :mod:`rectify.photos.file` makes these.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from rectify.photos.pixels import RgbPixels
from shared.errors import PhotoError


@dataclass(frozen=True, slots=True)
class PhotoHeader:
    """What is known of a photo without decoding it.

    Attributes
    ----------
    path : Path
        Where it was read from.
    file_name : str
        Last part of the path.
    file_format : str
        "JPEG", "PNG", "TIFF", "WEBP" or "HEIF".
    width_px, height_px : int
        Size of the upright photo.
    orientation : int
        EXIF orientation of the stored picture, 1 to 8; already allowed for in
        the size. 1 for HEIC, which is turned by its own means.
    focal_35mm : float or None
        35 mm equivalent focal length in millimetres, None where unknown.
    camera_make, camera_model : str
        Empty where unknown.
    taken : datetime or None
        By the camera's clock, without time zone.
    warnings : tuple of str
        What speaks against trusting size, shape or focal length.
    """

    path: Path
    file_name: str
    file_format: str
    width_px: int
    height_px: int
    orientation: int
    focal_35mm: float | None
    camera_make: str
    camera_model: str
    taken: datetime | None
    warnings: tuple[str, ...]

    def sha256(self) -> str:
        """Hash the file as it is on disk now, as hexadecimal text.

        Raises
        ------
        PhotoError
            If the file has gone since it was read.
        """
        try:
            with self.path.open("rb") as stream:
                return hashlib.file_digest(stream, "sha256").hexdigest()
        except OSError as cause:
            raise PhotoError(
                f"{self.file_name} can no longer be read: put the photo back where it was.",
                details={"file": self.file_name},
            ) from cause


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """An upright photo in memory.

    Attributes
    ----------
    pixels : ndarray of uint8, shape (H, W, 3)
        Upright RGB, read-only.
    header : PhotoHeader
        Size, focal length, camera and origin.
    warnings : tuple of str
        Those of the header and any found while decoding.
    """

    pixels: RgbPixels = field(repr=False)
    header: PhotoHeader
    warnings: tuple[str, ...]

    @property
    def width_px(self) -> int:
        """Width of the upright photo."""
        return self.header.width_px

    @property
    def height_px(self) -> int:
        """Height of the upright photo."""
        return self.header.height_px

    @property
    def focal_35mm(self) -> float | None:
        """35 mm equivalent focal length in millimetres, None where unknown."""
        return self.header.focal_35mm

    @property
    def camera_make(self) -> str:
        """Maker of the camera, empty where unknown."""
        return self.header.camera_make

    @property
    def camera_model(self) -> str:
        """Model of the camera, empty where unknown."""
        return self.header.camera_model

    @property
    def taken(self) -> datetime | None:
        """When it was taken, by the camera's clock."""
        return self.header.taken

    @property
    def file_name(self) -> str:
        """Last part of the path."""
        return self.header.file_name

    def sha256(self) -> str:
        """Hash the file as it is on disk now, as hexadecimal text.

        Raises
        ------
        PhotoError
            If the file has gone since it was read.
        """
        return self.header.sha256()
