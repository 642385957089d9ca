"""All files of a survey: elevations, schedule and straightened photos, as bytes by name."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from measure.elevation.build import build_drawing
from measure.elevation.drawing import Drawing
from measure.elevation.page import HOME_PAPERS, make_sheets
from measure.elevation.paper import Paper, paper_named
from measure.elevation.sheet import Sheet
from measure.elevation.title_block import TitleBlock
from measure.results import Results
from measure.size_rows import schedule_from_results
from measure.survey_job import SurveyJob
from measure.trust import trust_of_face
from rectify.straighten import Straightened
from shared.errors import FieldError
from shared.unit_words import MM_PER_INCH

FORMATS = ("svg", "dxf", "pdf", "csv", "png")

#: Told what is being made and how far it is, 0 to 1; returning False stops.
Report = Callable[[str, float], bool | None]


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
    date : datetime.date
        For title blocks.
    """

    date: dt.date
    formats: tuple[str, ...] = FORMATS
    faces: tuple[str, ...] | None = None
    scale: str | None = None
    paper: str | None = None
    dpi: float = 600.0


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


def draw_face(job: SurveyJob, results: Results, face_id: str, denominator: float) -> Drawing:
    """Draw one face of a measured survey."""
    face = job.face(face_id)
    solution = results.photos[face.photo].solution
    return build_drawing(job.survey.title, face, results.faces[face_id], solution, denominator)


def lay_sheets(
    job: SurveyJob, results: Results, face_id: str, wish: Wish
) -> tuple[Drawing, TitleBlock, tuple[Sheet, ...]]:
    """Draw one face, caption it and set it on sheets of paper."""
    denominator = job.denominator(wish.scale)
    drawing = draw_face(job, results, face_id, denominator)
    face = job.face(face_id)
    block = TitleBlock(
        title=drawing.title,
        scale_denominator=denominator,
        date=wish.date,
        subtitle=drawing.subtitle,
        photo=job.photo(face.photo).file,
        plus_minus=trust_of_face(results, face_id, denominator),
    )
    papers: tuple[Paper, ...] = (paper_named(wish.paper),) if wish.paper else HOME_PAPERS
    return drawing, block, make_sheets(drawing, block, papers=papers)


def make_files(
    job: SurveyJob, wish: Wish, report: Report | None = None
) -> Iterator[tuple[str, bytes]]:
    """Make the files one after the other, so that only one is held at a time.

    Parameters
    ----------
    job : SurveyJob
    wish : Wish
    report : callable, optional
        Told what is being made.

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
    for number, face_id in enumerate(faces):

        def tell(what: str, share: float, number: int = number) -> bool | None:
            return report(what, (number + share) / steps) if report else None

        yield from _drawn_files(job, results, face_id, wish, tell)
        if "png" in wish.formats:
            yield f"{face_id}-straightened.png", _straightened(job, face_id, wish, tell)
    if "csv" in wish.formats:
        from measure.export.csv import csv_from_schedule

        schedule = schedule_from_results(
            results, job.survey, job.denominator(wish.scale), tuple(faces)
        )
        yield "schedule.csv", csv_from_schedule(schedule)


def _drawn_files(
    job: SurveyJob, results: Results, face_id: str, wish: Wish, tell: Report
) -> Iterator[tuple[str, bytes]]:
    if not {"svg", "dxf", "pdf"} & set(wish.formats):
        return
    tell(f"drawing {face_id}", 0.0)
    drawing, block, sheets = lay_sheets(job, results, face_id, wish)
    name = f"{face_id}-elevation"
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

        yield f"{name}.pdf", pdf_from_sheets(sheets, wish.date)


def _straightened(job: SurveyJob, face_id: str, wish: Wish, tell: Report) -> bytes:
    def progress(share: float) -> bool | None:
        return tell(f"straightening {face_id}", 0.2 + 0.7 * share)

    picture = job.straighten(face_id, scale=wish.scale, dpi=wish.dpi, progress=progress)
    return png_of_picture(picture, wish.dpi)


def png_of_picture(picture: Straightened, dpi: float) -> bytes:
    """Straightened photo as a PNG that prints at its size; clear where the photo shows nothing."""
    from measure.export.png import png_from_image

    rgba = np.dstack([picture.rgb, picture.visible])
    height_px, width_px = picture.visible.shape
    size_mm = width_px / dpi * MM_PER_INCH, height_px / dpi * MM_PER_INCH
    return png_from_image(rgba, print_width_mm=size_mm[0], print_height_mm=size_mm[1])
