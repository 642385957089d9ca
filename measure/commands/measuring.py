"""``storeyrod measure``."""

from __future__ import annotations

import json
from pathlib import Path

from measure.commands.table_text import make_console, print_table
from measure.results import Results, json_from_results
from measure.size_rows import size_rows
from measure.survey_job import open_survey
from measure.trust import trust_of_face
from shared.uncertain_text import format_uncertain_mm


def run_measure(
    path: Path, *, as_json: bool, face: str | None, units: str, graphs: Path | None = None
) -> None:
    """Measure a survey and print the sizes; draw the courses that were read from its photos."""
    job = open_survey(path)
    if face is not None:
        job.face(face)
    results = job.measure()
    if graphs is not None:
        from measure.graphs.courses import write_course_graphs

        written = write_course_graphs(job, graphs, face)
        if not as_json:
            told = ", ".join(str(file) for file in written) or "none: all courses are counted"
            print(f"Graphs of courses: {told}")
    if as_json:
        print(json.dumps(json_from_results(results), indent=1, ensure_ascii=False))
        return
    print_results(results, face, units)


def print_results(results: Results, face: str | None, units: str) -> None:
    """Print the table of sizes, the warnings and how far to trust them."""
    console = make_console()
    for face_id in results.faces:
        if face not in (None, face_id):
            continue
        rows = [
            (row.id, row.label, row.what, row.text(units), row.model_text(), row.note)
            for row in size_rows(results, face_id)
        ]
        columns = ("id", "label", "what", ">true size", f">at {results.model_scale}", "")
        if rows:
            print_table(console, f"Face {face_id}", columns, rows)
        else:
            console.print(f"Face {face_id}: nothing is measured on it yet.")
        console.print(trust_of_face(results, face_id))
        for measure in results.faces[face_id].measures.values():
            for warning in measure.warnings:
                console.print(f"  {measure.id}: {warning}")
        console.print()
    for point in results.points.values():
        console.print(
            f"Point {point.id}: {format_uncertain_mm(point.level_mm, point.u_level_mm)} above the "
            f"datum of {point.face}, "
            f"{format_uncertain_mm(point.set_back_mm, point.u_set_back_mm)} behind it."
        )
    for photo_id, photo in results.photos.items():
        for warning in photo.warnings:
            console.print(f"Photo {photo_id}: {warning}")
