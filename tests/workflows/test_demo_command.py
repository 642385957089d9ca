"""What ``storeyrod demo`` says: sizes beside the truth, where the files are, what to open first."""

import re

import pytest

from measure.commands import demo
from measure.commands.demo import Compared
from measure.size_rows import SizeRow
from tests.support.command import run_command


def compared(value, u, true):
    row = SizeRow("front", "w1", "Door", "opening", "width_mm", "width", value, u, value / 148)
    return [text.replace("\u202f", " ") for text in Compared(row, true).texts()]


@pytest.mark.parametrize(
    ("value", "u", "true", "off"),
    [
        (1001.8, 9.1, 1000.0, "+2 mm"),
        (992.6, 8.7, 1000.0, "−7 mm"),
        (1699.8, 11.0, 1700.0, "0 mm"),
        (7388.0, 37.0, 7400.0, "−10 mm"),
    ],
)
def test_what_a_size_is_off_by_has_a_sign_a_unit_and_the_figures_that_its_pm_is_worth(
    value, u, true, off
):
    assert compared(value, u, true)[3] == off


@pytest.fixture(scope="module")
def said(tmp_path_factory):
    """What it prints. The drawings are left out: here nothing is said of what is in them."""

    def write(_job, folder, _wish, *, quiet):
        written = [folder / name for name, _ in demo.FIRST]
        for path in written:
            path.write_bytes(b"1" * 600_000)
        return written, []

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(demo, "write_delivery", write)
        folder = tmp_path_factory.mktemp("demo") / "maltings"
        status, out, err = run_command("demo", folder, "-q")
    assert (status, err) == (0, "")
    return out


def test_the_demo_is_told_in_one_screen(said):
    assert len(said.splitlines()) < 30


def test_the_demo_names_its_folder_how_large_it_is_and_what_to_open(said):
    told = said.replace("\n", " ")
    assert re.search(r"4 files are in .*maltings, 2 MB\.", told)
    assert all(name in said for name, _ in demo.FIRST)


def test_numbers_of_the_demo_have_a_true_minus_and_no_minus_nought(said):
    assert not re.search(r"(^|\s)-\d", said)
    assert "−0 " not in said
