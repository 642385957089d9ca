"""Parts larger than the sheet: cut in pieces that make up the whole."""

import pytest
import shapely
from numpy.testing import assert_allclose

from measure.parts.joints import fit_to_sheet
from measure.parts.part import polygon_of
from shared.card_wishes import CardWishes
from shared.errors import FieldError
from tests.support.card_walls import make_front, plan_of, window

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
    assert len(strips) == 2
    assert_allclose([p.line(p.mark).box.height_mm for p in strips], [50.0, 50.0])


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
