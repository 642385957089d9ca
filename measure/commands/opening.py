"""``storeyrod open``, and ``storeyrod`` alone."""

from __future__ import annotations

from pathlib import Path


def open_workbench(file: Path | None, *, port: int, browser: bool) -> None:
    """Serve the workbench until stopped."""
    from measure.workbench.serve import serve

    serve(file, port=port, browser=browser)
