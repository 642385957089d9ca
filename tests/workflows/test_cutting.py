"""``run_cut`` from a survey on disk to a folder of files."""

import shutil
import zipfile

import pytest

from measure.commands.cutting import parse_bars, run_cut
from shared.card_wishes import CardWishes
from shared.errors import FieldError
from tests.support.command import run_command
from tests.support.maltings_card import SURVEY, make_maltings_wishes


def test_demo_is_cut_into_sheets_key_list_order_and_archive(tmp_path, capsys):
    run_cut(SURVEY, out=tmp_path, wishes=make_maltings_wishes(), quiet=True)
    names = {path.name for path in tmp_path.iterdir()}
    assert {"cut-list.csv", "build-order.txt", "assembled.svg"} <= names
    assert "pennywhistle-maltings-parts.pdf" in names
    assert {n for n in names if n.startswith("key-")} == {
        "key-front.svg", "key-wing.svg", "key-tower.svg",
    }  # fmt: skip
    with zipfile.ZipFile(tmp_path / "pennywhistle-maltings-card.zip") as archive:
        assert set(archive.namelist()) == names - {"pennywhistle-maltings-card.zip"}
    said = capsys.readouterr().out
    assert "parts on 6 sheets" in said
    assert "note: The reveals of p1" in said


def test_wing_alone_at_another_scale_without_an_archive(tmp_path):
    run_cut(
        SURVEY, out=tmp_path, wishes=CardWishes(), faces=("wing",), scale="1:76.2",
        paper="Letter", bars="149.8 x 150.1", archive=False, quiet=True,
    )  # fmt: skip
    names = {path.name for path in tmp_path.iterdir()}
    assert not any(name.endswith(".zip") for name in names)
    assert "key-wing.svg" in names
    assert "key-front.svg" not in names
    assert 'width="215.9mm"' in (tmp_path / "sheet-01-folding-carton.svg").read_text()


def test_files_lie_beside_the_survey_unless_told(tmp_path):
    for file in SURVEY.parent.iterdir():
        if file.suffix in (".json", ".jpg"):
            shutil.copy(file, tmp_path)
    run_cut(tmp_path / SURVEY.name, wishes=CardWishes(faces=("wing",)), quiet=True)
    assert (tmp_path / "pennywhistle-card" / "cut-list.csv").exists()


@pytest.mark.parametrize("text", ["149.8 x 150.1", "149.8mm × 150.1mm", "149.8 150.1"])
def test_bars_are_read_as_people_write_them(text):
    bars = parse_bars(text)
    assert (bars.across_mm, bars.up_mm) == (149.8, 150.1)


@pytest.mark.parametrize("text", ["", "wide", "150", "1 x 2 x 3", "nan x 150", "150 x inf"])
def test_bars_that_say_nothing_are_refused(text):
    with pytest.raises(FieldError, match="two bars measured"):
        parse_bars(text)


@pytest.mark.parametrize("face", ["wing", "tower"])
def test_one_face_alone_is_cut_at_the_scale_asked_for(tmp_path, face):
    """What is wished for the other faces waits; the tower stands by itself, all the way round."""
    words = ("--face", face, "--scale", "1:220", "--quiet", "--out", tmp_path)
    status, _, err = run_command("cut", SURVEY, *words)
    assert (status, err) == (0, "")
    text = (tmp_path / "build-order.txt").read_text(encoding="utf-8")
    assert "1:220" in text
    assert ("Close the seam at the back" in text) == (face == "tower")
