"""Rainwater pipes down a wall, with hopper and brackets."""

from __future__ import annotations

import shapely

from measure.elevation.details.ground import Ground, Line, line_items, shape_items
from measure.elevation.drawing import Item, Polyline
from measure.elevation.path_geometry import Point
from shared.errors import FieldError
from shared.number_text import format_number
from shared.survey_details import RainwaterPipeDetail

LAYER = "pipes"


def pipe_items(wish: RainwaterPipeDetail, at_mm: float, ground: Ground) -> list[Item]:
    """Pipe, hopper and brackets at a place along the wall.

    Raises
    ------
    FieldError
        If it stands off the wall or has no length.
    """
    box = ground.box
    if not box.left_mm <= at_mm <= box.right_mm:
        raise FieldError(
            f"The rainwater pipe at {format_number(at_mm)} mm stands off the wall, which runs from "
            f"{format_number(box.left_mm)} to {format_number(box.right_mm)} mm.",
            hint="Pick it on the wall.",
        )
    foot = ground.level(wish.foot, box.bottom_mm, "rainwater pipe")
    head = ground.level(wish.head, box.top_mm, "rainwater pipe")
    half = wish.bore_mm / 2.0
    wide, tall = 3.0 * half, 3.0 * wish.bore_mm  # of the hopper: half its width, its height
    top = head - tall if wish.hopper else head
    if top <= foot:
        raise FieldError(
            f"The rainwater pipe from {format_number(foot)} to {format_number(head)} mm has no "
            "length.",
            hint="Give the head the higher level.",
        )
    free = ground.free
    areas = []
    made: list[Item] = []
    if wish.hopper:
        corners: tuple[Point, ...] = (
            (at_mm - half, top),
            (at_mm + half, top),
            (at_mm + wide, top + tall / 2.0),
            (at_mm + wide, head),
            (at_mm - wide, head),
            (at_mm - wide, top + tall / 2.0),
        )
        items, area = shape_items(Polyline(LAYER, corners, closed=True), free)
        made += items
        areas.append(area)
    lines: list[Line] = [((at_mm + off, foot), (at_mm + off, top)) for off in (-half, half)]
    level = top - wish.brackets_mm / 2.0
    while level > foot:
        lines.append(((at_mm - 2.0 * half, level), (at_mm + 2.0 * half, level)))
        level -= wish.brackets_mm
    made += line_items(LAYER, lines, free)
    areas.append(shapely.box(at_mm - half, foot, at_mm + half, top))
    ground.cover(areas)
    return made
