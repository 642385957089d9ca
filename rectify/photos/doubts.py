"""Why a usable photo may still measure badly: sentences for the user.

Knows sizes and tags only, never pixels. Every doubt is a warning in a result;
none of them stops the work.
"""

from __future__ import annotations

import math

from rectify.photos.exif import ExifFacts

# Shapes that cameras record, long side over short side (common practice, no source).
CAMERA_SHAPES = {"1:1": 1.0, "5:4": 1.25, "4:3": 4 / 3, "7:5": 1.4, "3:2": 1.5, "16:10": 1.6}
WIDE_SHAPE = 16 / 9
PANORAMA_SHAPE = 2.5
# Sensor sizes are rounded to blocks of 8 or 16 pixels, which moves the ratio by up to 1 %.
SHAPE_TOLERANCE = 0.012
# At 1000 px across a 10 m front one pixel is 10 mm of wall.
LOW_RESOLUTION_PX = 1000
# Resolutions are stored as rounded fractions; a real anamorphic pixel is 5 % or more off.
PIXEL_ASPECT_TOLERANCE = 0.01
# Words in the names of programs that alter pictures; cameras put a firmware version here.
EDITING_WORDS = ("edit", "photo", "paint", "crop", "image", "studio", "draw", "retouch", "resize")
# Words that phones leave in the comment of a picture of their own screen.
SCREENSHOT_WORDS = ("screenshot", "screen shot", "bildschirmfoto")
# EXIF orientations that turn left and right about.
MIRRORED_ORIENTATIONS = frozenset({2, 4, 5, 7})
# Long and short sides of screens in common use (common practice, no source).
SCREEN_SIZES_PX = frozenset(
    {
        *((1280, 720), (1280, 800), (1366, 768), (1440, 900), (1536, 864), (1600, 900)),
        *((1680, 1050), (1920, 1080), (1920, 1200), (2048, 1536), (2160, 1620), (2224, 1668)),
        *((2266, 1488), (2360, 1640), (2388, 1668), (2560, 1080), (2560, 1440), (2560, 1600)),
        *((2732, 2048), (2880, 1800), (3024, 1964), (3440, 1440), (3456, 2234), (3840, 2160)),
        *((5120, 2880), (1334, 750), (1600, 720), (1792, 828), (2340, 1080), (2400, 1080)),
        *((2436, 1125), (2532, 1170), (2556, 1179), (2622, 1206), (2688, 1242), (2778, 1284)),
        *((2796, 1290), (2868, 1320), (3088, 1440), (3120, 1440), (3200, 1440)),
    }
)


def list_photo_doubts(
    facts: ExifFacts, file_format: str, width_px: int, height_px: int, frame_count: int = 1
) -> tuple[str, ...]:
    """List what speaks against trusting the photo's size, shape or focal length.

    Parameters
    ----------
    facts : ExifFacts
        Tags of the photo.
    file_format : str
        "JPEG", "PNG", "TIFF", "WEBP" or "HEIF".
    width_px, height_px : int
        Size of the upright photo.
    frame_count : int
        Pictures in the file; all but the first are ignored.

    Returns
    -------
    tuple of str
        One sentence for each doubt, most serious first; empty for a plain photo.

    Examples
    --------
    >>> list_photo_doubts(ExifFacts(focal_35mm=26.0, present=True), "JPEG", 4032, 3024)
    ()
    """
    doubts = [
        _doubt_frames(frame_count),
        _doubt_tags(facts),
        _doubt_screenshot(facts, file_format, width_px, height_px),
        _doubt_mirrored(facts),
        _doubt_recorded_size(facts, width_px, height_px),
        _doubt_zoom(facts),
        _doubt_shape(facts, width_px, height_px),
        _doubt_software(facts),
        _doubt_pixel_aspect(facts),
        _doubt_resolution(width_px, height_px),
    ]
    return tuple(doubt for doubt in doubts if doubt)


def _doubt_frames(frame_count: int) -> str:
    if frame_count <= 1:
        return ""
    return f"The file holds {frame_count} pictures; only the first is used."


def _doubt_tags(facts: ExifFacts) -> str:
    if facts.readable:
        return ""
    return (
        "What the camera wrote beside the picture (EXIF) is damaged and was ignored: "
        "check that the photo stands upright, and give the focal length if you know it."
    )


