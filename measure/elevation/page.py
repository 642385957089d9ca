"""Sheets: a drawing set on paper to a scale, with frame, title block and bars.

Frame: millimetres of paper, (0, 0) at the lower left corner of the sheet, y up.
A drawing that one sheet cannot hold is spread over several that overlap and carry
crosses to join them by.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from measure.elevation.annotate import paper_primitives
from measure.elevation.drawing import SHEET_LAYERS, Drawing
from measure.elevation.paper import USUAL_MARGIN_MM, Paper, paper_named
from measure.elevation.path_geometry import Box
from measure.elevation.primitives import (
    Lettering,
    Primitive,
    Stroke,
    box_around,
    box_of,
    moved,
)
from measure.elevation.sheet import Sheet, SheetFrame, make_frame
from measure.elevation.tiling import Tiling, lay_tiles, register_marks
from measure.elevation.title_block import (
    INFERRED_NOTE,
    JOIN_NOTE,
    SheetNumber,
    TitleBlock,
    scale_in_words,
)
from shared.errors import FieldError

Orientation = Literal["automatic", "portrait", "landscape"]

HOME_PAPERS = (paper_named("A4"), paper_named("A3"))
"""Sheets tried in turn where none is asked for; several of the first are used where none fits."""
AREA_PAD_MM = 4.0
"""Free strip between a drawing and the frame."""
MOST_SHEETS = 400

_SHEET_LAYER = {layer.name: layer for layer in SHEET_LAYERS}


def make_sheets(
    drawing: Drawing,
    block: TitleBlock,
    *,
    papers: Sequence[Paper] = HOME_PAPERS,
    orientation: Orientation = "automatic",
    margin_mm: float = USUAL_MARGIN_MM,
    common_area: bool = True,
    overlap_mm: float = 14.0,
    further: int = 0,
) -> tuple[Sheet, ...]:
    """Set a drawing on paper at the scale of its title block.

    Parameters
    ----------
    drawing : Drawing
    block : TitleBlock
        Its scale is the scale of the sheets.
    papers : sequence of Paper
        Tried in turn; the first that holds the drawing whole is taken. Where none does, the
        drawing is spread over several sheets of the first. Name one to have that one.
    orientation : {"automatic", "portrait", "landscape"}
    margin_mm, common_area
        See :func:`measure.elevation.paper.safe_area`.
    overlap_mm : float
        What two neighbouring sheets both show; at least 10.
    further : int
        How many sheets will follow that are not of the drawing; they count in "1 of 3".

    Returns
    -------
    tuple of Sheet
        Left to right and top to bottom.

    Raises
    ------
    FieldError
        For an empty drawing, an impossible scale, margin or overlap, or more than 400 sheets.
    """
    items = paper_primitives(drawing, block.scale_denominator)
    if not items:
        raise FieldError(f"The drawing “{drawing.title}” is empty; measure something on it first.")
    if any(isinstance(item, Stroke | Lettering) and item.inferred for item in items):
        block = replace(block, notes=(*block.notes, INFERRED_NOTE))
    content = box_around(items)
    for paper in papers:
        for turned in _orientations(paper, orientation, content):
            place = SheetNumber(1, 1 + further)
            frame = make_frame(
                turned, block, margin_mm=margin_mm, common_area=common_area, number=place
            )
            room = frame.area.grown(-AREA_PAD_MM)
            if content.width_mm <= room.width_mm and content.height_mm <= room.height_mm:
                whole = _whole_sheet(drawing, block, items, content, frame)
                return (replace(whole, number=place),)
    if not papers:
        raise FieldError("No paper was named to draw on; name one, such as A4.")
    return _several_sheets(
        drawing, block, items, content, papers[0], orientation, margin_mm, common_area, overlap_mm,
        further,
    )  # fmt: skip


def make_plain_sheet(
    drawing: Drawing, scale_denominator: float, *, margin_mm: float = 5.0
) -> Sheet:
    """Set a drawing on a sheet of just its size, without frame and title block.

    For putting into another document; it says nothing of its scale, so a printed
    drawing wants :func:`make_sheets`.
    """
    items = paper_primitives(drawing, scale_denominator)
    if not items:
        raise FieldError(f"The drawing “{drawing.title}” is empty; measure something on it first.")
    box = box_around(items).grown(margin_mm)
    dx, dy = -box.left_mm, -box.bottom_mm
    return Sheet(
        drawing.title,
        Paper("own size", box.width_mm, box.height_mm),
        scale_denominator,
        drawing.layers,
        tuple(moved(item, dx, dy) for item in items),
        (),
        (dx, dy),
    )


def _orientations(paper: Paper, orientation: Orientation, content: Box) -> list[Paper]:
    """The sheet as it may lie, the likelier way first."""
    if orientation == "portrait":
        return [paper.portrait()]
    if orientation == "landscape":
        return [paper.landscape()]
    both = [paper.landscape(), paper.portrait()]
    return both if content.width_mm >= content.height_mm else both[::-1]


def _whole_sheet(
    drawing: Drawing,
    block: TitleBlock,
    items: tuple[Primitive, ...],
    content: Box,
    frame: SheetFrame,
) -> Sheet:
    """Whole drawing in the middle of its area."""
    (x, y), (cx, cy) = frame.area.centre_mm, content.centre_mm
    return Sheet(
        drawing.title,
        frame.paper,
        block.scale_denominator,
        (*drawing.layers, *SHEET_LAYERS),
        tuple(moved(item, x - cx, y - cy) for item in items),
        frame.items,
        (x - cx, y - cy),
    )


def _several_sheets(
    drawing: Drawing,
    block: TitleBlock,
    items: tuple[Primitive, ...],
    content: Box,
    paper: Paper,
    orientation: Orientation,
    margin_mm: float,
    common_area: bool,
    overlap_mm: float,
    further: int,
) -> tuple[Sheet, ...]:
    """Drawing spread over as few sheets as hold it."""
    block = replace(block, notes=(*block.notes, JOIN_NOTE))
    # The number changes what the block says, never its height.
    second = SheetNumber(1, 2, 0, 0, 2, 1)

    def tiling_on(turned: Paper) -> Tiling:
        frame = make_frame(
            turned, block, margin_mm=margin_mm, common_area=common_area, number=second
        )
        return lay_tiles(content.grown(AREA_PAD_MM), frame.area, overlap_mm)

    turned, tiling = min(
        ((turned, tiling_on(turned)) for turned in _orientations(paper, orientation, content)),
        key=lambda pair: pair[1].count,
    )
    if tiling.count > MOST_SHEETS:
        raise FieldError(
            f"At {scale_in_words(block.scale_denominator).lower()} the drawing would take "
            f"{tiling.count} sheets of {paper.name}; use a smaller scale or larger paper."
        )
    marks = register_marks(tiling)
    sheets = []
    for number, tile in enumerate(tiling.tiles(), start=1):
        place = SheetNumber(
            number, tiling.count + further, tile.column, tile.row, tiling.columns, tiling.rows
        )
        frame = make_frame(
            turned, block, margin_mm=margin_mm, common_area=common_area, number=place
        )
        dx = frame.area.left_mm - tile.window.left_mm
        dy = frame.area.bottom_mm - tile.window.bottom_mm
        crosses = [
            moved(item, dx, dy)
            for mark in marks
            if tile.window.contains(mark.box)
            for item in mark.primitives(_SHEET_LAYER["register"])
        ]
        sheets.append(
            Sheet(
                drawing.title,
                turned,
                block.scale_denominator,
                (*drawing.layers, *SHEET_LAYERS),
                tuple(moved(item, dx, dy) for item in items if box_of(item).overlaps(tile.window)),
                (*frame.items, *crosses),
                (dx, dy),
                frame.area,
                place,
            )
        )
    return tuple(sheets)
