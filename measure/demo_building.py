"""Where the demo building lies: inside the installed package, or in a checkout's fixtures."""

from __future__ import annotations

from pathlib import Path

DEMO_SURVEY = "pennywhistle.survey.json"


def find_demo_folder() -> Path | None:
    """Find the demo's survey, photos and truth; None where they are not installed."""
    package = Path(__file__).resolve().parent
    for folder in (package / "demo", package.parent / "fixtures" / "demo"):
        if (folder / DEMO_SURVEY).is_file():
            return folder
    return None
