import os
import struct

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageFile

from rectify.photos.file import read_photo, read_photo_header
from shared.errors import PhotoError
from tests.support.photo_makers import (
    FORMATS,
    make_asymmetric_picture,
    make_exif,
    write_grey_tiff,
    write_picture,
    write_png_bomb,
)


def check_close(actual: np.ndarray, expected: np.ndarray, tolerance: int) -> None:
    assert actual.shape == expected.shape
    assert actual.dtype == np.uint8
    np.testing.assert_allclose(actual.astype(int), expected.astype(int), rtol=0, atol=tolerance)


# What is refused


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
