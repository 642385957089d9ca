import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from measure.elevation.complete import complete
from measure.elevation.facade import Facade
from measure.elevation.mirroring import Completed, find_axis
from measure.elevation.outline_shapes import area_of_points
from measure.elevation.repeating import spacing_of, storey_height_of
from shared.errors import FieldError
from shared.survey_drawing import Completion
from shared.survey_part import Pick
from tests.support.facades import HEIGHT_MM, WIDTH_MM, small_front, window


def done(facade: Facade, *wishes: dict) -> Completed:
    made = [TypeAdapter(Completion).validate_python(wish) for wish in wishes]
    return complete(facade, made, lambda pick: (pick.x * 10.0, pick.y * 10.0))


def without(facade: Facade, *ids: str) -> Facade:
    kept = tuple(each for each in facade.openings if each.id not in ids)
    return Facade(kept, facade.outlines, facade.levels, facade.spans, (), facade.courses)


def places(facade: Facade) -> set[tuple[float, float]]:
    return {(round(each.centre_mm, 6), round(each.sill_mm, 6)) for each in facade.openings}


HIDDEN = ("g4", "g5", "f4", "f5")


@pytest.mark.parametrize(
    "axis", [{"axis_mm": 5000}, {"axis_at": [500, 3]}, {"axis_of": ["f3"]}, {"axis_of": ["door"]}]
)
def test_mirror_brings_back_the_openings_behind_the_tree(axis: dict) -> None:
    completed = done(without(small_front(), *HIDDEN), {"kind": "mirror", **axis})
    assert places(completed.facade) == places(small_front())
    assert len(completed.invented) == 4


def test_axis_midway_between_two_openings() -> None:
    facade = without(small_front(), "g4", "g5")
    completed = done(facade, {"kind": "mirror", "axis_of": ["f1", "f5"], "of": ["g1"]})
    assert {each.id for each in completed.invented} == {"g1@mirrored"}
    assert completed.facade.opening("g1@mirrored").centre_mm == pytest.approx(9000.0)


def test_axis_is_found_from_what_repeats() -> None:
    assert find_axis(without(small_front(), "g5", "f4")) == pytest.approx(5000.0)


def test_everything_invented_is_inferred_and_without_u() -> None:
    completed = done(without(small_front(), *HIDDEN), {"kind": "mirror", "axis_mm": 5000})
    for one in completed.invented:
        opening = completed.facade.opening(one.id)
        assert opening.inferred
        assert opening.made_from == one.made_from
        assert opening.u_width_mm is None
    measured = {each.id for each in completed.facade.openings if not each.inferred}
    assert measured == {each.id for each in without(small_front(), *HIDDEN).openings}


def test_mirror_adds_nothing_where_the_image_stands() -> None:
    completed = done(small_front(), {"kind": "mirror", "axis_mm": 5000})
    assert completed.invented == ()
    assert "nothing is mirrored" in completed.notes[0]


def test_image_across_another_opening_is_left_out_and_said() -> None:
    facade = without(small_front(), "f4", "f5")
    facade = Facade((*facade.openings, window("odd", 8500.0, 4300.0)), facade.outlines)
    completed = done(facade, {"kind": "mirror", "axis_mm": 5000, "of": ["f1"]})
    assert completed.invented == ()
    assert "would stand across 'odd'" in completed.notes[0]


def test_half_replaces_the_other_side_and_its_wall() -> None:
    facade = without(small_front(), "g5", "f5")
    crooked = ((0.0, 0.0), (9700.0, 80.0), (9700.0, 6800.0), (5000.0, 7000.0), (0.0, 7000.0))
    facade = Facade(facade.openings, (type(facade.outlines[0])("o1", crooked),))
    completed = done(facade, {"kind": "half", "keep": "left", "axis_mm": 5000})
    assert places(completed.facade) == places(small_front())
    outline = completed.facade.outlines[0]
    area = area_of_points(outline.points_mm)
    left = area_of_points(crooked).intersection(
        area_of_points(((0, -9), (5000, -9), (5000, 9000), (0, 9000)))
    )
    assert area.area == pytest.approx(2 * left.area)
    assert outline.inferred_edges
    assert len(outline.inferred_edges) < len(outline.points_mm)


