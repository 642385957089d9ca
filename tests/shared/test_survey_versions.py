"""Earlier versions: every save can be undone, and they neither pile up nor get lost."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared import survey_versions
from shared.errors import FieldError, SurveyFileError
from shared.survey_file import read_survey, restore_version, write_survey
from shared.survey_versions import (
    ALWAYS_KEPT,
    MAX_VERSIONS,
    MAX_VERSIONS_BYTES,
    Version,
    choose_kept,
    keep_version,
    read_versions,
    thin_versions,
    versions_folder,
)
from tests.support.surveys import make_survey

NOW = datetime(2026, 3, 14, 12, 0, tzinfo=UTC)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "malthouse.survey.json"


def _titles(path):
    return [read_survey(version.path).title for version in read_versions(path)]


def _save_all(path, titles):
    for title in titles:
        write_survey(path, make_survey(title))


def _version(age, size_bytes=1000):
    saved = NOW - age
    name = saved.strftime("%Y-%m-%dT%H%M%S.%fZ") + "-001"
    return Version(name, Path(f"{name}.json"), saved, size_bytes)


def test_a_first_save_has_no_earlier_version(path):
    write_survey(path, make_survey())
    assert read_versions(path) == ()
    assert keep_version(path.with_name("other.survey.json")) is None


def test_each_save_keeps_the_state_before_it_newest_first(path):
    _save_all(path, ["one", "two", "three"])
    assert read_survey(path).title == "three"
    assert _titles(path) == ["two", "one"]


def test_saving_the_same_again_keeps_nothing_and_writes_nothing(path):
    _save_all(path, ["one"])
    before = path.stat()
    _save_all(path, ["one", "one"])
    assert path.stat().st_mtime_ns == before.st_mtime_ns
    assert path.stat().st_ino == before.st_ino
    assert read_versions(path) == ()


def test_a_version_is_dated_by_when_that_state_was_saved(path):
    _save_all(path, ["one"])
    moment = datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC)
    os.utime(path, (moment.timestamp(), moment.timestamp()))
    _save_all(path, ["two"])
    (version,) = read_versions(path)
    assert version.saved == moment
    assert version.name == "2026-01-02T030405.000000Z-001"
    assert version.path.parent.name == ".malthouse.survey.versions"


def test_a_clock_set_back_does_not_reorder_what_was_saved(path):
    _save_all(path, ["one", "two"])
    os.utime(path, (0, 0))
    _save_all(path, ["three"])
    assert _titles(path) == ["two", "one"]


def test_a_damaged_file_is_kept_too_before_it_is_replaced(path):
    path.write_text('{"format": "storeyrod sur')
    write_survey(path, make_survey("whole again"))
    (version,) = read_versions(path)
    assert version.path.read_text() == '{"format": "storeyrod sur'


def test_a_version_stays_as_it_was_when_the_file_is_changed_in_place(path):
    _save_all(path, ["one", "two"])
    path.write_text("an editor writes into the file itself")
    assert _titles(path) == ["one"]


def test_without_links_versions_are_copied(path, monkeypatch):
    def refuse(*_args):
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(survey_versions.os, "link", refuse)
    _save_all(path, ["one", "two", "three"])
    assert _titles(path) == ["two", "one"]


def test_going_back_without_a_name_undoes_the_last_save(path):
    _save_all(path, ["one", "two"])
    assert restore_version(path).title == "one"
    assert read_survey(path).title == "one"


def test_going_back_can_itself_be_undone(path):
    _save_all(path, ["one", "two"])
    restore_version(path)
    assert restore_version(path).title == "two"


def test_going_back_brings_the_very_bytes(path):
    path.write_text('{"format": "storeyrod survey", "version": 1, "title": "by hand"}')
    _save_all(path, ["two"])
    restore_version(path)
    assert path.read_text() == '{"format": "storeyrod survey", "version": 1, "title": "by hand"}'


def test_any_version_can_be_brought_back_by_name(path):
    _save_all(path, ["one", "two", "three"])
    oldest = read_versions(path)[-1]
    assert restore_version(path, oldest.name).title == "one"
    assert _titles(path)[0] == "three"


@pytest.mark.parametrize("name", ["2020-01-01T000000.000000Z-001", "../malthouse.survey", "", "."])
def test_a_version_that_is_not_there_is_refused(path, name):
    _save_all(path, ["one", "two"])
    with pytest.raises(SurveyFileError, match="has no earlier version '"):
        restore_version(path, name)
    assert read_survey(path).title == "two"


def test_going_back_with_no_versions_is_refused(path):
    _save_all(path, ["one"])
    with pytest.raises(SurveyFileError, match="has no earlier versions: there is nothing"):
        restore_version(path)


def test_a_damaged_version_is_refused_and_the_present_file_stays(path):
    path.write_text('{"format": "storeyrod survey", "version": 1, "titel": "x"}')
    _save_all(path, ["two"])
    with pytest.raises(FieldError, match="did you mean 'title'"):
        restore_version(path)
    assert read_survey(path).title == "two"


def test_a_deleted_survey_comes_back_from_its_versions(path):
    _save_all(path, ["one", "two"])
    path.unlink()
    assert restore_version(path).title == "one"


def test_a_file_in_the_way_of_the_versions_stops_the_save_with_a_sentence(path):
    _save_all(path, ["one"])
    versions_folder(path).write_text("in the way")
    with pytest.raises(SurveyFileError, match="move away what stands there"):
        write_survey(path, make_survey("two"))
    assert read_survey(path).title == "one"


def test_what_is_not_a_version_is_left_alone(path):
    _save_all(path, ["one", "two"])
    folder = versions_folder(path)
    others = ["notes.txt", "2026-02-31T000000.000000Z-001.json", "2026-01-01T000000Z.json"]
    for name in others:
        (folder / name).write_text("kept")
    (folder / "2026-01-01T000000.000000Z-002.json").mkdir()
    assert _titles(path) == ["one"]
    thin_versions(path)
    assert all((folder / name).exists() for name in others)


def test_many_saves_leave_a_bounded_number_of_versions(path):
    _save_all(path, [str(number) for number in range(60)])
    kept = _titles(path)
    assert kept[:ALWAYS_KEPT] == [str(number) for number in range(58, 58 - ALWAYS_KEPT, -1)]
    assert len(kept) <= ALWAYS_KEPT + 2  # beyond the newest one each minute, and it took seconds


def test_versions_thin_out_with_age():
    every_ten_seconds = [_version(timedelta(seconds=10 * n)) for n in range(6 * 60 * 24 * 3)]
    kept = choose_kept(every_ten_seconds, NOW)
    ages = [NOW - version.saved for version in kept]
    assert ages[:ALWAYS_KEPT] == [timedelta(seconds=10 * n) for n in range(ALWAYS_KEPT)]
    gaps = {age: later - age for age, later in pairwise(ages)}
    hour, day = timedelta(hours=1), timedelta(days=1)
    minutes = [gap for age, gap in gaps.items() if timedelta(minutes=5) < age < 0.9 * hour]
    assert set(minutes) == {timedelta(minutes=1)}
    tens = [gap for age, gap in gaps.items() if 2 * hour < age < 0.9 * day]
    assert set(tens) == {timedelta(minutes=10)}
    days = [gap for age, gap in gaps.items() if age > 1.5 * day]
    assert set(days) <= {day}


def test_in_each_step_the_last_state_stays():
    morning, evening = _version(timedelta(days=9, hours=9)), _version(timedelta(days=9, hours=1))
    newer = [_version(timedelta(seconds=n)) for n in range(ALWAYS_KEPT)]
    assert choose_kept([*newer, morning, evening], NOW)[ALWAYS_KEPT:] == (evening,)


def test_the_number_of_versions_is_limited():
    one_a_month = [_version(timedelta(days=30 * n)) for n in range(MAX_VERSIONS + 40)]
    kept = choose_kept(one_a_month, NOW)
    assert len(kept) == MAX_VERSIONS
    assert kept == tuple(one_a_month[:MAX_VERSIONS])


def test_the_size_of_the_versions_is_limited_but_the_newest_stays():
    large = [_version(timedelta(days=n), MAX_VERSIONS_BYTES // 4) for n in range(9)]
    assert choose_kept(large, NOW) == tuple(large[:4])
    enormous = [_version(timedelta(days=n), 2 * MAX_VERSIONS_BYTES) for n in range(3)]
    assert choose_kept(enormous, NOW) == (enormous[0],)


@given(ages=st.lists(st.integers(-3600, 400 * 86400), unique=True, max_size=80))
@settings(deadline=None, derandomize=True)
def test_thinning_twice_is_thinning_once_and_keeps_the_newest(ages):
    versions = [_version(timedelta(seconds=age)) for age in ages]
    kept = choose_kept(versions, NOW)
    assert choose_kept(kept, NOW) == kept
    assert kept[:1] == tuple(sorted(versions, key=lambda one: one.name, reverse=True)[:1])
    assert set(kept) <= set(versions)
