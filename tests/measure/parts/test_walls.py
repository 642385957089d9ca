"""Wall layers as parts: ends, openings, piers, tabs, skins and folds."""

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.parts.face_shape import PlanLine
from measure.parts.part import polygon_of
from measure.parts.shell import make_shell
from measure.parts.walls import cut_openings
from shared.card_wishes import CardWishes, FaceWish, OpeningWish
from shared.errors import FieldError
from tests.support.card_walls import (
    SCALE,
    make_front,
    make_side,
    make_tower,
    plan_of,
    shell_of,
    window,
)

# skin 0.12, overlay 0.2, carcass 0.45, glue 0.03 between
CARCASS_OUTER, CARCASS_INNER = 0.38, 0.83


def by_role(plan, role, face):
    return next(p for p in plan.parts if p.role == role and p.face == face)


def size_of(part):
    box = part.line(part.mark).box
    return box.width_mm, box.height_mm


def test_free_wall_is_cut_at_its_own_size():
    """6000 x 5000 at 1:100 is 60 x 50; holes of 9 x 15 larger by strip and glue all round."""
    plan = plan_of(make_front())
    carcass = by_role(plan, "carcass", "front")
    assert_allclose(size_of(carcass), (60.0, 50.0))
    hole = carcass.line("A1.w1").box
    assert_allclose((hole.width_mm, hole.height_mm), (9 + 2 * 0.134, 15 + 2 * 0.134))
    assert_allclose(hole.left_mm, 10.0 - 0.134)
    skin = by_role(plan, "skin", "front")
    assert_allclose(skin.line(f"{skin.mark}.w1").box.width_mm, 9.0)


def test_butt_corner_shortens_one_wall_by_the_card_of_the_other():
    """At 90 degrees the front runs to the side's overlay, the side stops at the front's back."""
    plan = plan_of(make_front(), make_side(90.0), wishes=CardWishes(corner="butt"))
    assert_allclose(size_of(by_role(plan, "carcass", "front"))[0], 60.0 - CARCASS_OUTER)
    assert_allclose(size_of(by_role(plan, "carcass", "side"))[0], 40.0 - CARCASS_INNER)
    assert by_role(plan, "carcass", "side").note == ""


def test_mitred_corner_keeps_the_outside_and_is_bevelled_half_the_turn():
    plan = plan_of(make_front(), make_side(90.0), wishes=CardWishes(corner="mitred"))
    carcass = by_role(plan, "carcass", "front")
    assert_allclose(size_of(carcass)[0], 60.0 - CARCASS_OUTER)
    assert_allclose(carcass.line("A1.bevel-right").box.left_mm, 60.0 - CARCASS_INNER)
    assert "bevel the right end by 45°" in carcass.note


@settings(max_examples=20, deadline=None)
@given(st.one_of(st.floats(20, 120), st.floats(-120, -20)), st.sampled_from(["butt", "mitred"]))
def test_every_corner_closes_at_any_angle(turn, kind):
    from measure.parts.assembled import seams_of

    plan = plan_of(make_front(), make_side(turn), wishes=CardWishes(corner=kind))
    seams = seams_of(plan)
    assert len(seams) == 4
    assert all(abs(seam.gap_mm) < 0.01 for seam in seams)


def test_wrapped_overlay_is_one_piece_with_a_score_on_the_face():
    plan = plan_of(make_front(), make_side(90.0))
    (overlay,) = [p for p in plan.parts if p.role == "overlay"]
    assert overlay.mark == "AB2"
    # both walls to the fold at the middle of the overlay, 0.25 deep
    assert_allclose(size_of(overlay)[0], 60.0 + 40.0 - 2 * 0.25)
    fold = overlay.line("AB2.fold-front")
    assert fold.use == "score-face"
    assert_allclose(fold.box.left_mm, 60.0 - 0.25)


def test_corner_that_stands_in_is_scored_on_the_back():
    plan = plan_of(make_front(), make_side(-60.0))
    (overlay,) = [p for p in plan.parts if p.role == "overlay"]
    assert overlay.line("AB2.fold-front").use == "score-back"
    assert size_of(overlay)[0] > 100.0


def test_wrapped_overlay_stays_one_piece_where_its_walls_share_an_edge_but_for_the_last_figures():
    """A billionth of a millimetre, as sums of measured sizes leave it, is no place to cut."""
    side = make_side(-60.0)
    outline = ((1e-9, 0.0), *side.outline_mm[1:])
    plan = plan_of(make_front(), replace(side, outline_mm=outline))
    (overlay,) = [p for p in plan.parts if p.role == "overlay"]
    around = [line for line in overlay.lines if line.id in ("AB2", "AB2.2")]
    assert [line.use for line in around] == ["cut"]


def test_corner_kind_can_be_another_at_one_face():
    wishes = CardWishes(corner="wrapped", by_face={"side": FaceWish(corner="butt")})
    plan = plan_of(make_front(), make_side(90.0), wishes=wishes)
    assert len([p for p in plan.parts if p.role == "overlay"]) == 2


