"""Parts larger than the sheet: cut in pieces that make up the whole."""

import dataclasses
import datetime as dt
import itertools

import pytest
import shapely
from numpy.testing import assert_allclose

from measure.parts.build_order import build_steps
from measure.parts.cut_files import make_card_files
from measure.parts.face_shape import RoundPlan
from measure.parts.joints import fit_to_sheet, joints_of
from measure.parts.part import polygon_of
from measure.parts.pieces import pieces_of
from shared.card_wishes import CardWishes
from shared.errors import FieldError
from tests.support.card_walls import make_front, make_side, make_tower, plan_of, window

OPENINGS = tuple(window(f"w{n}", 600.0 + 1900.0 * n, 1000.0) for n in range(6))


def carcass(width=12000.0, openings=OPENINGS):
    wishes = CardWishes(skin=None, overlay=None)
    plan = plan_of(make_front(width, openings=openings), wishes=wishes)
    return plan.part("A1")


def solid(parts):
    shapes = []
    for part in parts:
        closed = [polygon_of(x) for x in part.lines if x.closed and x.use == "cut"]
        holes = [s for s in closed if any(o is not s and o.contains(s) for o in closed)]
        outer = [s for s in closed if s not in holes]
        shapes.append(shapely.union_all(outer).difference(shapely.union_all(holes)))
    return shapes


def test_part_that_fits_stays_whole():
    part = carcass()
    assert fit_to_sheet(part, 130.0, 60.0) == [part]


def test_pieces_fit_and_make_up_the_whole_without_overlap():
    part = carcass()
    made = fit_to_sheet(part, 50.0, 60.0)
    pieces = [p for p in made if "/" in p.mark]
    assert [p.mark for p in pieces] == ["A1/1", "A1/2", "A1/3"]
    shapes = solid(pieces)
    assert all(s.bounds[2] - s.bounds[0] <= 50.0 + 1e-6 for s in shapes)
    assert_allclose(shapely.union_all(shapes).area, solid([part])[0].area)
    assert_allclose(sum(s.area for s in shapes), solid([part])[0].area)


def test_joints_run_through_the_middle_of_piers():
    """Windows of 9 at 6, 25, 44 ...: piers of 10 between them, their middles at 20, 39, 58."""
    made = fit_to_sheet(carcass(), 50.0, 60.0)
    joints = sorted({round(s.bounds[2], 2) for s in solid(p for p in made if "/" in p.mark)})
    for at in joints[:-1]:
        assert min(abs(at - (20.0 + 19.0 * k)) for k in range(5)) <= 0.5


def test_each_joint_of_card_is_backed_with_a_strip():
    made = fit_to_sheet(carcass(), 50.0, 60.0)
    strips = [p for p in made if p.role == "backing"]
    assert sum(p.count for p in strips) == 2
    assert {p.line(p.mark).box.height_mm for p in strips} == {50.0}


def test_strip_stays_clear_of_openings_and_their_linings():
    """A gate from 10 to 60 wide stands across the joint; 20 of card are left above, 10 below."""
    wide = (window("gate", 1000.0, 1000.0, 5000.0, 2000.0),)
    made = fit_to_sheet(carcass(7000.0, wide), 40.0, 60.0)
    lengths = sorted(p.line(p.mark).box.height_mm for p in made if p.role == "backing")
    # the hole is larger by strip and glue, 0.134, and 0.8 more are kept clear
    assert_allclose(lengths, [10.0 - 0.134 - 0.8, 20.0 - 0.134 - 0.8], atol=0.01)


def test_strip_is_no_wider_than_its_pier():
    """Piers of 10 less 0.134 on either side and 0.8 kept clear: 8 is the widest that fits."""
    made = fit_to_sheet(carcass(), 50.0, 60.0)
    widths = {p.line(p.mark).box.width_mm for p in made if p.role == "backing"}
    assert widths == {8.0}


