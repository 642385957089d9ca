"""Commands that look closer at one wall; `measure.cli` adds them to the others."""

from __future__ import annotations

from typing import Annotated

import typer

from measure.commands.options import AsJson, MaxMegapixels, Quiet, SurveyFile

FaceId = Annotated[
    str | None, typer.Option("--face", help="The face, by its id.", show_default=False)
]


def bricks(
    survey: SurveyFile,
    face: FaceId = None,
    stretchers: Annotated[
        list[str] | None,
        typer.Option(
            "--stretchers",
            help="d7=6: the distance d7, along one course, spans six stretchers; d7: count them.",
            show_default=False,
        ),
    ] = None,
    opening: Annotated[
        list[str] | None,
        typer.Option(
            "--opening", help="Say what each brick makes of this opening.", show_default=False
        ),
    ] = None,
    json: AsJson = False,
) -> None:
    """Say which bricks a wall may be laid of, and what each would make its door.

    Each format of the catalogue is weighed against the other known sizes and, where stretchers
    were counted along a course, against how long the bricks are for their height.
    """
    from measure.commands.bricks import run_bricks

    run_bricks(
        survey,
        face=face,
        stretchers=tuple(stretchers or ()),
        openings=tuple(opening or ()),
        as_json=json,
    )


def guides(
    survey: SurveyFile,
    photo: Annotated[
        str | None, typer.Option("--photo", help="Only this photo, by its id.", show_default=False)
    ] = None,
    keep: Annotated[
        bool, typer.Option("--keep", help="Write what is found into the survey.")
    ] = False,
    drop: Annotated[
        bool, typer.Option("--drop", help="Take found guides out of the survey.")
    ] = False,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Let the photo's own straight edges hold its camera: lens, tilt and focal length.

    Edges that run level and plumb with the frame are looked for and put to the test against each
    other and against your picks. What they would change is shown; --keep makes it so.
    """
    from measure.commands.guiding import run_guides

    run_guides(survey, photo=photo, keep=keep, drop=drop, as_json=json, quiet=quiet)


def openings(
    survey: SurveyFile,
    face: FaceId = None,
    add: Annotated[
        list[str] | None,
        typer.Option(
            "--add",
            help="Write these into the survey: all, row1, column2 or n3; may be said again.",
            show_default=False,
        ),
    ] = None,
    json: AsJson = False,
    max_megapixels: MaxMegapixels = 200.0,
    quiet: Quiet = False,
) -> None:
    """List what looks like a door or window on a straightened wall, and add what you choose.

    They are guesses from edges and colours, in rows and columns of like ones: about one in five
    is wrong, and some are missed. Look at each one that you add.
    """
    from measure.commands.openings import run_openings

    run_openings(
        survey,
        face=face,
        add=tuple(add or ()),
        as_json=json,
        max_megapixels=max_megapixels,
        quiet=quiet,
    )
