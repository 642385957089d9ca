"""Card wishes as they stand in a survey file: defaults, round trip, refusals."""

import json

import pytest
from pydantic import ValidationError

from shared.card_wishes import Band, CardWishes, FaceWish, TowerWish
from tests.support.maltings_card import make_maltings_wishes


def test_wishes_survive_being_written_and_read_strictly():
    wishes = make_maltings_wishes()
    text = wishes.model_dump_json()
    assert CardWishes.model_validate_json(text, strict=True) == wishes


def test_what_was_not_wished_for_need_not_be_written():
    short = json.loads(CardWishes(tabs=True).model_dump_json(exclude_defaults=True))
    assert short == {"tabs": True}
    assert CardWishes.model_validate_json(json.dumps(short), strict=True) == CardWishes(tabs=True)


def test_face_without_wishes_gets_plain_ones():
    assert CardWishes().of_face("anything") == FaceWish()


def test_arc_of_a_tower_may_be_a_word_or_two_angles():
    assert TowerWish.model_validate_json('{"arc": [-66, 180]}', strict=True).arc == (-66.0, 180.0)
    assert TowerWish.model_validate_json('{"arc": "full"}', strict=True).arc == "full"


@pytest.mark.parametrize(
    "text",
    [
        '{"corner": "glued"}',
        '{"carcass": ""}',
        '{"margin": 3}',
        '{"by_face": {"front": {"bands": [{"foot_mm": 5, "head_mm": 5, "out_mm": 3}]}}}',
        '{"printed_bars": {"bar_mm": 120, "across_mm": 120, "up_mm": 120}}',
        '{"own_sheets": [{"key": "x", "name": "x", "stack_mm": 0}]}',
    ],
    ids=["corner", "sheet", "unknown", "band", "bar", "stack"],
)
def test_impossible_wishes_are_refused(text):
    with pytest.raises(ValidationError):
        CardWishes.model_validate_json(text, strict=True)


def test_band_needs_its_head_above_its_foot():
    with pytest.raises(ValidationError, match="head above its foot"):
        Band(label="plinth", foot_mm=10.0, head_mm=0.0, out_mm=5.0)
