import hashlib
import threading
from datetime import datetime
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageFile

from rectify.photos.file import read_photo, read_photo_header
from shared.errors import PhotoError
from tests.support.photo_makers import (
    FORMATS,
    make_asymmetric_picture,
    make_exif,
    make_png_chunk,
    make_stored,
    write_grey_tiff,
    write_picture,
)
from tests.support.real_photos import real_photo


def check_close(actual: np.ndarray, expected: np.ndarray, tolerance: int) -> None:
    assert actual.shape == expected.shape
    assert actual.dtype == np.uint8
    np.testing.assert_allclose(actual.astype(int), expected.astype(int), rtol=0, atol=tolerance)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", FORMATS)
def test_every_format_and_orientation_reads_upright(tmp_path, kind, orientation):
    suffix, save, tolerance = FORMATS[kind]
    upright = make_asymmetric_picture()
    path = tmp_path / f"photo{suffix}"
    stored = make_stored(upright, orientation)
    write_picture(path, stored, make_exif(orientation, xA405=26), **save)

    photo = read_photo(path)
    header = read_photo_header(path)

    check_close(photo.pixels, upright, tolerance)
    assert (header.width_px, header.height_px) == (64, 40)
    assert (photo.width_px, photo.height_px) == (64, 40)
    assert (photo.focal_35mm, header.focal_35mm) == (26.0, 26.0)


def test_bands_join_without_a_seam_in_a_tall_photo(tmp_path):
    upright = make_asymmetric_picture(30, 700)
    for orientation in (1, 3, 6):
        path = write_picture(
            tmp_path / "tall.png", make_stored(upright, orientation), make_exif(orientation)
        )
        check_close(read_photo(path).pixels, upright, 0)


def test_pixels_are_contiguous_and_read_only(tmp_path):
    path = write_picture(tmp_path / "a.png", make_asymmetric_picture(), make_exif(6))
    pixels = read_photo(path).pixels
    assert pixels.flags.c_contiguous
    assert not pixels.flags.writeable


@pytest.mark.parametrize("orientation", [0, 9, 65535])
def test_absurd_orientation_counts_as_upright(tmp_path, orientation):
    picture = make_asymmetric_picture()
    path = write_picture(tmp_path / "a.png", picture, make_exif(orientation))
    check_close(read_photo(path).pixels, picture, 0)


def test_grey_palette_and_bilevel_pictures_become_rgb(tmp_path):
    grey = make_asymmetric_picture()[..., 0]
    for mode in ("L", "P", "1"):
        image = Image.fromarray(grey).convert(mode)
        image.save(tmp_path / "a.png")
        check_close(read_photo(tmp_path / "a.png").pixels, np.asarray(image.convert("RGB")), 0)


@pytest.mark.parametrize(("suffix", "tolerance"), [(".jpg", 6), (".tif", 1)])
def test_cmyk_reads_as_the_rgb_it_was_made_from(tmp_path, suffix, tolerance):
    # Without black, CMYK is the complement of RGB; JPEG stores it inverted by convention.
    picture = make_asymmetric_picture()
    cmyk = np.dstack([255 - picture, np.zeros(picture.shape[:2], np.uint8)])
    Image.fromarray(cmyk, mode="CMYK").save(tmp_path / f"a{suffix}", quality=98)
    check_close(read_photo(tmp_path / f"a{suffix}").pixels, picture, tolerance)


@pytest.mark.parametrize("suffix", [".png", ".tif"])
def test_sixteen_bit_grey_is_scaled_and_not_clipped(tmp_path, suffix):
    levels = np.array([[0, 257, 32768, 65535], [128, 129, 65406, 65407]], np.uint16)
    Image.fromarray(levels).save(tmp_path / f"a{suffix}")
    # v / 257 rounded to nearest: 128/257 = 0.498, 129/257 = 0.502, 65406/257 = 254.498.
    expected = [[0, 1, 128, 255], [0, 1, 254, 255]]
    assert read_photo(tmp_path / f"a{suffix}").pixels[..., 1].tolist() == expected


@pytest.mark.parametrize("suffix", [".png", ".tif"])
def test_sixteen_bit_colour_is_scaled_and_not_clipped(tmp_path, suffix):
    picture = make_asymmetric_picture()
    wide = picture.astype(np.uint16) * 257
    assert cv2.imwrite(str(tmp_path / f"a{suffix}"), wide[..., ::-1])
    # Pillow keeps the upper byte of colour, which is exact for v * 257.
    check_close(read_photo(tmp_path / f"a{suffix}").pixels, picture, 0)


