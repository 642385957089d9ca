"""Bands that the drawing has, cut from card as well."""

import pytest

from measure.parts.drawn_bands import with_drawn_bands
from shared.card_wishes import Band, CardWishes, FaceWish
from tests.measure.elevation.test_build import made_from

PLINTH = {"kind": "plinth", "foot": -900.0, "head": -600.0, "out_mm": 60.0}


def bands_of(drawing, wishes=None):
    elevation = made_from({"tidy": False, "details": drawing})
    return with_drawn_bands(wishes or CardWishes(), {"front": elevation}).of_face("front").bands


def test_a_drawn_band_that_stands_out_is_cut_from_card():
    assert bands_of([PLINTH]) == (
        Band(label="plinth", foot_mm=-900.0, head_mm=-600.0, out_mm=60.0),
    )


def test_a_band_named_after_a_sill_lies_there():
    named = PLINTH | {"kind": "string-course", "foot": "w1.sill", "head": "w1.head"}
    (band,) = bands_of([named])
    assert band.label == "string course"
    assert band.foot_mm == pytest.approx(2700.0, rel=2e-3)


def test_a_band_that_does_not_say_how_far_out_is_only_drawn():
    assert bands_of([PLINTH | {"out_mm": None}]) == ()


def test_bands_of_the_card_come_before_those_of_the_drawing():
    own = Band(label="own", foot_mm=0.0, head_mm=100.0, out_mm=20.0)
    wishes = CardWishes(by_face={"front": FaceWish(bands=(own,))})
    assert bands_of([PLINTH], wishes) == (own,)