def test_half_keeps_the_door_on_the_axis() -> None:
    facade = small_front()
    completed = done(facade, {"kind": "half", "keep": "right", "axis_mm": 5010})
    door = completed.facade.opening("door")
    assert not door.inferred
    assert door.centre_mm == pytest.approx(5010.0)


def test_mirroring_twice_about_one_axis_changes_nothing_more() -> None:
    wish = {"kind": "mirror", "axis_mm": 5000}
    once = done(without(small_front(), *HIDDEN), wish)
    twice = done(once.facade, wish)
    assert twice.facade == once.facade


def test_bays_are_repeated_at_their_spacing_and_the_wall_grows() -> None:
    completed = done(small_front(), {"kind": "repeat", "of": ["g5", "f5"], "count": 2})
    centres = {each.centre_mm for each in completed.facade.openings if each.inferred}
    assert centres == {11000.0, 13000.0}
    assert completed.facade.wall_box.right_mm == pytest.approx(WIDTH_MM + 4000.0)
    assert completed.facade.outlines[0].inferred_edges


def test_bays_to_the_left_grow_the_wall_to_the_left() -> None:
    wish = {"kind": "repeat", "of": ["f1"], "count": 1, "spacing_mm": 2500, "towards": "left"}
    completed = done(small_front(), wish)
    assert completed.facade.opening("f1@bay1").centre_mm == pytest.approx(-1500.0)
    assert completed.facade.wall_box.left_mm == pytest.approx(-2500.0)


def test_pushed_bays_move_what_stands_beyond() -> None:
    wish = {"kind": "repeat", "of": ["g2", "f2"], "count": 1, "spacing_mm": 2000, "push": True}
    completed = done(small_front(), wish)
    assert completed.facade.opening("f5").centre_mm == pytest.approx(11000.0)
    assert completed.facade.opening("f1").centre_mm == pytest.approx(1000.0)
    assert completed.facade.opening("f2@bay1").centre_mm == pytest.approx(5000.0)
    assert completed.facade.wall_box.right_mm == pytest.approx(WIDTH_MM + 2000.0)
    assert completed.facade.opening("f5").u_width_mm == 4.0


def test_bay_on_an_opening_that_stands_is_left_out_and_said() -> None:
    completed = done(small_front(), {"kind": "repeat", "of": ["f1"], "count": 1})
    assert completed.invented == ()
    assert "stands there already" in completed.notes[0]


def test_copy_goes_where_it_is_told() -> None:
    facade = without(small_front(), "g4")
    completed = done(facade, {"kind": "copy", "of": "g1", "centre_mm": 7000})
    assert completed.facade.opening("g1@copy").centre_mm == 7000.0
    assert completed.facade.opening("g1@copy").sill_mm == 900.0


def test_copy_goes_where_it_is_picked() -> None:
    facade = without(small_front(), "g4")
    completed = done(facade, {"kind": "copy", "of": "g1", "at": [700.0, 95.0]})
    made = completed.facade.opening("g1@copy")
    assert (made.centre_mm, made.sill_mm) == (7000.0, 950.0)


def test_storeys_lift_what_stands_above() -> None:
    row = ["f1", "f2", "f3", "f4", "f5"]
    completed = done(small_front(), {"kind": "storeys", "of": row, "count": 2})
    # the storey height is that of the sills, 3900 - 900
    assert completed.facade.opening("f1@storey2").sill_mm == pytest.approx(9900.0)
    assert completed.facade.wall_box.top_mm == pytest.approx(HEIGHT_MM + 6000.0)
    eaves = next(level for level in completed.facade.levels if level.id == "eaves")
    assert (eaves.v_mm, eaves.inferred) == (12900.0, True)
    string = next(level for level in completed.facade.levels if level.id == "string")
    assert (string.v_mm, string.inferred) == (3200.0, False)
    assert completed.facade.opening("f1").sill_mm == 3900.0


