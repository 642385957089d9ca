"""Courses broken where lettering stands, so that it can be read.

Frame: millimetres of paper. Bed joints lie so close at the scales of models that
words among them would be struck through; a draughtsman leaves the joints out
there (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from measure.elevation.path_geometry import Box, LineSegment
from measure.elevation.primitives import Lettering, Primitive, Stroke, box_of

BROKEN_LAYER = "courses"
CLEAR_MM = 0.5
SHORTEST_MM = 0.4
"""A stump of a line shorter than this is left out."""


def courses_broken_for_lettering(items: Iterable[Primitive]) -> list[Primitive]:
    """Level lines on the layer of the courses, with gaps where lettering stands.

    Everything else is passed on as it is, in the same order.
    """
    items = list(items)
    boxes = [box_of(item).grown(CLEAR_MM) for item in items if isinstance(item, Lettering)]
    made: list[Primitive] = []
    for item in items:
        if isinstance(item, Stroke) and item.layer == BROKEN_LAYER and _is_level_line(item):
            made += _parts(item, boxes)
        else:
            made.append(item)
    return made


def _is_level_line(item: Stroke) -> bool:
    """Whether a stroke is one straight level line."""
    if len(item.segments) != 1 or item.closed:
        return False
    (segment,) = item.segments
    return isinstance(segment, LineSegment) and segment.to_mm[1] == item.start_mm[1]


def _parts(item: Stroke, boxes: list[Box]) -> list[Stroke]:
    """What is left of a level line outside the boxes, from left to right."""
    y = item.start_mm[1]
    begin, end = sorted((item.start_mm[0], item.segments[0].to_mm[0]))
    gaps = sorted(
        (box.left_mm, box.right_mm)
        for box in boxes
        if box.bottom_mm < y < box.top_mm and box.right_mm > begin and box.left_mm < end
    )
    if not gaps:
        return [item]
    parts: list[Stroke] = []
    for left, right in [*gaps, (end, end)]:
        if left - begin >= SHORTEST_MM:
            # Only the first part keeps the id.
            id_ = item.id if not parts else None
            segment = LineSegment((left, y))
            parts.append(replace(item, start_mm=(begin, y), segments=(segment,), id=id_))
        begin = max(begin, right)
    return parts
