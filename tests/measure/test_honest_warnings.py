"""Common mistakes are pointed out, sound surveys are left in peace; the bench counts hundreds."""

import json

import pytest
from PIL import Image

from tests.support.command import run_command
from tests.support.mistakes import MISTAKES, score
from tests.support.photo_makers import make_exif
from tests.support.street_survey import write_street

CASES = 8


@pytest.mark.parametrize("name", sorted(MISTAKES))
def test_mistake_is_caught_and_its_sound_twin_left_in_peace(name):
    """Of eight cases seven at least: the bench shows nine of ten, this is no place for luck."""
    found = score(name, CASES)
    assert found.caught >= 7
    assert found.false_alarms == 0


def test_what_speaks_against_the_file_is_among_the_warnings_of_its_photo(tmp_path):
    path = write_street(tmp_path)
    status, out, _ = run_command("measure", path, "--json")
    assert (status, json.loads(out)["photos"]["street"]["warnings"]) == (0, [])
    photo = tmp_path / "street.png"
    with Image.open(photo) as picture:
        comment = make_exif(x9286=b"ASCII\0\0\0Screenshot")
        picture.save(photo, exif=comment.tobytes())
    status, out, _ = run_command("measure", path, "--json")
    assert status == 0
    (warning,) = json.loads(out)["photos"]["street"]["warnings"]
    assert "picture of a screen" in warning
    assert warning in " ".join(run_command("check", path)[1].split())
