"""The title block: what a sheet says about the drawing on it.

Frame: millimetres of paper, (0, 0) at the lower left corner of the block, y up.
Every text is made to fit its cell: by more lines, then smaller, last by leaving
off its end.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from measure.elevation import lettering
from measure.elevation.bars import LengthUnit, bar_scale
from measure.elevation.drawing import SHEET_LAYERS
from measure.elevation.path_geometry import Box
from measure.elevation.primitives import (
    Lettering,
    Primitive,
    fill_of,
    stroke_around,
    stroke_on,
)
from shared.model_scales import format_scale

CAUTION = (
    "For models only: not a survey, not for building work, boundaries or structural decisions. "
    "Defer to local codes and licensed practice."
)
INFERRED_NOTE = "Dashed lines and sizes in brackets: mirrored, repeated or assumed, not measured."
JOIN_NOTE = (
    "Join the sheets by laying crosses with the same letter over each other, "
    "never by the edges of the paper."
)

TITLE_MM, SCALE_MM, TEXT_MM, SMALL_MM = 5.0, 3.5, 2.5, 1.8
PAD_MM = 3.2
ROW_MM = 21.0
NARROW_MM = 140.0
"""Below this width the title has a row of its own."""

_LAYERS = {layer.name: layer for layer in SHEET_LAYERS}


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What the block says.

    Attributes
    ----------
    title : str
        Of the building.
    scale_denominator : float
        148 for 1:148.
    date : datetime.date
        Of the drawing; never taken from the clock.
    subtitle : str
        Which face.
    photo : str
        Name of the photo's file.
    plus_minus : str
        How far the sizes can be trusted, as one sentence.
    notes : tuple of str
        Further sentences.
    cautions : str
    bar_unit : {"m", "ft"}
        Unit of the bar scale.
    """

    title: str
    scale_denominator: float
    date: dt.date
    subtitle: str = ""
    photo: str = ""
    plus_minus: str = ""
    notes: tuple[str, ...] = ()
    cautions: str = CAUTION
    bar_unit: LengthUnit = "m"


@dataclass(frozen=True, slots=True)
class SheetNumber:
    """Place of a sheet among those of one drawing.

    Attributes
    ----------
    number, count : int
        From 1; those of its schedule count.
    column, row : int
        From 0, left to right and top to bottom.
    columns, rows : int
        Of the sheets that the drawing is spread over.
    """

    number: int = 1
    count: int = 1
    column: int = 0
    row: int = 0
    columns: int = 1
    rows: int = 1


def scale_in_words(scale_denominator: float) -> str:
    """Designation of a scale after ISO 5455: the word SCALE and the ratio.

    Examples
    --------
    >>> scale_in_words(148.0), scale_in_words(1.0), scale_in_words(0.5)
    ('SCALE 1:148', 'SCALE 1:1', 'SCALE 2:1')
    """
    return f"SCALE {format_scale(scale_denominator)}"


def title_block_primitives(
    block: TitleBlock, width_mm: float, sheet: SheetNumber, *, paper_name: str = ""
) -> tuple[list[Primitive], float]:
    """Draw the block.

    Parameters
    ----------
    block : TitleBlock
    width_mm : float
        Width of the block.
    sheet : SheetNumber
    paper_name : str
        Such as "A4"; left out if empty.

    Returns
    -------
    items : list of Primitive
        Without the frame around the block.
    height_mm : float
    """
    rule = _LAYERS["title"]
    made, height = _notes(block, width_mm)
    made.append(stroke_on(rule, [(0.0, height), (width_mm, height)]))
    top = height + ROW_MM
    if width_mm >= NARROW_MM:
        edges = [0.0, round(0.42 * width_mm), round(0.72 * width_mm), width_mm]
        made += _title_cell(block, Box(edges[0], height, edges[1], top))
        plan, plan_mm = _key_plan(edges[3] - PAD_MM, top - PAD_MM, sheet)
        made += plan
        edges_of_facts = Box(edges[2], height, edges[3] - plan_mm, top)
        made += _scale_cell(block, Box(edges[1], height, edges[2], top))
        made += _facts_cell(block, edges_of_facts, sheet, paper_name)
        made += [stroke_on(rule, [(x, height), (x, top)]) for x in edges[1:3]]
        return made, top
    middle = width_mm / 2
    made += _scale_cell(block, Box(0.0, height, middle, top))
    made += _facts_cell(block, Box(middle, height, width_mm, top), sheet, paper_name)
    made.append(stroke_on(rule, [(middle, height), (middle, top)]))
    made.append(stroke_on(rule, [(0.0, top), (width_mm, top)]))
    title_top = top + 17.0
    plan, plan_mm = _key_plan(width_mm - PAD_MM, title_top - PAD_MM, sheet)
    made += plan
    made += _title_cell(block, Box(0.0, top, width_mm - plan_mm, title_top))
    return made, title_top


