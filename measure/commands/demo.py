"""``storeyrod demo``: the whole job on the building that comes with the program."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from measure.commands.files import write_delivery
from measure.commands.table_text import make_console, print_table
from measure.delivery import Wish
from measure.demo_building import copy_demo, find_demo_folder
from measure.size_rows import SizeRow, size_rows
from measure.survey_job import open_survey
from measure.trust import trust_of_face
from shared.errors import ExportError
from shared.number_text import MINUS, format_number
from shared.uncertain_text import decimals_from_u

#: What to look at first, where it was written, and what it is.
FIRST = (
    ("front-elevation.pdf", "the street front on paper: print it at 100 %"),
    ("front-straightened.png", "its photo straightened, at the model's size"),
    ("side-by-side-street.pdf", "the walls of that photo in the order in which they wrap round"),
    ("schedule.csv", "every size with its ±"),
)

#: Sizes of the front that are printed; all are in the schedule.
TOLD = ("width_mm", "length_mm")


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


@dataclass(frozen=True, slots=True)
class Compared:
    """A size as measured and as it was built, in the unit of the row."""

    row: SizeRow
    true: float

    @property
    def off(self) -> float:
        """Measured less true."""
        return self.row.value - self.true

    def texts(self) -> tuple[str, ...]:
        """Its cells: what, measured, true, off by, on the model; figures as the ± is worth."""
        decimals, unit = decimals_from_u(self.row.u), f" {self.row.unit}"
        off = format_number(self.off, decimals)
        sign = "" if off.startswith(MINUS) or not round(self.off, decimals) else "+"
        true = format_number(self.true, max(decimals, 0))
        what = f"{self.row.label}, {self.row.what}"
        return what, self.row.text(), true + unit, sign + off + unit, self.row.model_text()


def run_demo(folder: Path, *, quiet: bool) -> None:
    """Measure the demo, hold its sizes against the truth, write its files, say what to open."""
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
    rows = [(row, _true_value(truth, row)) for row in size_rows(results)]
    compared = [Compared(row, true) for row, true in rows if true is not None]
    front = next(iter(results.faces))
    name = job.face(front).label or front
    console = make_console()
    print_table(
        console,
        f"{job.survey.title}: {name}",
        ("", ">measured", ">true", ">off by", f">at {results.model_scale}"),
        [one.texts() for one in compared if one.row.face == front and one.row.key in TOLD],
    )
    console.print(trust_of_face(results, front), soft_wrap=True)
    for face in results.faces.values():
        for problem in face.problems.values():
            console.print(f"{face.id}: {problem}", soft_wrap=True)
    console.print(_summed_up(compared, len(results.faces)), soft_wrap=True)
    written, notes = write_delivery(job, folder, Wish(date=dt.date.today()), quiet=quiet)
    for note in notes:
        print(f"note: {note}")
    print(f"\n{len(written)} files are in {folder}, {_megabytes(written)}. Look at these first:")
    names = {path.name for path in written}
    for file, what in FIRST:
        if file in names:
            print(f"  {file:<24} {what}")
    print(f"To work on it by clicking: storeyrod open {survey}")


def _summed_up(compared: Sequence[Compared], faces: int) -> str:
    within = np.mean([abs(one.off) <= 2.0 * one.row.u for one in compared])
    return (
        f"{len(compared)} sizes on {faces} faces were held against the truth of this invented "
        f"building: {100 * within:.0f} % lie within twice their ±."
    )


def _megabytes(written: Sequence[Path]) -> str:
    return f"{sum(path.stat().st_size for path in written) / 1e6:.0f} MB"


def _true_value(truth: dict[str, Any], row: SizeRow) -> float | None:
    face = truth.get(row.face, {})
    value = (
        face.get(row.key)
        if row.kind == "face"
        else face.get("measures", {}).get(row.id, {}).get(row.key)
    )
    return float(value) if isinstance(value, (int, float)) else None
