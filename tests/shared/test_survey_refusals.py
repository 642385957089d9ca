"""Bad values in a survey: each ends in one sentence that names the face, measure or photo."""

from __future__ import annotations

import json

import pytest

from shared.errors import FieldError
from shared.survey_file import parse_survey, read_survey
from tests.support.surveys import DOOR, make_plain_survey


def _front(plain):
    return plain["faces"][0]


def _w1(plain):
    return _front(plain)["measures"][0]


def _leaf(plain):
    return _front(plain)["references"][0]


W1 = "face 'front', measure 'w1', key "
LEAF = "face 'front', reference 'door leaf', key "

# name of the case: (what is done to a good survey, what the sentence must say)
BAD_VALUES = {
    "unknown key of the survey": (
        lambda s: s.update(titel="x"),
        "key 'titel' is not known: did you mean 'title'?",
    ),
    "unknown key of a measure": (
        lambda s: _w1(s).update(setback_mm=3),
        W1 + "'setback_mm' is not known: did you mean 'set_back_mm'?",
    ),
    "unknown key like no other": (
        lambda s: _w1(s).update(widht=3),
        W1 + "'widht' is not known: it can be at, at_glass, head, head_at, id, kind, label or",
    ),
    "unknown key of a hinge": (
        lambda s: s["faces"][1]["surface"]["hinge"].update(fase="front"),
        "face 'wing', surface, hinge, key 'fase' is not known: did you mean 'face'?",
    ),
    "key missing": (
        lambda s: s["faces"][1]["surface"]["hinge"].pop("face"),
        "face 'wing', surface, hinge, key 'face' is missing",
    ),
    "photo without id": (lambda s: s["photos"][0].pop("id"), "photo 1, key 'id' is missing"),
    "unknown kind": (
        lambda s: _w1(s).update(kind="openning"),
        W1 + "'kind' is 'openning', which is not known here: did you mean 'opening'?",
    ),
    "no kind": (lambda s: _w1(s).pop("kind"), W1 + "'kind' is missing: it can be arc, courses,"),
    "unknown head": (
        lambda s: _w1(s).update(head="gothic"),
        W1 + "'head' is \"gothic\", which is not known: it can be flat, semicircular,",
    ),
    "three picks for four": (
        lambda s: _w1(s).update(at=DOOR[:3]),
        W1 + "'at' needs exactly 4 picks, not 3",
    ),
    "one pick for two or more": (
        lambda s: _front(s)["guides"][0].update(at=[[1, 2]]),
        "face 'front', guide 1, key 'at' needs at least 2 picks, not 1",
    ),
    "too many picks": (
        lambda s: _w1(s).update(head_at=[[1, 2]] * 21),
        W1 + "'head_at' needs at most 20 picks, not 21",
    ),
    "a pick of one number": (
        lambda s: _w1(s).update(at=[*DOOR[:3], [7]]),
        W1 + "'at', pick 4 must be [x, y] or [x, y, u_px], in pixels, not [7]",
    ),
    "a pick of text": (
        lambda s: _w1(s).update(at=[DOOR[0], ["12", "13"], *DOOR[2:]]),
        W1 + '\'at\', pick 2 must be [x, y] or [x, y, u_px], in pixels, not ["12", "13"]',
    ),
    "a pick with no uncertainty": (
        lambda s: _w1(s).update(at=[*DOOR[:3], [7, 8, 0]]),
        W1 + "'at', pick 4, key 'u_px' must be more than 0, not 0",
    ),
    "a pick far away": (
        lambda s: _w1(s).update(at=[*DOOR[:3], [7, 1e6]]),
        W1 + "'at', pick 4, key 'y' must be less than 1000000, not 1000000",
    ),
    "a pick that is not a number": (
        lambda s: _w1(s).update(at=[*DOOR[:3], [7, float("nan")]]),
        W1 + "'at', pick 4, its y must be an ordinary number: NaN,",
    ),
    "an infinite length": (
        lambda s: _leaf(s).update(length_mm=float("inf")),
        LEAF + "'length_mm' must be an ordinary number",
    ),
    "no length": (
        lambda s: _leaf(s).update(length_mm=0),
        LEAF + "'length_mm' must be more than 0, not 0",
    ),
    "a length below nothing": (
        lambda s: _leaf(s).update(length_mm=-2032),
        LEAF + "'length_mm' must be more than 0, not -2032",
    ),
    "a negative uncertainty": (
        lambda s: _leaf(s).update(u_mm=-1),
        LEAF + "'u_mm' must be 0 or more, not -1",
    ),
    "a number as text": (
        lambda s: _leaf(s).update(length_mm="2032"),
        LEAF + "'length_mm' must be a number without quote marks, not \"2032\"",
    ),
    "true as a number": (
        lambda s: _leaf(s).update(length_mm=True),
        LEAF + "'length_mm' must be a number, not true",
    ),
    "half a course": (
        lambda s: _front(s)["measures"][1].update(count=12.5),
        "face 'front', measure 'c1', key 'count' must be a whole number, not 12.5",
    ),
    "too many courses": (
        lambda s: _front(s)["measures"][1].update(count=1001),
        "measure 'c1', key 'count' must be 1000 or less, not 1001",
    ),
    "a number as a truth": (
        lambda s: s["photos"][0].update(cropped=1),
        "photo 'street', key 'cropped' must be true or false, not 1",
    ),
    "a name with a space": (
        lambda s: _w1(s).update(id="w 1"),
        "measure 'w 1', key 'id' may not be empty nor hold spaces, slashes,",
    ),
    "an empty name": (
        lambda s: _w1(s).update(id=""),
        "face 'front', measure 'W1', key 'id' may not be empty",
    ),
    "a bad hash": (
        lambda s: s["photos"][0].update(sha256="12"),
        "photo 'street', key 'sha256' must be 64 hexadecimal digits in small letters, or null",
    ),
    "text that never ends": (
        lambda s: _w1(s).update(label="x" * 401),
        W1 + "'label' may have 400 characters at most, not 401",
    ),
    "a number as text of the survey": (
        lambda s: s.update(title=7),
        "key 'title' must be text in double quotes, not 7",
    ),
    "a list that is none": (
        lambda s: s.update(faces={}),
        "key 'faces' must be a list in square brackets, not a group of keys",
    ),
    "a face that is none": (
        lambda s: s["faces"].append(3),
        "face 4 must be a group of keys in curly brackets, not 3",
    ),
    "a surface that is none": (
        lambda s: _front(s).update(surface="wall"),
        "face 'front', key 'surface' must be a group of keys in curly brackets, not \"wall\"",
    ),
    "a control character": (
        lambda s: _w1(s).update(label="W\x001"),
        W1 + "'label' holds a character that is none",
    ),
    "half of a character": (
        lambda s: s.update(title="\ud800"),
        "key 'title' holds a character that is none",
    ),
    "a datum that is not a number": (
        lambda s: _front(s).update(datum=[float("inf"), 2]),
        "face 'front', key 'datum', its x must be an ordinary number",
    ),
    "a bad key where any name may stand": (
        lambda s: s.update(card={"by_face": {"a b": {}}}),
        "card, by_face, key 'a b' may not be empty nor hold spaces",
    ),
    "a value below a name of the user's": (
        lambda s: s.update(card={"by_face": {"front": {"sill": {"out_mm": 0}}}}),
        "card, by_face, front, sill, key 'out_mm' must be more than 0, not 0",
    ),
    "neither of two types": (
        lambda s: s.update(card={"by_face": {"tower": {"tower": {"arc": "half"}}}}),
        "card, by_face, tower, tower, key 'arc' is \"half\", which is not known: it can be shows",
    ),
    "the second of two types, badly": (
        lambda s: s.update(card={"by_face": {"tower": {"tower": {"arc": [0, 400]}}}}),
        "card, by_face, tower, tower, key 'arc', number 2 must be 360 or less, not 400",
    ),
    "names that do not agree": (
        lambda s: _front(s).update(photo="yard"),
        "face 'front' names the photo 'yard', which is not listed",
    ),
    "no version": (lambda s: s.pop("version"), "key 'version' is missing: the present one is 1"),
    "a version before the first": (
        lambda s: s.update(version=0),
        "key 'version' must be a whole number from 1 on, not 0",
    ),
    "a version as text": (
        lambda s: s.update(version="1"),
        "key 'version' must be a whole number from 1 on, not \"1\"",
    ),
}


