"""Strips in openings, film with bars, sills and bands."""

import pytest
from numpy.testing import assert_allclose

from measure.parts.materials import Material
from measure.parts.part import polygon_of
from measure.parts.workshop import build_up, make_workshop
from shared.card_wishes import (
    Band,
    CardWishes,
    FaceWish,
    OpeningWish,
    OwnSheet,
    Panes,
    Sill,
)
from shared.errors import FieldError
from tests.support.card_walls import make_front, make_side, plan_of, window


def parts_of(plan, role):
    return [p for p in plan.parts if p.role == role]


def size_of(part):
    box = part.line(part.mark).box
    return box.width_mm, box.height_mm


def test_strip_is_the_true_set_back_less_skin_and_its_glue():
    """Reveal 200 at 1:100 is 2.0; skin 0.12 and glue 0.03 lie over the strip's edge."""
    jambs, foot = parts_of(plan_of(make_front()), "reveal")
    # jambs from the sill at the middle of a strip of 0.104, head across
    assert_allclose(size_of(jambs), (2 * 15.052 + 9.104, 1.85))
    assert_allclose(size_of(foot), (9.208, 1.85))


def test_windows_alike_are_one_part_with_a_count():
    jambs, foot = parts_of(plan_of(make_front()), "reveal")
    assert (jambs.count, foot.count) == (2, 2)
    assert jambs.openings == ("w1", "w2")


def test_without_skin_the_strip_has_the_whole_depth():
    plan = plan_of(make_front(), wishes=CardWishes(skin=None))
    assert_allclose(size_of(parts_of(plan, "reveal")[0])[1], 2.0)


def test_paper_thicker_than_the_reveal_is_refused_in_one_sentence():
    face = make_front(openings=(window("w1", 1000, 1000, reveal_mm=12.0),))
    with pytest.raises(FieldError, match=r"Opening w1 of face front is set back 12 mm") as caught:
        plan_of(face)
    assert "0.15 mm thick" in str(caught.value)


def test_card_thicker_than_the_reveal_says_where_the_film_goes():
    face = make_front(openings=(window("w1", 1000, 1000, reveal_mm=75.0),))
    (said,) = [c for c in plan_of(face).cautions if "deep" in c]
    assert "0.83 mm thick, more than the reveals of w1 are deep (by up to 0.08 mm)" in said
    assert "set their film into the hole" in said


def test_strip_too_narrow_to_cut_is_left_to_paint():
    face = make_front(openings=(window("w1", 1000, 1000, reveal_mm=50.0),))
    plan = plan_of(face)
    assert parts_of(plan, "reveal") == []
    assert any("colour the cut edge" in c for c in plan.cautions)
    # without a strip the hole in the card is the opening itself
    assert_allclose(plan.part("A1").line("A1.w1").box.width_mm, 9.0)


def test_film_reaches_past_its_opening_and_carries_its_bars():
    wishes = CardWishes(panes=Panes(across=3, up=4))
    (film,) = parts_of(plan_of(make_front(), wishes=wishes), "film")
    assert_allclose(size_of(film), (9.0 + 4.0, 15.0 + 4.0))
    bars = [line for line in film.lines if line.use == "mark"]
    assert len(bars) == 2 + 3
    assert film.material.key == "clear-film"


def test_wide_bars_are_drawn_with_both_edges():
    wishes = CardWishes(panes=Panes(across=2, up=1, bar_mm=60.0))
    (film,) = parts_of(plan_of(make_front(), wishes=wishes), "film")
    left, right = sorted(line.box.left_mm for line in film.lines if line.use == "mark")
    assert_allclose(right - left, 0.6)


def test_film_of_neighbours_does_not_overlap():
    close = (window("w1", 1000, 1000), window("w2", 2100, 1000))
    film = parts_of(plan_of(make_front(openings=close)), "film")[0]
    # 2 mm of wall between: each film reaches not quite half of it
    assert_allclose(size_of(film)[0], 9.0 + 2 * 0.9)


def test_doors_get_a_board_and_no_sill():
    face = make_front(openings=(window("door", 1000, 0, 1000, 2000), window("w1", 3000, 1000)))
    plan = plan_of(face, wishes=CardWishes(sill=Sill()))
    assert [p.openings for p in parts_of(plan, "board")] == [("door",)]
    assert {p.openings for p in parts_of(plan, "sill")} == {("w1",)}


def test_fill_can_be_told():
    wishes = CardWishes(by_face={"front": FaceWish(openings={"w1": OpeningWish(fill="board")})})
    plan = plan_of(make_front(), wishes=wishes)
    assert [p.openings for p in parts_of(plan, "board")] == [("w1",)]


PAPERS = tuple(Material(str(t), str(t), t, "overlay") for t in (0.1, 0.2, 0.45))


@pytest.mark.parametrize(
    ("wanted", "sheets"),
    [
        (0.13, ("0.1",)),
        (0.25, ("0.2",)),
        (0.46, ("0.45",)),
        (0.71, ("0.45", "0.2")),
        (0.02, ("0.1",)),
    ],
)
def test_projections_are_rounded_to_the_sheets_at_hand(wanted, sheets):
    """With 0.03 of glue under each layer."""
    assert tuple(m.key for m in build_up(wanted, PAPERS, 0.03).sheets) == sheets


