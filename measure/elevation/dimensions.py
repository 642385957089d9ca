"""Dimensions turned into lines and lettering.

Frame: millimetres of paper. The value stands above its line, readable from the
bottom or from the right of the sheet. Places are found in
:mod:`measure.elevation.dimension_lanes`.

References
----------
ISO 129-1:2018: value above the line, readable from the bottom or the right, one
height of lettering. Oblique ticks: common practice of the building trades, no
source. Gaps and overshoots: judgement.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from measure.elevation import lettering
from measure.elevation.dimension_lanes import (
    EXTENSION_OVERSHOOT_MM,
    TEXT_GAP_MM,
    TICK_MM,
    Lane,
    Side,
    Span,
    lanes_of_side,
    row_near_side_mm,
    words_of_dimension,
)
from measure.elevation.drawing import Dimension, Layer, wide_line_mm
from measure.elevation.path_geometry import Point
from measure.elevation.primitives import Lettering, Primitive, Stroke, stroke_on

EXTENSION_GAP_MM = 1.2


def dimension_primitives(
    dimensions: Iterable[Dimension],
    layers: dict[str, Layer],
    scale_denominator: float,
    size_mm: float,
) -> list[Primitive]:
    """Lines, ticks and values of all dimensions of a drawing.

    Parameters
    ----------
    dimensions : iterable of Dimension
        At full size.
    layers : dict
        Layer for each name.
    scale_denominator : float
        Full size over paper.
    size_mm : float
        Height of capitals on paper.
    """
    made: list[Primitive] = []
    sides: dict[tuple[bool, int], list[Dimension]] = {}
    for dimension in dimensions:
        if dimension.direction == "aligned":
            made += _aligned(dimension, layers[dimension.layer], scale_denominator, size_mm)
        else:
            outward = 1 if dimension.offset_paper_mm >= 0 else -1
            sides.setdefault((dimension.direction == "vertical", outward), []).append(dimension)
    for (vertical, outward), on_side in sides.items():
        side = Side(vertical, outward)
        lanes = lanes_of_side(on_side, side, scale_denominator, size_mm)
        made += _draw(lanes, side, layers, size_mm)
    return made


def _draw(
    lanes: list[Lane], side: Side, layers: dict[str, Layer], size_mm: float
) -> list[Primitive]:
    """Lines and lettering of one side, each extension line and tick once."""
    made: list[Primitive] = []
    ticks: set[tuple[str, float, float]] = set()
    extensions: dict[tuple[str, float], tuple[float, float]] = {}
    for lane in lanes:
        for span in lane.spans:
            layer = layers[span.dimension.layer]
            for along, out in (
                (span.start_along_mm, span.start_out_mm),
                (span.end_along_mm, span.end_out_mm),
            ):
                key = (layer.name, round(along, 3))
                begin = min(out + EXTENSION_GAP_MM, lane.out_mm)
                end = lane.out_mm + EXTENSION_OVERSHOOT_MM
                near, far = extensions.get(key, (begin, end))
                extensions[key] = (min(near, begin), max(far, end))
                if (*key, round(lane.out_mm, 3)) not in ticks:
                    ticks.add((*key, round(lane.out_mm, 3)))
                    made.append(_tick(layer, side.point_mm(along, lane.out_mm), side.vertical))
            made += _line_and_value(span, lane, side, layer, size_mm)
    for (name, along), (near, far) in extensions.items():
        made.append(
            stroke_on(layers[name], [side.point_mm(along, near), side.point_mm(along, far)])
        )
    return made


def _line_and_value(
    span: Span, lane: Lane, side: Side, layer: Layer, size_mm: float
) -> list[Primitive]:
    """Dimension line, its value, and the leader between them where there is one."""
    dimension = span.dimension
    line = stroke_on(
        layer,
        [
            side.point_mm(span.start_along_mm, lane.out_mm),
            side.point_mm(span.end_along_mm, lane.out_mm),
        ],
    )
    made: list[Primitive] = [_with_id(line, dimension)]
    angle_rad = math.pi / 2 if side.vertical else 0.0
    # The baseline is the near side of a value that stands outside, else the far side.
    if span.row == 0:
        base_out = lane.out_mm + TEXT_GAP_MM * (1 if side.text_is_outside else -1)
    else:
        near = lane.out_mm + row_near_side_mm(span.row, side, size_mm)
        base_out = near if side.text_is_outside else near + size_mm
        made.append(stroke_on(layer, _leader(span, lane, side, near, size_mm)))
    if span.text:
        made.append(
            Lettering(
                layer.name,
                side.point_mm(span.text_centre_mm, base_out),
                span.text,
                size_mm,
                angle_rad,
                "centre",
                inferred=dimension.inferred,
            )
        )
    return made


def _leader(span: Span, lane: Lane, side: Side, near_mm: float, size_mm: float) -> list[Point]:
    """From the middle of the dimension line to its value, below it or at the end of a shoulder."""
    start = side.point_mm(span.middle_mm, lane.out_mm)
    low, high = span.text_reach_mm()
    if low <= span.middle_mm <= high:
        return [start, side.point_mm(span.middle_mm, near_mm - TEXT_GAP_MM / 2)]
    half_way = near_mm + size_mm / 2
    edge = low - TEXT_GAP_MM / 2 if low > span.middle_mm else high + TEXT_GAP_MM / 2
    return [start, side.point_mm(span.middle_mm, half_way), side.point_mm(edge, half_way)]


def _with_id(line: Stroke, dimension: Dimension) -> Stroke:
    return replace(line, id=dimension.id, inferred=dimension.inferred)


def _tick(layer: Layer, at_mm: Point, vertical: bool, angle_rad: float | None = None) -> Stroke:
    """Oblique stroke across the end of a dimension line, rising as one reads along it."""
    turn = angle_rad if angle_rad is not None else (math.pi / 2 if vertical else 0.0)
    dx = TICK_MM / 2 * math.cos(turn + math.pi / 4)
    dy = TICK_MM / 2 * math.sin(turn + math.pi / 4)
    x, y = at_mm
    return stroke_on(
        layer, [(x - dx, y - dy), (x + dx, y + dy)], width_mm=wide_line_mm(layer.width_mm)
    )


def _aligned(
    dimension: Dimension, layer: Layer, scale_denominator: float, size_mm: float
) -> list[Primitive]:
    """Lines and value of a dimension along a slope."""
    (x0, y0), (x1, y1) = (
        (u / scale_denominator, v / scale_denominator)
        for u, v in (dimension.start_mm, dimension.end_mm)
    )
    length = math.dist((x0, y0), (x1, y1))
    ax, ay = (x1 - x0) / length, (y1 - y0) / length
    nx, ny = -ay, ax  # to the left of start -> end
    offset = dimension.offset_paper_mm
    sign = 1.0 if offset >= 0 else -1.0
    ends = [(x0 + nx * offset, y0 + ny * offset), (x1 + nx * offset, y1 + ny * offset)]
    # Readable from the bottom or the right: turned by more than -90 up to +90 degrees.
    angle = math.atan2(ay, ax)
    if not -math.pi / 2 + 1e-9 < angle <= math.pi / 2 + 1e-9:
        angle -= math.copysign(math.pi, angle)
    up_x, up_y = -math.sin(angle), math.cos(angle)
    made: list[Primitive] = [_with_id(stroke_on(layer, ends), dimension)]
    for (px, py), (ex, ey) in zip(((x0, y0), (x1, y1)), ends, strict=True):
        gap = sign * min(EXTENSION_GAP_MM, abs(offset))
        over = sign * EXTENSION_OVERSHOOT_MM
        extension = [(px + nx * gap, py + ny * gap), (ex + nx * over, ey + ny * over)]
        made += [stroke_on(layer, extension), _tick(layer, (ex, ey), False, angle)]
    text = words_of_dimension(dimension)
    part = dimension.text_at
    middle = (
        ends[0][0] + part * (ends[1][0] - ends[0][0]),
        ends[0][1] + part * (ends[1][1] - ends[0][1]),
    )
    clear = TEXT_GAP_MM
    if lettering.width_mm(text, size_mm) > length - 0.6 * size_mm:
        # Too short a span: the value moves out, past the ends of the ticks.
        outside = (up_x * nx + up_y * ny) * sign > 0
        clear = (
            EXTENSION_OVERSHOOT_MM + TEXT_GAP_MM
            if outside
            else -(EXTENSION_OVERSHOOT_MM + TEXT_GAP_MM + size_mm)
        )
    at_mm = (middle[0] + up_x * clear, middle[1] + up_y * clear)
    if text:
        made.append(
            Lettering(
                layer.name, at_mm, text, size_mm, angle, "centre", inferred=dimension.inferred
            )
        )
    return made
