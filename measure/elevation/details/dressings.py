"""Stone about openings and corners: sills, lintels, quoins."""

from __future__ import annotations

import shapely

from measure.elevation.details.ground import Ground, area_of_shape, rectangle, shape_items
from measure.elevation.drawing import Item, Polyline, box_of_item
from shared.errors import FieldError
from shared.survey_details import LintelsDetail, QuoinsDetail, SillsDetail

LAYER = "dressings"

#: Ends of a wall further from plumb than this are another end.
OUT_OF_PLUMB_MM = 60.0

#: This far off a joint, the end of the wall is looked for.
SLIGHT_MM = 5.0

#: A piece of a quoin narrower than this on paper is a line, not a stone.
SLIVER_PAPER_MM = 0.7


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
        items, area = shape_items(stone, ground.free_for_stones)
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
        items, area = shape_items(stone, ground.free_for_stones)
        made += items
        areas.append(area)
    ground.cover(areas)
    return made


def quoin_items(wish: QuoinsDetail, ground: Ground) -> list[Item]:
    """Corner stones, long and short by turns, from the foot up; the last is cut at the head.

    They stand where the end of the wall is plumb above its foot: not along a verge, nor at
    the foot of a gablet, which stands further in. What a pipe leaves of a stone beside it too
    narrow to be seen is not drawn.

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
    ends_at_foot = _edges_at(ground, foot + min(SLIGHT_MM, (head - foot) / 2.0))
    made: list[Item] = []
    areas = []
    number = 0
    while foot + number * height < head - 1.0:
        low = foot + number * height
        high = min(low + height, head)
        reach = wish.long_mm if number % 2 == 0 else wish.short_mm
        edges = _edges_at(ground, low + min(SLIGHT_MM, (high - low) / 2.0))
        for number_of_side, side in enumerate(("left", "right")):
            if side not in wish.sides or edges is None or ends_at_foot is None:
                continue
            end = edges[number_of_side]
            if abs(end - ends_at_foot[number_of_side]) > OUT_OF_PLUMB_MM:
                continue
            ends = (end, end + reach) if side == "left" else (end - reach, end)
            stone = rectangle(LAYER, ends[0], low, ends[1], high)
            for item in shape_items(stone, ground.free)[0]:
                assert isinstance(item, Polyline)
                box = box_of_item(item)
                least = min(SLIVER_PAPER_MM * ground.denominator, reach / 2.0)
                if box.width_mm >= least:
                    made.append(item)
                    areas.append(area_of_shape(item))
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
