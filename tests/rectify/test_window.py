import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from rectify.window import MAX_WINDOW_PX, Window, make_window, window_for_print
from shared.errors import InputError

ONE_SENTENCE = re.compile(r"[A-Z][^.]*(\.\d[^.]*)*\.")


@pytest.mark.parametrize(
    ("bounds", "size", "says"),
    [
        ((0, 0, 0, 100), (10, 10), "right edge at 0 mm"),
        ((5, 0, -5, 100), (10, 10), "right edge at -5 mm"),
        ((0, 100, 10, 100), (10, 10), "top edge at 100 mm"),
        ((0, 0, math.nan, 100), (10, 10), "not a number"),
        ((0, 0, math.inf, 100), (10, 10), "not a number"),
        ((0, 0, 10, 10), (0, 10), "0 x 10 pixels is empty"),
        ((0, 0, 10, 10), (10, -3), "10 x -3 pixels is empty"),
        ((0, 0, 10, 10), (50_000, 50_000), "2.5 gigapixels"),
    ],
)
def test_a_window_of_nothing_or_too_much_is_refused_in_one_sentence(bounds, size, says):
    with pytest.raises(InputError, match=re.escape(says)) as caught:
        Window(*bounds, *size)
    assert ONE_SENTENCE.fullmatch(str(caught.value))


@pytest.mark.parametrize("px_per_mm", [0.0, -1.0, math.nan, math.inf])
def test_a_scale_that_is_no_scale_is_refused(px_per_mm):
    with pytest.raises(InputError, match="pixels to the millimetre"):
        make_window(0, 0, 10, 10, px_per_mm)


@pytest.mark.parametrize(
    ("extent_mm", "dpi", "denominator", "size"),
    [
        # 210 mm by 297 mm on paper at 300 dpi: 2480.3 x 3507.9, as printers' tables give it
        ((0, 0, 210, 297), 300, 1, (2481, 3508)),
        ((0, 0, 25.4, 50.8), 600, 1, (600, 1200)),
        ((0, 0, 7600, 3800), 254, 76, (1000, 500)),
        ((-3800, -100, 3800, 3700), 254, 76, (1000, 500)),
        ((0, 0, 1, 1), 72, 148, (1, 1)),
    ],
)
def test_a_print_has_the_pixels_that_dots_per_inch_ask_for(extent_mm, dpi, denominator, size):
    window = window_for_print(extent_mm, dpi, denominator)
    assert (window.width_px, window.height_px) == size
    assert window.u0_mm == extent_mm[0]
    assert window.v1_mm == extent_mm[3]
    assert_allclose(window.mm_per_px, 25.4 / dpi * denominator, rtol=1e-12)


@pytest.mark.parametrize(
    ("dpi", "denominator"), [(0, 76), (-300, 76), (math.nan, 76), (300, 0), (300, math.inf)]
)
def test_a_print_without_dots_or_scale_is_refused_in_one_sentence(dpi, denominator):
    with pytest.raises(InputError) as caught:
        window_for_print((0, 0, 100, 100), dpi, denominator)
    assert ONE_SENTENCE.fullmatch(str(caught.value))


def test_an_absurd_print_is_refused_with_its_size():
    with pytest.raises(InputError) as caught:
        window_for_print((0, 0, 20_000, 12_000), 1200, 4)
    assert "236221 x 141733 pixels, 33.5 gigapixels, and at most 2" in str(caught.value)
    assert ONE_SENTENCE.fullmatch(str(caught.value))


def test_a_print_too_large_for_a_number_is_refused():
    with pytest.raises(InputError, match="too large"):
        window_for_print((0, 0, 1e300, 1e300), 1e300, 1)


def test_the_largest_print_is_let_through():
    side = math.isqrt(MAX_WINDOW_PX)
    assert Window(0, 0, 1, 1, side, side).width_px == side


bound = st.floats(-1e5, 1e5)


@given(bound, bound, st.floats(1.0, 1e5), st.floats(1.0, 1e5), st.floats(1e-4, 0.1))
def test_a_made_window_covers_what_was_asked_by_less_than_a_pixel(u0, v0, wide, high, px_per_mm):
    window = make_window(u0, v0, u0 + wide, v0 + high, px_per_mm)
    assert_allclose(window.mm_per_px, 1 / px_per_mm, rtol=1e-6)
    slack_mm = 1e-5 / px_per_mm
    assert -slack_mm < window.u1_mm - (u0 + wide) < 1 / px_per_mm + slack_mm
    assert -slack_mm < v0 - window.v0_mm < 1 / px_per_mm + slack_mm


@given(bound, bound)
def test_chart_and_picture_positions_are_inverse(u, v):
    window = Window(-300.0, 200.0, 900.0, 1100.0, 640, 480)
    there = window.target_px_from_chart_mm([u, v])
    assert_allclose(window.chart_mm_from_target_px(there), [u, v], atol=1e-8)


def test_the_first_pixel_is_the_top_left_one():
    window = Window(0.0, 0.0, 100.0, 50.0, 10, 5)
    assert np.array_equal(window.chart_mm_from_target_px([0.5, 0.5]), [5.0, 45.0])
