import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from measure.elevation.areas import area_of_item
from measure.elevation.details.ground import Ground, area_of_opening
from measure.elevation.details.joinery import inset_opening
from measure.elevation.drawing import Circle, Item, Path, Polyline
from measure.elevation.path_geometry import ArcSegment, point_on_arc_mm, walk
from shared.errors import FieldError
from tests.support.facades import (
    HEIGHT_MM,
    SCALE,
    WIDTH_MM,
    alone,
    arched,
    drawn,
    small_front,
    window,
)


def lengths(items: list[Item]) -> list[float]:
    return [math.dist(i.points_mm[0], i.points_mm[-1]) for i in items if isinstance(i, Polyline)]


EVERYTHING = [
    {"kind": "plinth", "foot": 0, "head": 450},
    {"kind": "string-course", "foot": 3100, "head": "string"},
    {"kind": "cornice", "foot": 6700, "head": 7000, "lines": 2},
    {"kind": "quoins", "courses": 4},
    {"kind": "sills"},
    {"kind": "lintels", "of": ["f1", "f2", "f3", "f4", "f5"]},
    {"kind": "voussoirs", "of": ["g1", "g2", "g4", "g5"], "count": 9, "depth_mm": 225},
    {"kind": "voussoirs", "count": 13, "keystone": True},
    {"kind": "glazing-bars", "across": 3, "up": 2, "meeting_rail_mm": 45},
    {"kind": "mullions", "of": ["f3"], "mullions": 1, "transoms_mm": [1000]},
    {"kind": "door-panels", "of": ["door"]},
    {"kind": "course-lines", "gauge_mm": 75, "bond": "flemish"},
    {"kind": "rainwater-pipe", "at_mm": 2000},
]


def test_nothing_on_the_wall_is_drawn_over_an_opening_or_off_the_wall() -> None:
    facade = small_front()
    holes = shapely.union_all([area_of_opening(each) for each in facade.openings]).buffer(-0.5)
    wall = Ground(facade, SCALE).inside.buffer(0.5)
    for item in drawn(facade, *EVERYTHING):
        if item.layer == "joinery":
            continue
        line = line_of(item)
        assert not line.intersects(holes)
        assert wall.covers(line)


def test_joinery_stays_inside_its_opening() -> None:
    facade = small_front()
    holes = shapely.union_all([area_of_opening(each) for each in facade.openings]).buffer(0.5)
    found = [item for item in drawn(facade, *EVERYTHING) if item.layer == "joinery"]
    assert found
    for item in found:
        assert holes.covers(line_of(item))


def line_of(item: Item) -> shapely.Geometry:
    if isinstance(item, Polyline):
        points = [*item.points_mm, item.points_mm[0]] if item.closed else item.points_mm
        return shapely.LineString(points)
    if isinstance(item, Circle):
        return shapely.Point(item.centre_mm).buffer(item.radius_mm).boundary
    assert isinstance(item, Path)
    points = [item.start_mm]
    for start, segment in walk(item.start_mm, item.segments):
        if isinstance(segment, ArcSegment):
            turns = np.linspace(0.0, segment.sweep_rad, 200)[1:]
            points += [point_on_arc_mm(start, segment, float(turn)) for turn in turns]
        else:
            points.append(segment.to_mm)
    return shapely.LineString(points)


def test_what_is_nearer_hides_what_is_behind() -> None:
    """No bed joint runs through a quoin, a sill, a band or a pipe."""
    facade = small_front()
    made = drawn(facade, *EVERYTHING)
    courses = [item for item in made if item.layer == "courses"]
    stones = [item for item in made if item.layer == "dressings" and item.closed]
    areas = shapely.union_all([area_of_item(item) for item in stones]).buffer(-1.0)
    bands = shapely.union_all([shapely.box(0, 0, WIDTH_MM, 450), shapely.box(0, 3100, 9999, 3200)])
    pipe = shapely.box(2000 - 37, 0, 2000 + 37, HEIGHT_MM)
    for item in courses:
        line = line_of(item)
        assert not line.intersects(areas)
        assert not line.intersects(bands.buffer(-1.0))
        assert not line.intersects(pipe.buffer(-1.0))


