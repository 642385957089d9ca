"""``storeyrod check``."""

from __future__ import annotations

from pathlib import Path

from measure.commands.progress import shown_progress
from measure.commands.table_text import make_console, print_table
from measure.survey_job import open_survey
from measure.trust import trust_of_face

#: Of the accuracy report: the same figures every time.
SEED = 2026


def run_check(path: Path) -> None:
    """Say what is sound, weak or wrong in a survey."""
    job = open_survey(path)
    results = job.measure(stop_at_problem=False)
    console = make_console()
    for photo_id, photo in results.photos.items():
        solution = photo.solution
        checks = max(solution.redundancy, 0)
        missed = f"the picks miss by {solution.rms_px:.2f} px (rms)"
        told = f"{missed}, with {checks} more than needed" if checks else "nothing checks the picks"
        console.print(f"Photo {photo_id}: {told}.")
        for sentence in photo.warnings:
            console.print(f"  {sentence}")
    for face_id, face in results.faces.items():
        console.print(f"Face {face_id}: {trust_of_face(results, face_id)}")
        for measure in face.measures.values():
            for warning in measure.warnings:
                console.print(f"  {measure.id}: {warning}")
        for problem in face.problems.values():
            console.print(f"  {problem}")


def run_accuracy(count: int, *, out: Path | None, quiet: bool) -> None:
    """Measure invented buildings and print how good the sizes are."""
    from measure.accuracy.report import (
        COLUMNS,
        cell_rows,
        make_report,
        mistake_rows,
        part_rows,
        write_report,
    )

    with shown_progress(quiet) as report:
        found = make_report(count, SEED, report)
    console = make_console()
    print_table(console, f"{count} invented buildings a row", COLUMNS, cell_rows(found))
    print_table(console, "All of those whose lens is stated", COLUMNS, part_rows(found))
    print_table(console, "With one mistake, seen at 15 to 30°", COLUMNS, mistake_rows(found))
    if out is not None:
        for path in write_report(found, out):
            print(f"wrote {path}")
