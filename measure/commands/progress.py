"""Progress of long work, on a terminal."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

Report = Callable[[str, float], bool | None]


@contextlib.contextmanager
def shown_progress(quiet: bool) -> Iterator[Report | None]:
    """Progress bar on a terminal, nothing elsewhere or when told to be quiet."""
    if quiet or not sys.stderr.isatty():
        yield None
        return
    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("starting", total=1.0)

        def report(what: str, share: float) -> None:
            bar.update(task, description=what, completed=share)

        yield report
