import csv
import io
import math

import pytest

from measure.elevation.schedule import Schedule, ScheduleRow, ScheduleSize
from measure.export.csv import csv_from_schedule

ROWS = (
    ScheduleRow("front", "h1", "Eaves", "level", (ScheduleSize("level", 8400.0, 11.0),)),
    ScheduleRow(
        "front",
        "w1",
        "W1, ground floor",
        "opening",
        (
            ScheduleSize("width", 1204.1, 5.8),
            ScheduleSize("height", 2101.0, 7.4),
            ScheduleSize("sill", 910.0, 5.0),
        ),
        form="segmental",
    ),
    ScheduleRow(
        "front",
        "w2",
        "±Ж麦",
        "opening",
        (ScheduleSize("width", 1204.1, None), ScheduleSize("height", math.nan, 7.0)),
        inferred=True,
        notes="mirrored",
    ),
)


def read(schedule):
    """What a spreadsheet makes of the file."""
    text = csv_from_schedule(schedule).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_sizes_read_back_at_full_size_and_at_the_models():
    level, w1, _ = read(Schedule(ROWS, 148.0))
    assert float(w1["width full size (mm)"]) == 1204.1
    assert float(w1["± width full size (mm)"]) == 5.8
    assert float(w1["width model 1:148 (mm)"]) == pytest.approx(1204.1 / 148, abs=5e-4)
    assert float(w1["± width model 1:148 (mm)"]) == pytest.approx(5.8 / 148, abs=5e-6)
    assert float(w1["sill full size (mm)"]) == 910.0
    assert float(level["level full size (mm)"]) == 8400.0
    assert (w1["face"], w1["id"], w1["name"], w1["kind"], w1["form"]) == (
        "front",
        "w1",
        "W1, ground floor",
        "opening",
        "segmental",
    )


def test_unit_stands_in_the_header_of_every_size():
    header = list(read(Schedule(ROWS, 148.0))[0])
    sizes = [name for name in header if "full size" in name or "model" in name]
    assert len(sizes) == 4 * 4
    assert all(name.endswith("(mm)") for name in sizes)


def test_columns_keep_the_order_of_the_trade_whatever_comes_first():
    assert Schedule(ROWS, 148.0).size_names() == ["width", "height", "sill", "level"]


def test_size_that_is_missing_or_unknown_leaves_its_cell_empty():
    level, _, w2 = read(Schedule(ROWS, 148.0))
    assert level["width full size (mm)"] == ""
    assert w2["± width full size (mm)"] == ""
    assert w2["height full size (mm)"] == ""


def test_what_was_not_measured_says_so():
    assert [row["measured"] for row in read(Schedule(ROWS, 148.0))] == ["yes", "yes", "no"]


def test_letters_of_any_script_read_back():
    assert read(Schedule(ROWS, 148.0))[2]["name"] == "±Ж麦"


@pytest.mark.parametrize("label", ["=1+1", "+1", "-1", "@a", "  =1", "\t=1"])
def test_label_is_never_taken_for_a_formula(label):
    row = ScheduleRow("front", "h1", label, "level", (ScheduleSize("level", -5.0),))
    (cells,) = read(Schedule((row,), 148.0))
    assert cells["name"].startswith("'")
    # A level below the datum is a number and stays one.
    assert float(cells["level full size (mm)"]) == -5.0


def test_label_with_commas_quotes_and_line_ends_stays_one_cell():
    row = ScheduleRow("f", "h", 'a, "b"\nc', "level", (ScheduleSize("level", 1.0),))
    (cells,) = read(Schedule((row,), 148.0))
    assert cells["name"] == 'a, "b" c'


def test_size_of_nothing_has_no_minus():
    row = ScheduleRow("f", "h", "datum", "level", (ScheduleSize("level", -0.001),))
    assert read(Schedule((row,), 148.0))[0]["level full size (mm)"] == "0.0"


def test_schedule_without_rows_is_a_header_alone():
    text = csv_from_schedule(Schedule((), 148.0)).decode("utf-8-sig")
    assert text == "face,id,name,kind,form,measured,notes\r\n"


def test_scale_of_nothing_is_refused():
    with pytest.raises(ValueError, match="scale_denominator"):
        Schedule(ROWS, 0.0)


def test_two_sizes_of_one_name_are_refused():
    size = ScheduleSize("width", 1.0)
    with pytest.raises(ValueError, match="differ"):
        ScheduleRow("f", "a", "", "opening", (size, size))
