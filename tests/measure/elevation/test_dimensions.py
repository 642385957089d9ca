import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.elevation.dimensions import dimension_primitives
from measure.elevation.drawing import ELEVATION_LAYERS, Dimension
from measure.elevation.path_geometry import Box
from measure.elevation.primitives import Lettering, Stroke, box_of

LAYERS = {layer.name: layer for layer in ELEVATION_LAYERS}
SCALE = 100.0


def drawn(*dimensions, size_mm=2.5):
    return dimension_primitives(dimensions, LAYERS, SCALE, size_mm)


def values(items):
    return [item for item in items if isinstance(item, Lettering)]


def ends(stroke):
    return stroke.start_mm, stroke.segments[-1].to_mm


def crosses(line, box):
    """Whether a straight upright or level line runs through a box."""
    (x0, y0), (x1, y1) = line
    return Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)).overlaps(box)


@pytest.mark.parametrize(
    ("direction", "offset", "angle_deg"),
    [
        ("horizontal", 8.0, 0.0),
        ("horizontal", -8.0, 0.0),
        ("vertical", 8.0, 90.0),
        ("vertical", -8.0, 90.0),
    ],
)
def test_value_stands_above_its_line_readable_from_bottom_or_right(direction, offset, angle_deg):
    items = drawn(Dimension((0, 0), (3000, 3000), "3 000", offset, direction, id="d"))
    (value,) = values(items)
    (line,) = [item for item in items if isinstance(item, Stroke) and item.id == "d"]
    assert_allclose(math.degrees(value.angle_rad), angle_deg)
    (x0, y0), (x1, y1) = ends(line)
    if direction == "horizontal":
        assert y0 == y1 == (38.0 if offset > 0 else -8.0)
        assert (x0, x1) == (0.0, 30.0)
        assert y0 < value.at_mm[1] < y0 + 2.0
        assert value.at_mm[0] == 15.0
    else:
        assert x0 == x1 == (38.0 if offset > 0 else -8.0)
        assert (y0, y1) == (0.0, 30.0)
        # Above, for one who reads from the right, is on the left.
        assert x0 - 2.0 < value.at_mm[0] < x0
        assert value.at_mm[1] == 15.0


@given(st.floats(-math.pi, math.pi), st.sampled_from([-6.0, 6.0]))
def test_aligned_value_is_never_upside_down_and_its_line_is_as_long_as_the_distance(angle, offset):
    end = (5000.0 * math.cos(angle), 5000.0 * math.sin(angle))
    items = drawn(Dimension((0.0, 0.0), end, "5 000", offset, "aligned", id="d"))
    (value,) = values(items)
    assert -math.pi / 2 - 1e-9 <= value.angle_rad <= math.pi / 2 + 1e-9
    (line,) = [item for item in items if isinstance(item, Stroke) and item.id == "d"]
    a, b = ends(line)
    assert_allclose(math.dist(a, b), 50.0, rtol=1e-12)
    assert_allclose(math.dist(a, (0.0, 0.0)), 6.0, rtol=1e-12)


def test_ticks_are_oblique_and_two_steps_wider_than_the_line():
    items = drawn(Dimension((0, 0), (3000, 0), "3 000"))
    ticks = [item for item in items if isinstance(item, Stroke) and item.width_mm == 0.35]
    assert len(ticks) == 2
    for tick in ticks:
        (x0, y0), (x1, y1) = ends(tick)
        assert_allclose(x1 - x0, y1 - y0)


def test_touching_spans_share_their_tick_and_extension_line():
    items = drawn(
        Dimension((0, 0), (3000, 0), "3 000", -8.0), Dimension((3000, 0), (6000, 0), "3 000", -8.0)
    )
    strokes = [item for item in items if isinstance(item, Stroke)]
    # Two lines, three ticks, three extension lines.
    assert len(strokes) == 8


def test_value_too_long_for_its_span_moves_out_on_a_leader():
    items = drawn(Dimension((0, 0), (300, 0), "300 ± 6", -8.0, id="d"))
    (value,) = values(items)
    assert value.at_mm[1] < -8.0
    uprights = [
        ends(item)
        for item in items
        if isinstance(item, Stroke) and ends(item)[0][0] == ends(item)[1][0] == 1.5
    ]
    assert len(uprights) == 1
    (_, y_line), (_, y_value) = uprights[0]
    assert y_line == -8.0
    assert box_of(value).top_mm - 0.9 < y_value < -8.0


def test_overlapping_spans_asked_onto_one_line_get_lines_of_their_own():
    items = drawn(
        Dimension((0, 0), (9000, 0), "9 000", -8.0, id="all"),
        Dimension((0, 0), (3000, 0), "3 000", -8.0, id="part"),
    )
    lines = {item.id: ends(item)[0][1] for item in items if isinstance(item, Stroke) and item.id}
    assert lines["part"] == -8.0
    assert lines["all"] < -8.0 - 2.5


def test_dimension_not_measured_is_in_brackets():
    assert [
        v.text for v in values(drawn(Dimension((0, 0), (3000, 0), "3 000", inferred=True)))
    ] == ["(3 000)"]


def test_far_apart_lines_on_one_side_do_not_push_each_other():
    # Two openings dimensioned at their own heights, one beside the other.
    items = drawn(
        Dimension((0, 1000), (2000, 1000), "2 000", 5.0, id="a"),
        Dimension((5000, 1050), (7000, 1050), "2 000", 5.0, id="b"),
    )
    lines = {item.id: ends(item)[0][1] for item in items if isinstance(item, Stroke) and item.id}
    assert lines == {"a": 15.0, "b": 15.5}


def chain_of(widths, direction, offset):
    """Dimensions one after the other, and the whole further out."""
    edges = [0.0, *itertools.accumulate(widths)]

    def place(along):
        return (along, 0.0) if direction == "horizontal" else (0.0, along)

    chain = [
        Dimension(place(a), place(b), f"{b - a:.0f}", offset, direction)
        for a, b in itertools.pairwise(edges)
    ]
    whole = Dimension(place(0.0), place(edges[-1]), f"{edges[-1]:.0f}", 2 * offset, direction)
    return drawn(*chain, *([whole] if len(chain) > 1 else []))


# 3 mm on paper: 444 mm at 1:148, narrower than the piers between openings.
@settings(max_examples=60, deadline=None)
@given(
    widths=st.lists(st.floats(450.0, 4000.0), min_size=1, max_size=9),
    direction=st.sampled_from(["horizontal", "vertical"]),
    offset=st.sampled_from([-8.0, 8.0]),
)
def test_no_line_of_a_chain_runs_through_a_value(widths, direction, offset):
    items = chain_of(widths, direction, offset)
    boxes = [box_of(value).grown(-0.4) for value in values(items)]
    lines = [
        (a, b)
        for item in items
        if isinstance(item, Stroke)
        for a, b in itertools.pairwise([item.start_mm, *(s.to_mm for s in item.segments)])
        if a[0] == b[0] or a[1] == b[1]
    ]
    struck = [(line, box) for line in lines for box in boxes if crosses(line, box)]
    assert struck == []


@settings(max_examples=60, deadline=None)
@given(
    widths=st.lists(st.floats(30.0, 4000.0), min_size=1, max_size=9),
    direction=st.sampled_from(["horizontal", "vertical"]),
    offset=st.sampled_from([-8.0, 8.0]),
)
def test_no_value_of_a_chain_overlaps_another_however_small_the_spans(widths, direction, offset):
    boxes = [box_of(value).grown(-0.4) for value in values(chain_of(widths, direction, offset))]
    for number, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[:number])
