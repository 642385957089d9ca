import threading

import numpy as np
import pytest
from numpy.testing import assert_allclose

from rectify.photos.pyramid import Pyramid


def stripes(period_px, width=480, height=320):
    """Pixels as a sensor sees them: each the mean of the light on it."""
    x = np.arange(width) + 0.5
    grey = 127.5 + 120 * np.sinc(1 / period_px) * np.cos(2 * np.pi * x / period_px)
    return np.ascontiguousarray(
        np.broadcast_to(np.rint(grey).astype(np.uint8)[None, :, None], (height, width, 3))
    )


def kept(level, period_px):
    """Share of the stripes' contrast left in a level, in the middle of it."""
    before = stripes(period_px).astype(float)[..., 0]
    inner = level.pixels[8:-8, 8:-8, 0].astype(float)
    return inner.std() / before.std()


# From the filters' frequency responses; the rest is rounding to whole grey steps.
@pytest.mark.parametrize(
    ("index", "period_px", "share"),
    [
        (1, 8.0, 1.00),
        (1, 4.0, 0.64),
        (1, 3.0, 0.26),
        (1, 2.5, 0.06),
        (2, 16.0, 1.00),
        (2, 8.0, 0.95),
        (2, 4.0, 0.40),
        (2, 3.0, 0.09),
        (2, 2.5, 0.01),
    ],
)
def test_each_copy_keeps_what_it_can_hold_and_drops_the_rest(index, period_px, share):
    pyramid = Pyramid(stripes(period_px))
    assert_allclose(kept(pyramid.level(index), period_px), share, atol=0.03)


@pytest.mark.parametrize("size", [(64, 48), (65, 47), (101, 33)])
def test_a_slope_of_colour_lies_in_register_at_every_level(size):
    width, height = size
    photo = np.empty((height, width, 3), np.uint8)
    photo[..., 0] = 2 * np.arange(width)[None]
    photo[..., 1] = 4 * np.arange(height)[:, None]
    photo[..., 2] = 90
    pyramid = Pyramid(photo)
    for index in range(pyramid.last + 1):
        level = pyramid.level(index)
        x = (np.arange(level.pixels.shape[1]) + 0.5 - level.offset_px[0]) / level.scale[0]
        y = (np.arange(level.pixels.shape[0]) + 0.5 - level.offset_px[1]) / level.scale[1]
        # filters reach past the edge there; two rows in they do not
        inner = np.s_[2:-2, 2:-2]
        if index >= 1:
            inner = np.s_[3:-3, 3:-3]
        expected = np.stack(np.meshgrid(2 * (x - 0.5), 4 * (y - 0.5)), axis=-1)
        assert_allclose(level.pixels[..., :2][inner], expected[inner], atol=1.01)
        assert np.all(level.pixels[..., 2] == 90)


def test_every_second_level_halves():
    pyramid = Pyramid(np.zeros((600, 801, 3), np.uint8))
    sizes = [pyramid.level(index).pixels.shape[:2] for index in range(0, pyramid.last + 1, 2)]
    assert sizes[:4] == [(600, 801), (300, 401), (150, 201), (75, 101)]
    assert min(sizes[-1]) >= 8


def test_the_first_level_is_the_photo_itself():
    photo = np.zeros((20, 30, 3), np.uint8)
    assert Pyramid(photo).level(0).pixels is photo


def test_copies_are_made_once_whoever_asks_first():
    pyramid = Pyramid(np.random.default_rng(0).integers(0, 255, (600, 800, 3), dtype=np.uint8))
    found = []
    threads = [threading.Thread(target=lambda: found.append(pyramid.level(5))) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 4
    assert all(level is found[0] for level in found)


@pytest.mark.parametrize("shape", [(1, 1, 3), (3, 500, 3)])
def test_a_tiny_photo_has_no_smaller_copies(shape):
    assert Pyramid(np.zeros(shape, np.uint8)).last == 0


@pytest.mark.parametrize("index", [-1, 99])
def test_a_level_that_does_not_exist_is_a_wrong_call(index):
    with pytest.raises(ValueError, match="index"):
        Pyramid(np.zeros((40, 40, 3), np.uint8)).level(index)


@pytest.mark.parametrize(
    "pixels",
    [
        np.zeros((4, 4), np.uint8),
        np.zeros((4, 4, 4), np.uint8),
        np.zeros((4, 4, 3)),
        np.zeros((0, 4, 3), np.uint8),
    ],
)
def test_anything_but_rgb_is_a_wrong_call(pixels):
    with pytest.raises(ValueError, match="pixels"):
        Pyramid(pixels)
