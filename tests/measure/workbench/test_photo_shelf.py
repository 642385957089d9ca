"""Photos kept decoded: how many, how long, and windows of them."""

from __future__ import annotations

import os
import threading
import time

import numpy as np
import pytest

from measure.workbench import photo_shelf
from measure.workbench.photo_shelf import MOST_DECODED, MOST_WINDOW_PX, PhotoShelf, photo_window
from rectify.photos.pyramid import Pyramid
from shared.errors import FieldError, PhotoError
from tests.support.photo_makers import write_picture


@pytest.fixture
def photos(tmp_path):
    return [
        write_picture(tmp_path / f"{grey}.png", np.full((8, 10, 3), grey, np.uint8))
        for grey in range(MOST_DECODED + 1)
    ]


def test_a_photo_is_decoded_once_while_it_is_worked_on(photos):
    shelf = PhotoShelf()
    assert shelf.decoded(photos[0]) is shelf.decoded(photos[0])


def test_the_photo_not_looked_at_for_longest_makes_room(photos):
    shelf = PhotoShelf()
    first, second, *_ = [shelf.decoded(path) for path in photos[:MOST_DECODED]]
    assert shelf.decoded(photos[0]) is first
    shelf.decoded(photos[MOST_DECODED])
    assert shelf.decoded(photos[0]) is first
    assert shelf.decoded(photos[1]) is not second


def test_a_photo_that_was_saved_anew_is_read_anew(photos):
    shelf = PhotoShelf()
    before = shelf.decoded(photos[0])
    write_picture(photos[0], np.full((8, 10, 3), 200, np.uint8))
    os.utime(photos[0], ns=(0, 0))
    assert shelf.decoded(photos[0]).photo.pixels.max() == 200
    assert before.photo.pixels.max() == 0


def test_a_photo_that_was_taken_away_is_asked_back_by_name(photos):
    shelf = PhotoShelf()
    shelf.decoded(photos[0])
    photos[0].unlink()
    with pytest.raises(PhotoError, match=r"0\.png is not there: put the photo back"):
        shelf.decoded(photos[0])


def test_two_who_want_one_photo_at_once_decode_it_once(photos, monkeypatch):
    reads, read = [], photo_shelf.read_photo

    def slowly(path):
        reads.append(path)
        time.sleep(0.05)
        return read(path)

    monkeypatch.setattr(photo_shelf, "read_photo", slowly)
    shelf, found = PhotoShelf(), []
    wanting = [
        threading.Thread(target=lambda: found.append(shelf.decoded(photos[0]))) for _ in range(2)
    ]
    for thread in wanting:
        thread.start()
    for thread in wanting:
        thread.join()
    assert found[0] is found[1]
    assert len(reads) == 1


@pytest.fixture(scope="module")
def pixels():
    return np.random.default_rng(3).integers(0, 256, (24, 32, 3), dtype=np.uint8)


def test_a_window_at_full_size_shows_the_pixels_themselves(pixels):
    shown = photo_window(Pyramid(pixels), (4.0, 6.0, 16.0, 12.0), (16, 12))
    assert np.array_equal(shown, pixels[6:18, 4:20])


def test_a_window_drawn_much_larger_shows_each_pixel_as_a_square(pixels):
    shown = photo_window(Pyramid(pixels), (4.0, 6.0, 2.0, 1.0), (16, 8))
    assert np.array_equal(shown, np.repeat(np.repeat(pixels[6:7, 4:6], 8, axis=0), 8, axis=1))


@pytest.mark.parametrize("size", [(0, 5), (5, 0), (MOST_WINDOW_PX + 1, 5), (5, MOST_WINDOW_PX + 1)])
def test_a_picture_that_no_screen_wants_is_refused(pixels, size):
    with pytest.raises(FieldError, match=f"not {size[0]} x {size[1]}"):
        photo_window(Pyramid(pixels), (0.0, 0.0, 8.0, 8.0), size)


@pytest.mark.parametrize("box", [(0, 0, 0, 8), (0, 0, 8, -1), (np.nan, 0, 8, 8), (0, 0, np.inf, 8)])
def test_an_empty_or_boundless_part_of_a_photo_is_refused(pixels, box):
    with pytest.raises(FieldError, match="to show is empty"):
        photo_window(Pyramid(pixels), box, (8, 8))
