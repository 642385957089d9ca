from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from rectify.photos.doubts import list_photo_doubts
from rectify.photos.exif import ExifFacts
from rectify.photos.file import read_photo_header
from tests.support.photo_makers import make_exif, write_picture

PLAIN = ExifFacts(focal_35mm=26.0, recorded_width_px=4032, recorded_height_px=3024, present=True)


def doubts_about(facts=PLAIN, file_format="JPEG", width_px=4032, height_px=3024, frame_count=1):
    return list_photo_doubts(facts, file_format, width_px, height_px, frame_count)


@pytest.mark.parametrize(
    ("width_px", "height_px"),
    [(4032, 3024), (3024, 4032), (6000, 4000), (5184, 3456), (4000, 4000), (4928, 3264)],
)
def test_plain_photo_raises_no_doubt(width_px, height_px):
    facts = replace(PLAIN, recorded_width_px=width_px, recorded_height_px=height_px)
    assert doubts_about(facts, width_px=width_px, height_px=height_px) == ()


NO_SIZE = replace(PLAIN, recorded_width_px=None, recorded_height_px=None)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"facts": NO_SIZE, "width_px": 3840, "height_px": 2160}, "16:9"),
        ({"facts": NO_SIZE, "width_px": 2160, "height_px": 3840}, "16:9"),
        ({"facts": NO_SIZE, "width_px": 9000, "height_px": 2500}, "panorama"),
        ({"facts": NO_SIZE, "width_px": 3900, "height_px": 2000}, "not one that cameras record"),
        ({"facts": NO_SIZE, "width_px": 3201, "height_px": 2400}, "cameras record even numbers"),
        ({"facts": NO_SIZE, "width_px": 3200, "height_px": 2401}, "cameras record even numbers"),
        ({"facts": replace(PLAIN, digital_zoom=2.5)}, "digital zoom of 2.5"),
        ({"width_px": 3024, "height_px": 3024}, "it was cropped"),
        ({"width_px": 2016, "height_px": 1512}, "it was resized"),
        ({"facts": replace(PLAIN, software="Any Photo Editor 3")}, "'Any Photo Editor 3'"),
        ({"facts": replace(PLAIN, pixel_aspect=1.0667)}, "1.07 times as wide"),
        ({"facts": replace(PLAIN, readable=False)}, "EXIF"),
        ({"facts": NO_SIZE, "width_px": 800, "height_px": 600}, "only 800 x 600 px"),
        ({"frame_count": 3}, "holds 3 pictures"),
        ({"facts": replace(PLAIN, orientation=2)}, "picture mirrored"),
        ({"facts": replace(PLAIN, lens_model="Phone front camera 2.7mm f/2.2")}, "front camera"),
        ({"facts": replace(PLAIN, comment="Screenshot")}, "picture of a screen"),
        (
            {"facts": ExifFacts(), "file_format": "PNG", "width_px": 1080, "height_px": 2400},
            "picture of a screen",
        ),
    ],
)
def test_doubt_is_worded_for_the_user(changes, words):
    found = [doubt for doubt in doubts_about(**changes) if words in doubt]
    assert len(found) == 1
    assert found[0].endswith(".")


@pytest.mark.parametrize(
    "changes",
    [
        {"facts": replace(PLAIN, digital_zoom=1.0)},
        {"facts": replace(PLAIN, software="17.4.1")},
        {"facts": replace(PLAIN, pixel_aspect=1.004)},
        {"width_px": 3024, "height_px": 4032},  # recorded lying, shown upright
        {
            "facts": replace(PLAIN, recorded_width_px=3201, recorded_height_px=2401),
            "width_px": 3201,
            "height_px": 2401,
        },
    ],
)
def test_harmless_tag_raises_no_doubt(changes):
    assert doubts_about(**changes) == ()


@pytest.mark.parametrize(
    "changes",
    [
        {"file_format": "JPEG"},
        {"facts": ExifFacts(present=True), "file_format": "PNG"},
        {"file_format": "PNG", "width_px": 1920, "height_px": 1084},
    ],
    ids=["a JPEG", "EXIF present", "no screen's size"],
)
def test_other_pictures_are_not_taken_for_a_screen(changes):
    base = {"facts": ExifFacts(), "width_px": 1920, "height_px": 1080, "file_format": "PNG"}
    assert not any("screen" in doubt for doubt in doubts_about(**{**base, **changes}))


def test_doubts_are_read_from_the_file_itself(tmp_path):
    exif = make_exif(
        6, xA404=2, xA002=4000, xA003=3000, x0131="Darkroom Paint", x011A=72.0, x011B=96.0
    )
    path = write_picture(tmp_path / "a.jpg", np.full((90, 160, 3), 80, np.uint8), exif)
    text = " ".join(read_photo_header(path).warnings)
    for words in ("digital zoom of 2", "was cropped", "16:9", "Darkroom Paint", "1.33 times"):
        assert words in text


def test_pixel_aspect_of_a_png_without_exif_is_seen(tmp_path):
    Image.new("RGB", (40, 30)).save(tmp_path / "a.png", dpi=(100, 200))
    assert any("2 times as wide" in text for text in read_photo_header(tmp_path / "a.png").warnings)


def test_picture_of_a_screen_is_recognised_in_a_file(tmp_path):
    Image.new("RGB", (1280, 720)).save(tmp_path / "a.png")
    warnings = read_photo_header(tmp_path / "a.png").warnings
    assert any("picture of a screen" in text for text in warnings)


def test_tags_of_lens_and_comment_are_read_from_the_file(tmp_path):
    pixels = np.full((48, 64, 3), 120, np.uint8)
    comment = b"ASCII\0\0\0" + b"Screenshot"
    exif = make_exif(orientation=2, xA434="front camera", x9286=comment)
    header = read_photo_header(write_picture(tmp_path / "a.jpg", pixels, exif))
    said = " ".join(header.warnings)
    assert "picture of a screen" in said
    assert "picture mirrored" in said
