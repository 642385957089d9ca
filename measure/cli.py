"""The command line: commands, their options and help; refusals as one line.

Exit status: 0 good, 2 bad input, 3 the picture cannot give it, 4 a file cannot be
read or written, 1 a bug in the program.
"""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from measure.commands.ending import end_in_words
from measure.commands.options import AsJson, MaxMegapixels, Quiet, SurveyFile
from measure.commands.wall_commands import bricks, guides, openings
from shared.errors import InputError

CAUTION = (
    "Sizes from photographs are for models only: not a survey, not for building work, "
    "boundaries or structural decisions; defer to local codes and licensed practice."
)

app = typer.Typer(
    name="storeyrod",
    help=(
        "True sizes and a scaled elevation from one street photograph of a building.\n\n"
        "Start with 'storeyrod demo', or 'storeyrod open PHOTO' to work by clicking.\n\n" + CAUTION
    ),
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)


class Units(StrEnum):
    """Systems of units for tables."""

    METRIC = "metric"
    IMPERIAL = "imperial"


FaceId = Annotated[
    str | None, typer.Option("--face", help="Only this face, by its id.", show_default=False)
]
Scale = Annotated[
    str | None,
    typer.Option(
        "--scale",
        help="1:148, 'N British', '2 1/16 mm/ft', 1:50, 1:1 ...; the survey's own if left out.",
        show_default=False,
    ),
]
OutFolder = Annotated[
    Path | None, typer.Option("--out", "-o", help="Folder to write into.", show_default=False)
]
PaperName = Annotated[
    str | None, typer.Option("--paper", help="A4, A3 or Letter.", show_default=False)
]
UnitsOption = Annotated[Units, typer.Option("--units", help="Units of the table.")]


@app.callback(invoke_without_command=True)
def start(
    context: typer.Context,
    debug: Annotated[
        bool, typer.Option("--debug", help="Show where in the program an error arose.")
    ] = False,
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    """Open the workbench when no command is named."""
    context.obj = debug
    if version:
        from importlib.metadata import version as installed_version

        typer.echo(f"storeyrod {installed_version('storeyrod')}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        from measure.commands.opening import open_workbench

        open_workbench(None, port=0, browser=True)


@app.command("open")
def open_(
    file: Annotated[
        Path | None, typer.Argument(metavar="[PHOTO|SURVEY]", show_default=False)
    ] = None,
    port: Annotated[int, typer.Option(help="Port on this computer; 0 takes a free one.")] = 0,
    browser: Annotated[bool, typer.Option(help="Open a browser window.")] = True,
) -> None:
    """Work by clicking: open a photo or a survey in the browser.

    The page is served by this program to this computer only; nothing leaves it. Stop it with
    Ctrl-C: everything is saved as you go.
    """
    from measure.commands.opening import open_workbench

    open_workbench(file, port=port, browser=browser)


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="Where to put it.")] = Path("pennywhistle-demo"),
    quiet: Quiet = False,
) -> None:
    """Measure the demo building, Pennywhistle Maltings, and write all its files.

    Copies the survey and its photos into FOLDER, prints the sizes with their ± beside the
    truth, and writes elevations (SVG, DXF, PDF), schedules (CSV) and straightened photos (PNG).
    """
    from measure.commands.demo import run_demo

    run_demo(folder, quiet=quiet)


@app.command()
def measure(
    survey: SurveyFile,
    json: AsJson = False,
    face: FaceId = None,
    units: UnitsOption = Units.METRIC,
    graphs: Annotated[
        Path | None,
        typer.Option(help="Folder for graphs of the courses read from photos."),
    ] = None,
) -> None:
    """Print every size of a survey with its ±, at full size and at the model's scale.

    The ± is one standard uncertainty: the true size lies within it two times in three, within
    twice of it nineteen times in twenty.
    """
    from measure.commands.measuring import run_measure

    run_measure(survey, as_json=json, face=face, units=units.value, graphs=graphs)


@app.command()
def straighten(
    survey: SurveyFile,
    face: FaceId = None,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="PNG file to write.", show_default=False)
    ] = None,
    scale: Scale = None,
    dpi: Annotated[float, typer.Option(help="Pixels to the inch of the print.")] = 600.0,
    max_megapixels: MaxMegapixels = 200.0,
    quiet: Quiet = False,
) -> None:
    """Write the photo of a face straightened, at print size, as a PNG.

    What the photo does not show is left transparent. Print it at 100 %, never "fit to page".
    """
    from measure.commands.files import run_straighten

    run_straighten(
        survey, face=face, out=out, scale=scale, dpi=dpi, max_megapixels=max_megapixels, quiet=quiet
    )


