"""All files of a survey: elevations, schedule and straightened photos, as bytes by name."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from measure.elevation.build import Elevation, make_elevation
from measure.elevation.drawing import Drawing
from measure.elevation.elsewhere import kept_under, wall_of
from measure.elevation.facade import DrawnOpening
from measure.elevation.liberties import rows_of_table, text_of_liberties
from measure.elevation.page import HOME_PAPERS, Orientation, make_sheets
from measure.elevation.paper import Paper, paper_named
from measure.elevation.schedule_rows import schedule_from_results
from measure.elevation.sheet import Sheet
from measure.elevation.sheet_schedule import schedule_sheets, with_schedule
from measure.elevation.skin import Skin
from measure.elevation.title_block import TitleBlock
from measure.results import Results
from measure.skin_job import make_skin
from measure.survey_job import SurveyJob
from measure.trust import trust_of_face
from measure.whole_building import BuildingDrawing, building_drawings, photos_named
from rectify.straighten import Straightened
from shared.errors import FieldError, UnderdeterminedError
from shared.unit_words import MM_PER_INCH

FORMATS = ("svg", "dxf", "pdf", "csv", "png")

#: Told what is being made and how far it is, 0 to 1; returning False stops.
Report = Callable[[str, float], bool | None]

#: Told what should be known of a file, in a sentence.
Remark = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be made.

    Parameters
    ----------
    formats : tuple of str
        Of `FORMATS`.
    faces : tuple of str or None
        All faces when None.
    scale : str or None
        The survey's own when None.
    paper : str or None
        Chosen to fit when None.
    dpi : float
        Of the straightened photo.
    as_picked : bool
        Elevations as measured: nothing lined up, completed, fitted or added.
    date : datetime.date
        For title blocks.
    """

    date: dt.date
    formats: tuple[str, ...] = FORMATS
    faces: tuple[str, ...] | None = None
    scale: str | None = None
    paper: str | None = None
    dpi: float = 600.0
    as_picked: bool = False


def parse_formats(text: str) -> tuple[str, ...]:
    """Read a list such as ``svg,pdf``.

    Raises
    ------
    FieldError
        For a format that cannot be written.
    """
    names = tuple(
        part.strip().lower() for part in text.replace(" ", ",").split(",") if part.strip()
    )
    for name in names:
        if name not in FORMATS:
            raise FieldError(
                f"'{name[:40]}' is not a format that can be written.",
                hint=f"Choose from {', '.join(FORMATS)}.",
            )
    if not names:
        raise FieldError("No format is named.", hint=f"Choose from {', '.join(FORMATS)}.")
    return names


def elevation_of_face(
    job: SurveyJob, results: Results, face_id: str, denominator: float, *, as_picked: bool = False
) -> Elevation:
    """Make the elevation of one face of a measured survey, as the survey wishes or as picked."""
    face = job.face(face_id)
    solution = results.photos[face.photo].solution
    result = results.faces[face_id]
    wall = wall_of(job.survey, results, face_id)
    return make_elevation(
        job.survey, face, result, solution, denominator, as_picked=as_picked, wall=wall
    )


def caption_of(
    job: SurveyJob, results: Results, face_id: str, elevation: Elevation, date: dt.date
) -> TitleBlock:
    """What stands in the corner of the sheets of a face."""
    others = (each.face.photo for each in elevation.wall.elsewhere)
    photos = tuple(dict.fromkeys((job.face(face_id).photo, *others)))
    return TitleBlock(
        title=elevation.drawing.title,
        scale_denominator=elevation.denominator,
        date=date,
        subtitle=elevation.drawing.subtitle,
        photo=photos_named(job.survey, photos),
        plus_minus=trust_of_face(results, face_id, elevation.denominator),
        notes=elevation.sheet_notes,
    )


