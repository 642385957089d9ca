"""Towers unrolled: lengths, arcs, openings, formers, strips."""

import itertools
import math

import pytest
import shapely
from numpy.testing import assert_allclose

from measure.parts.build_order import build_order_text
from measure.parts.materials import find_material
from measure.parts.part import polygon_of
from measure.parts.tower_plan import former_heights
from shared.card_wishes import Band, CardWishes, FaceWish, OwnSheet, TowerWish
from shared.errors import FieldError
from tests.support.card_walls import make_front, make_tower, plan_of, window


def tower_wishes(**tower):
    more = {k: tower.pop(k) for k in list(tower) if k not in TowerWish.model_fields}
    return CardWishes(by_face={"tower": FaceWish(tower=TowerWish(**tower))}, **more)


def by_role(plan, role):
    return next(p for p in plan.parts if p.role == role and p.face == "tower")


def width(part):
    return part.line(part.mark).box.width_mm


def test_wrap_of_one_layer_agrees_with_the_handbook_lesson():
    """A public sheet-metal lesson: outer diameter 650, thickness 10 gives 2010.62 (T13)."""
    plate = OwnSheet(key="plate", name="plate", stack_mm=10.0, sheets=1)
    tower = make_tower(radius=325.0, height=900.0, openings=())
    wishes = tower_wishes(
        arc="full", own_sheets=(plate,), carcass="plate", overlay=None, skin=None, paper="A0"
    )
    plan = plan_of(tower, wishes=wishes, scale=1.0)
    assert_allclose(width(by_role(plan, "wrap")), 2010.62, atol=0.005)


def test_each_layer_has_its_own_length():
    """r 20: skin rolled at 19.94, overlay at 19.75, carcass at 19.395."""
    plan = plan_of(make_tower(), wishes=tower_wishes(arc="full"))
    for role, middle in (("skin", 0.06), ("overlay", 0.25), ("wrap", 0.605)):
        assert_allclose(width(by_role(plan, role)), 2 * math.pi * (20.0 - middle))


def test_wrap_axis_lies_along_the_grain():
    plan = plan_of(make_tower(), wishes=tower_wishes(arc="full"))
    assert {by_role(plan, role).grain for role in ("wrap", "overlay", "skin")} == {"up"}


def test_scores_are_on_the_face_and_spare_the_openings():
    plan = plan_of(make_tower(), wishes=tower_wishes(arc="full"))
    wrap = by_role(plan, "wrap")
    scores = [line for line in wrap.lines if line.id and ".score-" in line.id]
    assert {line.use for line in scores} == {"score-face"}
    hole = polygon_of(wrap.line(f"{wrap.mark}.t1"))
    for line in scores:
        run = shapely.LineString([line.start_mm, line.segments[0].to_mm])
        assert run.intersection(hole.buffer(-1e-6)).length == 0
    places = sorted({round(line.start_mm[0], 6) for line in scores})
    gaps = [b - a for a, b in itertools.pairwise(places)]
    assert_allclose(gaps, gaps[0], atol=1e-5)
    assert len(places) == plan.towers["tower"].scores.count - 1


def test_what_shows_begins_behind_the_wall_and_ends_at_the_back():
    """Axis 5 behind the face, r 20: the wall's back (0.83) is met at acos(4.17 / 20)."""
    plan = plan_of(make_front(), make_tower())
    tower = plan.towers["tower"]
    hidden = math.degrees(math.acos((5.0 - 0.83) / 20.0)) + math.degrees(3.0 / 20.0)
    assert_allclose((tower.from_deg, tower.to_deg), (-hidden, 180.0))
    assert not tower.is_full


def test_tower_by_itself_goes_all_the_way_round_with_a_backed_seam():
    plan = plan_of(make_tower())
    assert plan.towers["tower"].is_full
    backing = [p for p in plan.parts if p.role == "backing"]
    inside = [b - a - 1.0 for a, b in itertools.pairwise(plan.towers["tower"].former_levels_mm)]
    lengths = sorted(width(p) for p in backing for _ in range(p.count))
    assert_allclose(lengths, sorted(round(x - 0.5, 1) for x in inside))


def test_opening_is_compressed_onto_the_rolled_layer():
    plan = plan_of(make_tower(), wishes=tower_wishes(arc="full"))
    skin, wrap = by_role(plan, "skin"), by_role(plan, "wrap")
    assert_allclose(skin.line(f"{skin.mark}.t1").box.width_mm, 6.0 * 19.94 / 20)
    assert_allclose(wrap.line(f"{wrap.mark}.t1").box.width_mm, (6.0 + 0.268) * 19.395 / 20)
    # centred on the front, half a turn from the seam
    assert_allclose(sum(wrap.line(f"{wrap.mark}.t1").box.centre_mm[:1]), math.pi * 19.395)


def test_large_opening_springs_and_gets_formers_above_and_below():
    """A large opening cut before rolling springs outwards (common practice, no source)."""
    big = make_tower(openings=(window("gate", -600.0, 2000.0, 1200.0, 2500.0),))
    plan = plan_of(big)
    assert any("springs outwards" in c for c in plan.cautions)
    levels = plan.towers["tower"].former_levels_mm
    assert any(20.0 - 3.0 <= level <= 20.0 for level in levels)
    assert any(45.0 <= level <= 45.0 + 2.0 for level in levels)
    assert not any("springs" in c for c in plan_of(make_tower()).cautions)


def test_formers_cross_no_opening_and_stand_at_both_ends():
    openings = [window("a", 0, 12, 5, 20), window("b", 0, 45, 5, 8)]
    levels = former_heights(80.0, 1.0, openings)
    assert (levels[0], levels[-1]) == (0.0, 79.0)
    for level in levels[1:-1]:
        for o in openings:
            assert level + 1.0 <= o.sill_mm or level >= o.head_mm