def _lettering(x_mm: float, y_mm: float, text: str, size_mm: float) -> Lettering:
    return Lettering("title", (x_mm, y_mm), text, size_mm)


def _notes(block: TitleBlock, width_mm: float) -> tuple[list[Primitive], float]:
    """Lines along the bottom: how far to trust the sizes, notes, cautions."""
    room_mm = width_mm - 2 * PAD_MM
    lines: list[tuple[str, float]] = []
    for text, size_mm, most_lines in (
        (block.plus_minus, TEXT_MM, 4),
        *((note, SMALL_MM, 2) for note in block.notes),
        # Cautions may take all the lines they need, but never an endless block.
        (block.cautions, SMALL_MM, 8),
    ):
        fitted, size = lettering.fitted(text, size_mm, room_mm, most_lines=most_lines)
        lines += [(line, size) for line in fitted]
    made: list[Primitive] = []
    y = PAD_MM - 0.4
    above = list(reversed(lines))[1:]
    for (line, size), (_, size_above) in zip(reversed(lines), [*above, ("", 0.0)], strict=True):
        made.insert(0, _lettering(PAD_MM, y, line, size))
        y += size + (lettering.DESCENT + 0.45) * max(size, size_above)
    return made, y + PAD_MM - 1.2 if lines else 0.0


def _title_cell(block: TitleBlock, cell: Box) -> list[Primitive]:
    """Title, and which face below it."""
    room_mm = cell.width_mm - 2 * PAD_MM
    made: list[Primitive] = []
    x, low = cell.left_mm + PAD_MM, cell.bottom_mm + PAD_MM
    lines, size = lettering.fitted(block.subtitle, TEXT_MM, room_mm)
    for line in lines:
        made.append(_lettering(x, low, line, size))
        low += TEXT_MM + 2.4
    high = cell.top_mm - PAD_MM
    lines, size = lettering.fitted(
        block.title, TITLE_MM, room_mm, most_lines=3, height_mm=high - low
    )
    y = high - size
    for line in lines:
        made.append(_lettering(x, y, line, size))
        y -= size * lettering.LINE_STEP
    return made


def _scale_cell(block: TitleBlock, cell: Box) -> list[Primitive]:
    """The scale in words, and as a bar."""
    room_mm = cell.width_mm - 2 * PAD_MM
    x = cell.left_mm + PAD_MM
    lines, size = lettering.fitted(scale_in_words(block.scale_denominator), SCALE_MM, room_mm)
    made: list[Primitive] = [
        _lettering(x, cell.top_mm - PAD_MM - SCALE_MM, line, size) for line in lines
    ]
    made += bar_scale(
        _LAYERS["bar"],
        x,
        cell.bottom_mm + PAD_MM,
        block.scale_denominator,
        room_mm,
        block.bar_unit,
    )
    return made


def _facts_cell(
    block: TitleBlock, cell: Box, sheet: SheetNumber, paper_name: str
) -> list[Primitive]:
    """Photo, date and number of the sheet."""
    made: list[Primitive] = []
    right = cell.right_mm - PAD_MM
    number = f"{sheet.number} of {sheet.count}"
    facts = [
        ("Photo", block.photo or "none"),
        ("Date", block.date.isoformat()),
        ("Sheet", f"{number}, {paper_name}" if paper_name else number),
    ]
    words_mm = max(lettering.width_mm(word, SMALL_MM) for word, _ in facts)
    x = cell.left_mm + PAD_MM
    value_x = x + words_mm + 2.5
    step_mm = (cell.height_mm - 2 * PAD_MM - TEXT_MM) / (len(facts) - 1)
    y = cell.top_mm - PAD_MM - TEXT_MM
    for word, value in facts:
        made.append(_lettering(x, y, word, SMALL_MM))
        lines, size = lettering.fitted(value, TEXT_MM, right - value_x, smallest_mm=SMALL_MM)
        made += [_lettering(value_x, y, line, size) for line in lines]
        y -= step_mm
    return made


def _key_plan(right_mm: float, top_mm: float, sheet: SheetNumber) -> tuple[list[Primitive], float]:
    """All sheets as a grid, this one filled in; and the width it takes up to its right edge."""
    if sheet.columns * sheet.rows == 1:
        return [], 0.0
    rule = _LAYERS["title"]
    cell_mm = min(14.0 / sheet.columns, 11.0 / sheet.rows, 5.0)
    left = right_mm - cell_mm * sheet.columns
    made: list[Primitive] = []
    for row in range(sheet.rows):
        for column in range(sheet.columns):
            x, y = left + column * cell_mm, top_mm - row * cell_mm
            cell = Box(x, y - cell_mm, x + cell_mm, y)
            made.append(stroke_around(rule, cell))
            if (column, row) == (sheet.column, sheet.row):
                made.append(fill_of(rule, cell.grown(-cell_mm / 5)))
    return made, cell_mm * sheet.columns + PAD_MM
