"""Arguments and options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

SurveyFile = Annotated[
    Path,
    typer.Argument(metavar="SURVEY", help="A survey file, NAME.survey.json.", show_default=False),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON for other programs.")]
Quiet = Annotated[bool, typer.Option("--quiet", "-q", help="No progress on long work.")]
MaxMegapixels = Annotated[
    float, typer.Option("--max-megapixels", help="Refuse photos larger than this.", min=1.0)
]
