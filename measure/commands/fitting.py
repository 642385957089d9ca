"""``storeyrod fit``: the ways to fit an elevation to its plot."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

from measure.elevation.build import make_elevation, unfitted
from measure.elevation.choice_sheet import NAMES, make_choice_sheet
from measure.elevation.elsewhere import wall_of
from measure.elevation.fit import check_plot, list_choices
from measure.elevation.paper import paper_named
from measure.elevation.sheet import Sheet
from measure.elevation.title_block import TitleBlock
from measure.export.files import write_bytes_atomically
from measure.survey_job import open_survey
from shared.errors import ExportError, FieldError
from shared.number_text import format_number
from shared.survey_drawing import PlotFit


def run_fit(
    survey: Path,
    *,
    width_mm: float | None,
    height_mm: float | None,
    face: str | None,
    scale: str | None,
    keep_true: bool,
    paper: str | None,
    out: Path | None,
) -> None:
    """Print the ways to fit a face to its plot, and write a sheet with all of them drawn.

    Raises
    ------
    FieldError
        For a plot without size, one smaller than a door, or one that nothing fits.
    """
    job = open_survey(survey)
    face_id = face or job.survey.faces[0].id
    wishes = job.face(face_id).drawing
    plot = wishes.plot if wishes is not None else None
    if width_mm is None and height_mm is None and plot is not None:
        width_mm, height_mm = plot.width_mm, plot.height_mm
        keep_true = keep_true or plot.keep_true
    for given in (width_mm, height_mm):
        if given is not None and not 0.0 < given < 1e6:
            raise FieldError(f"A plot of {given:g} mm is none.", hint="Give millimetres above 0.")
    if width_mm is None and height_mm is None:
        raise FieldError(
            f"The plot for face '{face_id}' has no size.",
            hint="Give --width, --height or both, in millimetres of the model.",
        )
    results = job.measure(stop_at_problem=False)
    denominator = job.denominator(scale)
    whole = unfitted(job.face(face_id))
    solution = results.photos[whole.photo].solution
    seen = wall_of(job.survey, results, face_id)
    result = results.faces[face_id]
    made = make_elevation(job.survey, whole, result, solution, denominator, wall=seen)
    asked = PlotFit(width_mm=width_mm, height_mm=height_mm, choice="reduce", keep_true=keep_true)
    check_plot(made.facade, denominator, asked)
    wall = made.facade.wall_box
    size = f"{wall.width_mm / denominator:.1f} x {wall.height_mm / denominator:.1f} mm"
    if _fits(wall.width_mm, width_mm, denominator) and _fits(
        wall.height_mm, height_mm, denominator
    ):
        print(f"Face {face_id} fits its plot as it is: {size}.")
        return
    choices = list_choices(
        made.facade, denominator, width_mm=width_mm, height_mm=height_mm, keep_true=keep_true
    )
    if not choices:
        raise FieldError(
            f"No way fits face '{face_id}', {size}, to this plot with doors and courses true.",
            hint="Give a larger plot, or leave --keep-true out.",
        )
    print(f"Face {face_id} is {size}: too large for its plot. It can be fitted so:")
    for each in choices:
        sizes = f"{each.width_model_mm:.1f} x {each.height_model_mm:.1f} mm"
        print(f"\n{NAMES[each.kind]}: {sizes}")
        for cost in each.costs:
            print(f"  {cost}")
        chosen = {
            "width_mm": width_mm,
            "height_mm": height_mm,
            "choice": each.kind,
            "keep_true": each.door_true,
        }
        words = json.dumps({name: value for name, value in chosen.items() if value is not None})
        print(f'  in the survey, under "drawing" of the face: "plot": {words}')
    plot_text = " x ".join(
        "any" if each is None else f"{format_number(each, 1)} mm" for each in (width_mm, height_mm)
    )
    block = TitleBlock(
        title=made.drawing.title,
        scale_denominator=denominator,
        date=dt.date.today(),
        subtitle=f"{made.drawing.subtitle}: ways to fit a plot of {plot_text}",
        photo=job.photo(job.face(face_id).photo).file,
    )
    sheet = make_choice_sheet(
        made.facade,
        denominator,
        choices,
        block,
        width_mm=width_mm,
        height_mm=height_mm,
        paper=paper_named(paper) if paper else None,
    )
    target = out or survey.with_name(f"{face_id}-plot.pdf")
    write_bytes_atomically(target, _bytes_of(sheet, target))
    print(f"\nwrote {target}")


def _fits(full_mm: float, plot_mm: float | None, denominator: float) -> bool:
    return plot_mm is None or full_mm / denominator <= plot_mm + 1e-6


def _bytes_of(sheet: Sheet, target: Path) -> bytes:
    """The sheet in the format that the file's name asks for."""
    from measure.export.pdf import pdf_from_sheets
    from measure.export.svg import svg_from_sheet

    if target.suffix.lower() == ".svg":
        return svg_from_sheet(sheet)
    if target.suffix.lower() == ".pdf":
        return pdf_from_sheets([sheet], dt.date.today())
    raise ExportError(
        f"A sheet of choices is written as .pdf or .svg, not as '{target.name}'.",
        hint="Give --out another name.",
    )
