"""Stone about openings and corners: sills, lintels, quoins."""

from __future__ import annotations

import shapely

from measure.elevation.details.ground import Ground, rectangle, shape_items
from measure.elevation.drawing import Item
from shared.errors import FieldError
from shared.survey_details import LintelsDetail, QuoinsDetail, SillsDetail

LAYER = "dressings"


def sill_items(wish: SillsDetail, ground: Ground) -> list[Item]:
    """Sills below openings; without names, below all but doors and round ones."""
    made: list[Item] = []
    areas = []
    for each in ground.openings(wish.of, "sills"):
        if not wish.of and (ground.is_threshold(each) or each.form == "round"):
            continue
        stone = rectangle(
            LAYER,
            each.left_mm - wish.beyond_mm,
            each.sill_mm - wish.height_mm,
            each.right_mm + wish.beyond_mm,
            each.sill_mm,
            inferred=each.inferred,
        )
        items, area = shape_items(stone, ground.free)
        made += items
        areas.append(area)
    ground.cover(areas)
    return made


def lintel_items(wish: LintelsDetail, ground: Ground) -> list[Item]:
    """Lintels over flat heads.

    Raises
    ------
    FieldError
        If a named opening has another head.
    """
    made: list[Item] = []
    areas = []
    for each in ground.openings(wish.of, "lintels"):
        if each.form != "flat":
            if wish.of:
                raise FieldError(
                    f"Opening '{each.id}' has a {each.form} head, which bears no lintel.",
                    hint="Give it voussoirs, or take it out of the lintels.",
                )
            continue
        stone = rectangle(
            LAYER,
            each.left_mm - wish.bearing_mm,
            each.head_mm,
            each.right_mm + wish.bearing_mm,
            each.head_mm + wish.height_mm,
            inferred=each.inferred,
        )
        items, area = shape_items(stone, ground.free)
        made += items
        areas.append(area)
    ground.cover(areas)
    return made


def quoin_items(wish: QuoinsDetail, ground: Ground) -> list[Item]:
    """Corner stones, long and short by turns, from the foot up; the last is cut at the head.

    Raises
    ------
    FieldError
        If no gauge is given and no courses are measured.
    """
    gauge = wish.gauge_mm
    if gauge is None:
        if not ground.facade.courses:
            raise FieldError(
                "The quoins are counted in courses, but this face has no measured courses.",
                hint="Give gauge_mm, or measure courses.",
            )
        gauge = ground.facade.courses[0].gauge_mm
    box = ground.box
    foot = ground.level(wish.foot, box.bottom_mm, "quoins")
    head = min(ground.level(wish.head, box.top_mm, "quoins"), box.top_mm)
    height = wish.courses * gauge
    made: list[Item] = []
    areas = []
    number = 0
    while foot + number * height < head - 1.0:
        low = foot + number * height
        high = min(low + height, head)
        reach = wish.long_mm if number % 2 == 0 else wish.short_mm
        edges = _edges_at(ground, (low + high) / 2.0)
        for side in wish.sides:
            if edges is None:
                continue
            left, right = edges
            ends = (left, left + reach) if side == "left" else (right - reach, right)
            items, area = shape_items(rectangle(LAYER, ends[0], low, ends[1], high), ground.free)
            made += items
            areas.append(area)
        number += 1
    ground.cover(areas)
    return made


def _edges_at(ground: Ground, v_mm: float) -> tuple[float, float] | None:
    """Left and right end of the wall at a height."""
    box = ground.box
    line = shapely.LineString([(box.left_mm - 1.0, v_mm), (box.right_mm + 1.0, v_mm)])
    cut = line.intersection(ground.inside)
    if cut.is_empty:
        return None
    left, _, right, _ = cut.bounds
    return float(left), float(right)