@pytest.mark.parametrize("case", BAD_VALUES)
def test_a_bad_value_is_refused_in_one_sentence_naming_its_place(case):
    change, words = BAD_VALUES[case]
    plain = make_plain_survey()
    change(plain)
    with pytest.raises(FieldError) as refusal:
        parse_survey(plain, "malthouse.survey.json")
    sentence = str(refusal.value)
    assert sentence.startswith("malthouse.survey.json: ")
    assert words in sentence
    assert sentence[-1] in ".?"
    assert "\n" not in sentence


@pytest.mark.parametrize("case", BAD_VALUES)
def test_the_same_sentence_is_given_for_a_file_and_for_what_the_page_sends(case, tmp_path):
    change, _ = BAD_VALUES[case]
    plain = make_plain_survey()
    change(plain)
    path = tmp_path / "malthouse.survey.json"
    path.write_text(json.dumps(plain), encoding="utf-8")
    with pytest.raises(FieldError) as of_file:
        read_survey(path)
    with pytest.raises(FieldError) as of_page:
        parse_survey(plain, str(path))
    assert str(of_page.value) == str(of_file.value)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ('"title": "a", "title": "b"', "key 'title' stands twice"),
        (
            '"faces": [{"id": "front", "photo": "p", "label": "a", "label": "a"}]',
            "face 'front', key 'label' stands twice",
        ),
    ],
)
def test_a_key_that_stands_twice_is_refused_by_place(text, place):
    with pytest.raises(FieldError, match=place):
        parse_survey('{"format": "storeyrod survey", "version": 1, ' + text + "}")


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999", "9" * 5000])
def test_numbers_that_are_none_are_refused_by_place(number):
    text = json.dumps(make_plain_survey()).replace("2032", number)
    with pytest.raises(FieldError, match=LEAF + "'length_mm' must be an ordinary number"):
        parse_survey(text)


def test_a_refusal_names_the_ids_for_the_page():
    plain = make_plain_survey()
    _w1(plain)["at"] = 7
    with pytest.raises(FieldError) as refusal:
        parse_survey(plain)
    assert refusal.value.details == {
        "path": ["faces", 0, "measures", 0, "at"],
        "face": "front",
        "measure": "w1",
        "findings": 1,
    }


def test_what_a_user_typed_is_shown_short_and_printable():
    plain = make_plain_survey()
    _front(plain)["\x1b[2J" + "x" * 500] = 1
    with pytest.raises(FieldError) as refusal:
        parse_survey(plain)
    sentence = str(refusal.value)
    assert "\x1b" not in sentence
    assert len(sentence) < 250


def test_a_whole_number_may_be_written_with_a_fraction_of_nothing():
    plain = make_plain_survey()
    _front(plain)["measures"][1]["count"] = 61.0
    assert parse_survey(plain).faces[0].measures[1].count == 61
