"""The cut list: every part with its count, material, size and sheet, as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from measure.parts.part import Part
from measure.parts.part_sheets import LaidSheet

_FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")


def csv_of_parts(parts: Sequence[Part], sheets: Sequence[LaidSheet]) -> bytes:
    """Write the cut list as CSV.

    Returns
    -------
    bytes
        UTF-8 with a byte order mark, one row for each mark; sizes in mm, of the part as it
        stands upright.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(
        ["mark", "part", "count", "material", "thickness (mm)", "width (mm)", "height (mm)",
         "grain", "sheet", "what to mind"]
    )  # fmt: skip
    where: dict[str, list[int]] = {}
    for number, laid in enumerate(sheets, start=1):
        for mark in laid.marks:
            if number not in where.setdefault(mark, []):
                where[mark].append(number)
    for part in sorted(parts, key=lambda p: mark_order(p.mark)):
        width, height = size_mm(part)
        row = [
            part.mark,
            part.name,
            str(part.count),
            part.material.name,
            f"{round(part.material.thickness_mm, 3):g}",
            f"{width:.2f}",
            f"{height:.2f}",
            {"up": "up the part", "along": "along the part", "any": "either way"}[part.grain],
            " ".join(str(n) for n in where.get(part.mark, [])) or "left out",
            part.note,
        ]
        writer.writerow([_plain(cell) for cell in row])
    return text.getvalue().encode("utf-8-sig")


def mark_order(mark: str) -> tuple[str, int, str]:
    """Order in which marks are read: A2 before A10."""
    letters = mark.rstrip("0123456789/j")
    digits = ""
    for character in mark[len(letters) :]:
        if not character.isdigit():
            break
        digits += character
    return letters, int(digits or 0), mark


def size_mm(part: Part) -> tuple[float, float]:
    """Width and height of what is cut."""
    boxes = [line.box for line in part.lines if line.closed and line.use in ("cut", "trim")]
    left = min(box.left_mm for box in boxes)
    right = max(box.right_mm for box in boxes)
    low = min(box.bottom_mm for box in boxes)
    high = max(box.top_mm for box in boxes)
    return right - left, high - low


def _plain(cell: str) -> str:
    """No spreadsheet is to take words for a formula."""
    return f"'{cell}" if cell.startswith(_FORMULA_SIGNS) else cell
