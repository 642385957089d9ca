import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from PIL import ImageFont

from measure.elevation import lettering

TITLES = (
    "Pennywhistle Maltings",
    "Ж" * 200,
    "麦芽工場の正面図 " * 20,
    "Παλαιὰ πρόσοψις " * 20,
    "בית המאלט " * 20,
    "x" * 500,
    "a",
)


def test_width_of_a_line_agrees_with_the_font_itself():
    # Pillow reads the font file on its own; it also kerns, by far less than a hundredth.
    text, size_mm = "SCALE 1:148 Pennywhistle", 5.0
    font = ImageFont.truetype(str(lettering.font_file()), 1000)
    by_pillow_mm = font.getlength(text) / 1000 * size_mm * lettering.EM_FROM_CAPITAL
    assert_allclose(lettering.width_mm(text, size_mm), by_pillow_mm, rtol=0.01)


def test_capitals_are_as_high_as_the_size_says():
    font = ImageFont.truetype(str(lettering.font_file()), 2048)
    top = font.getbbox("H", anchor="ls")[1]
    assert_allclose(-top / 2048 * lettering.EM_FROM_CAPITAL, 1.0, atol=0.002)


@pytest.mark.parametrize("text", TITLES)
@pytest.mark.parametrize("room_mm", [8.0, 40.0, 120.0])
def test_fitted_text_never_leaves_its_place(text, room_mm):
    lines, size_mm = lettering.fitted(text, 5.0, room_mm, most_lines=2, height_mm=12.0)
    assert lines
    assert len(lines) <= 2
    assert all(lettering.width_mm(line, size_mm) <= room_mm + 1e-9 for line in lines)
    assert size_mm + (len(lines) - 1) * size_mm * lettering.LINE_STEP <= 12.0 + 1e-9


def test_short_text_keeps_its_size():
    assert lettering.fitted("Street front", 2.5, 100.0) == (["Street front"], 2.5)


def test_long_title_takes_more_lines_before_it_takes_smaller_letters():
    lines, size_mm = lettering.fitted(
        "Pennywhistle Maltings Street front", 5.0, 100.0, most_lines=2
    )
    assert lines == ["Pennywhistle Maltings Street", "front"]
    assert size_mm == 5.0


def test_what_does_not_fit_at_all_ends_in_an_ellipsis():
    lines, size_mm = lettering.fitted("word " * 100, 5.0, 30.0, most_lines=1)
    assert lines[0].endswith(lettering.ELLIPSIS)
    assert size_mm == 1.8


def test_empty_text_has_no_lines():
    assert lettering.fitted(" \n ", 5.0, 30.0)[0] == []


@given(st.text(max_size=60), st.floats(5.0, 80.0))
def test_wrapping_loses_no_letter(text, room_mm):
    plain = lettering.clean(text)
    lines = lettering.wrapped(text, 2.5, room_mm)
    assert "".join(lines).replace(" ", "") == plain.replace(" ", "")


@given(st.text())
def test_clean_text_has_no_control_characters_and_is_clean_already(text):
    plain = lettering.clean(text)
    assert plain.isprintable() or all(c >= " " and c != "\x7f" for c in plain)
    assert lettering.clean(plain) == plain


def test_gap_between_thousands_is_no_place_to_break_a_line():
    assert lettering.wrapped("8\u202f400 mm", 2.5, 12.0) == ["8\u202f400", "mm"]
