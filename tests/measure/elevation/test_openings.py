import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.elevation.drawing import box_of_item
from measure.elevation.openings import opening_path
from measure.elevation.path_geometry import ArcSegment, arc_centre_mm, arc_radius_mm, walk
from shared.errors import FieldError

HEADS = ("flat", "semicircular", "segmental", "pointed", "round")
RISES = {"segmental": 200.0, "pointed": 900.0}


@pytest.mark.parametrize("head", HEADS)
def test_outline_fills_exactly_the_box_of_its_sizes(head):
    height_mm = 1000.0 if head == "round" else 2000.0
    path = opening_path(10.0, 20.0, 1000.0, height_mm, head, RISES.get(head))
    box = box_of_item(path)
    assert_allclose(
        (box.left_mm, box.bottom_mm, box.right_mm, box.top_mm),
        (10.0, 20.0, 1010.0, 20.0 + height_mm),
        atol=1e-9,
    )
    assert path.closed


@pytest.mark.parametrize("head", HEADS)
def test_outline_comes_back_to_its_start(head):
    path = opening_path(10.0, 20.0, 1000.0, 2000.0, head, RISES.get(head))
    end = path.segments[-1].to_mm
    # A closed path may leave its last straight line to the player.
    assert end == path.start_mm or end[0] == path.start_mm[0]


def test_segmental_head_has_the_radius_of_the_handbook_row():
    # Machinery's Handbook, 31st ed., p. 83: chord 21, rise 6 gives radius 12.1875 and an angle of
    # 118.97953 degrees.
    path = opening_path(0.0, 0.0, 21.0, 50.0, "segmental", 6.0)
    ((start, arc),) = [
        (p, s) for p, s in walk(path.start_mm, path.segments) if isinstance(s, ArcSegment)
    ]
    assert_allclose(arc_radius_mm(start, arc), 12.1875, atol=1e-12)
    assert_allclose(math.degrees(arc.sweep_rad), 118.97953, atol=1e-5)


def test_equilateral_pointed_head_has_its_centres_on_the_springers():
    width_mm, rise_mm = 1200.0, 1200.0 * math.sqrt(3) / 2
    path = opening_path(0.0, 0.0, width_mm, 3000.0, "pointed", rise_mm)
    arcs = [(p, s) for p, s in walk(path.start_mm, path.segments) if isinstance(s, ArcSegment)]
    springing_mm = 3000.0 - rise_mm
    centres = [arc_centre_mm(p, s) for p, s in arcs]
    assert_allclose(centres, [(0.0, springing_mm), (width_mm, springing_mm)], atol=1e-9)
    assert_allclose([arc_radius_mm(p, s) for p, s in arcs], width_mm, atol=1e-9)


def test_low_pointed_head_keeps_span_springing_and_point():
    path = opening_path(0.0, 0.0, 1000.0, 2000.0, "pointed", 300.0)
    ends = [segment.to_mm for segment in path.segments]
    assert ends == [(1000.0, 0.0), (1000.0, 1700.0), (500.0, 2000.0), (0.0, 1700.0)]


def test_round_opening_is_one_circle_in_the_middle_of_its_box():
    path = opening_path(100.0, 200.0, 900.0, 910.0, "round")
    assert_allclose(arc_centre_mm(path.start_mm, path.segments[0]), (550.0, 655.0), atol=1e-9)
    assert_allclose(arc_radius_mm(path.start_mm, path.segments[0]), 452.5, atol=1e-9)


def test_lunette_without_upright_jambs_has_no_line_of_no_length():
    path = opening_path(0.0, 0.0, 1000.0, 500.0, "semicircular")
    points = [path.start_mm, *(segment.to_mm for segment in path.segments)]
    assert all(a != b for a, b in itertools.pairwise(points))


@pytest.mark.parametrize(
    ("width", "height", "head", "rise", "said"),
    [
        (0.0, 1000.0, "flat", None, "width"),
        (1000.0, -5.0, "flat", None, "height"),
        (math.nan, 1000.0, "flat", None, "width"),
        (1000.0, 2000.0, "segmental", None, "needs its rise"),
        (1000.0, 2000.0, "segmental", 600.0, "half the width"),
        (1000.0, 400.0, "semicircular", None, "high"),
        (1000.0, 2000.0, "ogee", None, "unknown"),
    ],
)
def test_impossible_opening_is_refused_by_name(width, height, head, rise, said):
    with pytest.raises(FieldError, match="W9") as refusal:
        opening_path(0.0, 0.0, width, height, head, rise, id="W9")
    assert said in str(refusal.value)


@given(
    width=st.floats(100.0, 9000.0),
    head=st.sampled_from(["semicircular", "segmental", "pointed"]),
    factor=st.floats(0.02, 0.5),
)
def test_arcs_meet_the_jambs_and_never_leave_the_box(width, head, factor):
    rise = width * factor if head == "segmental" else width * (factor + 0.5)
    height = rise + 700.0 if head != "semicircular" else width / 2 + 700.0
    box = box_of_item(opening_path(0.0, 0.0, width, height, head, rise))
    assert_allclose((box.left_mm, box.right_mm), (0.0, width), atol=1e-6 * width)
    assert_allclose((box.bottom_mm, box.top_mm), (0.0, height), atol=1e-6 * width)
