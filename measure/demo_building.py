"""Where the demo building lies: inside the installed package, or in a checkout's fixtures."""

from __future__ import annotations

import shutil
from pathlib import Path

DEMO_SURVEY = "pennywhistle.survey.json"
#: The same picks, with ties that say what is the same in the three photos.
TIED_SURVEY = "pennywhistle-tied.survey.json"


def find_demo_folder() -> Path | None:
    """Find the demo's survey, photos and truth; None where they are not installed."""
    package = Path(__file__).resolve().parent
    for folder in (package / "demo", package.parent / "fixtures" / "demo"):
        if (folder / DEMO_SURVEY).is_file():
            return folder
    return None


def copy_demo(source: Path, folder: Path, *, tied: bool) -> Path:
    """Copy the demo into a folder, files that stand there kept; return the survey's path.

    Parameters
    ----------
    tied : bool
        Also copy the survey that ties the photos.

    Raises
    ------
    OSError
        If a file cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for file in sorted(source.iterdir()):
        wanted = file.is_file() and (tied or file.name != TIED_SURVEY)
        if wanted and not (folder / file.name).exists():
            shutil.copyfile(file, folder / file.name)
    return folder / DEMO_SURVEY
