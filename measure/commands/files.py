"""``storeyrod straighten`` and ``storeyrod export``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from measure.commands.progress import shown_progress
from measure.delivery import Wish, make_files, parse_formats, png_of_picture
from measure.export.files import write_bytes_atomically
from measure.survey_job import SurveyJob, open_survey
from shared.errors import ExportError


def write_delivery(
    job: SurveyJob, folder: Path, wish: Wish, *, quiet: bool
) -> tuple[list[Path], list[str]]:
    """Make all files and write them into a folder.

    Returns
    -------
    written : list of Path
        In the order made.
    notes : list of str
        What should be known of them before they are cut.

    Raises
    ------
    ExportError
        If the folder cannot be made or written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ExportError(
            f"The folder {folder} cannot be made ({error.strerror}).", hint="Name another folder."
        ) from None
    written: list[Path] = []
    notes: list[str] = []
    with shown_progress(quiet) as report:
        for name, content in make_files(job, wish, report, notes.append):
            write_bytes_atomically(folder / name, content)
            written.append(folder / name)
    return written, notes


def run_export(
    survey: Path,
    *,
    out: Path | None,
    face: str | None,
    scale: str | None,
    formats: str,
    paper: str | None,
    dpi: float,
    as_picked: bool,
    max_megapixels: float,
    quiet: bool,
) -> None:
    """Write the elevations of a survey."""
    names = parse_formats(formats)
    job = open_survey(survey, max_megapixels=max_megapixels)
    if face is not None:
        job.face(face)
    job.denominator(scale)
    folder = out or survey.with_name(survey.name.removesuffix(".json").removesuffix(".survey"))
    wish = Wish(
        date=dt.date.today(),
        formats=names,
        faces=None if face is None else (face,),
        scale=scale,
        paper=paper,
        dpi=dpi,
        as_picked=as_picked,
    )
    written, notes = write_delivery(job, folder, wish, quiet=quiet)
    for path in written:
        print(f"wrote {path}")
    for note in notes:
        print(f"note: {note}")


def run_straighten(
    survey: Path,
    *,
    face: str | None,
    out: Path | None,
    scale: str | None,
    dpi: float,
    max_megapixels: float,
    quiet: bool,
) -> None:
    """Write the straightened photo of one face."""
    job = open_survey(survey, max_megapixels=max_megapixels)
    face_id = face or job.survey.faces[0].id
    job.face(face_id)
    target = out or survey.with_name(f"{face_id}-straightened.png")
    with shown_progress(quiet) as report:

        def progress(share: float) -> None:
            if report:
                report(f"straightening {face_id}", share)

        picture = job.straighten(face_id, scale=scale, dpi=dpi, progress=progress)
        write_bytes_atomically(target, png_of_picture(picture, dpi))
    height, width = picture.visible.shape
    print(
        f"wrote {target}: {width} x {height} px, {width / dpi * 25.4:.1f} x "
        f"{height / dpi * 25.4:.1f} mm at {dpi:g} dpi"
    )
