"""Parts that lie where the user put them, and the others laid around them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from measure.elevation import lettering
from measure.elevation.primitives import Stroke
from measure.parts.blanks import Blank, Placement
from measure.parts.nesting import nest
from measure.parts.part import PartWords, moved_words
from measure.parts.part_sheets import lay_parts
from measure.parts.printer import Correction
from shared.card_wishes import CardWishes, PinnedPart, Sill
from shared.errors import FieldError
from tests.measure.parts.test_nesting import blank, laid_shapes
from tests.support.card_walls import make_front, make_side, plan_of

SIDES = st.floats(4.0, 40.0)


def make_plan(**wishes):
    return plan_of(make_front(), make_side(90.0), wishes=CardWishes(sill=Sill(), **wishes))


def lay(**wishes):
    return lay_parts(make_plan(**wishes), Correction())[0]


def laid_part(sheets, mark):
    """The one part of that mark, and its sheet."""
    found = [(each, sheet) for sheet in sheets for each in sheet.parts if each.part.mark == mark]
    assert len(found) == 1
    return found[0]


@pytest.fixture(scope="module")
def loose():
    return lay()


@pytest.fixture(scope="module")
def first(loose):
    """A carcass, which has a grain."""
    each = loose[0].parts[0]
    assert each.part.role == "carcass"
    assert each.part.grain == "up"
    return each


def pin_of(each, **changed):
    plain = {
        "mark": each.part.mark,
        "sheet": 1,
        "left_mm": each.left_mm,
        "bottom_mm": each.bottom_mm,
        "quarters": each.quarters,
    }
    return PinnedPart(**{**plain, **changed})


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(SIDES, SIDES), min_size=1, max_size=20),
    st.tuples(st.floats(0, 55), st.floats(0, 95)),
    st.integers(0, 1),
)
def test_the_rest_is_laid_around_a_pinned_part(rows, at, sheet):
    blanks = [blank(n, w, h) for n, (w, h) in enumerate(rows)]
    pin = Placement(0, sheet, 0, *at)
    placements = nest(blanks, 100.0, 140.0, 2.0, pinned=[pin])
    assert placements[0] == pin
    shapes = laid_shapes(blanks, placements)
    for i, one in enumerate(shapes):
        left, low, right, high = one.bounds
        assert min(left, low, 100.0 - right, 140.0 - high) >= -1e-6
        for j in range(i):
            if placements[i].sheet == placements[j].sheet:
                # 2 mm were asked for; the rest is rounding of sums of a few hundred
                assert one.distance(shapes[j]) >= 2.0 - 1e-6


def test_a_loose_part_fits_in_the_gap_of_a_pinned_gable():
    """Half the sheet is free beside a triangle that spans it; no second sheet is needed."""
    gable = Blank(0, shapely.Polygon([(0, 0), (100, 0), (0, 100)]), (0,))
    placements = nest(
        [gable, blank(1, 30.0, 30.0, (0,))], 100.0, 100.0, pinned=[Placement(0, 0, 0, 0.0, 0.0)]
    )
    assert [p.sheet for p in placements] == [0, 0]


def test_nothing_follows_a_part_that_was_put_on_a_sheet_of_its_own():
    blanks = [blank(n, 30.0, 20.0) for n in range(6)]
    placements = nest(blanks, 100.0, 140.0, pinned=[Placement(2, 1, 0, 10.0, 10.0)])
    assert [p.sheet for p in placements] == [0, 0, 1, 0, 0, 0]


def test_a_pinned_part_lies_where_it_was_put(first):
    at = {"left_mm": 12.5, "bottom_mm": 31.25}
    each, sheet = laid_part(lay(pinned=(pin_of(first, **at),)), first.part.mark)
    assert (each.left_mm, each.bottom_mm) == (12.5, 31.25)
    # what is drawn on paper begins at the free area's corner and the place
    corner = np.add((sheet.area.left_mm, sheet.area.bottom_mm), (12.5, 31.25))
    own = {line.id for line in first.part.lines if line.id}
    drawn = [
        point
        for item in sheet.sheet.drawing_items
        if isinstance(item, Stroke) and item.id in own
        for point in points_of(item)
    ]
    # its lettering stands inside its outline, so that the outline's corner is the part's
    assert np.array(drawn).min(axis=0) == pytest.approx(corner, abs=1e-6)


def points_of(stroke):
    return [stroke.start_mm, *(segment.to_mm for segment in stroke.segments)]


def test_a_part_put_on_a_sheet_of_its_own_stays_there(first):
    _, sheet = laid_part(lay(pinned=(pin_of(first, sheet=2),)), first.part.mark)
    assert sheet.number == 2
    assert sheet.material.key == first.part.material.key


def test_a_part_may_be_turned_along_its_grain(first):
    each, _ = laid_part(lay(pinned=(pin_of(first, quarters=2),)), first.part.mark)
    assert each.quarters == 2


@pytest.mark.parametrize("angle_rad", [0.0, np.pi / 2])
@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_lettering_stays_on_its_part_when_that_is_turned(quarters, angle_rad):
    """Its letters never stand on their heads; the room they take turns with the part."""
    words = PartWords((10.0, 20.0), "A1 front", 2.0, angle_rad)
    half = lettering.width_mm("A1 front", 2.0) / 2
    room = shapely.box(-half, -lettering.DESCENT * 2.0, half, 2.0)

    def taken(each):
        turned = affinity.rotate(room, each.angle_rad, origin=(0, 0), use_radians=True)
        return affinity.translate(turned, *each.at_mm)

    moved = moved_words(words, quarters, 0.0, 0.0)
    wanted = affinity.rotate(taken(words), 90 * quarters, origin=(0, 0))
    assert taken(moved).symmetric_difference(wanted).area == pytest.approx(0.0, abs=1e-6)
    assert np.cos(moved.angle_rad) >= -1e-9


def test_a_part_is_not_turned_across_its_grain(first):
    with pytest.raises(FieldError, match="across the grain"):
        lay(pinned=(pin_of(first, quarters=1, left_mm=0, bottom_mm=0),))


def test_a_printed_skin_is_not_turned_upside_down():
    skins = [p for sheet in lay() for p in sheet.parts if p.part.pictures]
    with pytest.raises(FieldError, match="photo would not be printed"):
        lay(pinned=(pin_of(skins[0], quarters=2),))


def test_a_place_beyond_the_margin_is_refused(first):
    with pytest.raises(FieldError, match=rf"{first.part.mark} lies 3\.0 mm beyond the margin"):
        lay(pinned=(pin_of(first, left_mm=-3.0),))


def test_two_parts_on_one_place_are_refused(loose):
    one, other = loose[0].parts[:2]
    at = {"left_mm": 5.0, "bottom_mm": 5.0}
    with pytest.raises(FieldError, match="less than 2 mm apart on sheet 1"):
        lay(pinned=(pin_of(one, **at), pin_of(other, **at)))


def test_a_pin_of_a_part_that_is_gone_is_a_caution_not_a_refusal(loose):
    sheets = lay(pinned=(PinnedPart(mark="Z9", sheet=1, left_mm=0, bottom_mm=0),))
    assert "Z9" in " ".join(sheets[0].cautions)
    assert len(sheets) == len(loose)


def test_a_part_pinned_twice_is_refused(first):
    with pytest.raises(ValueError, match="pinned twice"):
        CardWishes(pinned=(pin_of(first), pin_of(first, sheet=2)))


def test_every_mark_belongs_to_one_material(loose):
    owners = {}
    for sheet in loose:
        for each in sheet.parts:
            owners.setdefault(each.part.mark, set()).add(each.part.material.key)
    assert all(len(keys) == 1 for keys in owners.values())
