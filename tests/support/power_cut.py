"""A power cut in mathematics: what was asked of the disk is written down, and cut off anywhere.

The model is the harshest that POSIX allows of a sound disk. What was written to a file is
sure only once the file was flushed. What happened to the names in a folder (made, renamed,
linked, removed) is sure only once the folder was flushed; until then any number of those
steps, in their order, may have reached the disk.
"""

from __future__ import annotations

import contextlib
import itertools
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np


@dataclass
class Step:
    """One thing asked of the disk; `mark` is what the test was doing."""

    what: str
    place: str = ""
    other: str = ""
    inode: int = 0
    data: bytes = b""
    mark: object = None


@dataclass
class Recorder:
    """Calls of `os` as they happen, by inode."""

    steps: list[Step] = field(default_factory=list)
    inodes: dict[str, int] = field(default_factory=dict)
    open_files: dict[int, tuple[int, str]] = field(default_factory=dict)
    numbers: Iterator[int] = field(default_factory=lambda: itertools.count(1))

    def mark(self, value: object) -> None:
        """Say that something is confirmed from here on."""
        self.steps.append(Step("mark", mark=value))

    @contextlib.contextmanager
    def recording(self) -> Iterator[Recorder]:
        """Write down what this process asks of the disk."""
        names = ("open", "write", "fsync", "close", "replace", "link", "unlink", "mkdir")
        real = {name: getattr(os, name) for name in names}

        def wrap(name: str) -> Any:
            def call(*args: Any, **more: Any) -> Any:
                result = real[name](*args, **more)
                getattr(self, f"_{name}")(result, *args)
                return result

            return call

        with contextlib.ExitStack() as stack:
            for name in names:
                stack.enter_context(mock.patch.object(os, name, wrap(name)))
            yield self

    def _open(self, descriptor: int, path: Any, flags: int, *mode: Any) -> None:
        place = os.fspath(path)
        if flags & os.O_CREAT:
            self.inodes[place] = next(self.numbers)
            self.steps.append(Step("name", place, inode=self.inodes[place]))
        self.open_files[descriptor] = (self.inodes.get(place, 0), place)

    def _write(self, count: int, descriptor: int, data: Any) -> None:
        if descriptor in self.open_files:
            inode, place = self.open_files[descriptor]
            self.steps.append(Step("write", place, inode=inode, data=bytes(data[:count])))

    def _fsync(self, result: None, descriptor: int) -> None:
        inode, place = self.open_files[descriptor]
        self.steps.append(Step("flush" if inode else "flush-folder", place, inode=inode))

    def _close(self, result: None, descriptor: int) -> None:
        self.open_files.pop(descriptor, None)

    def _replace(self, result: None, source: Any, target: Any) -> None:
        a, b = os.fspath(source), os.fspath(target)
        self.inodes[b] = self.inodes.pop(a)
        self.steps.append(Step("rename", a, b, inode=self.inodes[b]))

    def _link(self, result: None, source: Any, target: Any) -> None:
        a, b = os.fspath(source), os.fspath(target)
        self.inodes[b] = self.inodes[a]
        self.steps.append(Step("name", b, inode=self.inodes[a]))

    def _unlink(self, result: None, path: Any) -> None:
        place = os.fspath(path)
        self.inodes.pop(place, None)
        self.steps.append(Step("remove", place))

    def _mkdir(self, result: None, path: Any, *mode: Any) -> None:
        self.steps.append(Step("folder", os.fspath(path)))


def marks_before(steps: list[Step], cut: int) -> list[object]:
    """What had been confirmed when the power failed."""
    return [step.mark for step in steps[:cut] if step.what == "mark"]


def disk_after(
    steps: list[Step],
    cut: int,
    rng: np.random.Generator,
    names_kept: float | None,
    data_kept: float | None,
) -> dict[str, bytes | None]:
    """What the disk may hold when power fails after `cut` steps: contents by path, None a folder.

    The shares are of what was not flushed and yet reached the disk, of steps in folders and of
    bytes in files: 0, 1, or None for any number.
    """
    sure: dict[int, bytes] = {}
    written: dict[int, bytes] = {}
    pending: dict[str, list[Step]] = {}
    names: dict[str, int | None] = {}
    for step in steps[:cut]:
        if step.what == "write":
            written[step.inode] = written.get(step.inode, b"") + step.data
        elif step.what == "flush":
            sure[step.inode] = written.get(step.inode, b"")
        elif step.what == "flush-folder":
            for done in pending.pop(step.place, []):
                _apply(done, names)
        elif step.what != "mark":
            pending.setdefault(os.path.dirname(step.place), []).append(step)

    def share(count: int, kept: float | None) -> int:
        return int(rng.integers(count + 1)) if kept is None else round(kept * count)

    for waiting in pending.values():
        for done in waiting[: share(len(waiting), names_kept)]:
            _apply(done, names)
    held: dict[str, bytes | None] = {}
    for place, inode in names.items():
        if inode is None:
            held[place] = None
            continue
        safe, whole = sure.get(inode, b""), written.get(inode, b"")
        held[place] = whole[: len(safe) + share(len(whole) - len(safe), data_kept)]
    return held


def _apply(step: Step, names: dict[str, int | None]) -> None:
    if step.what == "folder":
        names[step.place] = None
    elif step.what == "name":
        names[step.place] = step.inode
    elif step.what == "rename":
        names.pop(step.place, None)
        names[step.other] = step.inode
    elif step.what == "remove":
        names.pop(step.place, None)


def write_disk(held: dict[str, bytes | None], old: Path, new: Path) -> None:
    """Lay the contents of `old` out as they would be found, in `new`."""
    for place, content in sorted(held.items(), key=lambda item: item[0].count(os.sep)):
        path = new / Path(place).relative_to(old)
        if content is None:
            path.mkdir(exist_ok=True)
        elif path.parent.is_dir():
            path.write_bytes(content)
