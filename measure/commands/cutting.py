"""``storeyrod cut``: a measured survey as flat parts of card."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from pathlib import Path

from measure.commands.progress import shown_progress
from measure.delivery import elevation_of_face
from measure.elevation.build import Elevation
from measure.export.files import safe_stem, write_bytes_atomically, write_files
from measure.parts.card_plan import plan_survey
from measure.parts.cut_files import archive_of, make_card_files
from measure.parts.drawn_bands import with_drawn_bands
from measure.parts.measured_faces import faces_to_cut
from measure.parts.skin_print import photo_of_survey
from measure.results import Results
from measure.survey_job import SurveyJob, open_survey
from shared.card_wishes import CardWishes, PrintedBars
from shared.errors import FieldError
from shared.model_scales import format_scale


def parse_bars(text: str, bar_mm: int = 150) -> PrintedBars:
    """Read what the two bars measured, such as ``149.7 x 150.2``: across, then up.

    Raises
    ------
    FieldError
        If it is not two numbers.
    """
    words = text.lower().replace("x", " ").replace("×", " ").replace(";", " ").split()
    try:
        across, up = (float(word.removesuffix("mm")) for word in words if word != "mm")
        if not (math.isfinite(across) and math.isfinite(up)):
            raise ValueError("no number")
    except ValueError:
        raise FieldError(
            f"'{text[:40]}' does not say what the two bars measured.",
            hint="Write the one across the sheet first, like 149.7 x 150.2.",
        ) from None
    return PrintedBars(bar_mm=100 if bar_mm == 100 else 150, across_mm=across, up_mm=up)


def _drawn(job: SurveyJob, results: Results, face_id: str, denominator: float) -> Elevation:
    """Elevation of a face, for parts that all have one scale."""
    made = elevation_of_face(job, results, face_id, denominator)
    if made.denominator != denominator:
        raise FieldError(
            f"Face '{face_id}' is reduced to {format_scale(made.denominator)} to fit its plot, but "
            f"parts are cut at one scale for all faces, {format_scale(denominator)}.",
            hint="Choose another way to fit the plot, or change the survey's model_scale.",
            details={"face": face_id},
        )
    return made


def run_cut(
    survey: Path,
    *,
    out: Path | None = None,
    wishes: CardWishes | None = None,
    faces: tuple[str, ...] = (),
    scale: str | None = None,
    paper: str | None = None,
    bars: str | None = None,
    archive: bool = True,
    max_megapixels: float = 200.0,
    quiet: bool = False,
) -> None:
    """Write the sheets of parts of a survey.

    Parameters
    ----------
    survey : Path
    out : Path, optional
        Folder; beside the survey by default.
    wishes : CardWishes, optional
        The survey's own by default.
    faces : tuple of str
        To be cut; all that can be by default.
    scale : str, optional
        The survey's own by default.
    paper : str, optional
    bars : str, optional
        What the 150 mm bars of an uncorrected print measured, across and up.
    archive : bool
        Whether all files are put into one archive as well.
    max_megapixels : float
    quiet : bool
    """
    job = open_survey(survey, max_megapixels=max_megapixels)
    # a survey without card wishes is cut with plain ones
    chosen = wishes or job.survey.card or CardWishes()
    changes: dict[str, object] = {}
    if faces:
        changes["faces"] = faces
    if paper:
        changes["paper"] = paper
    if bars:
        changes["printed_bars"] = parse_bars(bars)
    chosen = chosen.model_copy(update=changes)
    results = job.measure(stop_at_problem=False)
    stem = survey.name.removesuffix(".json").removesuffix(".survey")
    folder = out or survey.with_name(f"{stem}-card")
    date = dt.date.today()
    with shown_progress(quiet) as report:
        denominator = job.denominator(scale)
        elevations = {
            name: _drawn(job, results, name, denominator)
            for name in faces_to_cut(job.survey, chosen)
        }
        drawings = {name: each.drawing for name, each in elevations.items()}
        chosen = with_drawn_bands(chosen, elevations)
        plan = plan_survey(job, results, chosen, scale=scale, drawings=drawings)
        made = make_card_files(plan, date, report, photo_of_survey(job))
        written = write_files(folder, made.files)
        if archive:
            packed = folder / f"{safe_stem(job.survey.title or stem)}-card.zip"
            write_bytes_atomically(packed, archive_of(made.files, date))
            written.append(packed)
    for path in written:
        print(f"wrote {path}")
    pieces = sum(part.count for part in made.parts)
    by_material = Counter(each.material.name for each in made.sheets)
    listed = ", ".join(f"{name}: {count}" for name, count in by_material.items())
    print(f"{pieces} parts on {len(made.sheets)} sheets ({listed})")
    for caution in made.cautions:
        print(f"note: {caution}")
