"""Strips of a picture joined into one JPEG file."""

import io

import cv2
import numpy as np
import pytest
from PIL import Image

from measure.workbench import screen_jpeg
from measure.workbench.screen_jpeg import jpeg_bytes


def picture(width: int, height: int) -> np.ndarray:
    rng = np.random.default_rng(width * height)
    rough = rng.integers(0, 256, (height // 9 + 1, width // 9 + 1, 3), np.uint8)
    return cv2.resize(rough, (width, height), interpolation=cv2.INTER_CUBIC)


def decoded(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)))


@pytest.mark.parametrize("strips", [2, 3, 4])
@pytest.mark.parametrize("size", [(1600, 1200), (801, 607), (16, 65_000 // 3), (4000, 97)], ids=str)
def test_joined_strips_decode_to_the_very_pixels_of_one_compression(monkeypatch, size, strips):
    monkeypatch.setattr(screen_jpeg, "_STRIPS", strips)
    rgb = picture(*size)
    joined = jpeg_bytes(rgb, 80)
    plain = cv2.imencode(".jpg", rgb[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 80])[1].tobytes()
    assert b"\xff\xdd\x00\x04" in joined  # it does restart
    np.testing.assert_array_equal(decoded(joined), decoded(plain))
    opened_by_opencv = cv2.imdecode(np.frombuffer(joined, np.uint8), cv2.IMREAD_COLOR)
    assert opened_by_opencv.shape == rgb.shape


def test_colours_come_back_as_they_were():
    rgb = np.full((700, 900, 3), (200, 90, 30), np.uint8)
    assert np.abs(decoded(jpeg_bytes(rgb)).astype(int) - rgb).max() <= 4


def test_a_small_picture_is_compressed_in_one_go():
    assert b"\xff\xdd\x00\x04" not in jpeg_bytes(picture(100, 100))
