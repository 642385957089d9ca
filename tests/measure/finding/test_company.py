"""What stands around a rectangle: equals in line, parts, wholes, and places in line with others."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from measure.finding.company import find_company, places_in_line
from measure.finding.picture import make_picture

PICTURE = make_picture(np.zeros((600, 900, 3), np.uint8), None, 10.0)

#: Three windows in a row and one above the first; left, top, right, bottom in pixels.
ROW = [(100, 300, 200, 450), (300, 300, 400, 450), (500, 300, 600, 450)]
ABOVE = (100, 60, 200, 210)


def company(boxes, likely=None, pattern=None):
    box = np.array(boxes, float)
    n = len(box)
    likely = np.ones(n) if likely is None else np.array(likely)
    alike = np.tile(np.array([1.0, 0.0], np.float32), (n, 1)) if pattern is None else pattern
    return find_company(PICTURE, box, likely, alike)


def test_equals_in_a_row_and_in_a_column_are_counted():
    around = company([*ROW, ABOVE])
    assert_allclose(around.row, [2, 2, 2, 0])
    assert_allclose(around.column, [1, 0, 0, 1])


def test_an_equal_counts_as_much_as_it_is_likely():
    assert_allclose(company(ROW, likely=[1.0, 0.5, 0.0]).row, [0.5, 1.0, 1.5])


def test_what_looks_unlike_within_is_no_equal():
    pattern = np.array([[1, 0], [1, 0], [0, 1]], np.float32)
    assert_allclose(company(ROW, pattern=pattern).row, [1, 1, 0])


def test_near_twins_in_one_place_count_once():
    twin = (302, 300, 402, 450)
    assert company([*ROW, twin]).row[0] == pytest.approx(2.0)


def test_a_pane_is_part_of_its_window_and_the_window_has_parts():
    panes = [(104, 304, 148, 446), (152, 304, 196, 446)]
    around = company([ROW[0], *panes])
    assert_allclose(around.part_of, [0, 1, 1])
    assert_allclose(around.parts, [2, 0, 0])


def test_the_pier_between_two_windows_is_flanked_and_they_are_not():
    assert_allclose(company([*ROW[:2], (200, 300, 300, 450)]).flanked, [0, 0, 1])


def places(boxes):
    return {tuple(int(v) for v in one) for one in places_in_line(PICTURE, np.array(boxes, float))}


def test_places_are_told_where_rows_cross_columns_and_where_even_steps_lead():
    found = places([*ROW[:2], ABOVE])
    assert (300, 60, 400, 210) in found
    assert (500, 300, 600, 450) in found


def test_no_place_is_told_where_an_opening_is_or_the_picture_ends():
    found = places([*ROW, ABOVE])
    assert found.isdisjoint({*ROW, ABOVE})
    assert min(left for left, *_ in found) >= 1
    assert max(right for _, _, right, _ in found) <= 899


def test_one_opening_alone_tells_of_no_others():
    assert places([ROW[0]]) == set()
