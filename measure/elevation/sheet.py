"""A sheet of paper with frame, title block and bars, and what is drawn on it.

Frame: millimetres of paper, (0, 0) at the lower left corner of the sheet, y up.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from measure.elevation.bars import BORDER_MM, check_bars
from measure.elevation.drawing import SHEET_LAYERS, Layer
from measure.elevation.paper import USUAL_MARGIN_MM, Paper, safe_area
from measure.elevation.path_geometry import Box, Point
from measure.elevation.picture import SheetPicture
from measure.elevation.primitives import Primitive, moved, stroke_around, stroke_on
from measure.elevation.title_block import SheetNumber, TitleBlock, title_block_primitives
from shared.errors import FieldError

LEAST_AREA_MM = 20.0

_SHEET_LAYER = {layer.name: layer for layer in SHEET_LAYERS}


@dataclass(frozen=True, slots=True)
class SheetFrame:
    """An empty sheet.

    Attributes
    ----------
    paper : Paper
    area : Box
        Place for a drawing, up to the lines around it.
    items : tuple of Primitive
        Frame, title block, bars.
    """

    paper: Paper
    area: Box
    items: tuple[Primitive, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet with all that is drawn on it.

    Attributes
    ----------
    title : str
    paper : Paper
    scale_denominator : float
    layers : tuple of Layer
        Of the drawing, then of the sheet, in drawing order.
    drawing_items : tuple of Primitive
        Cut off at the window where there is one.
    sheet_items : tuple of Primitive
        Frame, title block, bars, crosses.
    origin_mm : (x, y)
        Where the chart's (0, 0) lies on the sheet; may be off it.
    window : Box or None
    number : SheetNumber
    pictures : tuple of SheetPicture
        Under all that is drawn.
    """

    title: str
    paper: Paper
    scale_denominator: float
    layers: tuple[Layer, ...]
    drawing_items: tuple[Primitive, ...]
    sheet_items: tuple[Primitive, ...]
    origin_mm: Point
    window: Box | None = None
    number: SheetNumber = field(default_factory=SheetNumber)
    pictures: tuple[SheetPicture, ...] = ()


def make_frame(
    paper: Paper,
    block: TitleBlock,
    *,
    margin_mm: float = USUAL_MARGIN_MM,
    common_area: bool = True,
    number: SheetNumber | None = None,
) -> SheetFrame:
    """Lay out a sheet without a drawing: frame, title block, check bars.

    Parameters
    ----------
    paper : Paper
        As it lies before the reader.
    block : TitleBlock
    margin_mm : float
        At least 10 is advised; less than 6.35 is refused.
    common_area : bool
        See :func:`measure.elevation.paper.safe_area`.
    number : SheetNumber, optional
        One sheet of one where left out.

    Raises
    ------
    FieldError
        For a margin too narrow, or a sheet too small to hold anything.
    """
    number = number or SheetNumber()
    safe = safe_area(paper, margin_mm, common_area=common_area)
    frame = Box(safe.left_mm + BORDER_MM, safe.bottom_mm + BORDER_MM, safe.right_mm, safe.top_mm)
    block_items, block_height_mm = title_block_primitives(
        block, frame.width_mm, number, paper_name=paper.name
    )
    area = replace(frame, bottom_mm=min(frame.bottom_mm + block_height_mm, frame.top_mm))
    if min(area.width_mm, area.height_mm) < LEAST_AREA_MM:
        raise FieldError(
            f"{paper.name} is too small for a drawing with its title block; use larger paper."
        )
    line = _SHEET_LAYER["frame"]
    items = [
        stroke_around(line, frame),
        stroke_on(line, [(area.left_mm, area.bottom_mm), (area.right_mm, area.bottom_mm)]),
        *(moved(item, frame.left_mm, frame.bottom_mm) for item in block_items),
        *check_bars(_SHEET_LAYER["bar"], frame),
    ]
    return SheetFrame(paper, area, tuple(items))