def lay_sheets(
    drawing: Drawing,
    block: TitleBlock,
    paper: str | None = None,
    openings: Sequence[DrawnOpening] = (),
    orientation: Orientation = "automatic",
) -> tuple[Sheet, ...]:
    """Set a drawing on sheets of paper; the schedule of its openings beside it, or on the last."""
    papers: tuple[Paper, ...] = (paper_named(paper),) if paper else HOME_PAPERS
    sheets = make_sheets(drawing, block, papers=papers, orientation=orientation)
    if not openings:
        return sheets
    scheduled = with_schedule(sheets[0], block, openings)
    if scheduled is not None:
        return (scheduled,)
    further = schedule_sheets(sheets[0].paper, block, openings, len(sheets))
    sheets = make_sheets(
        drawing, block, papers=papers, orientation=orientation, further=len(further)
    )
    return (*sheets, *further)


def make_files(
    job: SurveyJob,
    wish: Wish,
    report: Report | None = None,
    remark: Remark | None = None,
) -> Iterator[tuple[str, bytes]]:
    """Make the files one after the other, so that only one is held at a time.

    Parameters
    ----------
    job : SurveyJob
    wish : Wish
    report : callable, optional
        Told what is being made.
    remark : callable, optional
        Told what should be known of the elevations before they are cut.

    Yields
    ------
    name, content : str, bytes
    """
    # each player loads its own library, so only what is asked for is loaded
    results = job.measure()
    faces = wish.faces or tuple(results.faces)
    for face_id in faces:
        job.face(face_id)
    steps = len(faces)
    denominator = job.denominator(wish.scale)
    elevations: dict[str, Elevation] = {}
    # a wall that several photos show has one elevation, unless its other faces are asked for
    whole = wish.faces is None and not wish.as_picked
    twice = kept_under(job.survey, results) if whole else {}
    for number, face_id in enumerate(faces):

        def tell(what: str, share: float, number: int = number) -> bool | None:
            return report(what, (number + share) / steps) if report else None

        if {"svg", "dxf", "pdf", "csv"} & set(wish.formats) and face_id not in twice:
            tell(f"drawing {face_id}", 0.0)
            try:
                elevation = elevation_of_face(
                    job, results, face_id, denominator, as_picked=wish.as_picked
                )
            except UnderdeterminedError:
                # a table can do without a face on which nothing is measured, a drawing cannot
                if {"svg", "dxf", "pdf"} & set(wish.formats):
                    raise
            else:
                elevations[face_id] = elevation
                if remark is not None:
                    for note in elevation.notes:
                        remark(f"{face_id}: {note}")
                yield from _drawn_files(job, results, face_id, wish, elevation, remark)
        if "png" in wish.formats:
            yield f"{face_id}-straightened.png", _straightened(job, face_id, wish, tell)
            wishes = job.face(face_id).drawing
            if wishes is not None and wishes.skin is not None and not wish.as_picked:
                skin = _skin(job, face_id, wish, tell)
                yield f"{face_id}-skin.png", png_of_skin(skin, wish.dpi)
                if remark is not None:
                    for note in skin.notes:
                        remark(f"{face_id}: {note}")
    if wish.faces is None and {"svg", "dxf", "pdf"} & set(wish.formats):
        for each in building_drawings(
            job.survey, results, denominator, as_picked=wish.as_picked, made=elevations
        ):
            if remark is not None:
                for note in each.notes:
                    remark(note)
            yield from _building_files(job, each, denominator, wish, remark)
    if "csv" in wish.formats:
        from measure.export.csv import csv_from_schedule

        schedule = schedule_from_results(
            results, job.survey, denominator, tuple(faces), None if wish.as_picked else elevations
        )
        yield "schedule.csv", csv_from_schedule(schedule)


def _building_files(
    job: SurveyJob, each: BuildingDrawing, denominator: float, wish: Wish, remark: Remark | None
) -> Iterator[tuple[str, bytes]]:
    block = TitleBlock(
        title=each.drawing.title,
        scale_denominator=denominator,
        date=wish.date,
        subtitle=each.drawing.subtitle,
        photo=photos_named(job.survey, each.photos),
        notes=(*each.drawing.remarks, *each.notes),
    )
    sheets = lay_sheets(each.drawing, block, wish.paper)
    yield from _files_of_sheets(each.name, each.drawing, block, sheets, wish, remark)