def test_layer_on_a_layer_has_its_joints_elsewhere_and_no_strip_between():
    plan = plan_of(make_front(12000.0, openings=OPENINGS), wishes=CardWishes())
    made = pieces_of(plan, 90.0, 60.0)
    places = {}
    for part in plan.parts:
        if part.role in ("carcass", "overlay", "skin"):
            cut = [p for p in made if p.mark.startswith(f"{part.mark}/")]
            places[part.role] = [at for _, at in joints_of(cut)]
    assert all(places.values())
    for one, other in itertools.combinations(places.values(), 2):
        assert min(abs(a - b) for a in one for b in other) >= 6.0
    backed = {p.mark.partition("j")[0] for p in made if p.role == "backing"}
    assert backed == {"A1"}


def test_strips_behind_a_wrap_stand_between_its_formers():
    plan = plan_of(make_tower(openings=()))
    tower = plan.towers["tower"]
    made = pieces_of(plan, 90.0, 100.0)
    strips = [p for p in made if p.mark.startswith("A1j")]
    levels = tower.former_levels_mm
    inside = sorted({round(b - a - 2.0, 2) for a, b in itertools.pairwise(levels)})
    assert sorted({p.line(p.mark).box.height_mm for p in strips}) == inside
    assert {p.grain for p in strips} == {"up"}


def test_no_sliver_is_left_beside_a_fold():
    """The fold at 60 - 0.1 lies where sheets of 61 would like to end."""
    plan = plan_of(make_front(openings=()), make_side(90.0), wishes=CardWishes(skin=None))
    (overlay,) = [p for p in plan.parts if p.role == "overlay"]
    fold = overlay.line(f"{overlay.mark}.fold-front").start_mm[0]
    for room in (61.0, 70.0, 90.0):
        pieces = [p for p in fit_to_sheet(overlay, room, 60.0) if "/" in p.mark]
        assert min(abs(at - fold) for _, at in joints_of(pieces)) >= 8.0 - 0.5


def test_wall_parted_by_a_tower_is_cut_in_its_gap_and_joined_nowhere():
    """14 m at 1:100 on sheets that hold 80: the gap from 60 to 79 is where it comes apart."""
    tower = dataclasses.replace(
        make_tower(1000.0, openings=()),
        plan=RoundPlan(1000.0, 400.0, "front", axis_mm=(7000.0, -400.0)),
    )
    plan = plan_of(make_front(14000.0, openings=()), tower)
    made = [p for p in pieces_of(plan, 80.0, 90.0) if p.mark.startswith("A1")]
    assert [p.mark for p in made] == ["A1/1", "A1/2"]
    assert "nothing joins them" in " ".join(build_steps(plan, made))


def test_build_order_joins_pieces_before_anything_else():
    plan = plan_of(make_front(30000.0), wishes=CardWishes(skin=None, overlay=None))
    text = make_card_files(plan, dt.date(2026, 11, 25)).files["build-order.txt"].decode()
    assert "A1 (Front, carcass) comes in pieces, A1/1 to A1/2 from the left" in text
    assert text.index("comes in pieces") < text.index("cut the carcass A1")


def test_every_piece_carries_its_mark():
    for part in fit_to_sheet(carcass(), 50.0, 60.0):
        assert part.mark in {w.text for w in part.words}


def test_opening_across_the_only_possible_joint_is_shared_by_both_pieces():
    wide = (window("gate", 1000.0, 1000.0, 5000.0, 2000.0),)
    made = fit_to_sheet(carcass(7000.0, wide), 40.0, 60.0)
    pieces = [p for p in made if "/" in p.mark]
    assert_allclose(sum(s.area for s in solid(pieces)), solid([carcass(7000.0, wide)])[0].area)


def test_skin_keeps_its_trim_lines_and_holes_in_pieces():
    plan = plan_of(make_front(12000.0, openings=OPENINGS), wishes=CardWishes(overlay=None))
    skin = next(p for p in plan.parts if p.role == "skin")
    pieces = [p for p in fit_to_sheet(skin, 70.0, 60.0) if "/" in p.mark]
    trims = [x.id.partition(".")[2] for p in pieces for x in p.lines if x.use == "trim"]
    assert sorted(t for t in trims if t.startswith("w")) == [f"w{n}" for n in range(6)]
    assert not [p for p in fit_to_sheet(skin, 70.0, 60.0) if p.role == "backing"]


def test_part_of_endless_pieces_is_refused():
    with pytest.raises(FieldError, match="more than 64 sheets"):
        fit_to_sheet(carcass(), 2.0, 2.0)