def test_storeys_in_the_middle_say_what_they_move() -> None:
    completed = done(small_front(), {"kind": "storeys", "of": ["g1"], "count": 1})
    assert completed.facade.opening("f1").sill_mm == pytest.approx(6900.0)
    assert "Moved up" in completed.notes[0]


def test_spacing_and_storey_height_come_from_neighbours() -> None:
    facade = small_front()
    assert spacing_of(facade, [facade.opening("f5")]) == pytest.approx(2000.0)
    assert storey_height_of(facade, [facade.opening("g1")]) == pytest.approx(3000.0)


def test_wishes_follow_one_another() -> None:
    completed = done(
        without(small_front(), *HIDDEN),
        {"kind": "mirror", "axis_mm": 5000},
        {"kind": "repeat", "of": ["f1@mirrored"], "count": 1},
    )
    assert completed.facade.opening("f1@mirrored@bay1").made_from == "f1"


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"kind": "mirror", "axis_mm": 20000}, "lies outside the wall"),
        ({"kind": "mirror", "axis_of": ["w9"]}, "no opening 'w9'"),
        ({"kind": "mirror", "axis_mm": 5000, "of": ["w9"]}, "no opening 'w9'"),
        ({"kind": "half", "keep": "left", "axis_mm": 5200}, "cuts opening 'door' unevenly"),
        ({"kind": "half", "keep": "left", "axis_mm": 100}, "Nothing stands to the left"),
        ({"kind": "repeat", "of": ["f1"], "count": 1, "spacing_mm": 900}, "less than the bay"),
        ({"kind": "copy", "of": "f1", "centre_mm": 3100}, "would stand across 'f2'"),
        ({"kind": "copy", "of": "f1", "centre_mm": 400, "sill_mm": 5450}, "outside the wall"),
        ({"kind": "storeys", "of": ["f1"], "count": 1, "height_mm": 900}, "is lower than"),
    ],
)
def test_wish_that_cannot_be_met_is_one_sentence(wish: dict, words: str) -> None:
    with pytest.raises(FieldError) as refusal:
        done(small_front(), wish)
    assert words in str(refusal.value)
    assert str(refusal.value).startswith("Completion 1 (")
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize("ids", [("f2", "f3", "f4", "f5", "g2", "g4", "g5", "door")])
def test_no_axis_is_found_where_nothing_repeats(ids: tuple) -> None:
    with pytest.raises(FieldError, match="No axis is found"):
        find_axis(without(small_front(), *ids))


def test_lonely_opening_has_no_spacing() -> None:
    facade = Facade((window("w1", 1000.0, 0.0),), small_front().outlines)
    with pytest.raises(FieldError, match="Give spacing_mm"):
        done(facade, {"kind": "repeat", "of": ["w1"], "count": 1})
    with pytest.raises(FieldError, match="Give height_mm"):
        done(facade, {"kind": "storeys", "of": ["w1"], "count": 1})


@given(st.floats(100.0, 9900.0))
def test_mirror_image_of_the_mirror_image_is_the_opening(axis: float) -> None:
    opening = window("w1", 3000.0, 900.0)
    back = opening.mirrored(axis).mirrored(axis)
    assert back.left_mm == pytest.approx(opening.left_mm, abs=1e-6)
    assert back.right_mm == pytest.approx(opening.right_mm, abs=1e-6)


def test_pick_is_laid_by_the_caller() -> None:
    seen = []

    def place(pick: Pick) -> tuple[float, float]:
        seen.append(pick)
        return 5000.0, 0.0

    wish = TypeAdapter(Completion).validate_python({"kind": "mirror", "axis_at": [3, 4]})
    complete(without(small_front(), *HIDDEN), [wish], place)
    assert seen == [Pick(x=3, y=4)]
