"""Parts on sheets: nothing overlaps, the grain is kept, few sheets are used."""

import time

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from measure.parts.blanks import Blank
from measure.parts.nesting import nest
from shared.errors import FieldError

SIDES = st.floats(2.0, 60.0)
BLANKS = st.lists(st.tuples(SIDES, SIDES, st.sampled_from([(0,), (1,), (0, 1)])), max_size=25)


def blank(number, width, height, turns=(0, 1)):
    return Blank(number, shapely.box(0, 0, width, height), turns)


def laid_shapes(blanks, placements):
    return [
        affinity.translate(b.turned(p.quarters), p.left_mm, p.bottom_mm)
        for b, p in zip(blanks, placements, strict=True)
    ]


@settings(max_examples=40, deadline=None)
@given(BLANKS)
def test_parts_lie_on_the_sheet_apart_and_along_the_grain(rows):
    blanks = [blank(n, w, h, turns) for n, (w, h, turns) in enumerate(rows)]
    placements = nest(blanks, 100.0, 140.0, 2.0)
    assert [p.number for p in placements] == list(range(len(blanks)))
    shapes = laid_shapes(blanks, placements)
    for b, p, shape in zip(blanks, placements, shapes, strict=True):
        assert p.quarters in b.turns
        left, low, right, high = shape.bounds
        assert left >= -1e-6
        assert low >= -1e-6
        assert right <= 100.0 + 1e-6
        assert high <= 140.0 + 1e-6
    for i, one in enumerate(shapes):
        for j in range(i):
            if placements[i].sheet == placements[j].sheet:
                assert one.distance(shapes[j]) >= 2.0 - 1e-6


@pytest.mark.parametrize(("low", "high"), [(5, 60), (8, 40), (2, 90)])
def test_two_hundred_parts_use_three_quarters_of_what_their_boxes_need_at_best(low, high):
    """At best the boxes, each with the 2 mm it keeps clear, fill their sheets wholly.

    The last sheet counts as far up as it is used.
    """
    rng = np.random.default_rng(7)
    sizes = rng.uniform(low, high, (200, 2))
    blanks = [blank(n, w, h, (0,) if n % 3 == 0 else (0, 1)) for n, (w, h) in enumerate(sizes)]
    shares = []
    started = time.monotonic()
    placements = nest(blanks, 179.0, 227.0, 2.0, lambda what, share: shares.append(share))
    assert time.monotonic() - started < 10.0
    sheets = max(p.sheet for p in placements) + 1
    last = [s for s, p in zip(laid_shapes(blanks, placements), placements, strict=True)
            if p.sheet == sheets - 1]  # fmt: skip
    top, bottom = max(s.bounds[3] for s in last), min(s.bounds[1] for s in last)
    used = 179.0 * (227.0 * (sheets - 1) + (top - bottom))
    assert np.prod(sizes + 2.0, axis=1).sum() / used >= 0.75
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


def test_small_part_finds_the_gap_beside_a_gable():
    """A triangle leaves half its box free: the last part lies in there, not on a second sheet."""
    gable = Blank(0, shapely.Polygon([(0, 0), (100, 0), (0, 100)]), (0,))
    blanks = [gable, blank(1, 30.0, 30.0, (0,))]
    assert [p.sheet for p in nest(blanks, 100.0, 100.0, 2.0)] == [0, 0]


def test_parts_that_rows_can_hold_stand_in_rows_in_order_of_their_marks():
    placements = nest([blank(n, 20.0, 10.0) for n in range(4)], 100.0, 100.0, 2.0)
    assert [p.left_mm for p in placements] == [0.0, 22.0, 44.0, 66.0]
    assert {p.bottom_mm for p in placements} == {90.0}


def test_part_larger_than_the_sheet_is_refused():
    with pytest.raises(FieldError, match=r"120\.0 x 50\.0 mm does not fit"):
        nest([blank(0, 120.0, 50.0, (0,))], 100.0, 200.0)


def test_no_parts_need_no_sheet():
    assert nest([], 100.0, 100.0) == []


def test_laying_can_be_stopped():
    with pytest.raises(FieldError, match="stopped"):
        nest([blank(0, 5.0, 5.0)], 100.0, 100.0, 2.0, lambda what, share: False)
