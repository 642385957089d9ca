"""A drawing at full size turned into strokes, fills and lettering on paper.

Frame of the result: millimetres of paper at the scale asked, the chart's origin
at (0, 0), y up. :mod:`measure.elevation.page` shifts it to its place on a sheet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from measure.elevation import lettering
from measure.elevation.breaks import courses_broken_for_lettering
from measure.elevation.dimensions import dimension_primitives
from measure.elevation.drawing import (
    Circle,
    Dimension,
    Drawing,
    Item,
    Layer,
    LevelMark,
    Path,
    Polyline,
    Text,
    circle_segments,
    polyline_segments,
)
from measure.elevation.level_marks import level_mark_primitives
from measure.elevation.path_geometry import scaled_segments
from measure.elevation.primitives import Lettering, Primitive, Stroke, box_around
from shared.errors import FieldError

SMALLEST_LABEL_MM = 1.2
"""A label made to fit an opening never gets lower than this: nobody could read it."""


def paper_primitives(drawing: Drawing, scale_denominator: float) -> tuple[Primitive, ...]:
    """Everything a drawing shows, at the scale asked.

    Parameters
    ----------
    drawing : Drawing
    scale_denominator : float
        Full size over paper: 148 for 1:148.

    Returns
    -------
    tuple of Primitive
        In the order of the layers, and within a layer in the order of the items.

    Raises
    ------
    FieldError
        If the scale is not above 0.
    """
    if not (math.isfinite(scale_denominator) and scale_denominator > 0):
        raise FieldError(
            f"The drawing's scale is 1:{scale_denominator}; give a number above 0, such as 148."
        )
    layers = {layer.name: layer for layer in drawing.layers}
    made: list[Primitive] = [
        _plain(part, layers[part.layer], scale_denominator)
        for item in drawing.items
        for part in edges_apart(item)
        if not isinstance(item, Dimension | LevelMark)
        and not (isinstance(item, Text) and not lettering.clean(item.text))
    ]
    dimensions = dimension_primitives(
        (item for item in drawing.items if isinstance(item, Dimension)),
        layers,
        scale_denominator,
        drawing.lettering_mm,
    )
    clear_mm: dict[str, float] = {}
    if made or dimensions:
        box = box_around([*made, *dimensions])
        clear_mm = {"left": box.left_mm, "right": box.right_mm}
    levels = level_mark_primitives(
        (item for item in drawing.items if isinstance(item, LevelMark)),
        layers,
        scale_denominator,
        drawing.lettering_mm,
        clear_mm,
    )
    rank = {layer.name: number for number, layer in enumerate(drawing.layers)}
    drawn = courses_broken_for_lettering([*made, *dimensions, *levels])
    return tuple(sorted(drawn, key=lambda item: rank[item.layer]))


def edges_apart(item: Item) -> list[Item]:
    """A polyline parted into what was measured and what was not; anything else as it is.

    The first part has the id.
    """
    if not isinstance(item, Polyline) or not item.inferred_edges:
        return [item]
    count = len(item.points_mm)
    edges = range(count if item.closed else count - 1)
    if item.inferred_edges.issuperset(edges):
        return [replace(item, inferred=True, inferred_edges=frozenset())]
    parts: list[Item] = []
    for inferred in (False, True):
        wanted = [at for at in edges if (at in item.inferred_edges) is inferred]
        for run in _runs(wanted, count):
            points = tuple(item.points_mm[at % count] for at in [*run, run[-1] + 1])
            id_ = item.id if not parts else None
            parts.append(Polyline(item.layer, points, id=id_, inferred=inferred))
    return parts


def _runs(wanted: Sequence[int], count: int) -> list[list[int]]:
    """Numbers in a ring, in runs of neighbours."""
    runs: list[list[int]] = []
    for at in wanted:
        if runs and runs[-1][-1] == at - 1:
            runs[-1].append(at)
        else:
            runs.append([at])
    if len(runs) > 1 and runs[0][0] == 0 and runs[-1][-1] == count - 1:
        last = runs.pop()
        runs[0] = [*last, *(at + count for at in runs[0])]
    return runs


def _plain(item: Item, layer: Layer, scale_denominator: float) -> Primitive:
    """A line, a path, a circle or a text."""
    factor = 1.0 / scale_denominator
    if isinstance(item, Text):
        return _label(item, scale_denominator)
    closed = True
    if isinstance(item, Circle):
        start, segments = circle_segments(item.centre_mm, item.radius_mm)
    elif isinstance(item, Polyline):
        (start, segments), closed = polyline_segments(item), item.closed
    elif isinstance(item, Path):
        start, segments, closed = item.start_mm, item.segments, item.closed
    else:
        raise TypeError(f"item: no line or text, got {type(item).__name__}")
    return Stroke(
        layer.name,
        (start[0] * factor, start[1] * factor),
        scaled_segments(segments, factor, 0.0, 0.0),
        layer.width_mm,
        "dashed" if item.inferred else layer.line_kind,
        closed,
        item.id,
        item.inferred,
    )


def _label(item: Text, scale_denominator: float) -> Lettering:
    """Lettering on its baseline, made smaller where it must fit."""
    text = lettering.clean(item.text)
    size_mm = item.size_paper_mm
    if item.room_mm is not None:
        room_mm = item.room_mm / scale_denominator
        natural_mm = lettering.width_mm(text, size_mm)
        if natural_mm > room_mm:
            size_mm = min(size_mm, max(SMALLEST_LABEL_MM, size_mm * room_mm / natural_mm))
    drop_mm = {"baseline": 0.0, "middle": size_mm / 2, "top": size_mm}[item.vertical]
    dx, dy = item.offset_paper_mm
    x = item.at_mm[0] / scale_denominator + dx + drop_mm * math.sin(item.angle_rad)
    y = item.at_mm[1] / scale_denominator + dy - drop_mm * math.cos(item.angle_rad)
    return Lettering(
        item.layer, (x, y), text, size_mm, item.angle_rad, item.horizontal, item.id, item.inferred
    )
