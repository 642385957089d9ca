"""Photos of a survey: found beside it, confined for the page, told when they changed."""

from __future__ import annotations

import hashlib

import pytest

from rectify.photos.file import read_photo_header
from shared.errors import FieldError, PhotoError
from shared.photo_paths import (
    check_photo_unchanged,
    describe_photo_change,
    hash_photo,
    photo_path,
)
from shared.survey import Photo


@pytest.fixture
def survey_path(tmp_path):
    (tmp_path / "plots" / "photos").mkdir(parents=True)
    (tmp_path / "secret.jpg").write_bytes(b"not for the page")
    (tmp_path / "plots" / "street.jpg").write_bytes(b"street")
    return tmp_path / "plots" / "malthouse.survey.json"


def _photo(file, sha256=None):
    return Photo(id="street", file=file, sha256=sha256)


@pytest.mark.parametrize("file", ["street.jpg", "photos/yard.jpg", "./street.jpg", "..jpg", "a..b"])
@pytest.mark.parametrize("confine", [False, True])
def test_a_photo_beside_the_survey_or_below_is_found(survey_path, file, confine):
    expected = (survey_path.parent / file).resolve()
    assert photo_path(survey_path, _photo(file), confine=confine).resolve() == expected


ELSEWHERE = {
    "above": "../secret.jpg",
    "above by a way round": "photos/../../secret.jpg",
    "above and back": "../plots/street.jpg",
    "above with the other slash": "..\\secret.jpg",
    "above below": "photos\\..\\..\\secret.jpg",
    "the folder itself": ".",
    "the folder by a way round": "photos/..",
}
WHOLE = {
    "whole path": "/etc/hostname",
    "whole path with two slashes": "//server/share/a.jpg",
    "whole path with the other slash": "\\secret.jpg",
    "a share": "\\\\server\\share\\a.jpg",
    "a drive": "C:\\secret.jpg",
    "a drive without a slash": "c:secret.jpg",
}


@pytest.mark.parametrize("case", ELSEWHERE)
def test_a_photo_elsewhere_is_refused_to_the_page(survey_path, case):
    with pytest.raises(FieldError, match="lies outside the folder of the survey") as refusal:
        photo_path(survey_path, _photo(ELSEWHERE[case]), confine=True)
    assert refusal.value.details == {"photo": "street"}


@pytest.mark.parametrize("case", WHOLE)
def test_a_whole_path_is_refused_to_the_page(survey_path, case):
    with pytest.raises(FieldError, match="is named by a whole path"):
        photo_path(survey_path, _photo(WHOLE[case]), confine=True)


@pytest.mark.parametrize("confine", [False, True])
def test_a_name_with_a_zero_character_is_refused_to_all(survey_path, confine):
    with pytest.raises(FieldError, match="zero character"):
        photo_path(survey_path, _photo("street.jpg\0.txt"), confine=confine)


def test_on_the_command_line_a_photo_may_lie_elsewhere(survey_path):
    found = photo_path(survey_path, _photo("../secret.jpg"))
    assert found.read_bytes() == b"not for the page"


def test_a_link_out_of_the_folder_is_refused_to_the_page(survey_path):
    (survey_path.parent / "linked.jpg").symlink_to("../secret.jpg")
    (survey_path.parent / "up").symlink_to("..")
    for file in ("linked.jpg", "up/secret.jpg"):
        with pytest.raises(FieldError, match="lies outside the folder"):
            photo_path(survey_path, _photo(file), confine=True)


def test_a_link_within_the_folder_is_followed(survey_path):
    (survey_path.parent / "photos" / "linked.jpg").symlink_to("../street.jpg")
    found = photo_path(survey_path, _photo("photos/linked.jpg"), confine=True)
    assert found == (survey_path.parent / "street.jpg").resolve()


def test_a_survey_reached_by_a_link_has_its_photos_beside_its_target(survey_path, tmp_path):
    survey_path.write_text("{}")
    link = tmp_path / "latest.survey.json"
    link.symlink_to(survey_path)
    assert photo_path(link, _photo("street.jpg"), confine=True).read_bytes() == b"street"


def test_a_folder_whose_name_begins_alike_is_not_within(survey_path, tmp_path):
    (tmp_path / "plots-other").mkdir()
    (survey_path.parent / "aside").symlink_to("../plots-other")
    with pytest.raises(FieldError, match="lies outside the folder"):
        photo_path(survey_path, _photo("aside/a.jpg"), confine=True)


def test_the_hash_is_that_of_the_bytes(survey_path):
    path = survey_path.parent / "street.jpg"
    assert hash_photo(path) == hashlib.sha256(b"street").hexdigest()


def test_a_photo_as_it_was_needs_no_sentence(survey_path):
    path = survey_path.parent / "street.jpg"
    photo = _photo("street.jpg", hashlib.sha256(b"street").hexdigest())
    assert describe_photo_change(photo, path) is None
    check_photo_unchanged(survey_path, photo)


def test_a_photo_of_unknown_hash_needs_no_sentence(survey_path):
    assert describe_photo_change(_photo("street.jpg"), survey_path.parent / "street.jpg") is None


def test_a_changed_photo_is_told_in_a_sentence(survey_path):
    photo = _photo("street.jpg", hashlib.sha256(b"another").hexdigest())
    sentence = (
        "Photo 'street' is not the file it was when the survey was saved (street.jpg has "
        "changed): put the former photo back, or check every pick."
    )
    assert describe_photo_change(photo, survey_path.parent / "street.jpg") == sentence
    with pytest.raises(FieldError) as refusal:
        check_photo_unchanged(survey_path, photo)
    assert str(refusal.value) == sentence


def test_a_missing_photo_cannot_be_compared(survey_path):
    photo = _photo("gone.jpg", "0" * 64)
    with pytest.raises(PhotoError, match=r"gone.jpg cannot be read \(no such file or directory\)"):
        describe_photo_change(photo, survey_path.parent / "gone.jpg")
    check_photo_unchanged(survey_path, photo)  # reading it is what says that it is gone


@pytest.mark.parametrize("file", ["a" * 300 + ".png", "loop.png"], ids=["too long", "a loop"])
def test_a_name_that_no_disk_can_find_is_left_to_the_reading(survey_path, file):
    (survey_path.parent / "loop.png").symlink_to("loop.png")
    check_photo_unchanged(survey_path, _photo(file, "0" * 64))
    with pytest.raises(PhotoError, match="cannot be read"):
        read_photo_header(photo_path(survey_path, _photo(file)))
