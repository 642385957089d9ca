"""Mutated photos and surveys: taken soundly or refused in one sentence; the bench feeds 100,000."""

import pytest

from tests.support.fuzzing import KINDS, feed
from tests.support.maltings_card import maltings_job


@pytest.mark.parametrize(
    ("kind", "count"),
    [("photo", 300), ("survey", 200), ("picks", 25), ("card", 15), ("drawing", 15)],
)
def test_mutated_files_are_taken_soundly_or_refused_in_one_sentence(kind, count):
    if kind in ("card", "drawing"):
        maltings_job()  # measured once, for all children
    found = feed(kind, 1_000_000, count)
    assert found.faults == []
    assert sum(found.outcomes.values()) == count
    assert found.peak_mb < 1500


def crash(number, folder):
    raise ZeroDivisionError(f"input {number}")


def hang(number, folder):
    while number == 1:
        pass
    return "taken"


def test_fault_is_found_out_with_the_number_that_brings_it_back(monkeypatch):
    monkeypatch.setitem(KINDS, "crash", crash)
    found = feed("crash", 7, 2)
    assert found.outcomes == {"fault": 2}
    assert found.faults[0].startswith("crash 7:")
    assert "ZeroDivisionError: input 7" in found.faults[0]


def test_input_that_takes_for_ever_is_found_out_and_the_rest_goes_on(monkeypatch):
    monkeypatch.setitem(KINDS, "hang", hang)
    monkeypatch.setattr("tests.support.fuzzing.MOST_S", 0.2)
    found = feed("hang", 0, 4)
    assert found.faults == ["hang 1: more than 0.2 s"]
    assert found.outcomes == {"taken": 3, "died": 1}
