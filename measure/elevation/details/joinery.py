"""Inside an opening: frames, glazing bars, meeting rails, mullions, transoms, door panels.

At the scales of models a glazing bar is thinner than a pen; two edges that would run into
each other on paper are drawn as one line along the middle.
"""

from __future__ import annotations

import math
from dataclasses import replace

import shapely

from measure.elevation.details.ground import (
    CRUMB_MM,
    Ground,
    Line,
    area_of_opening,
    line_items,
    rectangle,
)
from measure.elevation.drawing import Item, Polyline
from measure.elevation.facade import DrawnOpening
from shared.errors import FieldError
from shared.number_text import format_number
from shared.survey_details import DoorPanelsDetail, GlazingBarsDetail, MullionsDetail

LAYER = "joinery"


def glazing_items(wish: GlazingBarsDetail, ground: Ground) -> list[Item]:
    """Frame, bars and meeting rail; without names, in all openings but doors.

    Raises
    ------
    FieldError
        If frame and bars leave no glass.
    """
    made: list[Item] = []
    for each in ground.openings(wish.of, "glazing bars"):
        if wish.of or not ground.is_threshold(each):
            made += _glazing(each, wish, ground)
    return made


def inset_opening(opening: DrawnOpening, by_mm: float) -> DrawnOpening | None:
    """The opening with its outline moved inwards everywhere, None where nothing is left.

    Arcs keep their centres: a semicircular head stays one, a segmental head springs from
    where its smaller arc meets the inner jamb.
    """
    left, right = opening.left_mm + by_mm, opening.right_mm - by_mm
    sill = opening.sill_mm + by_mm
    if right - left <= CRUMB_MM or opening.head_mm - by_mm - sill <= CRUMB_MM:
        return None
    half = (right - left) / 2.0
    if opening.form in ("flat", "round"):
        head = opening.head_mm - by_mm
        return replace(
            opening, left_mm=left, right_mm=right, sill_mm=sill, springing_mm=head, head_mm=head
        )
    if opening.form == "semicircular":
        springing, head = opening.springing_mm, opening.springing_mm + half
    elif opening.form == "segmental":
        radius = opening.width_mm**2 / (8.0 * opening.rise_mm) + opening.rise_mm / 2.0
        centre = opening.head_mm - radius
        head = opening.head_mm - by_mm
        springing = centre + math.sqrt(max((radius - by_mm) ** 2 - half**2, 0.0))
    else:
        radius = opening.width_mm / 4.0 + opening.rise_mm**2 / opening.width_mm
        across = radius - opening.width_mm / 2.0
        springing = opening.springing_mm
        head = springing + math.sqrt(max((radius - by_mm) ** 2 - across**2, 0.0))
    if head - springing <= CRUMB_MM or springing < sill:
        return None
    return replace(
        opening, left_mm=left, right_mm=right, sill_mm=sill, springing_mm=springing, head_mm=head
    )


def _glazing(opening: DrawnOpening, wish: GlazingBarsDetail, ground: Ground) -> list[Item]:
    glass = inset_opening(opening, wish.frame_mm)
    top = None if glass is None else _top_of_rows(glass)
    if glass is None or top is None:
        raise FieldError(
            f"A frame of {format_number(wish.frame_mm)} mm leaves no glass in opening "
            f"'{opening.id}'.",
            hint="Give a smaller frame_mm.",
        )
    made: list[Item] = []
    if wish.frame_mm and not ground.drawn_as_one(wish.frame_mm):
        made += ground.around_glass(replace(glass, inferred=opening.inferred).path(LAYER, ""))
    bars: list[tuple[str, float, float, float, float]] = []  # direction, at, width, from, to
    width = glass.width_mm
    pane = (width - (wish.across - 1) * wish.bar_mm) / wish.across
    sashes = [(glass.sill_mm, top)]
    if wish.meeting_rail_mm:
        middle = (glass.sill_mm + top) / 2.0
        half = wish.meeting_rail_mm / 2.0
        sashes = [(glass.sill_mm, middle - half), (middle + half, top)]
        bars.append(("level", middle, wish.meeting_rail_mm, glass.left_mm, glass.right_mm))
    rows = (sashes[0][1] - sashes[0][0] - (wish.up - 1) * wish.bar_mm) / wish.up
    if pane <= 0.0 or rows <= 0.0:
        raise FieldError(
            f"{wish.across} by {wish.up} panes with bars of {format_number(wish.bar_mm)} mm leave "
            f"no glass in opening '{opening.id}'.",
            hint="Give fewer panes or a smaller bar_mm.",
        )
    for number in range(1, wish.across):
        at = glass.left_mm + number * (pane + wish.bar_mm) - wish.bar_mm / 2.0
        for low, high in [*sashes, (top, glass.head_mm)]:
            if high - low > CRUMB_MM:
                bars.append(("plumb", at, wish.bar_mm, low, high))
    for low, _ in sashes:
        for number in range(1, wish.up):
            at = low + number * (rows + wish.bar_mm) - wish.bar_mm / 2.0
            bars.append(("level", at, wish.bar_mm, glass.left_mm, glass.right_mm))
    high = glass.head_mm - top > 4.0 * wish.bar_mm
    if high and wish.up > 1 and not wish.meeting_rail_mm:
        bars.append(("level", top, wish.bar_mm, glass.left_mm, glass.right_mm))
    lines: list[Line] = []
    for direction, at, thick, start, end in bars:
        offsets = (0.0,) if ground.drawn_as_one(thick) else (-thick / 2.0, thick / 2.0)
        for off in offsets:
            if direction == "plumb":
                lines.append(((at + off, start), (at + off, end)))
            else:
                lines.append(((start, at + off), (end, at + off)))
    return made + line_items(LAYER, lines, ground.glass(glass), inferred=opening.inferred)


