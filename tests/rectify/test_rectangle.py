"""Four picks as an upright rectangle: ordered, or refused with the reason."""

import re
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rectify.rectangle import rectangle_order
from shared.errors import DegenerateError
from shared.survey import Pick

CORNERS = [(100, 80), (400, 60), (430, 300), (90, 280)]


def picks(points):
    return [Pick(x=float(x), y=float(y)) for x, y in points]


@pytest.mark.parametrize("start", range(4))
@pytest.mark.parametrize("way", [1, -1], ids=["clockwise", "anticlockwise"])
def test_any_start_either_way_gives_the_same_corners(start, way):
    turned = [CORNERS[(start + way * i) % 4] for i in range(4)]
    order = rectangle_order(picks(turned), "the frame")
    assert [turned[i] for i in order] == CORNERS


@pytest.mark.parametrize("angle", [-35, -10, 10, 35])
@pytest.mark.parametrize("by", [0, 3000, 3000j], ids=["near", "far right", "far down"])
def test_rolled_camera_keeps_the_corners(angle, by):
    turn = complex(1, 0) * (complex(0, 1) ** (angle / 90))
    points = [(complex(x, y) - 250 - 180j) * turn for x, y in CORNERS]
    points = [((z + by).real + 500, (z + by).imag + 500) for z in points]
    assert rectangle_order(picks(points), "the frame") == (0, 1, 2, 3)


REFUSED = [
    ("repeated", [(0, 0), (100, 0), (100, 0.2), (0, 100)], "the same pick"),
    ("crossed", [(0, 0), (100, 100), (100, 0), (0, 100)], "cross over"),
    ("crossed the other way", [(0, 0), (100, 0), (0, 100), (100, 100)], "cross over"),
    ("one inside", [(0, 0), (100, 0), (30, 30), (0, 100)], "inside the other three"),
    ("one inside, no right angle", [(0, 0), (100, 10), (30, 30), (10, 100)], "inside the other"),
    ("one inside, anticlockwise", [(10, 100), (30, 30), (100, 10), (0, 0)], "inside the other"),
    ("three in a line", [(0, 0), (50, 0.5), (100, 0), (0, 100)], "straight line"),
    ("all in a line", [(0, 0), (50, 50), (100, 100), (150, 150)], "straight line"),
    ("tiny", [(0, 0), (7, 0), (7, 100), (0, 100)], "tiny"),
]


@pytest.mark.parametrize(("points", "says"), [r[1:] for r in REFUSED], ids=[r[0] for r in REFUSED])
def test_what_cannot_be_a_rectangle_is_refused_by_name(points, says):
    with pytest.raises(DegenerateError, match=says) as caught:
        rectangle_order(picks(points), "the frame of face 'front'")
    assert "frame of face 'front'" in caught.value.message
    assert re.fullmatch(r"[A-Z][^A-Z]+[.]", caught.value.hint), "a hint is a sentence"
    assert caught.value.details["picks"] == [list(map(float, p)) for p in points]


#: The second pick lies on the side between the third and the fourth, or the third on that between
#: the fourth and the first: they touch and do not cross.
TOUCHING = [(50, 60), (50, 0), (0, 0), (100, 0)]


@pytest.mark.parametrize("start", range(4))
@pytest.mark.parametrize("way", [1, -1], ids=["clockwise", "anticlockwise"])
def test_corner_on_another_side_is_in_line_and_crosses_nothing(start, way):
    turned = [TOUCHING[(start + way * i) % 4] for i in range(4)]
    with pytest.raises(DegenerateError, match="straight line"):
        rectangle_order(picks(turned), "the frame")


def test_picks_half_a_pixel_apart_are_two_corners_and_less_is_one():
    half, less = (picks([(0, 0), (100, 0), (100, apart), (0, 100)]) for apart in (0.5, 0.49))
    with pytest.raises(DegenerateError, match="tiny"):
        rectangle_order(half, "the frame")
    with pytest.raises(DegenerateError, match="the same pick"):
        rectangle_order(less, "the frame")


def test_rectangle_eight_pixels_wide_is_large_enough():
    assert rectangle_order(picks([(0, 0), (8, 0), (8, 100), (0, 100)]), "it") == (0, 1, 2, 3)


def test_tiny_rectangle_is_refused_with_its_shortest_side():
    tiny = picks([(0, 0), (7, 0), (7, 100), (0, 100)])
    with pytest.raises(DegenerateError) as caught:
        rectangle_order(tiny, "the frame of face 'front'")
    assert caught.value.message == (
        "The frame of face 'front' is tiny: its shortest side is 7.0 px and 8 px are needed."
    )


@pytest.mark.parametrize("start", range(4))
@pytest.mark.parametrize("way", [1, -1], ids=["clockwise", "anticlockwise"])
@pytest.mark.parametrize(("bulge_px", "sound"), [(1.5, False), (1.7, True)])
def test_corner_within_three_degrees_of_straight_is_refused(start, way, bulge_px, sound):
    # 40 px and 160 px beside the corner: it turns by b / 40 + b / 160, and 0.05 is the least
    corners = [(0, 0), (40, -bulge_px), (200, 0), (120, 150)]
    turned = picks([corners[(start + way * i) % 4] for i in range(4)])
    if sound:
        assert len(set(rectangle_order(turned, "the frame"))) == 4
    else:
        with pytest.raises(DegenerateError, match="straight line"):
            rectangle_order(turned, "the frame")


@pytest.mark.parametrize("by", [(9000, 0), (0, 9000)], ids=["far right", "far down"])
@pytest.mark.parametrize("start", range(4))
def test_corners_keep_their_names_anywhere_in_the_photo(by, start):
    moved = [(x + by[0], y + by[1]) for x, y in CORNERS]
    turned = [moved[(start + i) % 4] for i in range(4)]
    order = rectangle_order(picks(turned), "the frame")
    assert [turned[i] for i in order] == moved


def test_only_eight_of_all_orders_go_round_the_rectangle():
    sound = 0
    for points in permutations(CORNERS):
        try:
            order = rectangle_order(picks(points), "the frame")
        except DegenerateError:
            continue
        sound += 1
        assert [points[i] for i in order] == CORNERS
    assert sound == 8


@given(st.floats(-300, 300), st.floats(-300, 300), st.floats(0.5, 30.0))
def test_moving_and_enlarging_changes_nothing(dx, dy, factor):
    points = [(x * factor + dx, y * factor + dy) for x, y in CORNERS]
    assert rectangle_order(picks(points), "the frame") == (0, 1, 2, 3)
