"""Marks on parts: which one it is, and which way up it stands."""

from __future__ import annotations

import shapely

from measure.parts.part import PartLine, PartWords, line_through

MARK_MM, NAME_MM = 3.5, 1.8


def mark_on(
    free: shapely.Geometry, mark: str, name: str = "", *, arrow: bool = True
) -> tuple[tuple[PartWords, ...], list[PartLine]]:
    """Set the mark, the name and an arrow pointing up in the roomiest place of a shape.

    Parameters
    ----------
    free : shapely geometry
        Where no line runs.
    mark, name : str
    arrow : bool
        Whether the part has a top.
    """
    parts = [p for p in shapely.get_parts(free) if p.area > 0]
    if not parts:
        return (), []
    widest = max(parts, key=lambda p: p.area)
    spoke = shapely.maximum_inscribed_circle(widest, 0.05)
    x, y = spoke.coords[0]
    radius = spoke.length
    size = min(MARK_MM, radius * 0.6)
    lines: list[PartLine] = []
    words = [PartWords((x, y - size / 2.0), mark, size, room_mm=1.3 * radius)]
    if arrow:
        foot, tip, barb = y + 0.35 * radius, y + 0.9 * radius, 0.16 * radius
        words[0] = PartWords((x, y - 0.35 * radius), mark, size, room_mm=1.3 * radius)
        lines.append(line_through("mark", [(x, foot), (x, tip)], id=f"{mark}.up"))
        head = [(x - barb, tip - barb), (x, tip), (x + barb, tip - barb)]
        lines.append(line_through("mark", head))
    if name and radius > 4.0:
        below = words[0].at_mm[1] - 1.9 * NAME_MM
        words.append(PartWords((x, below), name, NAME_MM, room_mm=1.6 * radius))
    return tuple(words), lines


def mark_below(whole: shapely.Geometry, mark: str, bleed_mm: float = 0.0) -> PartWords:
    """Set the mark below a printed part and its bleed, where no picture hides it."""
    left, low, right, _ = whole.bounds
    return PartWords(((left + right) / 2.0, low - bleed_mm - NAME_MM - 0.6), mark, NAME_MM)


def mark_above(
    left_mm: float, right_mm: float, top_mm: float, mark: str, name: str
) -> tuple[tuple[PartWords, ...], list[PartLine]]:
    """Set mark, name and arrow above a part that is covered with lines."""
    middle, base = (left_mm + right_mm) / 2.0, top_mm + 1.2
    words = (
        PartWords((middle, base), f"{mark}  {name}", NAME_MM, room_mm=right_mm - left_mm - 6.0),
    )
    x, tip, barb = left_mm + 1.5, base + 2.0, 0.5
    head = [(x - barb, tip - barb), (x, tip), (x + barb, tip - barb)]
    lines = [
        line_through("mark", [(x, base), (x, tip)], id=f"{mark}.up"),
        line_through("mark", head),
    ]
    return words, lines