def test_details_do_not_depend_on_the_order_they_are_asked_in() -> None:
    facade = small_front()
    one, other = drawn(facade, *EVERYTHING), drawn(facade, *EVERYTHING[::-1])
    assert sorted(map(str, one)) != []
    assert {str(item) for item in one if item.layer == "courses"} == {
        str(item) for item in other if item.layer == "courses"
    }


def test_details_of_an_invented_opening_are_inferred() -> None:
    facade = alone(window("w1", 3000.0, 1000.0).copied("w1-copy"))
    for item in drawn(facade, {"kind": "sills"}, {"kind": "lintels"}, {"kind": "glazing-bars"}):
        assert item.inferred


# Bands


def test_band_is_two_level_lines_across_the_wall() -> None:
    made = drawn(alone(), {"kind": "string-course", "foot": 3000, "head": 3200})
    assert {item.points_mm for item in made} == {
        ((0.0, 3000.0), (WIDTH_MM, 3000.0)),
        ((0.0, 3200.0), (WIDTH_MM, 3200.0)),
    }


def test_band_through_a_door_is_parted() -> None:
    made = drawn(small_front(), {"kind": "plinth", "foot": 0, "head": 450})
    assert sorted(lengths(made)) == pytest.approx([4400.0, 4400.0])


def test_cornice_has_its_mouldings_evenly() -> None:
    made = drawn(alone(), {"kind": "cornice", "foot": 6000, "head": 6300, "lines": 2})
    levels = sorted(item.points_mm[0][1] for item in made)
    assert levels == pytest.approx([6000, 6100, 6200, 6300])


# Dressings


def test_sill_reaches_past_the_jambs() -> None:
    facade = alone(window("w1", 3000.0, 1000.0))
    (stone,) = drawn(facade, {"kind": "sills", "height_mm": 100, "beyond_mm": 50})
    assert stone.points_mm == ((2450, 900), (3550, 900), (3550, 1000), (2450, 1000))


def test_doors_have_no_sill_unless_named() -> None:
    assert len(drawn(small_front(), {"kind": "sills"})) == 9
    assert len(drawn(small_front(), {"kind": "sills", "of": ["door"]})) == 0  # off the wall


def test_windows_of_a_wall_without_an_outline_get_sills_lintels_and_bars() -> None:
    """They are the lowest thing measured, and yet no doors; the datum lies at their sills."""
    facade = replace(alone(window("w1", 3000.0, 0.0, height=1500.0)), outlines=(), extent=None)
    for kind in ("sills", "lintels"):
        assert len(drawn(facade, {"kind": kind})) == 1, kind
    assert drawn(facade, {"kind": "glazing-bars"})


def test_a_door_of_a_wall_without_an_outline_gets_no_sill() -> None:
    facade = replace(alone(window("d1", 3000.0, 0.0, height=2100.0)), outlines=(), extent=None)
    assert not drawn(facade, {"kind": "sills"})


def test_what_an_opening_gets_its_copies_get_too() -> None:
    facade = alone(
        window("w1", 2000.0, 900.0), window("w1@copy", 5000.0, 900.0), window("w2", 8000.0, 900.0)
    )
    assert len(drawn(facade, {"kind": "sills", "of": ["w1"]})) == 2
    assert len(drawn(facade, {"kind": "sills", "of": ["w1@copy"]})) == 1
    assert len(drawn(facade, {"kind": "sills", "of": ["w1", "w1@copy"]})) == 2


def test_quoins_are_long_and_short_by_turns() -> None:
    wish = {"kind": "quoins", "sides": ["left"], "courses": 4, "long_mm": 400, "short_mm": 200}
    made = drawn(alone(), wish)
    widths = [item.points_mm[1][0] - item.points_mm[0][0] for item in made]
    assert widths[:4] == pytest.approx([400, 200, 400, 200])
    heights = [item.points_mm[2][1] - item.points_mm[1][1] for item in made]
    # four courses of the measured gauge, 75
    assert heights[0] == pytest.approx(300.0)
    assert sum(heights) == pytest.approx(HEIGHT_MM)


