"""Layers that go round corners in one piece: walls side by side with a fold between them.

Frame: the chart of the leftmost wall; each further wall is laid beside it on the flat.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import affinity

from measure.elevation.path_geometry import Box, Point
from measure.parts.corners import CornerEnd
from measure.parts.face_shape import FaceShape
from measure.parts.opening_shapes import OpeningShape
from measure.parts.part import (
    Part,
    PartLine,
    PartPicture,
    PartWords,
    line_through,
    lines_of_polygon,
)
from measure.parts.part_marks import mark_below, mark_on
from measure.parts.shell import Shell
from measure.parts.walls import LayerBody, as_skin, common_span_mm, skin_picture


def folded_groups(shell: Shell, role: str) -> list[list[FaceShape]]:
    """Walls that share one piece of a layer, each group from left to right.

    A ring of walls that closes on itself is opened at one corner.
    """
    layer = shell.workshop.layer(role)
    follows: dict[str, str] = {}
    for face in shell.walls:
        end = shell.ends[face.id].right
        if isinstance(end, CornerEnd) and end.is_folded(layer):
            follows[face.id] = end.other
    led = set(follows.values())
    groups, placed = [], set()
    starts = [f for f in shell.walls if f.id not in led] + list(shell.walls)
    for face in starts:
        if face.id in placed:
            continue
        group, at = [], face.id
        while at not in placed:
            placed.add(at)
            group.append(shell.face(at))
            if at not in follows:
                break
            at = follows[at]
        groups.append(group)
    return groups


def folded_part(shell: Shell, bodies: Sequence[LayerBody], mark: str) -> Part:
    """Lay the same layer of several walls out side by side, with fold lines between them.

    Parameters
    ----------
    shell : Shell
    bodies : sequence of LayerBody
        From left to right; more than one.
    mark : str

    Returns
    -------
    Part
        A corner that stands out is scored on the face, one that stands in on the back.
    """
    layer = bodies[0].layer
    shapes: list[shapely.Geometry] = []
    openings: list[OpeningShape] = []
    lines: list[PartLine] = []
    words: list[PartWords] = []
    marks: list[PartLine] = []
    pictures: list[PartPicture] = []
    edge: float | None = None
    for number, body in enumerate(bodies):
        left, _, right, _ = body.whole.bounds
        shift = 0.0 if edge is None else edge - left
        shape = affinity.translate(body.whole, shift, 0.0)
        shapes.append(shape)
        openings += [o.moved(shift, 0.0) for o in body.openings]
        if layer.role == "skin":
            pictures.append(skin_picture(body, shell.wishes.bleed_mm, shift))
        free = affinity.translate(body.outer, shift, 0.0)
        placed, up = mark_on(free, mark, body.face.label)
        up = [PartLine(x.use, x.start_mm, x.segments, x.closed, None) for x in up] if number else up
        words += placed
        marks += up
        if edge is not None:
            lines += _fold_lines(shell, bodies[number - 1], shapes[-2], shape, edge, mark)
        edge = right + shift
    # neighbours share an edge but for the last figure; without a grid the fold would be a cut
    whole = shapely.union_all(shapes, grid_size=1e-6).simplify(1e-6)
    outline: list[PartLine] = []
    inside = [o for o in openings if whole.contains_properly(o.area)]
    crossing = [o.area for o in openings if o not in inside and o.area.intersects(whole)]
    shape = whole.difference(shapely.union_all(crossing)) if crossing else whole
    outline += lines_of_polygon("cut", shape, mark)
    for opening in inside:
        start, segments = opening.path()
        outline.append(PartLine("cut", start, segments, True, f"{mark}.{opening.id}"))
    if layer.role == "skin":
        outline = as_skin(outline, whole, mark, shell.wishes.bleed_mm)
        words, marks = [mark_below(whole, mark, shell.wishes.bleed_mm)], []
    labels = " and ".join(body.face.label for body in bodies)
    return Part(
        mark,
        f"{labels}, {layer.role} in one piece",
        bodies[0].face.id,
        layer.role,
        layer.material,
        (*outline, *lines, *marks),
        tuple(words),
        grain="up",
        openings=tuple(o.id for o in openings),
        note="score the fold, then glue one wall at a time",
        pictures=_tallest_first(pictures, shell.wishes.bleed_mm),
    )


def _tallest_first(pictures: list[PartPicture], bleed_mm: float) -> tuple[PartPicture, ...]:
    """Pictures side by side: a wall's bleed stays clear of a neighbour as tall or taller.

    The bleed of a taller wall is covered by the neighbour's own picture, which comes later.
    """
    kept = []
    for number, picture in enumerate(pictures):
        chart = picture.chart
        beside = (
            pictures[i].chart.top_mm for i in (number - 1, number + 1) if 0 <= i < len(pictures)
        )
        tops = list(beside)
        before = tops[0] if number > 0 else -math.inf
        after = tops[-1] if number < len(pictures) - 1 else -math.inf
        left = chart.left_mm + (bleed_mm if before >= chart.top_mm - 1e-6 else 0.0)
        right = chart.right_mm - (bleed_mm if after >= chart.top_mm - 1e-6 else 0.0)
        kept.append(replace(picture, chart=Box(left, chart.bottom_mm, right, chart.top_mm)))
    return tuple(sorted(kept, key=lambda picture: -picture.chart.top_mm))


def _fold_lines(
    shell: Shell,
    before: LayerBody,
    left_shape: shapely.Geometry,
    right_shape: shapely.Geometry,
    u_mm: float,
    mark: str,
) -> list[PartLine]:
    end = shell.ends[before.face.id].right
    if not isinstance(end, CornerEnd):
        raise TypeError("a fold lies at a corner")
    span = common_span_mm((left_shape, u_mm), (right_shape, u_mm))
    if span is None:
        return []
    points: list[Point] = [(u_mm, v) for v in span]
    if end.stands_out:
        return [line_through("score-face", points, id=f"{mark}.fold-{before.face.id}")]
    return [line_through("score-back", points, id=f"{mark}.fold-{before.face.id}")]
