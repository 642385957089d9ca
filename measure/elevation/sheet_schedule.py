"""A schedule of the openings, on the sheet of their elevation where there is room, else on its own.

Openings of one form and size share a row. Frame: millimetres of paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from measure.elevation import lettering
from measure.elevation.drawing import SHEET_LAYERS, HorizontalAlign
from measure.elevation.facade import DrawnOpening
from measure.elevation.page import AREA_PAD_MM
from measure.elevation.paper import Paper
from measure.elevation.path_geometry import Box
from measure.elevation.primitives import (
    Lettering,
    Primitive,
    Stroke,
    box_around,
    moved,
    stroke_on,
)
from measure.elevation.sheet import Sheet, make_frame
from measure.elevation.title_block import INFERRED_NOTE, SheetNumber, TitleBlock
from shared.number_text import format_number

TEXT_MM = 1.8
ROW_MM = 3.4
COLUMN_GAP_MM = 3.0

#: A schedule of more rows than this has a sheet of its own.
MOST_ROWS = 16

#: Names of one row longer than this are cut short.
LONGEST_NAMES = 30

#: The same on a sheet of its own: the first of these that its paper is wide enough for.
LONGEST_NAMES_ALONE = (60, 30, 12)

#: Free strip between drawing and schedule, and between columns of a long one.
CLEAR_MM = 8.0


@dataclass(frozen=True, slots=True)
class TableRow:
    """Cells of one row, the first aligned left, the others right."""

    cells: tuple[str, ...]


def rows_of_openings(
    openings: Iterable[DrawnOpening], denominator: float, longest: int = LONGEST_NAMES
) -> list[TableRow]:
    """Rows of the schedule, without its header.

    Parameters
    ----------
    openings : iterable of DrawnOpening
    denominator : float
        Of the scale, for sizes on the model.
    longest : int
        Names of a row longer than this are cut short, in characters.

    Returns
    -------
    list of TableRow
        Names, form, full size, sill, size on the model; by sill and width.
    """
    alike: dict[tuple[object, ...], list[DrawnOpening]] = {}
    for each in openings:
        size = round(each.width_mm), round(each.height_mm), round(each.sill_mm)
        alike.setdefault((each.form, *size, each.inferred), []).append(each)
    rows = []
    for group in sorted(alike.values(), key=lambda group: (group[0].sill_mm, -group[0].width_mm)):
        each = group[0]
        names = _names([one.id for one in group], longest)
        full = f"{format_number(each.width_mm)} × {format_number(each.height_mm)}"
        model = f"{each.width_mm / denominator:.1f} × {each.height_mm / denominator:.1f}"
        if each.inferred:
            names, full = f"({names})", f"({full})"
        sign = "+" if each.sill_mm >= 0.5 else "±" if abs(each.sill_mm) < 0.5 else ""
        sill = f"{sign}{format_number(each.sill_mm)}"
        rows.append(TableRow((names, each.form, full, sill, model)))
    return rows


HEADER = TableRow(("Opening", "head", "full size", "sill", "model"))


def table_primitives(
    rows: Sequence[TableRow], widths_mm: Sequence[float] | None = None
) -> list[Primitive]:
    """The table, its upper left corner at (0, 0); its columns as wide as they must be."""
    every = [HEADER, *rows]
    widths = widths_mm or column_widths_mm(rows)
    layer = next(layer for layer in SHEET_LAYERS if layer.name == "title")
    total = _table_width_mm(widths)
    made: list[Primitive] = []
    for number, row in enumerate(every):
        y = -ROW_MM * (number + 1) + (ROW_MM - TEXT_MM) / 2.0
        x = 0.0
        for column, (text, width) in enumerate(zip(row.cells, widths, strict=True)):
            at_right = column >= 2
            at = (x + width, y) if at_right else (x, y)
            align: HorizontalAlign = "right" if at_right else "left"
            made.append(Lettering(layer.name, at, text, TEXT_MM, 0.0, align))
            x += width + COLUMN_GAP_MM
    for y in (0.0, -ROW_MM, -ROW_MM * len(every)):
        made.append(stroke_on(layer, [(0.0, y), (total, y)]))
    return made


def column_widths_mm(rows: Sequence[TableRow]) -> list[float]:
    """Width of each column, without gaps."""
    return [
        max(lettering.width_mm(row.cells[column], TEXT_MM) for row in (HEADER, *rows))
        for column in range(len(HEADER.cells))
    ]


def _table_width_mm(widths_mm: Sequence[float]) -> float:
    return sum(widths_mm) + COLUMN_GAP_MM * (len(widths_mm) - 1)


def with_schedule(
    sheet: Sheet, block: TitleBlock, openings: Sequence[DrawnOpening]
) -> Sheet | None:
    """The sheet with a schedule beside or below its drawing, None where there is no room.

    Parameters
    ----------
    sheet : Sheet
        A single one, with its drawing whole.
    block : TitleBlock
        That the sheet was made with.
    openings : sequence of DrawnOpening
    """
    rows = rows_of_openings(openings, sheet.scale_denominator)
    if not rows or len(rows) > MOST_ROWS or sheet.window is not None or not sheet.drawing_items:
        return None
    items = sheet.drawing_items
    if any(isinstance(item, Stroke | Lettering) and item.inferred for item in items):
        block = replace(block, notes=(*block.notes, INFERRED_NOTE))
    room = make_frame(sheet.paper, block).area.grown(-AREA_PAD_MM)
    table = table_primitives(rows)
    content, size = box_around(items), box_around(table)
    shift = _places(content, size, room)
    if shift is None:
        return None
    (dx, dy), (table_x, table_y) = shift
    placed = [moved(item, table_x - size.left_mm, table_y - size.top_mm) for item in table]
    x, y = sheet.origin_mm
    return replace(
        sheet,
        drawing_items=tuple(moved(item, dx, dy) for item in items),
        sheet_items=(*sheet.sheet_items, *placed),
        origin_mm=(x + dx, y + dy),
    )


def schedule_sheets(
    paper: Paper, block: TitleBlock, openings: Sequence[DrawnOpening], after: int
) -> tuple[Sheet, ...]:
    """The schedule on sheets of its own, in as many columns as the paper is wide enough for.

    Parameters
    ----------
    paper : Paper
        As it lies.
    block : TitleBlock
        That the drawing's sheets were made with.
    openings : sequence of DrawnOpening
        Without any there is no sheet.
    after : int
        How many sheets come before.
    """
    if not openings:
        return ()
    block = replace(block, subtitle=f"{block.subtitle}: openings".removeprefix(": "))
    if any(each.inferred for each in openings):
        block = replace(block, notes=(*block.notes, INFERRED_NOTE))
    room = make_frame(paper, block).area.grown(-AREA_PAD_MM)
    for longest in LONGEST_NAMES_ALONE:
        rows = rows_of_openings(openings, block.scale_denominator, longest)
        widths = column_widths_mm(rows)
        wide = _table_width_mm(widths)
        if wide <= room.width_mm:
            break
    columns = max(1, int((room.width_mm + CLEAR_MM) // (wide + CLEAR_MM)))
    height = max(1, int(room.height_mm // ROW_MM) - 1)
    tables = [rows[at : at + height] for at in range(0, len(rows), height)]
    pages = [tables[at : at + columns] for at in range(0, len(tables), columns)]
    made = []
    for number, page in enumerate(pages, start=after + 1):
        place = SheetNumber(number, after + len(pages))
        items = list(make_frame(paper, block, number=place).items)
        for column, table in enumerate(page):
            x = room.left_mm + column * (wide + CLEAR_MM)
            items += [moved(item, x, room.top_mm) for item in table_primitives(table, widths)]
        made.append(
            Sheet(
                block.title, paper, block.scale_denominator, SHEET_LAYERS, (), tuple(items),
                (0.0, 0.0), number=place,
            )
        )  # fmt: skip
    return tuple(made)


def _places(
    content: Box, size: Box, room: Box
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Shift of the drawing, and upper left corner of the table: beside it, else below it."""
    both = content.width_mm + CLEAR_MM + size.width_mm
    if both <= room.width_mm and size.height_mm <= room.height_mm:
        left = room.centre_mm[0] - both / 2.0
        dx = left - content.left_mm
        top = min(content.bottom_mm + size.height_mm, room.top_mm)
        return (dx, 0.0), (left + content.width_mm + CLEAR_MM, max(top, room.bottom_mm))
    tall = content.height_mm + CLEAR_MM + size.height_mm
    if tall <= room.height_mm and size.width_mm <= room.width_mm:
        top = room.centre_mm[1] + tall / 2.0
        dy = top - content.top_mm
        x = room.centre_mm[0] - size.width_mm / 2.0
        return (0.0, dy), (x, top - content.height_mm - CLEAR_MM)
    return None


def _names(ids: Sequence[str], longest: int) -> str:
    """All names, or the first of them and how many more there are."""
    if len(text := ", ".join(ids)) <= longest:
        return text
    for kept in range(len(ids) - 1, 0, -1):
        text = f"{', '.join(ids[:kept])} + {len(ids) - kept} more"
        if len(text) <= longest:
            return text
    more = f" + {len(ids) - 1} more" if len(ids) > 1 else ""
    return f"{ids[0][: longest - len(more) - 1]}…{more}"
