"""Parts that are left out at the user's wish."""

from __future__ import annotations

import csv
import datetime as dt

import pytest

from measure.parts.cut_files import make_card_files
from measure.parts.part_sheets import lay_parts
from measure.parts.printer import Correction
from shared.card_wishes import CardWishes, LeftOutPart, Sill
from shared.errors import FieldError
from tests.support.card_walls import make_front, make_side, plan_of


def make_plan(*left_out):
    wishes = CardWishes(sill=Sill(), left_out=left_out)
    return plan_of(make_front(), make_side(90.0), wishes=wishes)


def laid_marks(plan):
    return [mark for sheet in lay_parts(plan, Correction())[0] for mark in sheet.marks]


@pytest.fixture(scope="module")
def marks():
    return laid_marks(make_plan())


@pytest.fixture(scope="module")
def several(marks):
    """A mark that several parts bear."""
    return next(mark for mark in marks if marks.count(mark) > 1)


def test_a_part_left_out_lies_on_no_sheet_and_all_others_do(marks):
    left = laid_marks(make_plan(LeftOutPart(mark=marks[0])))
    assert sorted(left) == sorted(mark for mark in marks if mark != marks[0])


def test_one_copy_may_be_left_out(marks, several):
    left = laid_marks(make_plan(LeftOutPart(mark=several, copies=1)))
    assert left.count(several) == marks.count(several) - 1


def test_the_files_say_what_is_left_out(marks):
    made = make_card_files(make_plan(LeftOutPart(mark=marks[0])), dt.date(2026, 1, 2))
    rows = csv.DictReader(made.files["cut-list.csv"].decode("utf-8-sig").splitlines())
    row = next(row for row in rows if row["mark"] == marks[0])
    assert (row["count"], row["sheet"]) == ("0", "left out")
    assert f"on no sheet: {marks[0]}." in made.files["build-order.txt"].decode()


def test_a_mark_that_no_part_bears_is_a_caution(marks):
    sheets, _ = lay_parts(make_plan(LeftOutPart(mark="Z9")), Correction())
    assert "Z9 is to be left out, but no part" in " ".join(sheets[0].cautions)


def test_leaving_out_everything_is_refused(marks):
    with pytest.raises(FieldError, match="Every part is left out"):
        laid_marks(make_plan(*(LeftOutPart(mark=mark) for mark in set(marks))))


def test_a_mark_left_out_twice_is_refused():
    with pytest.raises(ValueError, match="left out twice"):
        CardWishes(left_out=(LeftOutPart(mark="A1"), LeftOutPart(mark="A1")))