@app.command()
def export(
    survey: SurveyFile,
    out: OutFolder = None,
    face: FaceId = None,
    scale: Scale = None,
    formats: Annotated[
        str, typer.Option("--formats", help="Any of svg, dxf, pdf, csv, png.")
    ] = "svg,dxf,pdf,csv,png",
    paper: Annotated[
        str | None,
        typer.Option(
            "--paper", help="A4, A3, Letter ...; chosen to fit if left out.", show_default=False
        ),
    ] = None,
    dpi: Annotated[float, typer.Option(help="Pixels to the inch of the PNG.")] = 600.0,
    as_picked: Annotated[
        bool,
        typer.Option("--as-picked", help="Draw everything where it was picked, nothing lined up."),
    ] = False,
    max_megapixels: MaxMegapixels = 200.0,
    quiet: Quiet = False,
) -> None:
    """Write the elevation of each face to scale: SVG, DXF, PDF, CSV and the straightened PNG.

    What agrees within its ± is lined up, and what the survey wishes is completed and added; the
    liberties taken stand in a table beside it. Every sheet carries a bar of 100 mm each way to
    check the printer by.
    """
    from measure.commands.files import run_export

    run_export(
        survey,
        out=out,
        face=face,
        scale=scale,
        formats=formats,
        paper=paper,
        dpi=dpi,
        as_picked=as_picked,
        max_megapixels=max_megapixels,
        quiet=quiet,
    )


@app.command()
def fit(
    survey: SurveyFile,
    width: Annotated[
        float | None,
        typer.Option("--width", help="Width of the plot, mm of the model.", show_default=False),
    ] = None,
    height: Annotated[
        float | None,
        typer.Option("--height", help="Height of the plot, mm of the model.", show_default=False),
    ] = None,
    face: FaceId = None,
    scale: Scale = None,
    keep_true: Annotated[
        bool, typer.Option("--keep-true", help="Only ways that keep doors and courses true.")
    ] = False,
    paper: PaperName = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="PDF or SVG file to write.", show_default=False),
    ] = None,
) -> None:
    """Show the ways to fit a face to the plot that the layout has for it, each with its cost.

    All smaller, bays or storeys left out, piers or storeys narrowed: printed, and drawn side by
    side on one sheet. Write the one you choose into the survey, and export draws it.
    """
    from measure.commands.fitting import run_fit

    run_fit(
        survey,
        width_mm=width,
        height_mm=height,
        face=face,
        scale=scale,
        keep_true=keep_true,
        paper=paper,
        out=out,
    )


@app.command()
def cut(
    survey: SurveyFile,
    out: OutFolder = None,
    face: FaceId = None,
    scale: Scale = None,
    paper: PaperName = None,
    bars: Annotated[
        str | None,
        typer.Option(
            "--bars", help="What its 150 mm bars measured: '149.7 x 150.2'.", show_default=False
        ),
    ] = None,
    max_megapixels: MaxMegapixels = 200.0,
    quiet: Quiet = False,
) -> None:
    """Write sheets of parts to print, stick to card and cut, with a key and a build order.

    Print at 100 %, lay a rule along the bars, and give --bars if they are not 150 mm. Cut with a
    sharp blade in many light passes along a steel rule, the other hand behind the blade.
    """
    from measure.commands.cutting import run_cut

    run_cut(
        survey,
        out=out,
        faces=() if face is None else (face,),
        scale=scale,
        paper=paper,
        bars=bars,
        max_megapixels=max_megapixels,
        quiet=quiet,
    )


@app.command()
def sizes(
    words: Annotated[
        list[str] | None,
        typer.Argument(help="Words to look for, or a length such as 6'8\".", show_default=False),
    ] = None,
    units: UnitsOption = Units.METRIC,
) -> None:
    """List known sizes to scale a photo by: doors, bricks, plates, with ± and source.

    A length, as 2032, "203,2 cm", 6'8" or "6 ft 8 in", is shown both ways, with the sizes near it.
    """
    from measure.commands.tables import run_sizes

    run_sizes(words or [], units=units.value)


@app.command()
def scales() -> None:
    """List model scales and drawing scales, with what each makes of a brick course and a door."""
    from measure.commands.tables import run_scales

    run_scales()


@app.command()
def new(
    photo: Annotated[Path, typer.Argument(metavar="PHOTO", show_default=False)],
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Survey file to write.", show_default=False),
    ] = None,
) -> None:
    """Write a starting survey for a photo, and say what goes where."""
    from measure.commands.new_survey import run_new

    run_new(photo, out=out)


@app.command()
def check(
    survey: Annotated[Path | None, typer.Argument(metavar="[SURVEY]", show_default=False)] = None,
    accuracy: Annotated[
        bool, typer.Option("--accuracy", help="Measure invented buildings instead of a survey.")
    ] = False,
    trials: Annotated[
        int, typer.Option(help="Invented buildings to a row of the table.", min=20, max=100_000)
    ] = 200,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Folder for report and graphs.", show_default=False),
    ] = None,
    quiet: Quiet = False,
) -> None:
    """Say what is sound, weak or wrong in a survey, or how good the program is.

    With a survey: picks that disagree, sizes left unchecked. With --accuracy: errors of invented
    buildings against their true sizes, and how often the ± held the truth.
    """
    from measure.commands.checking import run_accuracy, run_check

    if accuracy:
        run_accuracy(trials, out=out, quiet=quiet)
    elif survey is None:
        raise InputError("Name a survey to check, or give --accuracy.")
    else:
        run_check(survey)


app.command()(bricks)
app.command()(openings)
app.command()(guides)


def main() -> None:
    """Run the command line and end the process with the right exit status."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    end_in_words(lambda: app(standalone_mode=False), debug="--debug" in sys.argv)
