import itertools

from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.elevation.drawing import ELEVATION_LAYERS, LevelMark
from measure.elevation.level_marks import level_mark_primitives, spread
from measure.elevation.primitives import Lettering, Stroke, box_of

LAYERS = {layer.name: layer for layer in ELEVATION_LAYERS}


def test_places_far_apart_stay():
    assert spread([0.0, 10.0, 5.0], 4.0) == [0.0, 10.0, 5.0]


def test_three_places_at_once_spread_about_their_middle():
    assert spread([7.0, 7.0, 7.0], 3.0) == [4.0, 7.0, 10.0]


def test_no_places_give_none():
    assert spread([], 3.0) == []


@given(st.lists(st.floats(-500.0, 500.0), max_size=30), st.floats(0.1, 20.0))
def test_spread_places_are_apart_in_the_same_order_and_balanced(places, apart):
    shown = spread(places, apart)
    order = sorted(range(len(places)), key=lambda number: places[number])
    ranked = [shown[number] for number in order]
    assert all(b - a >= apart - 1e-9 for a, b in itertools.pairwise(ranked))
    # Least squares leaves the mean where it was.
    assert_allclose(sum(shown), sum(places), atol=1e-6)


def marks(levels, side="right"):
    items = [LevelMark(v, f"level {v:.0f}", 0.0, side) for v in levels]
    return level_mark_primitives(items, LAYERS, 100.0, 2.5, {"left": -20.0, "right": 30.0})


@given(
    st.lists(st.floats(0.0, 9000.0), min_size=1, max_size=12), st.sampled_from(["left", "right"])
)
def test_words_of_levels_never_overlap_and_stand_clear_of_the_drawing(levels, side):
    words = [box_of(item) for item in marks(levels, side) if isinstance(item, Lettering)]
    for number, box in enumerate(words):
        assert not any(box.grown(-1e-6).overlaps(other) for other in words[:number])
        assert box.left_mm > 30.0 if side == "right" else box.right_mm < -20.0


def test_mark_begins_at_its_true_level():
    line = next(item for item in marks([4200.0]) if isinstance(item, Stroke))
    assert line.start_mm == (32.0, 42.0)


def test_level_not_measured_is_in_brackets():
    mark = LevelMark(100.0, "eaves +100", 0.0, inferred=True)
    made = level_mark_primitives([mark], LAYERS, 100.0, 2.5, {})
    assert [item.text for item in made if isinstance(item, Lettering)] == ["(eaves +100)"]
