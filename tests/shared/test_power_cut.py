"""Power fails at every moment of saving: the survey opens, with at most the last edit missing."""

from __future__ import annotations

import os

import numpy as np
import pytest

from measure.export.files import write_files
from shared.survey_file import read_survey, restore_version, write_survey
from shared.survey_versions import read_versions
from shared.whole_file import write_whole
from tests.support.power_cut import Recorder, disk_after, marks_before, write_disk
from tests.support.surveys import make_survey

SAVES = 5
#: Of steps in folders and of bytes in files, what was not flushed reached the disk: nothing,
#: names without their bytes (the usual one), bytes without names, all, any part of each.
SHARES = ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0), (None, None), (None, None))

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the model is that of POSIX")


def found_after(recorder, old, tmp_path):
    """Folders as they may be found, with what had been confirmed."""
    for cut in range(len(recorder.steps) + 1):
        for number, share in enumerate(SHARES):
            held = disk_after(recorder.steps, cut, np.random.default_rng([cut, number]), *share)
            new = tmp_path / f"cut-{cut}-{number}"
            new.mkdir()
            write_disk(held, old, new)
            yield new, marks_before(recorder.steps, cut)


def test_survey_opens_after_a_power_cut_at_any_step_of_any_save(tmp_path):
    old = tmp_path / "old"
    old.mkdir()
    path = old / "malthouse.survey.json"
    recorder = Recorder()
    with recorder.recording():
        for number in range(SAVES):
            write_survey(path, make_survey(str(number)))
            recorder.mark(number)
    assert sum(step.what == "flush" for step in recorder.steps) >= SAVES
    cases = 0
    for new, confirmed in found_after(recorder, old, tmp_path):
        survey = new / path.name
        last = confirmed[-1] if confirmed else -1
        cases += 1
        if last < 0 and not survey.exists():
            continue  # nothing was confirmed yet
        title = int(read_survey(survey).title)
        assert title in (last, last + 1)
        versions = [int(read_survey(one.path).title) for one in read_versions(survey)]
        assert versions == sorted(versions, reverse=True)
        # each confirmed state but the present one can be gone back to
        assert set(range(last)) <= set(versions) | {title}
        if [one for one in versions if one != title]:
            assert int(restore_version(survey).title) < title or title == 0
    assert cases > 100


def test_exported_files_are_whole_after_a_power_cut(tmp_path):
    old = tmp_path / "old"
    old.mkdir()
    recorder = Recorder()
    contents = [{f"{name}.svg": f"{name} {n} ".encode() * 50 for name in "abc"} for n in range(3)]
    with recorder.recording():
        for number, files in enumerate(contents):
            write_files(old, files)
            recorder.mark(number)
    for new, confirmed in found_after(recorder, old, tmp_path):
        last = confirmed[-1] if confirmed else -1
        for name in contents[0]:
            allowed = [files[name] for files in contents[max(last, 0) : last + 2]]
            if (new / name).exists():
                assert (new / name).read_bytes() in allowed
            else:
                assert last < 0


def test_model_finds_out_a_save_that_does_not_flush(tmp_path):
    """With the flush of the file left out, its name is there after the cut, and it is empty."""
    path = tmp_path / "a.svg"
    recorder = Recorder()
    with recorder.recording():
        write_whole(path, b"the whole of it")
    chance = np.random.default_rng(1)
    held = disk_after(recorder.steps, len(recorder.steps), chance, 1.0, 0.0)
    assert held == {str(path): b"the whole of it"}
    careless = [step for step in recorder.steps if step.what != "flush"]
    assert disk_after(careless, len(careless), chance, 1.0, 0.0) == {str(path): b""}
    forgetful = [step for step in recorder.steps if step.what != "flush-folder"]
    assert disk_after(forgetful, len(forgetful), chance, 0.0, 0.0) == {}
