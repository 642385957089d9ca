"""``storeyrod check``."""

from __future__ import annotations

from pathlib import Path

from measure.commands.table_text import make_console
from measure.survey_job import open_survey
from measure.trust import trust_of_face
from rectify.diagnosis import find_suspects, weak_points


def run_check(path: Path) -> None:
    """Say what is sound, weak or wrong in a survey."""
    job = open_survey(path)
    results = job.measure(stop_at_problem=False)
    console = make_console()
    for photo_id, photo in results.photos.items():
        solution = photo.solution
        console.print(
            f"Photo {photo_id}: picks agree to {solution.rms_px:.2f} px (rms), "
            f"{max(solution.redundancy, 0)} more than needed."
        )
        said = [suspect.sentence for suspect in find_suspects(solution)]
        said += [*weak_points(solution), *job.header(photo_id).warnings]
        for sentence in said:
            console.print(f"  {sentence}")
    for face_id, face in results.faces.items():
        console.print(f"Face {face_id}: {trust_of_face(results, face_id)}")
        for measure in face.measures.values():
            for warning in measure.warnings:
                console.print(f"  {measure.id}: {warning}")
        for problem in face.problems.values():
            console.print(f"  {problem}")
