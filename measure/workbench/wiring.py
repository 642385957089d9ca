"""What every route is given: the shelf, and what the command line opened."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fastapi import Request

from measure.workbench.dragging import LinedUpFaces
from measure.workbench.shelf import Shelf
from shared.survey import Survey
from shared.survey_file import parse_survey


@dataclass
class Bench:
    """State of the running program.

    Parameters
    ----------
    shelf : Shelf
    opened : str or None
        Key of the survey that the command line named.
    demo_folder : Path or None
        The demo as it was installed.
    lined_up : LinedUpFaces
        Faces drawn lately, for lines that are dragged.
    """

    shelf: Shelf
    opened: str | None = None
    demo_folder: Path | None = None
    lined_up: LinedUpFaces = field(default_factory=LinedUpFaces)


def bench_of(request: Request) -> Bench:
    """Find the state of the running program, for a route."""
    bench: Bench = request.app.state.bench
    return bench


def survey_from_page(document: dict[str, Any]) -> Survey:
    """Check a document that the page sent, with the same sentences as for a file.

    Raises
    ------
    SurveyFileError, FieldError
    """
    return parse_survey(document, "This survey")