def test_twelve_bit_tiff_is_scaled_by_its_own_white(tmp_path):
    levels = np.array([[0, 2048], [4095, 1024]], np.uint16)
    path = write_grey_tiff(tmp_path / "a.tif", levels, bits=12)
    # 2048/4095 * 255 = 127.53, 1024/4095 * 255 = 63.77
    assert read_photo(path).pixels[..., 0].tolist() == [[0, 128], [255, 64]]


def test_tiff_with_white_as_zero_is_not_a_negative(tmp_path):
    levels = np.array([[0, 65535]], np.uint16)
    path = write_grey_tiff(tmp_path / "a.tif", levels, bits=16, photometric=0)
    assert read_photo(path).pixels[..., 0].tolist() == [[255, 0]]


def test_transparency_is_composited_on_white(tmp_path):
    red = np.zeros((1, 3, 4), np.uint8)
    red[..., 0] = 200
    red[0, :, 3] = [255, 0, 51]  # opaque, clear, one fifth
    # One fifth of (200, 0, 0) on white: (244, 204, 204).
    expected = [[[200, 0, 0], [255, 255, 255], [244, 204, 204]]]
    for suffix, save in ((".png", {}), (".webp", {"lossless": True}), (".tif", {})):
        write_picture(tmp_path / f"a{suffix}", red, **save)
        check_close(read_photo(tmp_path / f"a{suffix}").pixels, np.array(expected), 1)


def test_transparent_palette_entry_is_white(tmp_path):
    image = Image.fromarray(np.array([[0, 1]], np.uint8), mode="P")
    image.putpalette([10, 20, 30, 40, 50, 60])
    image.save(tmp_path / "a.png", transparency=0)
    assert read_photo(tmp_path / "a.png").pixels.tolist() == [[[255, 255, 255], [40, 50, 60]]]


def test_transparent_level_of_sixteen_bit_grey_is_white(tmp_path):
    Image.fromarray(np.array([[1000, 2000]], np.uint16)).save(tmp_path / "a.png", transparency=1000)
    assert read_photo(tmp_path / "a.png").pixels[..., 0].tolist() == [[255, 8]]


def test_heic_of_ten_bits_is_scaled_to_eight(tmp_path):
    import pillow_heif

    picture = make_asymmetric_picture()
    wide = picture.astype(np.uint16) * 257
    file = pillow_heif.from_bytes(mode="RGB;16", size=(64, 40), data=wide.tobytes())
    file.save(tmp_path / "a.heic", quality=98, chroma=444)
    check_close(read_photo(tmp_path / "a.heic").pixels, picture, 8)


@pytest.mark.parametrize("kind", FORMATS)
def test_camera_facts_are_read_from_every_format(tmp_path, kind):
    suffix, save, _ = FORMATS[kind]
    exif = make_exif(
        1,
        x010F="Kerbside Optics\0\0",
        x0110=" K 1 ",
        x9003="2024:05:17 10:30:00",
        xA405=28,
    )
    path = write_picture(tmp_path / f"a{suffix}", make_asymmetric_picture(), exif, **save)
    header = read_photo_header(path)
    assert header.camera_make == "Kerbside Optics"
    assert header.camera_model == "K 1"
    assert header.taken == datetime(2024, 5, 17, 10, 30)
    assert header.focal_35mm == 28.0


@pytest.mark.parametrize(
    ("tag", "expected"), [(0, None), (26, 26.0), (65535, None)], ids=["0", "26", "65535"]
)
def test_focal_length_of_zero_or_nonsense_is_unknown(tmp_path, tag, expected):
    path = write_picture(tmp_path / "a.jpg", make_asymmetric_picture(), make_exif(xA405=tag))
    assert read_photo_header(path).focal_35mm == expected


def test_photo_without_exif_has_unknown_focal_length(tmp_path):
    photo = read_photo(write_picture(tmp_path / "a.png", make_asymmetric_picture()))
    assert photo.focal_35mm is None
    assert photo.taken is None
    assert (photo.camera_make, photo.camera_model) == ("", "")


def test_png_exif_behind_the_pixels_is_found_without_decoding(tmp_path, monkeypatch):
    path = write_picture(tmp_path / "a.png", make_asymmetric_picture())
    content = path.read_bytes()
    block = make_exif(6, xA405=31).tobytes()[6:]
    end = content.index(b"IEND") - 4
    path.write_bytes(content[:end] + make_png_chunk(b"eXIf", block) + content[end:])

    def refuse(self):
        raise AssertionError("decoded")

    monkeypatch.setattr(ImageFile.ImageFile, "load", refuse)
    header = read_photo_header(path)
    assert (header.orientation, header.focal_35mm) == (6, 31.0)
    assert (header.width_px, header.height_px) == (40, 64)


