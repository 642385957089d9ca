"""Plinths, string courses, cornices and plain bands: level lines along the whole wall."""

from __future__ import annotations

import shapely

from measure.elevation.details.ground import Ground, Line, line_items
from measure.elevation.drawing import Item
from shared.errors import FieldError
from shared.number_text import format_number
from shared.survey_details import BandDetail


def band_items(band: BandDetail, ground: Ground) -> list[Item]:
    """Level lines of a band, cut at the edges of the wall, at openings and at what is nearer.

    Raises
    ------
    FieldError
        If its head is not above its foot, or it lies beside the wall.
    """
    what = band.kind.replace("-", " ")
    box = ground.box
    foot = ground.level(band.foot, box.bottom_mm, what)
    head = ground.level(band.head, box.top_mm, what)
    if head <= foot:
        raise FieldError(
            f"The {what} has its head at {format_number(head)} mm, not above its foot at "
            f"{format_number(foot)} mm.",
            hint="Give the head the higher level.",
        )
    if foot >= box.top_mm or head <= box.bottom_mm:
        raise FieldError(
            f"The {what} from {format_number(foot)} to {format_number(head)} mm lies off the "
            f"wall, which runs from {format_number(box.bottom_mm)} to "
            f"{format_number(box.top_mm)} mm.",
            hint="Give levels above the datum that the wall reaches.",
        )
    step = (head - foot) / (band.lines + 1)
    lines: list[Line] = []
    for number in range(band.lines + 2):
        v = foot + number * step
        # the foot and the head of the wall itself are drawn already
        if box.bottom_mm < v < box.top_mm:
            lines.append(((box.left_mm, v), (box.right_mm, v)))
    made = line_items("bands", lines, ground.free)
    ground.cover([shapely.box(box.left_mm - 1.0, foot, box.right_mm + 1.0, head)])
    return made
