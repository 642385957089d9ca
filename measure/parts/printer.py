"""Correcting for a printer that stretches the sheet: differently across it and up it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from measure.elevation.path_geometry import ArcSegment, Box, LineSegment, Point
from measure.elevation.primitives import Lettering, Primitive, Stroke
from measure.elevation.sheet import Sheet
from measure.parts.part import flat_points
from shared.card_wishes import PrintedBars
from shared.errors import FieldError

#: A printer that is this far off has scaled the page to fit.
MOST_OFF = 0.1


@dataclass(frozen=True, slots=True)
class Correction:
    """By how much everything is drawn larger, so that it prints true.

    Attributes
    ----------
    across, up : float
        1 where nothing is to be corrected.
    """

    across: float = 1.0
    up: float = 1.0

    @property
    def is_none(self) -> bool:
        """Whether nothing changes."""
        return self.across == 1.0 and self.up == 1.0


def correction_from_bars(bars: PrintedBars | None) -> Correction:
    """Correction from what the bars of a print measured.

    Raises
    ------
    FieldError
        For a bar of no length, or one so far off that the sheet was scaled to fit.

    Examples
    --------
    >>> round(correction_from_bars(PrintedBars(across_mm=150.0, up_mm=149.7)).up, 6)
    1.002004
    """
    if bars is None:
        return Correction()
    for word, value in (("across the sheet", bars.across_mm), ("up the sheet", bars.up_mm)):
        if not math.isfinite(value) or value <= 0:
            raise FieldError(
                f"The bar {word} is said to measure {value:g} mm on the print; lay a rule along "
                f"it and give what it shows, near {bars.bar_mm} mm."
            )
        if abs(value / bars.bar_mm - 1.0) > MOST_OFF:
            raise FieldError(
                f"The bar {word} measures {value:g} mm where it should be {bars.bar_mm} mm: the "
                "sheet was scaled to fit, so print it again at actual size (100 %)."
            )
    return Correction(bars.bar_mm / bars.across_mm, bars.bar_mm / bars.up_mm)


def corrected_sheet(sheet: Sheet, correction: Correction) -> Sheet:
    """Sheet whose lines are drawn larger about its middle; its lettering keeps its size."""
    if correction.is_none:
        return sheet
    cx, cy = sheet.paper.width_mm / 2.0, sheet.paper.height_mm / 2.0

    def place(point: Point) -> Point:
        return cx + (point[0] - cx) * correction.across, cy + (point[1] - cy) * correction.up

    def change(item: Primitive) -> Primitive:
        if isinstance(item, Lettering):
            return replace(item, at_mm=place(item.at_mm))
        # stretched both ways apart, an arc is one of an ellipse
        even = correction.across == correction.up
        if even or not any(isinstance(s, ArcSegment) for s in item.segments):
            segments = tuple(replace(s, to_mm=place(s.to_mm)) for s in item.segments)
        else:
            points = flat_points(item.start_mm, item.segments)
            segments = tuple(LineSegment(place(p)) for p in points[1:])
        if isinstance(item, Stroke):
            return replace(item, start_mm=place(item.start_mm), segments=segments)
        return replace(item, start_mm=place(item.start_mm), segments=segments)

    pictures = tuple(
        replace(
            picture,
            box=Box(
                *place((picture.box.left_mm, picture.box.bottom_mm)),
                *place((picture.box.right_mm, picture.box.top_mm)),
            ),
        )
        for picture in sheet.pictures
    )
    return replace(
        sheet,
        pictures=pictures,
        drawing_items=tuple(change(item) for item in sheet.drawing_items),
        sheet_items=tuple(change(item) for item in sheet.sheet_items),
    )