def test_quoins_follow_the_edge_of_a_gable() -> None:
    facade = alone()
    gable = ((0.0, 0.0), (10000.0, 0.0), (10000.0, 4000.0), (5000.0, 7000.0), (0.0, 4000.0))
    facade = replace(facade, outlines=(replace(facade.outlines[0], points_mm=gable),))
    made = drawn(facade, {"kind": "quoins", "sides": ["right"], "gauge_mm": 75})
    inside = shapely.Polygon(gable).buffer(0.1)
    assert all(inside.covers(line_of(item)) for item in made)


def test_quoins_do_not_climb_a_gablet_nor_its_verges() -> None:
    facade = alone()
    gablet = ((0.0, 0.0), (10000.0, 0.0), (10000.0, 5000.0), (6000.0, 5000.0), (6000.0, 5400.0),
              (5000.0, 6500.0), (4000.0, 5400.0), (4000.0, 5000.0), (0.0, 5000.0))  # fmt: skip
    facade = replace(facade, outlines=(replace(facade.outlines[0], points_mm=gablet),))
    made = drawn(facade, {"kind": "quoins", "gauge_mm": 75, "long_mm": 400, "short_mm": 200})
    assert len(made) == 2 * math.ceil(5000 / 300)
    for item in made:
        u = [point[0] for point in item.points_mm]
        assert max(u) <= 400.0 or min(u) >= 9600.0
    # the last is cut at the eaves
    assert max(point[1] for item in made for point in item.points_mm) == pytest.approx(5000.0)


def test_a_pipe_in_front_of_quoins_leaves_no_slivers_of_them() -> None:
    wishes = (
        {"kind": "rainwater-pipe", "at_mm": 370, "bore_mm": 75, "hopper": False},
        {"kind": "quoins", "sides": ["left"], "long_mm": 440, "short_mm": 215},
    )
    made = [item for item in drawn(alone(), *wishes) if item.layer == "dressings"]
    # 332.5 mm are left on one side of the pipe, 32.5 on the other: 0.2 mm on paper
    widths = [max(p[0] for p in i.points_mm) - min(p[0] for p in i.points_mm) for i in made]
    assert set(np.round(widths, 1)) == {332.5, 215.0}


# Joinery


@pytest.mark.parametrize(
    ("form", "rise"), [("semicircular", 500.0), ("segmental", 150.0), ("pointed", 800.0)]
)
def test_inset_keeps_its_distance_from_the_opening_all_round(form: str, rise: float) -> None:
    opening = arched(form, rise)
    inner = inset_opening(opening, 60.0)
    assert inner is not None
    line = area_of_opening(opening).boundary
    corners = np.array(area_of_opening(inner).exterior.coords)
    apart = [line.distance(shapely.Point(corner)) for corner in corners]
    # arcs are drawn by 33 chords here: their middles fall short by 0.1 % of the radius
    assert min(apart) == pytest.approx(60.0, abs=1.5)


def test_bars_divide_the_glass_into_equal_panes() -> None:
    wish = {"kind": "glazing-bars", "across": 3, "up": 2, "bar_mm": 40, "frame_mm": 50}
    made = drawn(alone(window("w1", 5000.0, 1000.0)), wish, denominator=20.0)
    plumb = sorted({i.points_mm[0][0] for i in made if not i.closed and is_plumb(i)})
    # glass 900 wide: panes of (900 - 80) / 3
    pane = 820 / 3
    left = 4550.0
    assert plumb == pytest.approx(
        [left + pane, left + pane + 40, left + 2 * pane + 40, left + 2 * pane + 80]
    )


def is_plumb(item: Item) -> bool:
    return isinstance(item, Polyline) and item.points_mm[0][0] == item.points_mm[1][0]


def test_bar_thinner_than_a_pen_is_one_line() -> None:
    wish = {"kind": "glazing-bars", "across": 2, "up": 1, "bar_mm": 22, "frame_mm": 0}
    made = drawn(alone(window("w1", 5000.0, 1000.0)), wish)
    assert len(made) == 1
    assert made[0].points_mm[0][0] == pytest.approx(5000.0)


