"""Level marks turned into lines and lettering.

Frame: millimetres of paper. A mark is a level line with an open arrowhead whose
point touches it, and its words above the line. Marks that would stand too close
are spread apart, each joined to its true level by a short slanting line.

References
----------
Open arrowhead of 90 degrees on a level line: ISO 129-1 (from memory). The
spreading, gaps and lengths: judgement.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from measure.elevation import lettering
from measure.elevation.drawing import HorizontalAlign, Layer, LevelMark
from measure.elevation.primitives import Lettering, Primitive, stroke_on

CLEAR_OF_DRAWING_MM = 2.0
ARROW_MM = 1.8
TEXT_GAP_MM = 0.8
STRAIGHT_MM = 1.5
SLANT_MM = 3.0
SHELF_MM = 5.2
"""From the slant to the words: room for the arrowhead."""


def spread(places_mm: Sequence[float], apart_mm: float) -> list[float]:
    """Move places apart as little as possible.

    Parameters
    ----------
    places_mm : sequence of float
        In any order.
    apart_mm : float
        Least distance wanted.

    Returns
    -------
    list of float
        New places in the order given; their order of size is kept, and the sum of squared moves
        is the least possible.

    Notes
    -----
    With the wanted distances subtracted the places must only not decrease: isotonic regression,
    solved by pooling neighbours that are out of order into their mean.

    Examples
    --------
    >>> spread([10.0, 10.0, 30.0], 4.0)
    [8.0, 12.0, 30.0]
    """
    order = sorted(range(len(places_mm)), key=lambda number: places_mm[number])
    pools: list[tuple[float, int]] = []  # sum and count
    for rank, number in enumerate(order):
        total, count = places_mm[number] - rank * apart_mm, 1
        while pools and pools[-1][0] / pools[-1][1] > total / count:
            before = pools.pop()
            total, count = total + before[0], count + before[1]
        pools.append((total, count))
    settled = [total / count for total, count in pools for _ in range(count)]
    result = [0.0] * len(order)
    for rank, number in enumerate(order):
        result[number] = settled[rank] + rank * apart_mm
    return result


def level_mark_primitives(
    marks: Iterable[LevelMark],
    layers: dict[str, Layer],
    scale_denominator: float,
    size_mm: float,
    clear_mm: dict[str, float],
) -> list[Primitive]:
    """Lines and words of all level marks of a drawing.

    Parameters
    ----------
    marks : iterable of LevelMark
        At full size.
    layers : dict
        Layer for each name.
    scale_denominator : float
        Full size over paper.
    size_mm : float
        Height of capitals on paper.
    clear_mm : dict
        ``"left"`` and ``"right"``: paper x beyond which nothing else stands there; a side may be
        missing.
    """
    made: list[Primitive] = []
    by_side: dict[str, list[LevelMark]] = {}
    for mark in marks:
        by_side.setdefault(mark.side, []).append(mark)
    for side, on_side in by_side.items():
        out = 1.0 if side == "right" else -1.0
        edges_mm = [mark.u_mm / scale_denominator * out for mark in on_side]
        begin_mm = max([*edges_mm, clear_mm.get(side, -1e300) * out]) + CLEAR_OF_DRAWING_MM
        true_mm = [mark.v_mm / scale_denominator for mark in on_side]
        apart_mm = size_mm * (lettering.ASCENT + lettering.DESCENT) + TEXT_GAP_MM
        shown_mm = spread(true_mm, apart_mm)
        for mark, y, y_shown in zip(on_side, true_mm, shown_mm, strict=True):
            made += _mark(mark, layers[mark.layer], out, begin_mm, y, y_shown, size_mm)
    return made


def _mark(
    mark: LevelMark,
    layer: Layer,
    out: float,
    begin_mm: float,
    y_mm: float,
    y_shown_mm: float,
    size_mm: float,
) -> list[Primitive]:
    """One mark; x is counted outwards from the building until the end."""
    text = lettering.clean(mark.text)
    if mark.inferred and text:
        text = f"({text})"
    shelf_mm = begin_mm + STRAIGHT_MM + SLANT_MM
    text_from_mm = shelf_mm + SHELF_MM
    end_mm = text_from_mm + lettering.width_mm(text, size_mm)
    places = [(begin_mm, y_mm), (begin_mm + STRAIGHT_MM, y_mm)]
    if abs(y_shown_mm - y_mm) > 1e-6:
        places.append((shelf_mm, y_shown_mm))
    places.append((end_mm, y_shown_mm))
    line = stroke_on(layer, [(x * out, y) for x, y in places])
    tip_mm = shelf_mm + ARROW_MM + 0.6
    arrow = [
        (tip_mm - ARROW_MM, y_shown_mm + ARROW_MM),
        (tip_mm, y_shown_mm),
        (tip_mm + ARROW_MM, y_shown_mm + ARROW_MM),
    ]
    made: list[Primitive] = [
        replace(line, id=mark.id, inferred=mark.inferred),
        stroke_on(layer, [(x * out, y) for x, y in arrow]),
    ]
    if text:
        at_mm = (text_from_mm * out, y_shown_mm + TEXT_GAP_MM)
        align: HorizontalAlign = "left" if out > 0 else "right"
        made.append(Lettering(layer.name, at_mm, text, size_mm, 0.0, align, inferred=mark.inferred))
    return made