def _doubt_screenshot(facts: ExifFacts, file_format: str, width_px: int, height_px: int) -> str:
    size = (max(width_px, height_px), min(width_px, height_px))
    named = any(word in facts.comment.lower() for word in SCREENSHOT_WORDS)
    if not named and (file_format != "PNG" or facts.present or size not in SCREEN_SIZES_PX):
        return ""
    return (
        f"This looks like a picture of a screen ({width_px} x {height_px} px, nothing from a "
        "camera): use the original photo, since a screen shows it reduced and cropped."
    )


def _doubt_mirrored(facts: ExifFacts) -> str:
    if facts.orientation in MIRRORED_ORIENTATIONS:
        return (
            "The file says that it holds the picture mirrored, as no camera at the kerb does; it "
            "was turned back, so check that lettering reads the right way round."
        )
    if "front" in facts.lens_model.lower().split():
        return (
            "The photo was taken with the front camera, whose pictures many phones keep mirrored: "
            "check that lettering reads the right way round."
        )
    return ""


def _doubt_recorded_size(facts: ExifFacts, width_px: int, height_px: int) -> str:
    if facts.recorded_width_px is None or facts.recorded_height_px is None:
        return ""
    recorded = sorted((facts.recorded_width_px, facts.recorded_height_px))
    actual = sorted((width_px, height_px))
    if recorded == actual:
        return ""
    shapes_differ = abs(math.log(recorded[1] * actual[0] / (recorded[0] * actual[1]))) > 0.005
    said = (
        f"The camera recorded {recorded[1]} x {recorded[0]} px but the file holds "
        f"{actual[1]} x {actual[0]} px"
    )
    if shapes_differ:
        return f"{said}: it was cropped, so mark the photo as cropped or use the original."
    return f"{said}: it was resized, and perhaps cropped; the original measures better."


def _doubt_zoom(facts: ExifFacts) -> str:
    if facts.digital_zoom is None or abs(facts.digital_zoom - 1.0) < 0.01:
        return ""
    return (
        f"The photo was taken with a digital zoom of {facts.digital_zoom:.3g}: it is cut out of a "
        "larger picture, and the focal length in the file may not allow for that."
    )


def _doubt_shape(facts: ExifFacts, width_px: int, height_px: int) -> str:
    shape = max(width_px, height_px) / max(min(width_px, height_px), 1)
    if _same_shape(shape, WIDE_SHAPE):
        return (
            "The photo is 16:9, which most cameras crop from a 4:3 or 3:2 picture: the focal "
            "length may be a few per cent off."
        )
    if shape >= PANORAMA_SHAPE:
        return (
            f"The photo is {shape:.2g} times as long as it is high, like a joined panorama or a "
            "strip: straight lines may be bent in it, and the focal length does not hold."
        )
    if not any(_same_shape(shape, known) for known in CAMERA_SHAPES.values()):
        return (
            f"The photo's shape ({width_px} x {height_px} px) is not one that cameras record: if "
            "it was cropped, mark it as cropped."
        )
    # blocks of pixels are even (common practice, no source); a cut by hand seldom is both ways
    if facts.recorded_width_px is None and (width_px % 2 or height_px % 2):
        return (
            f"The photo is {width_px} x {height_px} px, and cameras record even numbers: if it was "
            "cropped, mark it as cropped."
        )
    return ""


def _same_shape(shape: float, known: float) -> bool:
    return abs(shape / known - 1.0) <= SHAPE_TOLERANCE


def _doubt_software(facts: ExifFacts) -> str:
    lowered = facts.software.lower()
    if not any(word in lowered for word in EDITING_WORDS):
        return ""
    return (
        f"The photo was last saved by {facts.software!r}: if it was cropped or straightened "
        "there, use the original."
    )


def _doubt_pixel_aspect(facts: ExifFacts) -> str:
    aspect = facts.pixel_aspect
    if aspect is None or abs(math.log(aspect)) <= PIXEL_ASPECT_TOLERANCE:
        return ""
    return (
        f"The file says its pixels are {aspect:.3g} times as wide as they are high; they are "
        "taken as square here, so make them square first if the picture looks squashed."
    )


def _doubt_resolution(width_px: int, height_px: int) -> str:
    if max(width_px, height_px) >= LOW_RESOLUTION_PX:
        return ""
    return (
        f"The photo has only {width_px} x {height_px} px: sizes read off it will be coarse, so "
        "use the original rather than a copy sent by message."
    )