def test_sashes_meet_half_way_up() -> None:
    wish = {"kind": "glazing-bars", "across": 1, "up": 1, "frame_mm": 50, "meeting_rail_mm": 60}
    made = drawn(alone(window("w1", 5000.0, 1000.0)), wish, denominator=20.0)
    levels = sorted({i.points_mm[0][1] for i in made if not i.closed})
    assert levels == pytest.approx([1720.0, 1780.0])


def test_mullions_leave_equal_lights() -> None:
    wish = {"kind": "mullions", "mullions": 2, "width_mm": 100}
    made = drawn(alone(window("w1", 5000.0, 1000.0)), wish)
    edges = sorted({round(p[0], 3) for item in made for p in item.points_mm})
    light = 800 / 3
    assert edges == pytest.approx(
        [4500 + light, 4600 + light, 4600 + 2 * light, 4700 + 2 * light], abs=0.01
    )


def test_door_has_its_panels_below_the_springing() -> None:
    made = drawn(small_front(), {"kind": "door-panels", "of": ["door"], "across": 2, "up": 3})
    panels = [item for item in made if isinstance(item, Polyline) and item.closed]
    assert len(panels) == 6
    assert max(p[1] for item in panels for p in item.points_mm) == pytest.approx(2000.0 - 110.0)


# Brickwork


def test_pipe_has_hopper_and_brackets() -> None:
    made = drawn(alone(), {"kind": "rainwater-pipe", "at": [2000, 5], "bore_mm": 100})
    hopper = [item for item in made if item.closed]
    brackets = [i for i in made if not i.closed and not is_plumb(i)]
    assert len(hopper) == 1
    assert len(brackets) == 4


def test_pipe_down_a_window_is_parted_by_it() -> None:
    wish = {"kind": "rainwater-pipe", "at_mm": 3000, "hopper": False}
    made = [item for item in drawn(small_front(), wish) if is_plumb(item)]
    assert len(made) == 6


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"kind": "plinth", "foot": 500, "head": 300}, "not above its foot"),
        ({"kind": "band", "foot": 9000, "head": 9100}, "lies off the wall"),
        ({"kind": "band", "foot": "nowhere", "head": 100}, "names the level 'nowhere'"),
        ({"kind": "sills", "of": ["w9"]}, "no opening 'w9'"),
        ({"kind": "lintels", "of": ["door"]}, "semicircular head"),
        ({"kind": "voussoirs", "count": 8, "keystone": True}, "Give an odd count"),
        ({"kind": "glazing-bars", "of": ["f1"], "frame_mm": 600}, "leaves no glass"),
        ({"kind": "glazing-bars", "of": ["f1"], "across": 90}, "leave no glass"),
        ({"kind": "mullions", "of": ["f1"], "mullions": 12}, "are wider than"),
        ({"kind": "mullions", "of": ["f1"], "transoms_mm": [1600]}, "lies outside opening"),
        ({"kind": "door-panels", "of": ["door"], "stile_mm": 500}, "leave no room"),
        ({"kind": "door-panels", "of": ["door"], "leaf_mm": 3000}, "is higher than opening"),
        ({"kind": "course-lines", "measure": "c9"}, "no measured courses 'c9'"),
        ({"kind": "course-lines", "gauge_mm": 20}, "too close to be told apart"),
        ({"kind": "course-lines", "gauge_mm": 75, "bond": "english", "brick_mm": 90}, "Headers"),
        ({"kind": "rainwater-pipe", "at_mm": -50}, "stands off the wall"),
    ],
)
def test_detail_that_cannot_be_drawn_is_one_sentence(wish: dict, words: str) -> None:
    with pytest.raises(FieldError) as refusal:
        drawn(small_front(), wish)
    assert words in str(refusal.value)
    assert str(refusal.value).startswith("Detail 1 (")
    assert "\n" not in str(refusal.value)


def test_quoins_without_a_gauge_ask_for_one() -> None:
    with pytest.raises(FieldError, match="Give gauge_mm"):
        drawn(replace(small_front(), courses=()), {"kind": "quoins"})