@pytest.mark.parametrize(
    ("turn", "face", "use"), [(90.0, "side", "score-face"), (-60.0, "front", "score-back")]
)
def test_tabs_come_on_request_at_the_wall_they_fold_from(turn, face, use):
    wishes = CardWishes(corner="butt", tabs=True)
    plan = plan_of(make_front(), make_side(turn), wishes=wishes)
    other = "front" if face == "side" else "side"
    tabbed, plain = by_role(plan, "carcass", face), by_role(plan, "carcass", other)
    folds = [line for line in tabbed.lines if line.id and ".tab-" in line.id]
    assert [line.use for line in folds] == [use]
    assert any(line.use == "glue" for line in tabbed.lines)
    assert not any(line.use == "glue" for line in plain.lines)
    untabbed = by_role(plan_of(make_front(), make_side(turn), wishes=CardWishes(corner="butt")),
                       "carcass", face)  # fmt: skip
    extra = (
        polygon_of(tabbed.line(tabbed.mark)).area - polygon_of(untabbed.line(untabbed.mark)).area
    )
    # a trapezoid 5 wide on the wall's 50, its sides sloping 3 mm in each
    assert_allclose(extra, 5.0 * (50.0 - 3.0), atol=30.0)


@pytest.mark.parametrize("corner", ["butt", "mitred", "wrapped"])
@pytest.mark.parametrize(("turn", "face"), [(90.0, "side"), (60.0, "side"), (-75.0, "front")])
def test_tab_folds_where_its_middle_meets_that_of_its_wall(turn, face, corner):
    """It lies on the other carcass, 0.83 deep, on glue: its middle is 0.83 + 0.03 + 0.225 deep.

    The middle of its own wall is 0.38 + 0.225 deep.
    """
    wishes = CardWishes(corner=corner, tabs=True)
    plan = plan_of(make_front(), make_side(turn), wishes=wishes)
    part = by_role(plan, "carcass", face)
    (fold,) = [line for line in part.lines if line.id and ".tab-" in line.id]
    wall = plan.shell.face(face)
    other = plan.shell.face("front" if face == "side" else "side")
    _, behind = other.plan.of(wall.plan.at(fold.start_mm[0], 0.38 + 0.225))
    assert_allclose(behind, 0.83 + 0.03 + 0.225, atol=1e-9)
    # nothing of the carcass but the tab goes past the fold
    cut = polygon_of(part.line(part.mark))
    at, sign = fold.start_mm[0], -1.0 if face == "side" else 1.0
    past = [v for u, v in cut.exterior.coords[:-1] if sign * (u - at) > 1e-6]
    assert len(past) == 2
    assert all(0.0 < v < 50.0 for v in past)


@pytest.mark.parametrize(("jamb", "width"), [(5000.0, 5.0), (5700.0, 3.0 - 0.268 - 0.605)])
def test_tab_is_no_wider_than_the_wall_beside_the_nearest_opening(jamb, width):
    """It begins at the middle of its own wall, 0.38 + 0.225 in; the lining takes 0.134 twice."""
    near = window("w1", jamb - 900.0, 1000.0)
    plan = plan_of(make_front(openings=(near,)), make_side(90.0), wishes=CardWishes(tabs=True))
    part = by_role(plan, "carcass", "side")
    (glued,) = [line for line in part.lines if line.use == "glue"]
    assert_allclose(glued.box.width_mm, width)


@pytest.mark.parametrize(
    ("jamb", "turn", "said"), [(5800.0, 90.0, "no tab has room"), (5000.0, 10.0, "too nearly in")]
)
def test_corner_without_room_for_a_tab_gets_none_and_says_so(jamb, turn, said):
    near = window("w1", jamb - 900.0, 1000.0)
    plan = plan_of(make_front(openings=(near,)), make_side(turn), wishes=CardWishes(tabs=True))
    assert not any(line.use == "glue" for part in plan.parts for line in part.lines)
    assert any(said in caution for caution in plan.cautions)


def test_tab_is_no_higher_than_the_wall_that_it_is_glued_to():
    low = replace(make_front(), outline_mm=((0, 0), (6000, 0), (6000, 3000), (0, 3000)))
    plan = plan_of(replace(low, openings=()), make_side(90.0), wishes=CardWishes(tabs=True))
    (fold,) = [
        line for line in by_role(plan, "carcass", "side").lines if line.id and ".tab-" in line.id
    ]
    assert_allclose((fold.box.bottom_mm, fold.box.top_mm), (0.0, 30.0))


