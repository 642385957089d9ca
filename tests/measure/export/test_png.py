import io
import tracemalloc

import numpy as np
import pytest
from numpy.testing import assert_array_equal
from PIL import Image

from measure.export.png import png_from_image, size_px_for_print


def picture(width=120, height=80):
    rgba = np.zeros((height, width, 4), np.uint8)
    rgba[..., 0] = np.arange(width)
    rgba[..., 1] = np.arange(height)[:, None]
    rgba[: height // 2, :, 3] = 255
    return rgba


def read(data):
    image = Image.open(io.BytesIO(data))
    image.load()
    return image


def test_pixels_read_back_with_their_transparency():
    rgba = picture()
    image = read(png_from_image(rgba, print_width_mm=60.0, print_height_mm=40.0))
    assert image.mode == "RGBA"
    assert_array_equal(np.asarray(image), rgba)


@pytest.mark.parametrize("dpi", [150.0, 300.0, 600.0])
@pytest.mark.parametrize(("width_mm", "height_mm"), [(74.32, 56.76), (200.0, 100.0), (12.3, 4.56)])
def test_picture_printed_at_its_own_size_measures_what_it_should(dpi, width_mm, height_mm):
    width_px, height_px = size_px_for_print(width_mm, height_mm, dpi)
    rgba = np.zeros((height_px, width_px, 4), np.uint8)
    image = read(png_from_image(rgba, print_width_mm=width_mm, print_height_mm=height_mm))
    across, down = image.info["dpi"]
    # The format counts whole pixels to the metre: at worst half of 1 in 5906 at 150 dpi.
    assert image.width / across * 25.4 == pytest.approx(width_mm, rel=1e-4)
    assert image.height / down * 25.4 == pytest.approx(height_mm, rel=1e-4)
    assert dpi - 0.1 <= across <= dpi * (1 + 1.01 / width_px) + 0.1


def test_title_and_cautions_are_in_the_file():
    image = read(png_from_image(picture(), print_width_mm=9, print_height_mm=6, title="Maltings ±"))
    assert image.text["Title"] == "Maltings ±"
    assert "not a survey" in image.text["Description"]


def test_same_picture_gives_the_same_bytes():
    rgba = picture()
    first = png_from_image(rgba, print_width_mm=60.0, print_height_mm=40.0)
    assert png_from_image(rgba, print_width_mm=60.0, print_height_mm=40.0) == first


def test_view_into_a_larger_picture_is_written_as_seen():
    rgba = picture()[::2, ::-3]
    image = read(png_from_image(rgba, print_width_mm=6.0, print_height_mm=4.0))
    assert_array_equal(np.asarray(image), rgba)


def test_large_picture_is_not_copied():
    rgba = np.zeros((3000, 4000, 4), np.uint8)
    tracemalloc.start()
    png_from_image(rgba, print_width_mm=200.0, print_height_mm=150.0)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < rgba.nbytes / 4


@pytest.mark.parametrize(
    "rgba",
    [
        np.zeros((4, 4, 3), np.uint8),
        np.zeros((4, 4), np.uint8),
        np.zeros((4, 4, 4), np.float32),
        np.zeros((0, 4, 4), np.uint8),
    ],
)
def test_array_that_is_no_picture_is_a_wrong_call(rgba):
    with pytest.raises(ValueError, match="rgba"):
        png_from_image(rgba, print_width_mm=1.0, print_height_mm=1.0)


@pytest.mark.parametrize("size", [(0.0, 1.0), (1.0, -1.0), (float("nan"), 1.0)])
def test_print_without_size_is_a_wrong_call(size):
    with pytest.raises(ValueError, match="print size"):
        png_from_image(picture(), print_width_mm=size[0], print_height_mm=size[1])


def test_pixels_for_a_print_are_never_too_few():
    assert size_px_for_print(25.4, 25.4, 300.0) == (300, 300)
    assert size_px_for_print(25.5, 25.41, 300.0) == (302, 301)
    with pytest.raises(ValueError, match="above 0"):
        size_px_for_print(0.0, 10.0)