def test_sill_is_as_long_as_the_opening_and_its_ends():
    """900 wide with 90 beyond each jamb, 120 high; 50 out is 0.5 on the model."""
    plan = plan_of(make_front(), wishes=CardWishes(sill=Sill()))
    sills = parts_of(plan, "sill")
    assert {tuple(round(x, 6) for x in size_of(p)) for p in sills} == {(10.8, 1.2)}
    assert all(p.count == 2 for p in sills)


BAND = Band(label="string course", foot_mm=3000.0, head_mm=3300.0, out_mm=48.0)


def test_string_course_runs_round_a_corner_by_what_it_stands_out():
    """0.45 card and 0.03 glue: the outside lies 0.48 out, and runs on by as much at 90 degrees."""
    wishes = CardWishes(by_face={"front": FaceWish(bands=(BAND,)), "side": FaceWish(bands=(BAND,))})
    plan = plan_of(make_front(), make_side(90.0), wishes=wishes)
    lengths = {p.face: size_of(p) for p in parts_of(plan, "band")}
    assert_allclose(lengths["front"], (60.48, 3.0))
    assert_allclose(lengths["side"], (40.48, 3.0))


def test_string_course_that_ends_at_a_corner_ends_with_the_wall():
    wishes = CardWishes(by_face={"front": FaceWish(bands=(BAND,))})
    plan = plan_of(make_front(), make_side(90.0), wishes=wishes)
    assert_allclose(size_of(parts_of(plan, "band")[0])[0], 60.0)


def test_band_is_parted_where_openings_stand_in_it():
    band = Band(label="plinth", foot_mm=0.0, head_mm=600.0, out_mm=48.0)
    face = make_front(openings=(window("door", 2000, 0, 1000, 2000),))
    plan = plan_of(face, wishes=CardWishes(by_face={"front": FaceWish(bands=(band,))}))
    assert_allclose(sorted(size_of(p)[0] for p in parts_of(plan, "band")), [20.0, 30.0])


def test_band_too_low_for_a_strip_is_left_to_print():
    low = Band(label="fillet", foot_mm=0.0, head_mm=40.0, out_mm=48.0)
    plan = plan_of(make_front(), wishes=CardWishes(by_face={"front": FaceWish(bands=(low,))}))
    assert parts_of(plan, "band") == []
    assert any("too low for a strip" in c for c in plan.cautions)


def test_band_with_no_wall_behind_it_is_said():
    above = Band(label="cornice", foot_mm=4900.0, head_mm=5200.0, out_mm=48.0)
    plan = plan_of(make_front(), wishes=CardWishes(by_face={"front": FaceWish(bands=(above,))}))
    (said,) = [c for c in plan.cautions if "cornice" in c]
    assert "no wall behind 67 % of it" in said
    lower = above.model_copy(update={"foot_mm": 4700.0, "head_mm": 5000.0})
    plan = plan_of(make_front(), wishes=CardWishes(by_face={"front": FaceWish(bands=(lower,))}))
    assert not [c for c in plan.cautions if "cornice" in c]


def test_mark_of_a_scrap_of_band_stands_beside_it_at_full_size():
    band = Band(label="plinth", foot_mm=0.0, head_mm=600.0, out_mm=48.0)
    face = make_front(openings=(window("door", 100, 0, 1000, 2000),))
    plan = plan_of(face, wishes=CardWishes(by_face={"front": FaceWish(bands=(band,))}))
    scrap = min(parts_of(plan, "band"), key=lambda p: size_of(p)[0])
    assert size_of(scrap)[0] == pytest.approx(1.0)
    (words,) = scrap.words
    assert words.fitted_size_mm == pytest.approx(1.8)
    assert not words.area.intersects(polygon_of(scrap.line(scrap.mark)))


def test_rounding_of_a_projection_is_said():
    """1.9 wanted: 1.0 + 0.45 + 0.45 with three films of glue are 1.99, 9 mm more full size."""
    out = Band(label="cornice", foot_mm=4000.0, head_mm=4500.0, out_mm=190.0)
    plan = plan_of(make_front(), wishes=CardWishes(by_face={"front": FaceWish(bands=(out,))}))
    (said,) = [c for c in plan.cautions if "cornice" in c]
    assert "stands out 1.90 mm" in said
    assert "build 1.99 mm (9 mm full size more)" in said


def test_own_sheets_are_measured_as_a_stack():
    own = OwnSheet(key="cereal", name="packet of oats", stack_mm=4.2, sheets=10, use="carcass")
    shop = make_workshop(CardWishes(own_sheets=(own,), carcass="cereal"))
    assert_allclose(shop.layer("carcass").thickness_mm, 0.42)


def test_unknown_sheet_and_glue_as_thick_as_card_are_refused():
    with pytest.raises(FieldError, match="no material called 'velvet'"):
        make_workshop(CardWishes(carcass="velvet"))
    with pytest.raises(FieldError, match="glue gap"):
        make_workshop(CardWishes(glue_gap_mm=0.5))
