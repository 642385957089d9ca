import pytest
from numpy.testing import assert_allclose

from measure.elevation.annotate import paper_primitives
from measure.elevation.drawing import ELEVATION_LAYERS, Drawing, Polyline, Text
from measure.elevation.primitives import Lettering, Stroke, box_of


def drawn(*items):
    return paper_primitives(Drawing("x", ELEVATION_LAYERS, items), 100.0)


def lines(made):
    return [(item.start_mm, item.segments[0].to_mm) for item in made if isinstance(item, Stroke)]


WORDS = Text("notes", (5000.0, 1000.0), "W1", 2.5, horizontal="centre", vertical="middle")


def test_course_leaves_a_gap_where_words_stand():
    made = drawn(Polyline("courses", ((0, 1000), (10000, 1000)), id="c1"), WORDS)
    (words,) = [box_of(item) for item in made if isinstance(item, Lettering)]
    (a, b), (c, d) = lines(made)
    assert (a, d) == ((0.0, 10.0), (100.0, 10.0))
    assert_allclose((b[0], c[0]), (words.left_mm - 0.5, words.right_mm + 0.5))
    assert [item.id for item in made if isinstance(item, Stroke)] == ["c1", None]


@pytest.mark.parametrize("level", [900, 1100])
def test_gap_is_as_high_as_the_words(level):
    made = drawn(Polyline("courses", ((0, level), (10000, level))), WORDS)
    assert len(lines(made)) == 2


@pytest.mark.parametrize("level", [700, 1300])
def test_course_clear_of_the_words_stays_whole(level):
    made = drawn(Polyline("courses", ((0, level), (10000, level))), WORDS)
    assert lines(made) == [((0.0, level / 100), (100.0, level / 100))]


def test_two_words_that_overlap_leave_one_gap():
    other = Text("notes", (5150.0, 1000.0), "W2", 2.5, horizontal="centre", vertical="middle")
    made = drawn(Polyline("courses", ((0, 1000), (10000, 1000))), WORDS, other)
    assert len(lines(made)) == 2


def test_course_that_is_all_under_words_is_left_out():
    assert lines(drawn(Polyline("courses", ((4990, 1000), (5010, 1000))), WORDS)) == []


def test_lines_of_other_layers_are_never_broken():
    outline = Polyline("bands", ((0, 1000), (10000, 1000)))
    assert lines(drawn(outline, WORDS)) == [((0.0, 10.0), (100.0, 10.0))]
