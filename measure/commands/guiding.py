"""``storeyrod guides``."""

from __future__ import annotations

import json
import math
from pathlib import Path

from measure.commands.progress import shown_progress
from measure.commands.table_text import make_console, print_table
from measure.found_guides import (
    find_guides_of,
    tell_found,
    with_found_guides,
    without_found_guides,
)
from measure.survey_job import SurveyJob, open_survey
from rectify.guides.report import FitOfLines
from rectify.photo_lines import FoundGuides
from shared.errors import InputError
from shared.number_text import format_number
from shared.survey_file import write_survey
from shared.uncertain_text import format_uncertain_number


def run_guides(
    path: Path, *, photo: str | None, keep: bool, drop: bool, as_json: bool, quiet: bool
) -> None:
    """Find guides in the photos, and write them into the survey or take them out."""
    if keep and drop:
        raise InputError("Give --keep or --drop, not both.")
    job = open_survey(path)
    if drop:
        _drop(job, photo)
        return
    with shown_progress(quiet or as_json) as report:
        tell = None if report is None else (lambda share: report("looking for edges", share))
        found = find_guides_of(job, photo, tell)
    if keep:
        # photos in which nothing was found keep what they have
        write_survey(path, with_found_guides(job.survey, _any(found)))
    told = {id_: tell_found(one, scaled=_is_scaled(one)) for id_, one in found.items()}
    if as_json:
        print(json.dumps({"kept": keep, "photos": told}, indent=1, ensure_ascii=False))
        return
    console = make_console()
    for id_, one in found.items():
        if one.before is not None and one.after is not None:
            rows = _rows(one.before, one.after, scaled=_is_scaled(one))
            print_table(console, f"Photo {id_}", ("", ">without", ">with them"), rows)
        console.print(f"Photo {id_}: {one.sentence}")
    count = sum(one.count for one in found.values())
    if keep and count:
        console.print(f"Wrote {count} guides into {path}; take them out with --drop.")
    elif count:
        console.print("Nothing is changed yet: write them into the survey with --keep.")


def _drop(job: SurveyJob, photo: str | None) -> None:
    if photo is not None:
        job.photo(photo)
    survey = without_found_guides(job.survey, photo)
    before, after = (sum(len(face.guides) for face in s.faces) for s in (job.survey, survey))
    write_survey(job.path, survey)
    make_console().print(f"Took {before - after} found guides out of {job.path}.")


def _any(found: dict[str, FoundGuides]) -> dict[str, FoundGuides]:
    return {id_: one for id_, one in found.items() if one.count}


def _is_scaled(found: FoundGuides) -> bool:
    return found.solution is not None and found.solution.scaled


def _rows(before: FitOfLines, after: FitOfLines, *, scaled: bool) -> list[tuple[str, str, str]]:
    def both(what: str, value: str, u: str = "", factor: float = 1.0) -> tuple[str, str, str]:
        cells = []
        for fit in (before, after):
            number = factor * getattr(fit, value)
            told = (
                format_uncertain_number(number, factor * getattr(fit, u))
                if u and getattr(fit, u) > 0.0
                else format_number(number, 2)
            )
            cells.append(told)
        return what, cells[0], cells[1]

    rows = [
        both("edges off level and plumb, px (rms)", "lines_rms_px"),
        both("your own picks off, px (rms)", "picks_rms_px"),
        both("focal length, px", "focal_px", "u_focal_px"),
        both("camera looks up, degrees", "tilt_rad", "u_tilt_rad", math.degrees(1.0)),
        both("lens term k1", "k1", "u_k1"),
        both("lens term k2", "k2", "u_k2"),
    ]
    if math.isfinite(before.far_mm) and math.isfinite(after.far_mm):
        if scaled:
            rows.append(both("from the frame to the far corner, mm", "far_mm", "u_far_mm"))
        per_cent = [
            f"{format_number(100.0 * fit.u_far_mm / fit.far_mm, 2)} %" for fit in (before, after)
        ]
        rows.append(("± of that", per_cent[0], per_cent[1]))
    return rows
