"""Reading a survey file: missing, damaged or of another kind, each ends in one sentence."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from shared import survey_file
from shared.errors import SurveyFileError
from shared.survey_file import parse_survey, read_survey, write_survey
from shared.survey_json import MAX_BYTES
from tests.support.surveys import make_plain_survey, make_survey

START = b'{"format": "storeyrod survey", "version": 1'
BAD_TEXTS = {
    "nothing": (b"", "is empty: restore"),
    "blanks": (b" \n\t\n", "is empty: restore"),
    "zero bytes": (b"\0" * 512, "holds nothing but zero bytes"),
    "another encoding": (START + b', "title": "Caf\xe9"}', "is not UTF-8 text (byte 59 is not)"),
    "a picture": (b"\xff\xd8\xff\xe0\0\x10JFIF", "is not UTF-8 text (byte 1 is not)"),
    "a list": (b"[1, 2]", "is not a survey but [1, 2]"),
    "a number": (b"7", "is not a survey but 7"),
    "another format": (b'{"format": "other", "version": 1}', 'its format is "other"'),
    "no format": (b'{"version": 1}', "key 'format' is missing"),
    "a newer version": (
        b'{"format": "storeyrod survey", "version": 2, "roofs": []}',
        "made by a newer storeyrod (its version is 2, and this one reads up to 1): update",
    ),
    "cut in a text": (START + b', "title": "Penny', "breaks off in line 1, before the survey is"),
    "cut after a line": (START + b',\n "faces": [\n', "breaks off in line 2, before the survey is"),
    "a comma missing": (
        START + b'\n "title": "x"}',
        "is not valid JSON at line 2, column 2: a comma or a closing bracket is missing here",
    ),
    "a comma too many": (
        START + b",\n}",
        "at line 2, column 1: a key in double quotes is expected",
    ),
    "a colon missing": (START + b', "title" "x"}', "column 54: a colon is missing here"),
    "text after the end": (START + b"} x", "column 46: something follows after the end"),
    "nested without end": (b"[" * 200_000, "is nested more than 40 levels deep"),
    "nested too deep": (START + b', "x": ' + b"[" * 60 + b"]" * 60 + b"}", "40 levels deep"),
}


@pytest.mark.parametrize("case", BAD_TEXTS)
def test_a_damaged_file_is_refused_in_one_sentence(case, tmp_path):
    content, words = BAD_TEXTS[case]
    path = tmp_path / "malthouse.survey.json"
    path.write_bytes(content)
    with pytest.raises(SurveyFileError) as refusal:
        read_survey(path)
    sentence = str(refusal.value)
    assert str(path) in sentence
    assert words in sentence
    assert "\n" not in sentence


def test_the_place_of_a_fault_in_the_json_is_given_for_the_page_too():
    with pytest.raises(SurveyFileError) as refusal:
        parse_survey(START + b',\n\n  "title" 7}')
    assert refusal.value.details == {"line": 3, "column": 11}


def test_a_byte_order_mark_is_passed_over():
    assert parse_survey(b"\xef\xbb\xbf" + START + b"}").version == 1


def test_a_file_larger_than_any_survey_is_refused(tmp_path):
    path = tmp_path / "malthouse.survey.json"
    with path.open("wb") as stream:
        stream.truncate(MAX_BYTES + 1)  # a hole: takes no room
    with pytest.raises(SurveyFileError, match="is larger than 64 MB"):
        read_survey(path)


def test_a_missing_file_proposes_the_one_that_was_meant(tmp_path):
    write_survey(tmp_path / "malthouse.survey.json", make_survey())
    with pytest.raises(SurveyFileError) as refusal:
        read_survey(tmp_path / "malthose.survey.json")
    assert str(refusal.value) == (
        f"{tmp_path / 'malthose.survey.json'} is not there: "
        f"did you mean {tmp_path / 'malthouse.survey.json'}?"
    )


def test_a_deleted_file_with_earlier_versions_says_that_they_are_there(tmp_path):
    path = tmp_path / "malthouse.survey.json"
    write_survey(path, make_survey("one"))
    write_survey(path, make_survey("two"))
    path.unlink()
    with pytest.raises(SurveyFileError, match="its earlier versions can be restored"):
        read_survey(path)


def test_a_folder_that_is_not_there_is_named(tmp_path):
    with pytest.raises(SurveyFileError, match=f"there is no folder {tmp_path / 'plots'}"):
        read_survey(tmp_path / "plots" / "malthouse.survey.json")


def test_a_folder_is_refused_and_the_survey_in_it_proposed(tmp_path):
    write_survey(tmp_path / "malthouse.survey.json", make_survey())
    with pytest.raises(
        SurveyFileError, match=r"is a folder, not a survey: did you mean .*malthouse"
    ):
        read_survey(tmp_path)


def test_a_name_with_a_zero_character_is_refused():
    with pytest.raises(SurveyFileError, match="cannot be the name of a file"):
        read_survey("malt\0house.survey.json")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with a name")
def test_a_pipe_is_refused_without_waiting_for_it(tmp_path):
    os.mkfifo(tmp_path / "pipe.survey.json")
    with pytest.raises(SurveyFileError, match="is not an ordinary file"):
        read_survey(tmp_path / "pipe.survey.json")


def test_a_file_that_may_not_be_read_is_refused(tmp_path, monkeypatch):
    path = tmp_path / "malthouse.survey.json"
    write_survey(path, make_survey())

    def refuse(*_args, **_more):  # root may read everything, so the refusal is played
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(SurveyFileError, match="may not be read by you"):
        read_survey(path)


def test_an_older_version_is_brought_forward_step_by_step(monkeypatch):
    def from_1(plain):
        return {**plain, "version": 2, "title": plain["title"] + " (1)"}

    def from_2(plain):
        return {**plain, "version": 3, "title": plain["title"] + " (2)"}

    monkeypatch.setattr(survey_file, "VERSION", 3)
    monkeypatch.setattr(survey_file, "MIGRATIONS", {1: from_1, 2: from_2})
    plain = {**make_plain_survey(), "title": "Maltings"}
    migrated = survey_file._migrate(plain, "the survey")
    assert migrated["title"] == "Maltings (1) (2)"
    assert migrated["version"] == 3


def test_a_step_is_there_for_every_older_version():
    assert sorted(survey_file.MIGRATIONS) == list(range(1, survey_file.VERSION))
