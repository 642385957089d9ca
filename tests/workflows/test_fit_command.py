"""From the command line: the ways to fit a face to its plot, and the one that is chosen."""

import json
import re

import pypdfium2 as pdfium
import pytest

from tests.support.command import run_command
from tests.support.street_survey import write_street

# The street front is 7200 by 5600 mm: 48.6 by 37.8 mm at 1:148.


def test_ways_are_printed_with_their_costs_and_drawn(tmp_path):
    path = write_street(tmp_path)
    status, out, err = run_command("fit", path, "--width", 42, "--out", tmp_path / "ways.pdf")
    assert (status, err) == (0, "")
    assert "Face front is 48.6 x 37.8 mm: too large for its plot." in out
    assert "Everything smaller: 42.0 x 32.7 mm" in out
    assert "Piers narrowed: 42.0 x 37.8 mm" in out
    page = pdfium.PdfDocument(tmp_path / "ways.pdf")[0]
    text = page.get_textpage().get_text_range()
    assert "Piers narrowed (narrow-piers)" in text
    assert "ways to fit a plot of 42.0 mm x any" in text


def test_the_way_printed_can_be_written_into_the_survey_and_is_drawn(tmp_path):
    path = write_street(tmp_path)
    _, out, _ = run_command("fit", path, "--width", 42, "--out", tmp_path / "ways.svg")
    found = [json.loads(text) for text in re.findall(r'"plot": (\{.*\})', out)]
    assert {each["choice"] for each in found} >= {"reduce", "narrow-piers"}
    for plot in found:
        path = write_street(tmp_path, {"drawing": {"plot": plot}})
        words = ("--formats", "svg", "--out", tmp_path / plot["choice"], "-q")
        status, _, err = run_command("export", path, *words)
        assert (status, err) == (0, "")


def test_only_ways_that_keep_the_door_true(tmp_path):
    path = write_street(tmp_path)
    words = ("--width", 42, "--keep-true", "--out", tmp_path / "ways.pdf")
    status, out, _ = run_command("fit", path, *words)
    assert status == 0
    assert "Everything smaller" not in out
    assert "Piers narrowed" in out


def test_what_fits_needs_no_way(tmp_path):
    path = write_street(tmp_path)
    status, out, _ = run_command("fit", path, "--width", 60, "--out", tmp_path / "ways.pdf")
    assert (status, out) == (0, "Face front fits its plot as it is: 48.6 x 37.8 mm.\n")
    assert not (tmp_path / "ways.pdf").exists()


def test_size_of_the_plot_may_come_from_the_survey(tmp_path):
    plot = {"width_mm": 42, "choice": "narrow-piers"}
    path = write_street(tmp_path, {"drawing": {"plot": plot}})
    status, out, _ = run_command("fit", path, "--out", tmp_path / "ways.pdf")
    assert status == 0
    assert "Piers narrowed" in out
    # the survey wants door and courses true
    assert "Everything smaller" not in out


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ((), "The plot for face 'front' has no size."),
        (("--width", 0), "A plot of 0 mm is none."),
        (("--height", -3), "A plot of -3 mm is none."),
        (("--width", 5), "A plot of 5.0 mm is narrower than opening 'w1'"),
        (("--width", 15, "--keep-true"), "No way fits face 'front'"),
        (("--width", 42, "--face", "rear"), "The survey has no face 'rear'."),
        (("--width", 42, "--paper", "A99"), "A99"),
    ],
)
def test_a_plot_that_cannot_be_is_refused_in_one_sentence(tmp_path, words, sentence):
    path = write_street(tmp_path)
    status, _, err = run_command("fit", path, *words, "--out", tmp_path / "ways.pdf")
    assert status == 2
    assert sentence in err
    assert err.count("\n") == 1
    assert not (tmp_path / "ways.pdf").exists()


def test_another_format_is_refused(tmp_path):
    path = write_street(tmp_path)
    status, _, err = run_command("fit", path, "--width", 42, "--out", tmp_path / "ways.dxf")
    assert status == 4
    assert "is written as .pdf or .svg" in err
