import errno
import os
import threading

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measure.export import files
from measure.export.files import safe_stem, write_bytes_atomically, write_files
from shared.errors import ExportError


def names_in(folder):
    return sorted(entry.name for entry in folder.iterdir())


def test_file_is_written_whole_with_nothing_left_beside_it(tmp_path):
    write_bytes_atomically(tmp_path / "a.svg", b"drawing")
    assert (tmp_path / "a.svg").read_bytes() == b"drawing"
    assert names_in(tmp_path) == ["a.svg"]


def test_older_file_is_replaced(tmp_path):
    (tmp_path / "a.svg").write_bytes(b"old and longer")
    write_bytes_atomically(tmp_path / "a.svg", b"new")
    assert (tmp_path / "a.svg").read_bytes() == b"new"


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EROFS, "may not be written to"),
        (errno.EACCES, "may not be written to"),
        (errno.EIO, "try another folder"),
    ],
)
@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_fault_of_the_disk_leaves_the_old_file_and_no_half_of_the_new(
    tmp_path, monkeypatch, fault, said, step
):
    (tmp_path / "a.svg").write_bytes(b"old")

    def fail(*_):
        raise OSError(fault, os.strerror(fault))

    monkeypatch.setattr(files.os, step, fail)
    with pytest.raises(ExportError, match=said) as refusal:
        write_bytes_atomically(tmp_path / "a.svg", b"new")
    assert str(refusal.value).startswith("a.svg was not written")
    assert (tmp_path / "a.svg").read_bytes() == b"old"
    assert names_in(tmp_path) == ["a.svg"]


def test_full_disk_half_way_through_leaves_no_half_file(tmp_path):
    if not os.path.exists("/dev/full"):
        pytest.skip("this system has no device that is always full")
    # The device stands for a disk that takes nothing: the open succeeds, the write fails.
    real_write = os.write
    full = os.open("/dev/full", os.O_WRONLY)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "write", lambda _, data: real_write(full, data))
        with pytest.raises(ExportError, match="the disk is full"):
            write_bytes_atomically(tmp_path / "a.svg", b"x" * 100_000)
    os.close(full)
    assert names_in(tmp_path) == []


def test_missing_folder_is_named(tmp_path):
    with pytest.raises(ExportError, match="no folder “elsewhere”"):
        write_bytes_atomically(tmp_path / "elsewhere" / "a.svg", b"x")


def test_file_in_place_of_a_folder_is_named(tmp_path):
    (tmp_path / "drawings").write_bytes(b"")
    with pytest.raises(ExportError, match="drawings"):
        write_bytes_atomically(tmp_path / "drawings" / "a.svg", b"x")
    with pytest.raises(ExportError, match="drawings"):
        write_files(tmp_path / "drawings", {"a.svg": b"x"})


def test_folder_in_place_of_the_file_is_refused(tmp_path):
    (tmp_path / "a.svg").mkdir()
    with pytest.raises(ExportError, match="is a folder"):
        write_bytes_atomically(tmp_path / "a.svg", b"x")
    assert names_in(tmp_path) == ["a.svg"]


@pytest.mark.skipif(
    os.name != "posix" or os.geteuid() == 0, reason="needs a user without all rights"
)
def test_folder_that_may_not_be_written_to_is_named(tmp_path):
    folder = tmp_path / "kept"
    folder.mkdir(mode=0o500)
    with pytest.raises(ExportError, match="“kept” may not be written to"):
        write_bytes_atomically(folder / "a.svg", b"x")


def test_name_too_long_for_the_system_is_refused_in_one_sentence(tmp_path):
    with pytest.raises(ExportError, match="too long"):
        write_bytes_atomically(tmp_path / ("a" * 300 + ".svg"), b"x")


def test_reader_sees_the_old_file_or_the_new_one_never_a_part(tmp_path):
    path = tmp_path / "a.bin"
    old, new = b"o" * 300_000, b"n" * 300_000
    write_bytes_atomically(path, old)
    seen, stop = set(), threading.Event()

    def watch():
        while not stop.is_set():
            seen.add(path.read_bytes())

    watcher = threading.Thread(target=watch)
    watcher.start()
    for data in [new, old] * 15:
        write_bytes_atomically(path, data)
    stop.set()
    watcher.join()
    assert seen <= {old, new}


def test_several_files_go_into_a_folder_that_is_made(tmp_path):
    contents = {"a.svg": b"1", "a.pdf": b"2"}
    written = write_files(tmp_path / "new" / "drawings", contents)
    assert [path.name for path in written] == ["a.svg", "a.pdf"]
    assert {path.name: path.read_bytes() for path in written} == contents


@pytest.mark.parametrize(
    ("words", "stem"),
    [
        (("Pennywhistle Maltings", "Street front"), "pennywhistle-maltings-street-front"),
        (("../../etc/passwd",), "etc-passwd"),
        (("CON",), "con-drawing"),
        (("a<b>:c|d?*",), "a-b-c-d"),
        (("麦芽工場",), "麦芽工場"),
        (("  ", "..."), "drawing"),
    ],
)
def test_stem_of_file_names_is_plain(words, stem):
    assert safe_stem(*words) == stem


@given(st.text(max_size=300))
def test_any_title_gives_a_name_that_stays_in_its_folder(title):
    stem = safe_stem(title)
    assert stem
    assert len(f"{stem}-model.dxf".encode()) <= 255
    assert not set(stem) & set('/\\:*?"<>|\x00')
    assert not stem.startswith(".")
