"""Sheets of paper, their margins, and the part of them that is safe to draw on.

Frame: millimetres, x right and y up from the lower left corner of the sheet as
it is read.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from measure.elevation.path_geometry import Box
from shared.errors import FieldError

USUAL_MARGIN_MM = 10.0
LEAST_MARGIN_MM = 6.35
"""A quarter of an inch: the margin that printers commonly keep free (common practice)."""


@dataclass(frozen=True, slots=True)
class Paper:
    """One sheet, as it lies before the reader.

    Attributes
    ----------
    name : str
        Such as "A4".
    width_mm, height_mm : float
    """

    name: str
    width_mm: float
    height_mm: float

    @property
    def is_landscape(self) -> bool:
        """Whether it lies on its long side."""
        return self.width_mm > self.height_mm

    def portrait(self) -> Paper:
        """Sheet standing on its short side."""
        return self.turned() if self.is_landscape else self

    def landscape(self) -> Paper:
        """Sheet lying on its long side."""
        return self if self.is_landscape else self.turned()

    def turned(self) -> Paper:
        """Sheet turned by a quarter."""
        return replace(self, width_mm=self.height_mm, height_mm=self.width_mm)


ISO_216 = (
    Paper("A0", 841.0, 1189.0),
    Paper("A1", 594.0, 841.0),
    Paper("A2", 420.0, 594.0),
    Paper("A3", 297.0, 420.0),
    Paper("A4", 210.0, 297.0),
    Paper("A5", 148.0, 210.0),
    Paper("A6", 105.0, 148.0),
)
"""The A series of ISO 216, upright, largest first."""

NORTH_AMERICAN = (
    Paper("Letter", 215.9, 279.4),
    Paper("Legal", 215.9, 355.6),
    Paper("Tabloid", 279.4, 431.8),
)
"""8 1/2 x 11, 8 1/2 x 14 and 11 x 17 inches, upright (common practice)."""

COMMON_AREA = Paper("A4 or Letter", 210.0, 279.4)
"""What A4 and Letter have in common, upright."""

_BY_NAME = {paper.name.lower(): paper for paper in (*ISO_216, *NORTH_AMERICAN)}


def paper_named(name: str) -> Paper:
    """Upright sheet of that name.

    Raises
    ------
    FieldError
        If there is none.

    Examples
    --------
    >>> paper_named("a4").landscape()
    Paper(name='A4', width_mm=297.0, height_mm=210.0)
    """
    try:
        return _BY_NAME[name.strip().lower()]
    except KeyError:
        known = ", ".join(paper.name for paper in (*ISO_216, *NORTH_AMERICAN))
        raise FieldError(f"There is no paper called “{name}” here; use one of {known}.") from None


def safe_area(paper: Paper, margin_mm: float = USUAL_MARGIN_MM, *, common_area: bool = True) -> Box:
    """Part of a sheet within its margins.

    Parameters
    ----------
    paper : Paper
    margin_mm : float
        Free on every side; 10 or more is advised.
    common_area : bool
        Keep drawings for A4 or Letter to what both have in common, in the middle of the sheet, so
        that they print on either.

    Raises
    ------
    FieldError
        For a margin below 6.35 mm, or one that leaves no sheet.

    Notes
    -----
    Edges of real sheets are only true to ±1.5 mm up to 150 mm, ±2 mm up to 600 mm and ±3 mm
    beyond (ISO 216), and printers add their own shift: nothing is ever measured from the edge.
    """
    if not (math.isfinite(margin_mm) and margin_mm >= LEAST_MARGIN_MM):
        raise FieldError(
            f"A margin of {margin_mm:g} mm would be cut off by many printers; "
            f"give {USUAL_MARGIN_MM:g} mm, and not less than {LEAST_MARGIN_MM:g} mm."
        )
    width_mm, height_mm = paper.width_mm, paper.height_mm
    if common_area and paper.name in ("A4", "Letter"):
        shared = COMMON_AREA.landscape() if paper.is_landscape else COMMON_AREA
        width_mm, height_mm = min(width_mm, shared.width_mm), min(height_mm, shared.height_mm)
    if min(width_mm, height_mm) - 2 * margin_mm < 40.0:
        raise FieldError(
            f"A margin of {margin_mm:g} mm leaves nothing of {paper.name} to draw on; "
            f"give about {USUAL_MARGIN_MM:g} mm."
        )
    x, y = paper.width_mm / 2, paper.height_mm / 2
    half_width, half_height = width_mm / 2 - margin_mm, height_mm / 2 - margin_mm
    return Box(x - half_width, y - half_height, x + half_width, y + half_height)
