"""Earlier versions of a survey file, kept beside it so that every save can be undone.

They lie in ``.NAME.survey.versions/``, named by the time they were replaced. The
latest are all kept; older ones are thinned to one an hour, then one a day.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import re
from dataclasses import dataclass
from pathlib import Path

from shared.whole_file import write_whole

#: Kept whatever their age.
LATEST_KEPT = 50

#: Never more than this.
MOST_KEPT = 200

_NAME = re.compile(r"^(\d{8}T\d{6}\.\d{6})\.json$")


@dataclass(frozen=True, slots=True)
class Version:
    """One earlier version.

    Parameters
    ----------
    name : str
        By which it is restored.
    replaced_at : datetime
        When the next version took its place, UTC.
    path : Path
    """

    name: str
    replaced_at: dt.datetime
    path: Path


def versions_folder(path: Path) -> Path:
    """Folder of the earlier versions of a survey file."""
    return path.with_name(f".{path.name.removesuffix('.json')}.versions")


def keep_version(path: Path) -> None:
    """Keep the file as it is now among the earlier versions.

    Raises
    ------
    OSError
        If it cannot be kept.
    """
    folder = versions_folder(path)
    folder.mkdir(exist_ok=True)
    now = dt.datetime.now(dt.UTC)
    target = folder / f"{now:%Y%m%dT%H%M%S.%f}.json"
    while target.exists():
        now += dt.timedelta(microseconds=1)
        target = folder / f"{now:%Y%m%dT%H%M%S.%f}.json"
    write_whole(target, path.read_bytes())
    for version in _superfluous(list_versions(path)):
        with contextlib.suppress(OSError):
            version.path.unlink()


def list_versions(path: Path | str) -> list[Version]:
    """List the earlier versions of a survey file, latest first."""
    folder = versions_folder(Path(path))
    found = []
    if folder.is_dir():
        for file in folder.iterdir():
            match = _NAME.match(file.name)
            if match:
                at = dt.datetime.strptime(match[1], "%Y%m%dT%H%M%S.%f").replace(tzinfo=dt.UTC)
                found.append(Version(file.name, at, file))
    return sorted(found, key=lambda version: version.name, reverse=True)


def _superfluous(versions: list[Version]) -> list[Version]:
    """List those to drop: beyond the latest, all but the last of each hour or, later, day."""
    kept, dropped = versions[:LATEST_KEPT], []
    if not kept:
        return []
    newest = kept[0].replaced_at
    seen: set[str] = set()
    for version in versions[LATEST_KEPT:]:
        young = newest - version.replaced_at < dt.timedelta(days=2)
        slot = version.name[: 11 if young else 8]
        if slot in seen or len(kept) >= MOST_KEPT:
            dropped.append(version)
        else:
            seen.add(slot)
            kept.append(version)
    return dropped
