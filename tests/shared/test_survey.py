"""The survey document: what it takes, what it refuses, and that its text gives it back."""

from __future__ import annotations

import json
import re

import pytest
from hypothesis import HealthCheck, given, settings
from pydantic import ValidationError

from shared.survey import Pick, Survey
from shared.survey_file import parse_survey
from shared.survey_text import LINE_LENGTH, format_survey
from tests.support.surveys import make_plain_survey, make_survey, surveys

THOROUGH = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


@given(survey=surveys())
@THOROUGH
def test_any_survey_comes_back_equal_from_its_text(survey):
    assert parse_survey(format_survey(survey)) == survey


@given(survey=surveys())
@THOROUGH
def test_the_text_of_a_survey_read_again_is_the_same_text(survey):
    text = format_survey(survey)
    assert format_survey(parse_survey(text)) == text


@given(survey=surveys())
@THOROUGH
def test_any_survey_comes_back_equal_from_its_plain_data(survey):
    assert parse_survey(survey.model_dump(mode="json")) == survey


@given(survey=surveys())
@THOROUGH
def test_the_text_holds_what_the_model_dumps_and_nothing_else(survey):
    assert json.loads(format_survey(survey)) == json.loads(survey.model_dump_json())


def test_a_pick_with_two_numbers_has_no_uncertainty_of_its_own():
    survey = make_survey()
    assert survey.faces[0].frame[0] == Pick(x=1210.5, y=2400.0, u_px=None)


def test_a_pick_with_three_numbers_keeps_its_uncertainty_in_the_text():
    plain = make_plain_survey()
    plain["faces"][0]["frame"] = [[10, 20, 0.25], *plain["faces"][0]["frame"][1:]]
    assert "[10, 20, 0.25]" in format_survey(parse_survey(plain))


def test_every_pick_stands_whole_on_one_line():
    lines = format_survey(make_survey()).splitlines()
    broken = [line for line in lines if re.fullmatch(r"\s*-?[\d.e+]+,?", line)]
    assert broken == []
    assert any(
        "[[1210.5, 2400], [1490.25, 2396], [1492, 1820.5], [1212, 1822]]" in x for x in lines
    )
    assert max(map(len, lines)) <= LINE_LENGTH


def test_a_long_outline_has_one_pick_on_each_line():
    plain = make_plain_survey()
    outline = [[100.25 * n, 2000.5 + n] for n in range(12)]
    plain["faces"][0]["measures"] = [{"id": "o1", "kind": "outline", "at": outline}]
    lines = [line.strip() for line in format_survey(parse_survey(plain)).splitlines()]
    picks = [json.loads(line.rstrip(",")) for line in lines if line.startswith("[")]
    assert picks[-12:] == outline


def test_a_number_is_written_with_the_digits_that_tell_it_apart():
    plain = make_plain_survey()
    plain["faces"][0]["references"][0]["length_mm"] = 0.1 + 0.2
    assert '"length_mm": 0.30000000000000004' in format_survey(parse_survey(plain))


def test_id_and_kind_stand_first_in_each_part():
    measure = json.loads(format_survey(make_survey()))["faces"][0]["measures"][0]
    assert list(measure)[:3] == ["id", "kind", "label"]


def test_a_survey_cannot_be_changed_in_place():
    survey = make_survey()
    with pytest.raises(ValidationError, match="frozen"):
        survey.title = "other"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            lambda plain: plain["photos"].append(plain["photos"][0]),
            "two photos are called 'street'",
        ),
        (lambda plain: plain["faces"].append(plain["faces"][0]), "two faces are called 'front'"),
        (lambda plain: plain["faces"][0].update(photo="yard"), "the photo 'yard'"),
        (
            lambda plain: plain["faces"][1]["surface"]["hinge"].update(face="wing"),
            "face 'wing' stands beside the face 'wing'",
        ),
        (
            lambda plain: plain["faces"][2]["surface"].update(beside="yard"),
            "face 'tower' stands beside the face 'yard'",
        ),
        (
            lambda plain: plain["faces"][0]["measures"].append(plain["faces"][0]["measures"][0]),
            "face 'front' has two measures called 'w1'",
        ),
    ],
    ids=[
        "photo-twice",
        "face-twice",
        "no-such-photo",
        "own-hinge",
        "no-such-face",
        "measure-twice",
    ],
)
def test_names_that_do_not_agree_are_refused(change, words):
    plain = make_plain_survey()
    change(plain)
    with pytest.raises(ValidationError, match=words):
        Survey.model_validate(plain)
