"""Guides found in the photo from the command line: shown, kept, dropped."""

from __future__ import annotations

import json

import pytest

from shared.survey_file import read_survey
from tests.support.command import run_command
from tests.support.street_with_edges import write_wide_street


@pytest.fixture(scope="module")
def street(tmp_path_factory):
    return write_wide_street(tmp_path_factory.mktemp("street"))


def far_width_mm(path):
    status, out, err = run_command("measure", path, "--json")
    assert status == 0, err
    told = json.loads(out)
    return told["faces"]["front"]["measures"]["far"]["length_mm"], told["photos"]["street"]


def test_looking_shows_before_and_after_and_changes_nothing(street):
    path, _ = street
    before = path.read_bytes()
    status, out, err = run_command("guides", path)
    assert status == 0, err
    assert "without" in out
    assert "lens term k1" in out
    assert "far corner" in out
    assert "--keep" in out
    assert path.read_bytes() == before


def test_kept_guides_mend_the_far_corner_and_dropping_them_undoes_it(street):
    path, camera = street
    before = read_survey(path)
    was, _ = far_width_mm(path)
    status, out, err = run_command("guides", path, "--keep")
    assert status == 0, err
    assert "take them out with --drop" in " ".join(out.split())  # a long path breaks the line
    kept = read_survey(path)
    found = [guide for guide in kept.faces[0].guides if guide.found]
    assert len(found) > 10
    assert [guide for guide in kept.faces[0].guides if not guide.found] == [*before.faces[0].guides]
    now, photo = far_width_mm(path)
    assert abs(now - 1200.0) < abs(was - 1200.0) / 3
    assert photo["k1"] == pytest.approx(camera.k1, abs=3.3 * photo["u_k1"])
    status, out, err = run_command("guides", path, "--drop")
    assert status == 0, err
    assert f"Took {len(found)} found guides out" in out
    assert read_survey(path) == before


def test_json_tells_numbers_and_guides_as_a_survey_writes_them(street):
    path, _ = street
    status, out, err = run_command("guides", path, "--json", "--photo", "street")
    assert status == 0, err
    told = json.loads(out)
    photo = told["photos"]["street"]
    assert told["kept"] is False
    assert photo["count"] == len(photo["guides"]["front"])
    assert all(guide["found"] for guide in photo["guides"]["front"])
    assert photo["after"]["lines_rms_px"] < photo["before"]["lines_rms_px"]
    assert photo["after"]["u_far_per_cent"] < photo["before"]["u_far_per_cent"]


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (["--keep", "--drop"], 2, "--keep or --drop"),
        (["--photo", "back"], 2, "no photo 'back'"),
    ],
)
def test_impossible_wishes_are_refused_in_one_line(street, words, status, said):
    got, _, err = run_command("guides", street[0], *words)
    assert got == status
    assert said in err
    assert len(err.strip().splitlines()) == 1


def test_a_photo_without_edges_keeps_what_it_has(street, tmp_path):
    from PIL import Image

    path, camera = street
    copy = tmp_path / path.name
    copy.write_bytes(path.read_bytes())
    Image.new("RGB", (camera.width_px, camera.height_px), (128, 128, 128)).save(
        tmp_path / "wide.png"
    )
    before = read_survey(copy)
    status, out, _ = run_command("guides", copy, "--keep")
    assert status == 0
    assert "nothing is added" in out
    assert read_survey(copy) == before