def _drawn_files(
    job: SurveyJob,
    results: Results,
    face_id: str,
    wish: Wish,
    elevation: Elevation,
    remark: Remark | None,
) -> Iterator[tuple[str, bytes]]:
    if "csv" in wish.formats and not wish.as_picked:
        from measure.export.csv import csv_from_rows

        yield f"{face_id}-liberties.csv", csv_from_rows(rows_of_table(elevation.liberties))
        labels = {measure.id: measure.label for measure in job.face(face_id).measures}
        text = text_of_liberties(elevation.liberties, elevation.notes, labels)
        yield f"{face_id}-liberties.txt", text.encode()
    if not {"svg", "dxf", "pdf"} & set(wish.formats):
        return
    block = caption_of(job, results, face_id, elevation, wish.date)
    sheets = lay_sheets(elevation.drawing, block, wish.paper, elevation.facade.openings)
    yield from _files_of_sheets(
        f"{face_id}-elevation", elevation.drawing, block, sheets, wish, remark
    )


def _files_of_sheets(
    name: str,
    drawing: Drawing,
    block: TitleBlock,
    sheets: tuple[Sheet, ...],
    wish: Wish,
    remark: Remark | None,
) -> Iterator[tuple[str, bytes]]:
    if "svg" in wish.formats:
        from measure.export.svg import svg_from_sheet

        for number, sheet in enumerate(sheets, start=1):
            ending = f"-{number}" if len(sheets) > 1 else ""
            yield f"{name}{ending}.svg", svg_from_sheet(sheet)
    if "dxf" in wish.formats:
        from measure.export.dxf import dxf_from_drawing

        yield f"{name}.dxf", dxf_from_drawing(drawing, block)
    if "pdf" in wish.formats:
        from measure.export.pdf import pdf_from_sheets

        if remark is not None:
            for said in remarks_on_letters(f"{name}.pdf", sheets):
                remark(said)
        yield f"{name}.pdf", pdf_from_sheets(sheets, wish.date)


def remarks_on_letters(file_name: str, sheets: Sequence[Sheet]) -> list[str]:
    """What should be known of the lettering of a PDF: one sentence, or none."""
    from measure.export.pdf import letters_without_font

    letters = letters_without_font(sheets)
    if not letters:
        return []
    return [
        f"{file_name} shows boxes for {letters}, which no font of this computer has; "
        "install one that has them and export again."
    ]


def _straightened(job: SurveyJob, face_id: str, wish: Wish, tell: Report) -> bytes:
    def progress(share: float) -> bool | None:
        return tell(f"straightening {face_id}", 0.2 + 0.7 * share)

    picture = job.straighten(face_id, scale=wish.scale, dpi=wish.dpi, progress=progress)
    return png_of_picture(picture, wish.dpi)


def _skin(job: SurveyJob, face_id: str, wish: Wish, tell: Report) -> Skin:
    def report(share: float) -> bool | None:
        return tell(f"making the skin of {face_id}", share)

    return make_skin(job, face_id, scale=wish.scale, dpi=wish.dpi, progress=report)


def png_of_skin(skin: Skin, dpi: float) -> bytes:
    """A skin as a PNG that prints at its size, clear around it."""
    return png_of_picture(Straightened(skin.rgb, skin.opaque, skin.window), dpi)


def png_of_picture(picture: Straightened, dpi: float) -> bytes:
    """Straightened photo as a PNG that prints at its size; clear where the photo shows nothing."""
    from measure.export.png import png_from_image

    rgba = np.dstack([picture.rgb, picture.visible])
    height_px, width_px = picture.visible.shape
    size_mm = width_px / dpi * MM_PER_INCH, height_px / dpi * MM_PER_INCH
    return png_from_image(rgba, print_width_mm=size_mm[0], print_height_mm=size_mm[1])