def _top_of_rows(glass: DrawnOpening) -> float | None:
    """Height up to which rows of panes are counted: the springing, or the head of a low arch."""
    if glass.form in ("round", "segmental", "flat"):
        return glass.head_mm
    return glass.springing_mm if glass.springing_mm > glass.sill_mm else None


def mullion_items(wish: MullionsDetail, ground: Ground) -> list[Item]:
    """Mullions evenly across and transoms at their heights above the sill.

    Raises
    ------
    FieldError
        If they are wider than the opening, or a transom lies above its head.
    """
    made: list[Item] = []
    for each in ground.openings(wish.of, "mullions"):
        if not wish.of and ground.is_threshold(each):
            continue
        half = wish.width_mm / 2.0
        clear = each.width_mm - wish.mullions * wish.width_mm
        if clear <= 0.0:
            raise FieldError(
                f"{wish.mullions} mullions of {format_number(wish.width_mm)} mm are wider than "
                f"opening '{each.id}'.",
                hint="Give fewer or narrower ones.",
            )
        light = clear / (wish.mullions + 1)
        boxes = []
        for number in range(1, wish.mullions + 1):
            at = each.left_mm + number * light + (number - 0.5) * wish.width_mm
            boxes.append(shapely.box(at - half, each.sill_mm, at + half, each.head_mm))
        for height in wish.transoms_mm:
            if height + half >= each.height_mm or height <= half:
                raise FieldError(
                    f"A transom {format_number(height)} mm above the sill lies outside opening "
                    f"'{each.id}', which is {format_number(each.height_mm)} mm high.",
                    hint="Give a height between sill and head.",
                )
            at = each.sill_mm + height
            boxes.append(shapely.box(each.left_mm, at - half, each.right_mm, at + half))
        area = area_of_opening(each)
        stone = shapely.union_all(boxes).intersection(area)
        ground.stand_in_openings.append(stone)
        edge = stone.boundary.difference(area.boundary.buffer(0.5))
        for part in shapely.get_parts(shapely.line_merge(edge)):
            points = tuple((float(u), float(v)) for u, v in part.coords)
            if part.length > CRUMB_MM:
                made.append(Polyline(LAYER, points, inferred=each.inferred))
    return made


def panel_items(wish: DoorPanelsDetail, ground: Ground) -> list[Item]:
    """Panels of doors between stiles and rails, and the line over the leaf.

    Raises
    ------
    FieldError
        If stiles and rails leave no panel, or the leaf is higher than the opening.
    """
    made: list[Item] = []
    for each in ground.openings(wish.of, "door panels"):
        top = each.springing_mm if each.form != "round" else each.head_mm
        if wish.leaf_mm is not None:
            top = each.sill_mm + wish.leaf_mm
            if top > each.head_mm:
                raise FieldError(
                    f"A leaf of {format_number(wish.leaf_mm)} mm is higher than opening "
                    f"'{each.id}', {format_number(each.height_mm)} mm.",
                    hint="Give the height of the leaf itself.",
                )
        stile = wish.stile_mm
        wide = (each.width_mm - (wish.across + 1) * stile) / wish.across
        high = (top - each.sill_mm - (wish.up + 1) * stile) / wish.up
        if wide <= 0.0 or high <= 0.0:
            raise FieldError(
                f"Stiles of {format_number(stile)} mm leave no room for {wish.across} by {wish.up} "
                f"panels in opening '{each.id}'.",
                hint="Give fewer panels or a smaller stile_mm.",
            )
        if each.head_mm - top > CRUMB_MM:
            line = ((each.left_mm, top), (each.right_mm, top))
            made += line_items(LAYER, [line], area_of_opening(each), inferred=each.inferred)
        for column in range(wish.across):
            for row in range(wish.up):
                left = each.left_mm + stile + column * (wide + stile)
                low = each.sill_mm + stile + row * (high + stile)
                made.append(
                    rectangle(LAYER, left, low, left + wide, low + high, inferred=each.inferred)
                )
    return made
