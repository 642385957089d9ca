"""Openings grown and lined: closed forms, and polygons worked by another library."""

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.parts.opening_shapes import OpeningShape, lining_of


def opening(head, rise=0.0, width=6.0, height=10.0):
    if head == "round":
        height = width
    return OpeningShape("o", 1.0, 2.0, width, height, head, rise)


def test_flat_opening_is_lined_by_two_jambs_and_a_head():
    """At the middle of a strip of 0.2: jambs 10.1 each from the sill, head 6.2."""
    lining = lining_of(opening("flat"), 0.2)
    assert_allclose(lining.length_mm, 10.1 * 2 + 6.2)
    assert_allclose(lining.folds_mm, (10.1, 16.3))


def test_semicircular_head_is_half_a_circle_and_not_folded():
    lining = lining_of(opening("semicircular"), 0.2)
    assert_allclose(lining.length_mm, 7.0 * 2 + math.pi * 3.1)
    assert lining.folds_mm == ()
    assert_allclose(lining.bent, ((7.0, 7.0 + math.pi * 3.1),))


def test_segmental_head_agrees_with_the_handbook():
    """Machinery's Handbook 31st ed. p. 83: chord 21, rise 6, arc 25.308373, r 12.1875."""
    thin = lining_of(OpeningShape("o", 0, 0, 21.0, 26.0, "segmental", 6.0), 1e-9)
    assert_allclose(thin.length_mm, 2 * 20.0 + 25.308373, atol=1e-6)
    assert len(thin.folds_mm) == 2


def test_round_opening_is_lined_by_a_ring():
    lining = lining_of(opening("round"), 0.2)
    assert_allclose(lining.length_mm, math.pi * 6.2)
    assert lining.closed


def test_pointed_head_is_folded_at_its_apex_only():
    lining = lining_of(opening("pointed", rise=6.0 * math.sqrt(3) / 2), 0.2)
    assert_allclose(lining.folds_mm, (lining.length_mm / 2,))


def outline_outside(head, rise, by):
    """Outline `by` outside an opening of 6 x 10 at (1, 2), drawn without the code under test."""
    low, high = 2.0 - by, 12.0 + by
    left, right = 1.0 - by, 7.0 + by
    if head == "flat":
        return shapely.box(left, low, right, high)
    if head == "round":
        return shapely.Point(4.0, 5.0).buffer(3.0 + by, quad_segs=500)
    springing = 12.0 - (3.0 if head == "semicircular" else rise)
    if head == "pointed":
        # radius s / 4 + h^2 / s, centres on the springing line
        radius = 1.5 + rise**2 / 6.0
        discs = [
            shapely.Point(x, springing).buffer(radius + by, quad_segs=600)
            for x in (1.0 + radius, 7.0 - radius)
        ]
        above = discs[0].intersection(discs[1])
    else:
        h = 12.0 - springing
        radius = (9.0 + h**2) / (2.0 * h)
        above = shapely.Point(4.0, 12.0 - radius).buffer(radius + by, quad_segs=600)
    head_part = above.intersection(shapely.box(left, springing, right, 20.0))
    return head_part.union(shapely.box(left, low, right, springing)).buffer(1e-6)


SHAPES = [("flat", 0.0), ("semicircular", 0.0), ("segmental", 1.2), ("pointed", 4.5),
          ("pointed", 5.2), ("round", 0.0)]  # fmt: skip


@pytest.mark.parametrize(("head", "rise"), SHAPES)
@settings(max_examples=25)
@given(by=st.floats(0.02, 0.5))
def test_grown_opening_lies_as_far_outside_as_was_asked(head, rise, by):
    """Area between the two outlines: straight parts of 0.002 mm over at most 40 mm of arc."""
    wanted = outline_outside(head, rise, by)
    found = opening(head, rise).grown(by).area
    assert found.symmetric_difference(wanted).area < 0.08


@pytest.mark.parametrize(("head", "rise"), SHAPES)
@settings(max_examples=25)
@given(strip=st.floats(0.02, 0.4))
def test_lining_is_as_long_as_the_outline_half_a_strip_outside(head, rise, strip):
    outline = outline_outside(head, rise, strip / 2).exterior
    above = shapely.box(-9.0, -9.0 if head == "round" else 2.0, 20.0, 30.0)
    wanted = outline.intersection(above).length
    assert_allclose(lining_of(opening(head, rise), strip).length_mm, wanted, atol=0.005)


def test_semicircular_rise_is_half_the_width_whatever_was_picked():
    assert OpeningShape("o", 0, 0, 6.0, 10.0, "semicircular", 2.8).rise_mm == 3.0


def test_scaling_and_moving_change_every_length():
    shape = opening("segmental", 1.0).scaled(0.5).moved(1.0, -1.0)
    assert (shape.left_mm, shape.sill_mm, shape.width_mm, shape.rise_mm) == (1.5, 0.0, 3.0, 0.5)
    assert shape.reveal_mm == 50.0


def test_shrinking_an_opening_to_nothing_is_a_wrong_call():
    with pytest.raises(ValueError, match="by_mm"):
        opening("flat").grown(-3.0)
