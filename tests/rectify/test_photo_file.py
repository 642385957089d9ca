import hashlib
import os
import struct
import threading
from datetime import datetime
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageFile

from rectify.photo_file import read_photo, read_photo_header
from shared.errors import PhotoError
from tests.support.photo_makers import (
    FORMATS,
    make_asymmetric_picture,
    make_exif,
    make_png_chunk,
    make_stored,
    write_grey_tiff,
    write_picture,
    write_png_bomb,
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


# Refusals


def check_refused(path, words: str, **arguments) -> str:
    with pytest.raises(PhotoError) as caught:
        read_photo(path, **arguments)
    sentence = str(caught.value)
    assert words in sentence
    assert sentence.endswith(".")
    assert ". " not in sentence
    assert "\n" not in sentence
    return sentence


def test_missing_photo_is_refused_with_its_path(tmp_path):
    sentence = check_refused(tmp_path / "street.jpg", "is not there")
    assert str(tmp_path / "street.jpg") in sentence


def test_folder_is_refused(tmp_path):
    check_refused(tmp_path, "is a folder")


def test_empty_file_is_refused(tmp_path):
    (tmp_path / "street.jpg").touch()
    check_refused(tmp_path / "street.jpg", "street.jpg is empty")


def test_text_named_as_a_photo_is_refused(tmp_path):
    (tmp_path / "street.jpg").write_text("Dear diary, today I photographed the maltings.\n" * 50)
    check_refused(tmp_path / "street.jpg", "not a picture that can be read")
    with pytest.raises(PhotoError, match="not a picture"):
        read_photo_header(tmp_path / "street.jpg")


def test_impossible_name_is_refused():
    check_refused("street\0.jpg", "cannot be read")
    check_refused("x" * 5000 + ".jpg", "cannot be read")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")
def test_pipe_is_refused_without_waiting_for_it(tmp_path):
    os.mkfifo(tmp_path / "street.jpg")
    check_refused(tmp_path / "street.jpg", "not a plain file")


def test_photo_that_may_not_be_read_is_refused(tmp_path, monkeypatch):
    path = write_picture(tmp_path / "street.png", make_asymmetric_picture())

    def forbid(*_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("builtins.open", forbid)  # file modes do not bind an administrator
    check_refused(path, "may not be read")


def test_wrong_suffix_does_not_matter(tmp_path):
    picture = make_asymmetric_picture()
    Image.fromarray(picture).save(tmp_path / "street.jpg", format="PNG")
    check_close(read_photo(tmp_path / "street.jpg").pixels, picture, 0)


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("share", [0.02, 0.1, 0.5, 0.9, 0.99, "all but 1 byte"])
def test_truncated_file_is_refused(tmp_path, kind, share):
    suffix, save, _ = FORMATS[kind]
    whole = write_picture(tmp_path / f"whole{suffix}", make_asymmetric_picture(), **save)
    content = whole.read_bytes()
    length = len(content) - 1 if isinstance(share, str) else max(1, int(share * len(content)))
    cut = tmp_path / f"cut{suffix}"
    cut.write_bytes(content[:length])
    with pytest.raises(PhotoError, match=r"cut short|not a picture"):
        read_photo(cut)


def make_noisy_picture() -> np.ndarray:
    return np.random.default_rng(3).integers(0, 256, (80, 120, 3), dtype=np.uint8)


@pytest.mark.parametrize("kind", [kind for kind in FORMATS if kind != "tiff"])
def test_tail_of_zeros_from_an_interrupted_copy_is_refused(tmp_path, kind):
    suffix, save, _ = FORMATS[kind]
    path = write_picture(tmp_path / f"a{suffix}", make_noisy_picture(), **save)
    content = path.read_bytes()
    kept = len(content) // 2
    path.write_bytes(content[:kept] + bytes(len(content) - kept))
    # The directory of a compressed TIFF stands at its end, so that nothing of a picture is left.
    check_refused(path, "not a picture" if kind == "tiff-lzw" else "cut short")


def test_tail_of_zeros_in_raw_tiff_is_a_warning_since_black_is_zero(tmp_path):
    path = write_picture(tmp_path / "a.tif", make_noisy_picture())
    content = path.read_bytes()
    kept = len(content) // 2
    path.write_bytes(content[:kept] + bytes(len(content) - kept))
    assert any("one flat colour" in warning for warning in read_photo(path).warnings)


def test_jpeg_cut_short_and_closed_again_is_a_warning(tmp_path):
    path = write_picture(tmp_path / "a.jpg", make_noisy_picture(), make_exif(6))
    content = path.read_bytes()
    path.write_bytes(content[: len(content) // 3] + b"\xff\xd9")
    assert any("one flat colour" in warning for warning in read_photo(path).warnings)


def test_png_bomb_is_refused_from_its_header(tmp_path):
    path = write_png_bomb(tmp_path / "bomb.png", 100_000, 100_000)
    sentence = check_refused(path, "1e+04 megapixels")
    assert "raise max_megapixels" in sentence
    header = read_photo_header(path)
    assert (header.width_px, header.height_px) == (100_000, 100_000)


def test_jpeg_bomb_is_refused_from_its_header(tmp_path):
    path = write_picture(tmp_path / "a.jpg", make_asymmetric_picture())
    content = bytearray(path.read_bytes())
    frame = content.index(b"\xff\xc0")
    content[frame + 5 : frame + 9] = struct.pack(">HH", 60_000, 60_000)
    path.write_bytes(content)
    check_refused(path, "3600 megapixels")


def test_tiff_bomb_is_refused_from_its_header(tmp_path):
    path = write_grey_tiff(tmp_path / "a.tif", np.zeros((2, 2), np.uint16), bits=16)
    content = bytearray(path.read_bytes())
    for tag in (256, 257):
        at = content.index(struct.pack("<HHI", tag, 4, 1)) + 8
        content[at : at + 4] = struct.pack("<I", 90_000)
    path.write_bytes(content)
    check_refused(path, "8100 megapixels")


def test_limit_counts_megapixels_and_can_be_raised(tmp_path):
    path = write_picture(tmp_path / "a.png", make_asymmetric_picture())  # 2560 pixels
    check_refused(path, "over the limit of 0.0025", max_megapixels=0.0025)
    assert read_photo(path, max_megapixels=0.00256).width_px == 64


def test_limit_holds_above_pillows_own(tmp_path, monkeypatch):
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 100)
    path = write_picture(tmp_path / "a.png", make_asymmetric_picture())
    assert read_photo(path).width_px == 64
    assert Image.MAX_IMAGE_PIXELS == 100


def test_reading_stays_strict_where_others_have_made_pillow_lenient(tmp_path, monkeypatch):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    path = write_picture(tmp_path / "a.tif", make_noisy_picture(), compression="tiff_lzw")
    whole = tmp_path / "a.jpg"
    write_picture(whole, make_noisy_picture())
    content = whole.read_bytes()
    whole.write_bytes(content[: len(content) // 2])
    check_refused(whole, "cut short")
    assert read_photo(path).width_px == 120
    assert ImageFile.LOAD_TRUNCATED_IMAGES is True


@pytest.mark.parametrize("limit", [0, -1, float("nan"), float("inf")])
def test_limit_that_is_no_positive_number_is_a_wrong_call(tmp_path, limit):
    with pytest.raises(ValueError, match="max_megapixels"):
        read_photo(tmp_path / "a.png", max_megapixels=limit)


@pytest.mark.parametrize(("width", "height"), [(0, 10), (10, 0), (0, 0)])
def test_photo_without_pixels_is_refused(tmp_path, width, height):
    path = write_png_bomb(tmp_path / "a.png", width, height)
    with pytest.raises(PhotoError):
        read_photo(path)


@pytest.mark.parametrize(
    ("bits", "sample_format", "dtype", "words"),
    [
        (32, 3, np.float32, "floating point"),
        (32, 2, np.int32, "32-bit or signed"),
        (16, 2, np.int16, "32-bit or signed"),
    ],
    ids=["float", "int32", "int16"],
)
def test_numbers_that_are_no_brightness_are_refused(tmp_path, bits, sample_format, dtype, words):
    levels = np.arange(12, dtype=dtype).reshape(3, 4)
    path = write_grey_tiff(tmp_path / "a.tif", levels, bits=bits, sample_format=sample_format)
    check_refused(path, words)


def test_lab_picture_is_refused(tmp_path):
    Image.fromarray(make_asymmetric_picture(), mode="LAB").save(tmp_path / "a.tif")
    check_refused(tmp_path / "a.tif", "Lab colour")


def test_raw_file_of_a_camera_is_refused(tmp_path):
    # Tag DNGVersion; the first picture in such a file is a thumbnail.
    picture = Image.fromarray(make_asymmetric_picture())
    picture.save(tmp_path / "a.tif", tiffinfo={0xC612: b"\1\4\0\0"})
    check_refused(tmp_path / "a.tif", "raw file")


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    kind=st.sampled_from(sorted(FORMATS)),
    places=st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), min_size=1, max_size=8),
    in_header=st.booleans(),
)
def test_damaged_bytes_give_a_photo_or_one_clear_refusal(tmp_path, kind, places, in_header):
    suffix, save, _ = FORMATS[kind]
    exif = make_exif(6, xA405=26, x010F="Kerbside", x9003="2024:05:17 10:30:00")
    path = write_picture(tmp_path / f"a{suffix}", make_asymmetric_picture(), exif, **save)
    content = bytearray(path.read_bytes())
    span = min(300, len(content)) if in_header else len(content)
    for share, value in places:
        content[min(int(share * span), span - 1)] = value
    path.write_bytes(content)
    try:
        # A low limit: the damage may enlarge the picture to what would take long to fill.
        photo = read_photo(path, max_megapixels=1.0)
    except PhotoError as refusal:
        assert str(refusal).endswith(".")  # noqa: PT017  # either outcome is right
    else:
        assert photo.pixels.shape == (photo.height_px, photo.width_px, 3)


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
