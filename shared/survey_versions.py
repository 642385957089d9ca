"""Earlier versions of a survey: kept at each save, thinned out with age.

``malthouse.survey.json`` has them in the folder ``.malthouse.survey.versions``
beside it, each named by the moment it was saved (UTC). Knows files and dates,
not what is in a survey.
"""

from __future__ import annotations

import contextlib
import filecmp
import os
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from shared.errors import SurveyFileError
from shared.whole_file import flush_folder, write_whole

MAX_VERSIONS = 300
MAX_VERSIONS_BYTES = 256 * 1024 * 1024
ALWAYS_KEPT = 20  # newest versions, whatever their age
_STEPS = (
    # younger than -> one version is kept in each step of this length
    (timedelta(hours=1), timedelta(minutes=1)),
    (timedelta(days=1), timedelta(minutes=10)),
    (timedelta(days=60), timedelta(days=1)),
    (timedelta.max, timedelta(days=30)),
)
_EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
_NAME = re.compile(r"(\d{4}-\d\d-\d\dT\d{6}\.\d{6}Z)-(\d{3})\.json")
_STAMP = "%Y-%m-%dT%H%M%S.%fZ"


@dataclass(frozen=True, slots=True)
class Version:
    """One earlier state of a survey file.

    Parameters
    ----------
    name : str
        What to call it; sorts by age.
    path : Path
        Where it lies.
    saved : datetime
        When that state was saved, in UTC.
    size_bytes : int
        Length of the file.
    """

    name: str
    path: Path
    saved: datetime
    size_bytes: int


def versions_folder(survey_path: str | os.PathLike[str]) -> Path:
    """Name the folder of earlier versions of a survey file.

    Examples
    --------
    >>> versions_folder("plots/malthouse.survey.json").name
    '.malthouse.survey.versions'
    """
    target = Path(os.path.realpath(survey_path))
    return target.with_name(f".{target.name.removesuffix('.json')}.versions")


def read_versions(survey_path: str | os.PathLike[str]) -> tuple[Version, ...]:
    """List the earlier versions of a survey file, newest first.

    Raises
    ------
    SurveyFileError
        If the folder of versions cannot be read. That there is none is no error.
    """
    folder = versions_folder(survey_path)
    found: list[Version] = []
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                parts = _NAME.fullmatch(entry.name)
                if parts and entry.is_file(follow_symlinks=False):
                    saved = _parse_stamp(parts[1])
                    if saved is not None:
                        size = entry.stat(follow_symlinks=False).st_size
                        name = entry.name.removesuffix(".json")
                        found.append(Version(name, folder / entry.name, saved, size))
    except FileNotFoundError:
        return ()
    except OSError as cause:
        said = (cause.strerror or "a fault of the system").lower()
        raise SurveyFileError(
            f"The earlier versions in {folder} cannot be read ({said}): "
            "move away what stands there, or allow it to be read."
        ) from cause
    return tuple(sorted(found, key=lambda version: version.name, reverse=True))


def keep_version(survey_path: str | os.PathLike[str]) -> Version | None:
    """Keep the survey file as it is now, before another takes its place.

    Nothing is kept twice: if the newest version holds the same bytes, that one
    is returned. None means that there is no file to keep.

    Raises
    ------
    OSError
        If it cannot be kept.
    SurveyFileError
        If the folder of versions cannot be read.
    """
    target = Path(os.path.realpath(survey_path))
    try:
        state = target.stat()
    except FileNotFoundError:
        return None
    saved = datetime.fromtimestamp(state.st_mtime, UTC)
    kept = read_versions(target)
    if kept and is_same(target, kept[0].path):
        return kept[0]
    folder = versions_folder(target)
    folder.mkdir(exist_ok=True)
    if kept and kept[0].saved > saved:  # a clock set back must not reorder what was saved
        saved = kept[0].saved
    stamp = saved.strftime(_STAMP)
    for number in range(1, 1000):
        name = f"{stamp}-{number:03d}"
        path = folder / f"{name}.json"
        if path.exists():
            continue
        try:
            os.link(target, path)  # takes no room, so it works on a full disk too
            flush_folder(folder)
        except FileExistsError:  # another thread took the name in between
            continue
        except OSError:  # a disk without links
            write_whole(path, target.read_bytes())
        return Version(name, path, saved, state.st_size)
    raise OSError(0, f"no free name left in {folder}")


def thin_versions(survey_path: str | os.PathLike[str], now: datetime | None = None) -> None:
    """Remove the versions that age, number and size no longer let us keep.

    A version that cannot be removed stays: that harms nobody.
    """
    versions = read_versions(survey_path)
    kept = {version.name for version in choose_kept(versions, now or datetime.now(UTC))}
    for version in versions:
        if version.name not in kept:
            with contextlib.suppress(OSError):
                version.path.unlink()


def choose_kept(versions: Iterable[Version], now: datetime) -> tuple[Version, ...]:
    """Choose the versions to keep, newest first.

    The newest 20 stay. Of the others one stays for each minute of the last hour, for
    each ten minutes of the last day, for each day of the last sixty, for each
    thirty days before: always the last state of the step. Then the oldest go
    until no more than `MAX_VERSIONS` and `MAX_VERSIONS_BYTES` are left; the
    newest one stays whatever its size.
    """
    chosen: list[Version] = []
    taken: set[tuple[timedelta, int]] = set()
    size_bytes = 0
    for version in sorted(versions, key=lambda one: one.name, reverse=True):
        age = now - version.saved
        step = next(length for limit, length in _STEPS if age < limit)
        place = (step, (version.saved - _EPOCH) // step)
        if len(chosen) >= ALWAYS_KEPT and place in taken:
            continue
        size_bytes += version.size_bytes
        if chosen and (len(chosen) >= MAX_VERSIONS or size_bytes > MAX_VERSIONS_BYTES):
            break
        taken.add(place)
        chosen.append(version)
    return tuple(chosen)


def is_same(first: Path, second: Path) -> bool:
    """Tell whether two files hold the same bytes; lengths are compared before they are read."""
    try:
        return filecmp.cmp(first, second, shallow=False)
    finally:
        filecmp.clear_cache()


def _parse_stamp(text: str) -> datetime | None:
    try:
        return datetime.strptime(text, _STAMP).replace(tzinfo=UTC)
    except ValueError:  # somebody made a file named like the 31st of February
        return None
