"""Courses and the datum broken where lettering stands, so that it can be read.

Frame: millimetres of paper. Bed joints and perpends lie so close at the scales of models
that words among them would be struck through; a draughtsman leaves the joints out
there (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from measure.elevation.path_geometry import Box, LineSegment
from measure.elevation.primitives import Lettering, Primitive, Stroke, box_of

BROKEN_LAYERS = ("courses", "datum")
CLEAR_MM = 0.5
SHORTEST_MM = 0.4
"""A stump of a line shorter than this is left out."""


def courses_broken_for_lettering(items: Iterable[Primitive]) -> list[Primitive]:
    """Level and plumb lines of courses and of the datum, with gaps where lettering stands.

    Everything else is passed on as it is, in the same order.
    """
    items = list(items)
    boxes = [box_of(item).grown(CLEAR_MM) for item in items if isinstance(item, Lettering)]
    made: list[Primitive] = []
    for item in items:
        axis = _axis_of(item) if isinstance(item, Stroke) and item.layer in BROKEN_LAYERS else None
        if axis is None or not isinstance(item, Stroke):
            made.append(item)
        else:
            made += _parts(item, boxes, axis)
    return made


def _axis_of(item: Stroke) -> int | None:
    """Which way a stroke runs: 0 for one straight level line, 1 for a plumb one."""
    if len(item.segments) != 1 or item.closed:
        return None
    (segment,) = item.segments
    if not isinstance(segment, LineSegment):
        return None
    if segment.to_mm[1] == item.start_mm[1]:
        return 0
    return 1 if segment.to_mm[0] == item.start_mm[0] else None


def _parts(item: Stroke, boxes: list[Box], axis: int) -> list[Stroke]:
    """What is left of a level or plumb line outside the boxes, from its lower end on."""
    fixed = item.start_mm[1 - axis]
    begin, end = sorted((item.start_mm[axis], item.segments[0].to_mm[axis]))
    gaps = []
    for box in boxes:
        spans = (box.left_mm, box.right_mm), (box.bottom_mm, box.top_mm)
        (low, high), (across_low, across_high) = spans[axis], spans[1 - axis]
        if across_low < fixed < across_high and high > begin and low < end:
            gaps.append((low, high))
    if not gaps:
        return [item]
    parts: list[Stroke] = []
    for low, high in [*sorted(gaps), (end, end)]:
        if low - begin >= SHORTEST_MM:
            # Only the first part keeps the id.
            id_ = item.id if not parts else None
            start, stop = ((begin, fixed), (low, fixed))
            if axis == 1:
                start, stop = start[::-1], stop[::-1]
            segment = LineSegment((stop[0], stop[1]))
            parts.append(replace(item, start_mm=(start[0], start[1]), segments=(segment,), id=id_))
        begin = max(begin, high)
    return parts