def test_bevel_of_the_other_end_stays_where_one_end_has_a_tab():
    """The side ends in a tab at its left; at its right a third wall is hinged at 60 degrees."""
    third = replace(
        make_side(0.0),
        id="third",
        plan=PlanLine((6000.0, -4000.0), -math.radians(150.0)),
        hinge="side",
        openings=(),
    )
    plan = plan_of(make_front(), make_side(90.0), third, wishes=CardWishes(tabs=True))
    side = by_role(plan, "carcass", "side")
    assert any(line.id and "bevel-right" in line.id for line in side.lines)
    assert any(line.id and "tab-left" in line.id for line in side.lines)


def test_openings_that_leave_no_pier_are_named():
    close = (window("w1", 1000, 1000), window("w2", 1960, 1000))
    (said,) = [c for c in plan_of(make_front(openings=close)).cautions if "Between" in c]
    assert "w1 and w2" in said
    # 0.6 between the openings, less strip and glue in both holes
    assert "0.33 mm of card" in said


def test_door_a_hair_above_the_foot_is_cut_down_to_it():
    face = make_front(openings=(window("door", 1000, 60, 1000, 2000),))
    (door,) = cut_openings(shell_of(face), shell_of(face).face("front"))
    assert door.sill_mm == 0.0
    assert_allclose(door.head_mm, 20.6)
    carcass = by_role(plan_of(face), "carcass", "front")
    assert "A1.door" not in {line.id for line in carcass.lines}


def test_blind_opening_is_not_cut():
    wishes = CardWishes(by_face={"front": FaceWish(openings={"w1": OpeningWish(blind=True)})})
    carcass = by_role(plan_of(make_front(), wishes=wishes), "carcass", "front")
    assert "A1.w1" not in {line.id for line in carcass.lines}
    assert "A1.w2" in {line.id for line in carcass.lines}


def test_skin_is_printed_past_its_edges_and_trimmed_to_them():
    wishes = CardWishes(bleed_mm=2.0)
    skin = by_role(plan_of(make_front(), wishes=wishes), "skin", "front")
    assert skin.line(skin.mark).use == "trim"
    assert_allclose(size_of(skin), (60.0, 50.0))
    bleed = skin.line(f"{skin.mark}.bleed")
    assert (bleed.use, bleed.box.width_mm) == ("cut", pytest.approx(64.0))
    plain = by_role(plan_of(make_front(), wishes=CardWishes(bleed_mm=0.0)), "skin", "front")
    assert plain.line(plain.mark).use == "cut"


def test_wall_ends_where_its_tower_begins():
    """Face at the tower's circle: with r 20 and the axis 5 behind, the back is 0.2 mm short."""
    plan = plan_of(make_front(), make_tower())
    carcass = by_role(plan, "carcass", "front")
    half = [math.sqrt(20.0**2 - (5.0 - d) ** 2) for d in (0.0, CARCASS_OUTER, CARCASS_INNER)]
    assert_allclose(size_of(carcass)[0], 60.0 + half[0] - half[1], atol=1e-6)
    assert_allclose(carcass.line("A1.bevel-right").box.left_mm, 60.0 + half[0] - half[2])


def test_opening_ids_lead_from_part_to_elevation():
    carcass = by_role(plan_of(make_front()), "carcass", "front")
    assert carcass.openings == ("w1", "w2")


def test_wishes_for_a_face_that_is_not_cut_are_refused():
    with pytest.raises(FieldError, match="wishes for the face 'attic'"):
        shell_of(make_front(), wishes=CardWishes(by_face={"attic": FaceWish()}))


def test_walls_hinged_far_from_an_end_get_no_corner_but_a_caution():
    from dataclasses import replace

    from measure.parts.face_shape import PlanLine

    side = replace(make_side(90.0), plan=PlanLine((3000.0, 0.0), -math.pi / 2))
    shell = make_shell("x", (make_front(), side), SCALE, CardWishes())
    assert "no corner is cut there" in shell.cautions[0]


def test_carcass_area_is_wall_less_openings():
    plan = plan_of(make_front())
    carcass = by_role(plan, "carcass", "front")
    shapes = [polygon_of(line) for line in carcass.lines if line.closed]
    solid = shapes[0].difference(shapely.union_all(shapes[1:])).area
    assert_allclose(solid, 60 * 50 - 2 * (9 + 0.268) * (15 + 0.268))


def test_wall_that_is_all_opening_is_refused():
    face = make_front(openings=(window("hole", -100.0, -100.0, 7000.0, 6000.0),))
    with pytest.raises(FieldError, match="Nothing is left of part A1"):
        plan_of(face)


def test_corner_folded_back_on_itself_is_refused():
    with pytest.raises(FieldError, match="turn by 170° at their corner"):
        shell_of(make_front(), make_side(170.0))


def test_outline_that_crosses_itself_is_refused():
    bow = ((0.0, 0.0), (6000.0, 0.0), (0.0, 5000.0), (6000.0, 5000.0))
    with pytest.raises(FieldError, match="outline of face front crosses itself"):
        plan_of(replace(make_front(openings=()), outline_mm=bow))
