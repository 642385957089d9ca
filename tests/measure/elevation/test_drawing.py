import itertools

import pytest

from measure.elevation.drawing import (
    ELEVATION_LAYERS,
    LINE_WIDTHS_MM,
    SHEET_LAYERS,
    Circle,
    Dimension,
    Drawing,
    Layer,
    Path,
    Polyline,
    Text,
    box_around_items,
)
from measure.elevation.path_geometry import Box


def test_layers_of_drawing_and_sheet_have_names_of_their_own():
    names = [layer.name for layer in (*ELEVATION_LAYERS, *SHEET_LAYERS)]
    assert len(names) == len(set(names))


def test_widths_of_lines_step_by_root_two():
    # ISO 128-2:2020: the ratio of the series is one to root two; the printed values are rounded.
    ratios = [b / a for a, b in itertools.pairwise(LINE_WIDTHS_MM)]
    assert all(abs(ratio - 2**0.5) < 0.04 for ratio in ratios)


@pytest.mark.parametrize("name", ["", "Outline", "a b", "1st", "naïve", "a_b"])
def test_layer_name_that_a_file_format_could_not_hold_is_refused(name):
    with pytest.raises(ValueError, match="name"):
        Layer(name, 0.25)


def test_line_width_outside_the_series_is_refused():
    with pytest.raises(ValueError, match="width_mm"):
        Layer("outline", 0.3)


def test_item_on_an_unknown_layer_is_refused_by_name():
    with pytest.raises(ValueError, match="hatching"):
        Drawing("x", ELEVATION_LAYERS, (Circle("hatching", (0.0, 0.0), 1.0),))


def test_two_layers_of_one_name_are_refused():
    with pytest.raises(ValueError, match="differ"):
        Drawing("x", (Layer("a", 0.25), Layer("a", 0.35)), ())


def test_box_of_a_drawing_is_that_of_its_lines_unless_an_extent_is_given():
    circle = Circle("bands", (100.0, 50.0), 30.0)
    assert Drawing("x", ELEVATION_LAYERS, (circle,)).box == Box(70.0, 20.0, 130.0, 80.0)
    extent = Box(0.0, 0.0, 1.0, 1.0)
    assert Drawing("x", ELEVATION_LAYERS, (circle,), extent).box == extent


def test_box_holds_lines_texts_and_dimensions():
    items = (
        Polyline("outline", ((0.0, 0.0), (10.0, 5.0))),
        Text("notes", (-3.0, 2.0), "a"),
        Dimension((0.0, 0.0), (40.0, 0.0), "40"),
    )
    assert box_around_items(items) == Box(-3.0, 0.0, 40.0, 5.0)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Polyline("outline", ((0.0, 0.0),)),
        lambda: Path("outline", (0.0, 0.0), ()),
        lambda: Circle("outline", (0.0, 0.0), 0.0),
        lambda: Text("notes", (0.0, 0.0), "a", 0.0),
        lambda: Dimension((0.0, 0.0), (0.0, 5.0), "0", direction="horizontal"),
        lambda: Dimension((3.0, 4.0), (3.0, 4.0), "0", direction="aligned"),
    ],
)
def test_item_without_size_is_refused(make):
    with pytest.raises(ValueError, match=r"."):
        make()