def test_former_is_a_disc_less_layers_and_slip_with_a_keyhole():
    """40 across, 0.83 of wall each side, 0.1 of slip: 38.24."""
    plan = plan_of(make_tower(), wishes=tower_wishes(arc="full"))
    former = by_role(plan, "former")
    assert_allclose(width(former), 40.0 - 2 * 0.83 - 0.1, atol=1e-3)
    assert f"{former.mark}.hole-1" in {line.id for line in former.lines}
    assert former.material == find_material("greyboard-1")
    assert former.count == len(plan.towers["tower"].former_levels_mm)


def test_former_can_be_a_ring():
    plan = plan_of(make_tower(), wishes=tower_wishes(arc="full", former="ring"))
    former = by_role(plan, "former")
    hole = polygon_of(former.line(f"{former.mark}.hole-1"))
    assert "ring" in former.name
    assert_allclose(hole.bounds[2] - hole.bounds[0], 2 * (19.12 - 6.0), atol=1e-2)


def test_former_of_an_arc_is_cut_off_where_the_arc_ends():
    part = plan_of(make_tower(), wishes=tower_wishes(arc=(-60.0, 60.0)))
    shape = polygon_of(by_role(part, "former").line(by_role(part, "former").mark))
    r = 19.12
    segment = r**2 / 2 * (2 * math.pi / 3 - math.sin(2 * math.pi / 3))
    # the round is made of straight parts a thousandth of a millimetre inside it
    assert_allclose(shape.area, segment, rtol=5e-4)
    # the axis lies behind the chord: no keyhole, and the mark lies on what is left
    former = by_role(part, "former")
    assert [line.id for line in former.lines if line.use == "cut"] == [former.mark]
    assert shape.contains(former.words[0].area)
    text = build_order_text(part)
    assert f"Cut the formers {former.mark}, their marks to the front" in text


def test_slender_tower_is_rolled_and_not_scored_in_the_build_order_either():
    plan = plan_of(make_tower(radius=800.0, openings=()), wishes=tower_wishes(arc="full"))
    wrap = by_role(plan, "wrap")
    assert not [line for line in wrap.lines if line.use.startswith("score")]
    text = build_order_text(plan)
    assert f"do not score {wrap.mark}; roll it over a dowel" in text
    assert "along every line" not in text


def test_no_radius_left_for_a_former_is_refused():
    wishes = tower_wishes(carcass="greyboard-2", arc="full")
    with pytest.raises(FieldError, match=r"Tower tower: a tower of 4\.0 mm with 2\.38 mm of card"):
        plan_of(make_tower(radius=200.0, openings=()), wishes=wishes)


def test_opening_outside_the_arc_is_refused():
    with pytest.raises(FieldError, match="Opening t1 of tower tower lies at"):
        plan_of(make_tower(), wishes=tower_wishes(arc=(20.0, 200.0)))


@pytest.mark.parametrize("arc", [(0.0, 1.0), (0.0, -90.0), (-300.0, 300.0)])
def test_impossible_arc_is_refused(arc):
    with pytest.raises(FieldError, match="arc of tower tower"):
        plan_of(make_tower(openings=()), wishes=tower_wishes(arc=arc))


def test_courses_of_strips_take_the_place_of_the_overlay():
    """Stone strips 3 mm high can be cut and laid by hand (common practice, no source)."""
    plan = plan_of(make_tower(), wishes=tower_wishes(arc="full", strip_course_mm=300.0))
    strips = by_role(plan, "course")
    assert strips.count == round(80.0 / 3.0)
    # rolled outside the carcass where the overlay's middle would be
    assert_allclose(width(strips), 2 * math.pi * (20.0 - 0.25))
    assert not [p for p in plan.parts if p.role == "overlay" and p.face == "tower"]


def test_courses_too_low_for_strips_are_printed_flat():
    plan = plan_of(make_tower(), wishes=tower_wishes(strip_course_mm=50.0))
    assert not [p for p in plan.parts if p.role == "course"]
    assert any("print the courses flat" in c for c in plan.cautions)


def test_tower_that_names_no_wall_that_is_cut_is_refused():
    with pytest.raises(FieldError, match="meet the wall 'attic'"):
        plan_of(make_front(), make_tower(), wishes=tower_wishes(meets="attic"))


def test_tower_on_the_left_is_the_mirror_image_of_one_on_the_right():
    right = plan_of(make_front(), make_tower()).towers["tower"]
    left = plan_of(make_front(), make_tower(), wishes=tower_wishes(side="left")).towers["tower"]
    assert_allclose((left.from_deg, left.to_deg), (-right.to_deg, -right.from_deg))


def test_band_round_a_tower_is_rolled_outside_it():
    """48 out at 1:100: 0.45 of card on 0.03 of glue, rolled at 20 + 0.03 + 0.225."""
    band = Band(label="string course", foot_mm=2500.0, head_mm=2800.0, out_mm=48.0)
    wishes = CardWishes(
        by_face={"tower": FaceWish(bands=(band,), tower=TowerWish(arc="full"))}, overlay=None
    )
    (strip,) = [p for p in plan_of(make_tower(), wishes=wishes).parts if p.role == "band"]
    assert_allclose(width(strip), 2 * math.pi * (20.0 + 0.03 + 0.45 / 2))
    assert_allclose(strip.line(strip.mark).box.height_mm, 3.0)
    assert strip.grain == "along"


def test_tower_standing_almost_clear_of_its_wall_goes_all_the_way_round():
    plan = plan_of(make_front(), make_tower(back=-1950.0))
    assert plan.towers["tower"].is_full
