"""Steps of the search for openings, each on pictures whose answer is plain."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest
from numpy.testing import assert_allclose

from measure.finding.around import Surroundings
from measure.finding.choose import Found, with_heads_of_equals
from measure.finding.circles import find_circles
from measure.finding.edges import find_edges
from measure.finding.groups import Place, group_columns, group_rows
from measure.finding.heads import FineEdges, find_heads, head_points
from measure.finding.picture import BoxMeans, make_picture
from measure.finding.sides import SideFinder
from measure.finding.traits import TraitFinder
from measure.finding.wall_tone import wall_likeness
from measure.opening_finder import find_in_picture
from tests.support.front_canvas import Canvas, outline

MM = 10.0


def wall(width_mm=6000.0, height_mm=4000.0, tone=(0.7, 0.66, 0.6), seed=1):
    canvas = Canvas(width_mm, height_mm, MM)
    rng = np.random.default_rng(seed)
    canvas.rectangle((0, 0, width_mm + 50, height_mm + 50), tone, grain=0.02, rng=rng)
    return canvas


def picture_of(canvas):
    blurred = cv2.GaussianBlur(canvas.pixels, (0, 0), 0.8)
    return make_picture(np.clip(255 * blurred, 0, 255).astype(np.uint8), None, MM)


def with_hole(head, rise_mm, *, left=2000.0, sill=1000.0, wide=1000.0, jamb=1200.0):
    canvas = wall()
    top = sill + jamb + rise_mm
    shape = outline(left, left + wide, sill, sill + jamb, top, head)
    canvas.polygon(shape, (0.15, 0.17, 0.2))
    return canvas, top


def test_means_over_boxes_are_those_of_their_pixels():
    values = np.arange(12.0).reshape(3, 4)
    means = BoxMeans(values)
    assert means(1, 0, 3, 2) == pytest.approx(np.mean(values[:2, 1:3]))
    assert means(-5, -5, 50, 50) == pytest.approx(values.mean())
    assert np.isnan(means(2, 1, 2, 3))


@pytest.mark.parametrize(
    ("kind", "rise"), [("segmental", 0.14), ("semicircular", 0.5), ("pointed", 0.866)]
)
def test_a_head_springs_at_its_ends_and_rises_in_its_middle(kind, rise):
    points, normals = head_points(kind, rise)
    assert_allclose(np.linalg.norm(normals, axis=1), 1.0)
    assert points[:, 1].max() <= 0.0  # rows count down: a head lies above its springing
    # each point lies on a circle through the springings (of a pointed arch, through one of them)
    radius = 0.25 + rise**2 if kind == "pointed" else (0.25 + rise**2) / (2 * rise)
    for (x, y), (nx, ny) in zip(points, normals, strict=True):
        centre = np.array([x - radius * nx, y - radius * ny])
        ends = [math.dist(centre, end) for end in ((0.0, 0.0), (1.0, 0.0))]
        assert min(abs(end - radius) for end in ends) < 1e-9


@pytest.mark.parametrize(
    ("head", "rise_mm"),
    [("flat", 0.0), ("segmental", 190.0), ("semicircular", 500.0), ("pointed", 866.0)],
)
def test_one_plain_opening_is_found_with_its_head_and_its_sides(head, rise_mm):
    canvas, top = with_hole(head, rise_mm)
    picture = picture_of(canvas)
    found = find_in_picture(picture)
    assert [one.head for one in found] == [head]
    sides = SideFinder(picture).find(found[0])
    # the drawing paints the pixels of a polygon's rim as well: half a pixel all round
    assert sides.left.at * MM == pytest.approx(2000.0, abs=8.0)
    assert sides.right.at * MM == pytest.approx(3000.0, abs=8.0)
    assert canvas.height_mm - sides.sill.at * MM == pytest.approx(1000.0, abs=12.0)
    assert canvas.height_mm - sides.top.at * MM == pytest.approx(top, abs=20.0)


def test_a_bare_wall_has_no_openings():
    assert find_in_picture(picture_of(wall())) == []


def test_a_round_opening_is_found_where_it_is():
    canvas = wall()
    canvas.polygon(outline(2000, 3000, 1500, 2000, 2500, "round"), (0.15, 0.17, 0.2))
    picture = picture_of(canvas)
    (found,) = find_circles(picture, FineEdges(picture), wall_likeness(picture))
    assert found.head == "round"
    assert found.left * MM == pytest.approx(2000.0, abs=25.0)
    assert found.right * MM == pytest.approx(3000.0, abs=25.0)


def test_a_square_opening_is_not_taken_for_a_round_one():
    canvas, _ = with_hole("flat", 0.0, jamb=1000.0)
    picture = picture_of(canvas)
    assert find_circles(picture, FineEdges(picture), wall_likeness(picture)) == []


def traits_of(canvas, boxes_mm):
    """Traits of boxes: left, bottom, right, top in millimetres."""
    picture = picture_of(canvas)
    left, low, right, top = np.array(boxes_mm, dtype=float).T
    boxes = np.column_stack([left, canvas.height_mm - top, right, canvas.height_mm - low]) / MM
    return TraitFinder(picture, find_edges(picture), wall_likeness(picture)).look(boxes)


def test_above_an_opening_lies_wall_and_above_the_pier_beside_it_what_the_pier_is_of():
    canvas, top = with_hole("flat", 0.0)
    canvas.polygon(outline(4000, 5000, 1000, top, top, "flat"), (0.15, 0.17, 0.2))
    traits = traits_of(canvas, [(2000, 1000, 3000, top), (3000, 1000, 4000, top)])
    assert traits.above[0] == pytest.approx(1.0)
    assert traits.apart_above[0] > 20.0
    assert traits.apart_above[1] < 2.0
    assert traits.darker[0] > 20.0 > traits.darker[1]


def test_a_pale_frame_in_a_pale_wall_is_a_faint_edge_all_round():
    canvas = wall()
    canvas.polygon(outline(2000, 3000, 1000, 2200, 2200, "flat"), (0.74, 0.7, 0.64))
    traits = traits_of(canvas, [(2000, 1000, 3000, 2200), (4000, 1000, 5000, 2200)])
    assert traits.faint[0] > 0.9
    assert traits.faint[1] < 0.5


def test_openings_glazed_alike_have_one_pattern_and_others_another():
    canvas = wall()
    for left in (500.0, 2200.0, 4000.0):
        canvas.polygon(outline(left, left + 1000, 1000, 2500, 2500, "flat"), (0.15, 0.17, 0.2))
    for left in (500.0, 2200.0):
        canvas.rectangle((left + 450, 1000, left + 550, 2500), (0.9, 0.9, 0.9))
    pattern = traits_of(canvas, [(x, 1000, x + 1000, 2500) for x in (500, 2200, 4000)]).pattern
    assert pattern[0] @ pattern[1] > 0.95
    assert pattern[0] @ pattern[2] < 0.8


def test_an_opening_gets_the_head_that_most_of_its_equals_have():
    picture = picture_of(wall())
    row = [Found(x, x + 100.0, 300.0, 120.0, 100.0, "segmental", 0.9) for x in (50.0, 200.0)]
    odd = Found(350.0, 450.0, 301.0, 101.0, 101.0, "flat", 0.9)
    other = Found(500.0, 560.0, 300.0, 100.0, 100.0, "flat", 0.9)
    heads = with_heads_of_equals(picture, [*row, odd, other])
    assert [one.head for one in heads] == ["segmental", "segmental", "segmental", "flat"]
    assert heads[2].springing == pytest.approx(121.0)
    assert heads[3] == other


def test_a_faint_opening_is_offered_where_rows_and_columns_of_clear_ones_cross():
    canvas = wall(width_mm=6500.0, height_mm=6500.0)
    clear, faint = (0.15, 0.17, 0.2), (0.64, 0.605, 0.55)
    boxes = [(x, y) for x in (600.0, 2700.0, 4800.0) for y in (800.0, 3800.0)]
    for x, y in boxes:
        tone = faint if (x, y) == (4800.0, 3800.0) else clear
        canvas.polygon(outline(x, x + 1000, y, y + 1500, y + 1500, "flat"), tone)
    found = find_in_picture(picture_of(canvas))
    offered = {(round(one.left * MM, -2), round(6500.0 - one.sill * MM, -2)) for one in found}
    assert (4800.0, 3800.0) in offered


def test_the_wall_in_shadow_is_wall_and_the_hole_is_not():
    canvas, _ = with_hole("flat", 0.0)
    canvas.darken(np.array([(3500, -10), (6100, -10), (6100, 4100), (3500, 4100)]), 0.55)
    like = wall_likeness(picture_of(canvas))
    height = like.shape[0]
    assert like[height - 150, 100] == pytest.approx(1.0)
    assert like[height - 150, 500] == pytest.approx(1.0)
    assert like[height - 150, 250] == pytest.approx(0.0)


def test_another_material_is_wall_where_it_is_wider_than_any_opening():
    canvas = wall()
    for left, right, tone in ((-50, 6100, (0.45, 0.25, 0.2)), (2000, 3000, (0.15, 0.17, 0.2))):
        top = 1500 if right > 6000 else 1200
        canvas.rectangle((left, -50, right, top), tone, grain=0.02, rng=np.random.default_rng(4))
    like = wall_likeness(picture_of(canvas))
    height = like.shape[0]
    assert like[height - 60, 100] == pytest.approx(1.0)
    assert like[height - 60, 250] == pytest.approx(0.0)


def looked_at(canvas, boxes_mm):
    """What lies around boxes: left, bottom, right, top in millimetres."""
    picture = picture_of(canvas)
    like, edges = wall_likeness(picture), find_edges(picture)
    left, low, right, top = np.array(boxes_mm, dtype=float).T
    high = canvas.height_mm
    boxes = np.column_stack([left, high - top, right, high - low]) / MM
    return Surroundings(picture, edges, like).look(boxes)


def test_edges_of_an_opening_end_at_its_corners_and_those_of_a_strip_run_on():
    canvas, top = with_hole("flat", 0.0)
    canvas.rectangle((4500, -50, 5300, 4050), (0.3, 0.3, 0.3))
    around = looked_at(canvas, [(2000, 1000, 3000, top), (4500, 1000, 5300, top)])
    assert around.runs_on[0] < 0.1
    assert around.runs_on[1] > 0.9


def test_an_opening_is_told_on_the_spot_where_the_wall_beside_it_is_of_no_known_tone():
    canvas, top = with_hole("flat", 0.0)
    # a painted panel round the hole, too small to be taken for wall
    panel = wall(tone=(0.3, 0.45, 0.6), seed=2)
    rows, columns = slice(130, 350), slice(110, 390)
    hole = (slice(400 - round(top / MM), 300), slice(200, 300))
    within = canvas.pixels[hole].copy()
    canvas.pixels[rows, columns] = panel.pixels[rows, columns]
    canvas.pixels[hole] = within
    around = looked_at(canvas, [(2000, 1000, 3000, top)])
    assert around.beside[0] < 0.3
    assert around.unalike[0] < 3.0
    assert around.apart[0] > 15.0


def test_a_long_way_off_the_springing_is_still_found():
    canvas, _ = with_hole("semicircular", 500.0)
    picture = picture_of(canvas)
    springing = (canvas.height_mm - 2200.0) / MM
    boxes = np.array([[200.0, springing + d, 300.0, 300.0] for d in (-15.0, 0.0, 15.0)])
    heads = find_heads(picture, FineEdges(picture), boxes)
    # looked for in steps of three pixels, then finely within one and a half
    assert_allclose(heads.springing, springing, atol=4.0)


def place(left, low, wide=1000.0, high=1500.0, head="flat"):
    return Place(left, low, left + wide, low + high, head)


def test_like_openings_at_one_level_make_a_row_and_others_do_not():
    places = [
        place(0, 900),
        place(3000, 940),
        place(6000, 900, wide=1300),
        place(9000, 920, head="segmental"),
        place(0, 4000),
    ]
    assert group_rows(places) == [[0, 1], [2], [3], [4]]


def test_openings_above_each_other_make_a_column_from_the_bottom_up():
    places = [place(0, 4000), place(100, 900), place(3000, 900)]
    assert group_columns(places) == [[1, 0], [2]]
