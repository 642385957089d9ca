"""Saving: whole or not at all, whatever happens to the disk or the program."""

from __future__ import annotations

import errno
import json
import os
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest

from shared import whole_file
from shared.errors import SurveyFileError
from shared.survey_file import read_survey, write_survey
from shared.survey_versions import read_versions
from shared.whole_file import describe_write_failure, write_whole
from tests.support.surveys import make_survey

ROOT = Path(__file__).resolve().parents[2]
KILLS = 25


@pytest.fixture
def saved(tmp_path):
    """Give a survey file called "before"."""
    path = tmp_path / "malthouse.survey.json"
    write_survey(path, make_survey("before"))
    return path


def _list_everything(folder):
    return sorted(str(one.relative_to(folder)) for one in folder.rglob("*"))


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork and kill")
def test_a_killed_program_leaves_a_whole_survey_and_loses_no_confirmed_save(tmp_path):
    command = [sys.executable, "-m", "tests.support.save_and_kill", tmp_path, KILLS, 7]
    done = subprocess.run(
        list(map(str, command)), cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
    )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["faults"] == []
    assert found["saves"] >= KILLS
    assert read_survey(tmp_path / "malthouse.survey.json").title == str(found["saves"] - 1)


class _FailingDisk:
    """Stands in for a call of `os`, works a number of times, then fails for good."""

    def __init__(self, call, fails_with, works=0):
        self.call, self.fails_with, self.works = call, fails_with, works

    def __call__(self, *args, **more):
        if self.works > 0:
            self.works -= 1
            return self.call(*args, **more)
        raise OSError(self.fails_with, os.strerror(self.fails_with))


def _fail(monkeypatch, name, number, works=0):
    monkeypatch.setattr(whole_file.os, name, _FailingDisk(getattr(os, name), number, works))


FAILURES = {
    "full while writing": ("write", errno.ENOSPC, "the disk is full: free some space"),
    "full while flushing": ("fsync", errno.ENOSPC, "the disk is full: free some space"),
    "share used up": ("write", errno.EDQUOT, "your share of the disk is used up"),
    "a fault of the disk": ("fsync", errno.EIO, "the disk reported a fault"),
    "a disk to read only": ("open", errno.EROFS, "the disk can only be read"),
    "a folder to read only": ("open", errno.EACCES, "does not allow it: save it in a folder of"),
    "not allowed to rename": ("replace", errno.EPERM, "does not allow it: save it in a folder of"),
    "something unheard of": ("replace", errno.ELOOP, "of a fault of the system ("),
}


@pytest.mark.parametrize("case", FAILURES)
def test_a_save_that_fails_says_why_and_leaves_the_former_survey(case, saved, monkeypatch):
    name, number, words = FAILURES[case]
    works = 1 if name == "fsync" else 0  # the first one flushes the earlier version's folder
    if name == "open":
        works = 1
    with monkeypatch.context() as patch:
        _fail(patch, name, number, works)
        with pytest.raises(SurveyFileError) as refusal:
            write_survey(saved, make_survey("after"))
    sentence = str(refusal.value)
    assert f"{saved} was not saved because " in sentence
    assert words in sentence
    assert "\n" not in sentence
    assert read_survey(saved).title == "before"
    assert [one for one in _list_everything(saved.parent) if one.endswith(".part")] == []
    write_survey(saved, make_survey("after"))  # and as soon as it is possible again, it saves
    assert read_survey(saved).title == "after"


def test_a_disk_that_takes_a_little_at_a_time_gets_everything(tmp_path, monkeypatch):
    call = os.write
    monkeypatch.setattr(whole_file.os, "write", lambda where, what: call(where, what[:1000]))
    write_whole(tmp_path / "long.txt", b"0123456789" * 5000)
    assert (tmp_path / "long.txt").read_bytes() == b"0123456789" * 5000


