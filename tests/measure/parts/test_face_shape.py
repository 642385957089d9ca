"""Outlines made square, measured faces, and faces taken from a drawing."""

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.delivery import elevation_of_face
from measure.elevation.drawing import ELEVATION_LAYERS, Circle, Drawing, Polyline
from measure.elevation.openings import opening_path
from measure.parts.card_plan import plan_survey
from measure.parts.face_shape import (
    FaceShape,
    PlanLine,
    ended_at_hinge,
    squared_outline,
    without_nested,
)
from measure.parts.measured_faces import face_shape, faces_to_cut, shape_from_drawing
from shared.card_wishes import CardWishes, Extent, FaceWish, OpeningWish
from shared.errors import FieldError
from tests.support.card_walls import make_front, rectangle, window
from tests.support.maltings_card import make_maltings_wishes, maltings_job

GABLE = [(0, 0), (100, 0), (100, 60), (50, 100), (0, 60)]


@given(st.lists(st.tuples(st.floats(-1, 1), st.floats(-1, 1)), min_size=5, max_size=5))
def test_shaken_outline_is_made_square_again_and_stays_near(shakes):
    shaken = [(u + du, v + dv) for (u, v), (du, dv) in zip(GABLE, shakes, strict=True)]
    squared = squared_outline(shaken)
    assert squared[0][1] == squared[1][1]
    assert squared[1][0] == squared[2][0]
    assert squared[4][0] == squared[0][0]
    assert squared[3] == shaken[3]
    for before, after in zip(shaken, squared, strict=True):
        assert math.dist(before, after) <= 2 * math.sqrt(2) + 1e-9


def test_outline_given_clockwise_is_turned_round():
    squared = squared_outline(GABLE[::-1])
    assert shapely.Polygon(squared).exterior.is_ccw


def test_slopes_stay_slopes():
    roof = [(0, 0), (100, 0), (50, 30)]
    assert squared_outline(roof) == tuple((float(u), float(v)) for u, v in roof)


def test_plan_point_behind_the_main_wall_lies_away_from_the_viewer():
    assert PlanLine((10.0, 5.0), 0.0).at(3.0, 2.0) == (13.0, 3.0)


def test_hinged_wall_ends_on_its_hinge_and_says_so_when_far_off():
    near = FaceShape("a", "A", rectangle(-500, 0, -20, 300), (), PlanLine((0, 0), 0.0), hinge="b")
    assert ended_at_hinge(near).box.right_mm == 0.0
    assert ended_at_hinge(near).cautions == ()
    far = replace(near, outline_mm=rectangle(-500, 0, -200, 300))
    assert "200 mm from the line it is hinged on" in ended_at_hinge(far).cautions[0]


def test_light_within_a_window_is_not_cut_on_its_own():
    face = make_front(openings=(window("light", 1100, 1100, 300, 300), window("w1", 1000, 1000)))
    kept = without_nested(face)
    assert [o.id for o in kept.openings] == ["w1"]
    assert "Opening light lies in opening w1" in kept.cautions[0]


def measured(face, **changes):
    job = maltings_job()
    return face_shape(job, job.measure(), face, make_maltings_wishes(**changes))


def test_demo_front_has_true_size_and_upright_edges():
    """The maltings are 12 900 wide and 8382 to the gablet's apex course (fixtures' truth)."""
    front = measured("front")
    assert_allclose(front.box.width_mm, 12900, rtol=0.005)
    assert_allclose(front.box.bottom_mm, front.datum_mm - 16 * 76.2)
    corners = [u for u, _ in front.outline_mm]
    assert corners.count(min(corners)) == 2
    assert corners.count(max(corners)) == 2


def test_reveals_come_from_the_nearest_set_back_that_was_measured():
    front = {o.id: o for o in measured("front").openings}
    assert front["cart"].reveal_from == "set-back r2"
    assert front["g1"].reveal_from == "set-back r1 of another opening"
    assert front["f3-light"].reveal_from == "its own set-back"
    assert front["f3-light"].reveal_mm == 100.0
    assert {o.reveal_from for o in measured("wing").openings} == {"taken, not measured"}
    assert {o.reveal_mm for o in measured("tower").openings} == {150.0}


def test_reveal_given_for_one_opening_wins():
    wishes = CardWishes(by_face={"front": FaceWish(openings={"g1": OpeningWish(reveal_mm=222.0)})})
    job = maltings_job()
    shape = face_shape(job, job.measure(), "front", wishes)
    assert {o.id: o.reveal_mm for o in shape.openings}["g1"] == 222.0


def test_face_without_an_outline_says_what_was_taken():
    job = maltings_job()
    shape = face_shape(job, job.measure(), "wing", CardWishes())
    assert "has no outline" in shape.cautions[0]
    assert shape.box.right_mm == 0.0


def test_extent_turned_inside_out_is_refused():
    wishes = CardWishes(by_face={"wing": FaceWish(extent=Extent(foot_mm=100.0, head_mm=-100.0))})
    job = maltings_job()
    with pytest.raises(FieldError, match="head above its foot"):
        face_shape(job, job.measure(), "wing", wishes)