@pytest.mark.parametrize("kind", FORMATS)
def test_header_does_not_decode(tmp_path, monkeypatch, kind):
    suffix, save, _ = FORMATS[kind]
    path = write_picture(tmp_path / f"a{suffix}", make_asymmetric_picture(), make_exif(6), **save)

    def refuse(self):
        raise AssertionError("decoded")

    monkeypatch.setattr(Image.Image, "load", refuse)
    monkeypatch.setattr(ImageFile.ImageFile, "load", refuse)
    assert read_photo_header(path).width_px == 40


def test_damaged_exif_is_a_warning_and_the_photo_still_reads(tmp_path):
    picture = make_asymmetric_picture()
    Image.fromarray(picture).save(tmp_path / "a.png", exif=b"II*\0\x08\0\0\0\xff\xff garbage")
    photo = read_photo(tmp_path / "a.png")
    check_close(photo.pixels, picture, 0)
    assert photo.focal_35mm is None


def test_exif_that_is_no_tag_block_at_all_is_a_warning(tmp_path):
    picture = make_asymmetric_picture()
    Image.fromarray(picture).save(tmp_path / "a.png", exif=b"not a tag block")
    photo = read_photo(tmp_path / "a.png")
    check_close(photo.pixels, picture, 0)
    assert any("EXIF" in warning for warning in photo.warnings)


def test_sha256_is_that_of_the_file(tmp_path):
    path = write_picture(tmp_path / "a.png", make_asymmetric_picture())
    assert read_photo(path).sha256() == hashlib.sha256(path.read_bytes()).hexdigest()
    header = read_photo_header(path)
    path.unlink()
    with pytest.raises(PhotoError, match=r"a\.png can no longer be read"):
        header.sha256()


# Several pictures in one file


@pytest.mark.parametrize(
    ("suffix", "save"),
    [(".tif", {}), (".webp", {"lossless": True}), (".png", {}), (".heic", {"quality": 98})],
    ids=["tiff", "webp", "png", "heic"],
)
def test_first_of_several_pictures_is_taken_with_a_warning(tmp_path, suffix, save):
    first = make_asymmetric_picture()
    path = tmp_path / f"a{suffix}"
    Image.fromarray(first).save(
        path, save_all=True, append_images=[Image.fromarray(255 - first)], **save
    )
    photo = read_photo(path)
    tolerance = 14 if suffix == ".heic" else 0  # HEIC stores colour at half size here
    check_close(photo.pixels, first, tolerance)
    assert any("holds 2 pictures" in warning for warning in photo.warnings)


def test_maps_behind_a_phone_jpeg_are_no_pages(tmp_path):
    first = make_asymmetric_picture()
    Image.fromarray(first).save(
        tmp_path / "a.jpg", format="MPO", save_all=True, append_images=[Image.fromarray(first)]
    )
    photo = read_photo(tmp_path / "a.jpg")
    assert photo.header.file_format == "JPEG"
    assert not any("pictures" in warning for warning in photo.warnings)


def test_photos_can_be_read_from_several_threads(tmp_path):
    picture = make_asymmetric_picture()
    paths = [write_picture(tmp_path / f"{i}.png", picture) for i in range(8)]
    limit_before = Image.MAX_IMAGE_PIXELS
    found: list[bool] = []

    def read(path: Path) -> None:
        found.append(bool(np.array_equal(read_photo(path).pixels, picture)))

    threads = [threading.Thread(target=read, args=(path,)) for path in paths]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == [True] * 8
    assert limit_before == Image.MAX_IMAGE_PIXELS


# Real photographs


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("buildings/pavilion.jpg", (640, 427)),
        ("chessboard/left01.jpg", (640, 480)),
    ],
)
def test_real_photo_agrees_with_opencv(name, size):
    path = real_photo(name)
    photo = read_photo(path)
    assert (photo.width_px, photo.height_px) == size
    expected = cv2.imread(str(path), cv2.IMREAD_COLOR)[..., ::-1]
    # Two JPEG decoders round the inverse transform differently and may smooth colour differently.
    assert np.mean(np.abs(photo.pixels.astype(int) - expected.astype(int))) < 1.0