@pytest.fixture
def small_disk(tmp_path):
    """Give a folder on a disk of 512 kB of its own; needs rights that few have."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs", str(place)]
    try:
        done = subprocess.run(mount, capture_output=True, check=False, timeout=20)
    except OSError as cause:
        pytest.skip(f"no disk of its own for this test: {cause}")
    if done.returncode:
        pytest.skip(f"no disk of its own for this test: {done.stderr.decode().strip()}")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True, timeout=20)


def test_on_a_disk_really_full_the_former_survey_stays(small_disk):
    path = small_disk / "malthouse.survey.json"
    write_survey(path, make_survey("before"))
    with pytest.raises(OSError, match=os.strerror(errno.ENOSPC)):
        (small_disk / "ballast").write_bytes(b"x" * 600_000)
    with pytest.raises(SurveyFileError, match="the disk is full: free some space and save again"):
        write_survey(path, make_survey("after"))
    assert read_survey(path).title == "before"
    assert "ballast" in _list_everything(small_disk)
    assert [one for one in _list_everything(small_disk) if one.endswith(".part")] == []
    (small_disk / "ballast").unlink()
    write_survey(path, make_survey("after"))
    assert read_survey(path).title == "after"
    assert [read_survey(one.path).title for one in read_versions(path)] == ["before"]


def test_on_a_disk_really_read_only_the_former_survey_stays(small_disk):
    path = small_disk / "malthouse.survey.json"
    write_survey(path, make_survey("before"))
    remount = ["mount", "-o", "remount,ro", str(small_disk)]
    subprocess.run(remount, check=True, timeout=20)
    with pytest.raises(SurveyFileError, match="the disk can only be read: save it on another"):
        write_survey(path, make_survey("after"))
    assert read_survey(path).title == "before"


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0,
    reason="permissions do not bind root; the played refusals above stand in for it",
)
def test_in_a_folder_really_read_only_the_former_survey_stays(saved):
    saved.parent.chmod(0o555)
    try:
        with pytest.raises(SurveyFileError, match="does not allow it"):
            write_survey(saved, make_survey("after"))
        assert read_survey(saved).title == "before"
    finally:
        saved.parent.chmod(0o755)


def test_a_survey_marked_read_only_is_left_alone(saved):
    saved.chmod(0o444)
    with pytest.raises(SurveyFileError, match="is marked read-only: allow writing to it"):
        write_survey(saved, make_survey("after"))
    assert read_survey(saved).title == "before"


def test_the_permissions_of_a_survey_are_kept(saved):
    saved.chmod(0o640)
    write_survey(saved, make_survey("after"))
    assert stat.S_IMODE(saved.stat().st_mode) == 0o640


def test_a_new_survey_gets_the_permissions_of_any_new_file(saved, tmp_path):
    other = tmp_path / "other"
    other.write_text("")
    assert stat.S_IMODE(saved.stat().st_mode) == stat.S_IMODE(other.stat().st_mode)


def test_a_link_to_a_survey_stays_a_link(saved, tmp_path):
    (tmp_path / "shelf").mkdir()
    link = tmp_path / "shelf" / "latest.survey.json"
    link.symlink_to(saved)
    write_survey(link, make_survey("after"))
    assert link.is_symlink()
    assert read_survey(saved).title == "after"
    assert read_versions(link) == read_versions(saved)
    assert _list_everything(tmp_path / "shelf") == ["latest.survey.json"]


def test_saving_over_a_folder_is_refused(tmp_path):
    path = tmp_path / "malthouse.survey.json"
    path.mkdir()
    with pytest.raises(SurveyFileError, match="there is a folder of that name"):
        write_survey(path, make_survey())


def test_saving_into_a_folder_that_is_not_there_names_it(tmp_path):
    path = tmp_path / "plots" / "malthouse.survey.json"
    with pytest.raises(SurveyFileError, match=f"the folder {path.parent} is not there: make it"):
        write_survey(path, make_survey())


def test_a_name_too_long_is_refused(tmp_path):
    with pytest.raises(SurveyFileError, match="its name is too long"):
        write_survey(tmp_path / ("m" * 300 + ".survey.json"), make_survey())


def test_the_longest_names_that_fit_are_saved(tmp_path):
    path = tmp_path / ("ŵ" * 115 + ".survey.json")  # 242 bytes of 255
    write_survey(path, make_survey("one"))
    write_survey(path, make_survey("two"))
    assert read_survey(path).title == "two"


def test_what_killed_programs_left_is_cleared_after_a_while(saved):
    old = saved.with_name(".malthouse.survey.json.0123456789ab.part")
    young = saved.with_name(".malthouse.survey.json.ba9876543210.part")
    other = saved.with_name(".malthouse.survey.json.of-the-user.part")
    for path in (old, young, other):
        path.write_text("half a sur")
    an_hour_ago = time.time() - 3600
    for path in (old, other):
        os.utime(path, (an_hour_ago, an_hour_ago))
    write_survey(saved, make_survey("after"))
    assert [old.exists(), young.exists(), other.exists()] == [False, True, True]


def test_every_reason_ends_in_something_to_do():
    for number in (errno.ENOSPC, errno.EACCES, errno.ENOENT, errno.ENAMETOOLONG, errno.EBUSY, 0):
        sentence = describe_write_failure(OSError(number, "Reason"), Path("a.survey.json"))
        assert sentence.startswith("a.survey.json was not saved because ")
        assert ": " in sentence
        assert sentence.endswith(".")