def test_walls_with_an_outline_their_wings_and_towers_are_cut_unless_told():
    survey = maltings_job().survey
    assert faces_to_cut(survey, CardWishes()) == ("front", "wing", "tower")
    assert faces_to_cut(survey, CardWishes(faces=("wing",))) == ("wing",)
    with pytest.raises(FieldError, match="no face 'attic' to cut"):
        faces_to_cut(survey, CardWishes(faces=("attic",)))


def test_drawing_made_of_a_face_is_cut_in_its_place():
    """u of a drawing starts at its left edge, v at the datum; the hinge keeps its end."""
    wall = FaceShape(
        "a", "A", rectangle(-520, 40, 0, 360), (window("w", -400, 100, 90, 150, reveal_mm=80.0),),
        PlanLine((7.0, 7.0), 0.3), datum_mm=50.0, hinge="b",
    )  # fmt: skip
    drawing = Drawing(
        "A",
        ELEVATION_LAYERS,
        (
            Polyline("outline", ((0, 0), (500, 0), (500, 300), (0, 300)), closed=True),
            opening_path(100, 60, 90, 150, "segmental", 20, id="w"),
            opening_path(300, 60, 90, 150, "pointed", 70, id="w@2"),
            opening_path(200, 60, 90, 150, "semicircular", id="s"),
            Circle("openings", (250, 270), 20, id="eye"),
        ),
    )
    shape = shape_from_drawing(drawing, wall)
    assert_allclose((shape.box.left_mm, shape.box.right_mm), (-500.0, 0.0))
    assert_allclose((shape.box.bottom_mm, shape.box.top_mm), (50.0, 350.0))
    found = {o.id: o for o in shape.openings}
    assert {k: o.head for k, o in found.items()} == {
        "w": "segmental", "w@2": "pointed", "s": "semicircular", "eye": "round",
    }  # fmt: skip
    assert_allclose((found["w"].left_mm, found["w"].sill_mm), (-400.0, 110.0))
    assert_allclose((found["w"].rise_mm, found["w@2"].rise_mm), (20.0, 70.0))
    assert found["w@2"].reveal_mm == 80.0


def test_drawn_outline_still_ends_where_the_user_wants():
    job = maltings_job()
    drawing = Drawing(
        "A",
        ELEVATION_LAYERS,
        (Polyline("outline", ((0, -600), (12800, -600), (12800, 6500), (0, 6500)), closed=True),),
    )
    wishes = CardWishes(by_face={"front": FaceWish(extent=Extent(foot_mm=-16 * 76.2))})
    plan = plan_survey(job, job.measure(), wishes, drawings={"front": drawing})
    front = plan.shell.face("front")
    assert_allclose(front.box.height_mm * 148.0, 6500 + 16 * 76.2)
    assert front.openings == ()


@pytest.mark.parametrize("name", ["front", "wing", "tower"])
def test_openings_of_a_drawing_stay_where_the_photo_shows_them(name):
    """Lining up moves an edge by up to its ±, here 22 mm; where the wall is to end moves none."""
    job = maltings_job()
    results = job.measure()
    by_face = {name: FaceWish(extent=Extent(left_mm=-6000.0))}
    wishes = CardWishes(faces=(name,), by_face=by_face)
    drawing = elevation_of_face(job, results, name, 148.0).drawing
    if name == "tower":
        wishes = wishes.model_copy(update={"by_face": {}})
    face = plan_survey(job, results, wishes, drawings={name: drawing}).shell.face(name)
    measured = [o for o in face.openings if o.id in results.faces[name].measures]
    for opening in measured:
        picked = results.faces[name].measures[opening.id]
        drawn = opening.left_mm * 148.0
        assert_allclose(drawn, picked.size("left_mm"), atol=40.0, err_msg=opening.id)
    assert len(measured) >= 4


@pytest.mark.parametrize(
    ("outline", "extent", "tops"),
    [
        (GABLE, Extent(eaves_mm=70.0), [70, 70, 100]),
        (GABLE, Extent(eaves_mm=70.0, head_mm=120.0), [70, 70, 120]),
        ([(0, 0), (100, 0), (100, 60.5), (50, 100), (0, 60)], Extent(eaves_mm=70.0), [70, 70, 100]),
        ([(0, 0), (100, 0), (100, 60), (0, 60)], Extent(eaves_mm=70.0), [70, 70]),
        ([(0, 0), (100, 0), (100, 90), (0, 60)], Extent(eaves_mm=70.0), [70, 90]),
    ],
    ids=["gable", "gable and head", "a little out of level", "flat top", "lean-to"],
)
def test_eaves_are_moved_beside_the_gable(outline, extent, tops):
    wall = replace(make_front(), outline_mm=tuple(outline), datum_mm=0.0, hinge=None, openings=())
    drawing = Drawing("A", ELEVATION_LAYERS, (Polyline("outline", tuple(outline), closed=True),))
    points = shape_from_drawing(drawing, wall, extent).outline_mm
    assert sorted(v for _, v in points if v > 1) == tops


def test_eaves_above_the_gable_are_refused():
    wall = replace(make_front(), outline_mm=tuple(GABLE), datum_mm=0.0, hinge=None, openings=())
    drawing = Drawing("A", ELEVATION_LAYERS, (Polyline("outline", tuple(GABLE), closed=True),))
    with pytest.raises(FieldError, match="below the top of its gable"):
        shape_from_drawing(drawing, wall, Extent(eaves_mm=110.0))
