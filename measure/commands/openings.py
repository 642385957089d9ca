"""``storeyrod openings``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from measure.commands.progress import Report, shown_progress
from measure.commands.table_text import make_console, print_table
from measure.opening_finder import Proposal, choose_proposals, find_openings, with_proposals
from measure.opening_telling import tell_proposals
from measure.results import Results
from measure.survey_job import SurveyJob, open_survey
from shared.errors import FieldError
from shared.number_text import format_number
from shared.survey import Face
from shared.survey_file import write_survey


def run_openings(
    path: Path,
    *,
    face: str | None,
    add: tuple[str, ...],
    as_json: bool,
    max_megapixels: float,
    quiet: bool,
) -> None:
    """Propose openings, list them, and add those named to the survey."""
    job = open_survey(path, max_megapixels=max_megapixels)
    faces = [job.face(face)] if face else list(job.survey.faces)
    if add and len(faces) > 1:
        raise FieldError(
            "Openings are added to one face at a time.",
            hint=f"Name it with --face: {', '.join(one.id for one in faces)}.",
        )
    results = job.measure(stop_at_problem=False)
    told: dict[str, Any] = {}
    chosen: list[Proposal] = []
    with shown_progress(quiet or as_json) as report:
        found = {one.id: _find(job, results, one, report) for one in faces}
    for one in faces:
        solution = results.photos[one.photo].solution
        told[one.id] = tell_proposals(found[one.id], scaled=solution.scaled)
    if add:
        chosen = choose_proposals(found[faces[0].id], add)
        changed = with_proposals(faces[0], chosen)
        survey = job.survey.model_copy(
            update={
                "faces": tuple(changed if one.id == changed.id else one for one in job.survey.faces)
            }
        )
        write_survey(path, survey)
    if as_json:
        print(json.dumps({"faces": told}, indent=1, ensure_ascii=False))
        return
    for one in faces:
        _print_face(one, found[one.id], results)
    if add:
        print(
            f"added {len(chosen)} to face {faces[0].id} of {path}: look at each before you use it"
        )
    else:
        print("Nothing was changed. Add them with --face and --add: all, row1, column2, n3 ...")


def _find(job: SurveyJob, results: Results, face: Face, report: Report | None) -> list[Proposal]:
    solution = results.photos[face.photo].solution
    pixels = job.pixels(face.photo).pixels

    def tell(what: str, share: float) -> bool | None:
        return None if report is None else report(f"{face.id}: {what}", share)

    return find_openings(
        pixels, solution.view(face.id), face, scaled=solution.scaled, progress=tell
    )


def _print_face(face: Face, found: list[Proposal], results: Results) -> None:
    scaled = results.photos[face.photo].solution.scaled
    rows = []
    for one in sorted(found, key=lambda one: one.order):
        left, low, right, top = one.box_mm
        size = f"{format_number(right - left, 0)} x {format_number(top - low, 0)}"
        rows.append(
            (
                one.opening.id,
                one.row,
                one.column,
                one.opening.head,
                size if scaled else "",
                f"{one.score:.2f}",
            )
        )
    columns = ("id", "row", "column", "head", ">size, mm", ">clearness")
    print_table(
        make_console(), f"Face {face.id}: {len(rows)} that look like openings", columns, rows
    )
