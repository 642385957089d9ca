"""The schedule of sizes as CSV for a spreadsheet.

One row for each thing measured, one column for each size with its ± at full size
and at the model's scale; the unit stands in the header. UTF-8 with a byte order
mark, by which spreadsheets know the ± sign.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence

from measure.elevation.schedule import Schedule, ScheduleRow
from shared.model_scales import format_scale

# A cell that begins so would be run as a formula by a spreadsheet (common practice, no source).
_FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
FULL_SIZE_DECIMALS, MODEL_DECIMALS = 1, 3


def csv_from_schedule(schedule: Schedule) -> bytes:
    r"""Write a schedule as CSV.

    Parameters
    ----------
    schedule : Schedule

    Returns
    -------
    bytes
        Full size to 0.1 mm, the model to 0.001 mm, ± to two figures more; commas between cells, a
        point as decimal mark, lines ended by CR LF (RFC 4180). Cells without a size are empty.

    Notes
    -----
    The ± is one standard uncertainty. Words that begin like a formula get an apostrophe in
    front, so that opening the file runs nothing.

    Examples
    --------
    >>> from measure.elevation.schedule import Schedule, ScheduleRow, ScheduleSize
    >>> row = ScheduleRow("front", "h1", "eaves", "level", (ScheduleSize("level", 8400.0, 11.0),))
    >>> print(csv_from_schedule(Schedule((row,), 148.0)).decode("utf-8-sig").splitlines()[1])
    front,h1,eaves,level,,8400.0,11.000,56.757,0.07432,yes,
    """
    names = schedule.size_names()
    scale = format_scale(schedule.scale_denominator)
    header = ["face", "id", "name", "kind", "form"]
    for name in names:
        header += [
            f"{name} full size (mm)",
            f"± {name} full size (mm)",
            f"{name} model {scale} (mm)",
            f"± {name} model {scale} (mm)",
        ]
    header += ["measured", "notes"]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(header)
    for row in schedule.rows:
        writer.writerow(_cells(row, names, schedule.scale_denominator))
    return text.getvalue().encode("utf-8-sig")


def csv_from_rows(rows: Iterable[Sequence[str]]) -> bytes:
    """Write rows of text cells as CSV, in the same dialect; cells that are numbers stay plain.

    Examples
    --------
    >>> made = csv_from_rows([["id", "moved"], ["w1", "-1.2"], ["=x", ""]])
    >>> made.decode("utf-8-sig").splitlines()
    ['id,moved', 'w1,-1.2', "'=x,"]
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    for row in rows:
        writer.writerow([cell if _is_number(cell) else _words(cell) for cell in row])
    return text.getvalue().encode("utf-8-sig")


def _is_number(cell: str) -> bool:
    try:
        return math.isfinite(float(cell))
    except ValueError:
        return False


def _cells(row: ScheduleRow, names: list[str], scale_denominator: float) -> list[str]:
    """Cells of one row."""
    cells = [_words(word) for word in (row.face, row.id, row.label, row.kind, row.form)]
    for name in names:
        size = row.size(name)
        value_mm = math.nan if size is None else size.value_mm
        u_mm = math.nan if size is None or size.u_mm is None else size.u_mm
        cells += [
            _figure(value_mm, FULL_SIZE_DECIMALS),
            _figure(u_mm, FULL_SIZE_DECIMALS + 2),
            _figure(value_mm / scale_denominator, MODEL_DECIMALS),
            _figure(u_mm / scale_denominator, MODEL_DECIMALS + 2),
        ]
    return [*cells, "no" if row.inferred else "yes", _words(row.notes)]


def _figure(value: float, decimals: int) -> str:
    """Plain number; empty where there is none."""
    if not math.isfinite(value):
        return ""
    text = f"{value:.{decimals}f}"
    return text.removeprefix("-") if float(text) == 0.0 else text


def _words(text: str) -> str:
    """One line of words that no spreadsheet takes for a formula."""
    line = " ".join(text.replace("\x00", "").split(" ")).replace("\n", " ").replace("\r", " ")
    return f"'{line}" if line.lstrip().startswith(_FORMULA_SIGNS) else line
