"""``storeyrod demo``: the whole job on the building that comes with the program."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from measure.commands.files import write_delivery
from measure.commands.table_text import make_console, print_table
from measure.demo_building import copy_demo, find_demo_folder
from measure.size_rows import SizeRow, size_rows
from measure.survey_job import open_survey
from measure.trust import trust_of_face
from shared.errors import ExportError


def demo_folder() -> Path:
    """Folder of the demo.

    Raises
    ------
    ExportError
        If it is not installed.
    """
    folder = find_demo_folder()
    if folder is None:
        raise ExportError("The demo building is not installed.", hint="Install storeyrod again.")
    return folder


def run_demo(folder: Path, *, quiet: bool) -> None:
    """Measure the demo, print its sizes beside the truth, write all its files."""
    try:
        survey = copy_demo(demo_folder(), folder, tied=True)
    except OSError as error:
        raise ExportError(
            f"The folder {folder} cannot be written to ({error.strerror}).",
            hint="Name another folder.",
        ) from None
    job = open_survey(survey)
    results = job.measure(stop_at_problem=False)
    truth: dict[str, Any] = json.loads((demo_folder() / "truth.json").read_text("utf-8"))["faces"]
    console = make_console()
    columns = ("id", "label", "what", ">measured", ">true", ">off by", f">at {results.model_scale}")
    for face_id in results.faces:
        rows = []
        for row in size_rows(results, face_id):
            true = _true_value(truth, row)
            shown = ("", "") if true is None else (_plain(true, row), _plain(row.value - true, row))
            rows.append((row.id, row.label, row.what, row.text(), *shown, row.model_text()))
        print_table(console, f"Face {face_id}", columns, rows)
        console.print(trust_of_face(results, face_id))
        for problem in results.faces[face_id].problems.values():
            console.print(f"  {problem}")
        console.print()
    write_delivery(job, folder, quiet=quiet)
    print(f"Look into {folder}. To work on it by clicking: storeyrod open {survey}")


def _true_value(truth: dict[str, Any], row: SizeRow) -> float | None:
    face = truth.get(row.face, {})
    value = (
        face.get(row.key)
        if row.kind == "face"
        else face.get("measures", {}).get(row.id, {}).get(row.key)
    )
    return float(value) if isinstance(value, (int, float)) else None


def _plain(value: float, row: SizeRow) -> str:
    return f"{value:.0f}" if row.unit == "mm" and row.key != "gauge_mm" else f"{value:.2f}"
