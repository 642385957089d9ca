"""Walls as flat layers: carcass, overlay and skin, each ended for its depth.

Frame: the wall's chart at the model's scale, u right and v up, as seen from outside.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from measure.elevation.path_geometry import Box
from measure.parts.corners import SIDES, Ends, LayerEnd, Side, TowerGap, outward
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
from measure.parts.workshop import WallLayer

#: A pier of card narrower than this tears when both its sides are cut, and so does one
#: narrower than the card is thick twice (judgement).
LEAST_PIER_MM = 1.0


@dataclass(frozen=True, slots=True)
class LayerBody:
    """One layer of one wall, before it is laid out.

    Attributes
    ----------
    face : FaceShape
    layer : WallLayer
    outer, inner : shapely geometry
        Its two faces, openings cut.
    whole : shapely geometry
        What is cut from the sheet: both faces together, openings not taken off.
    openings : tuple of OpeningShape
        As large as they are cut.
    bevels : tuple of (side, LayerEnd)
        Ends that are to be bevelled.
    gaps : tuple of TowerGap
        Where towers are let in.
    """

    face: FaceShape
    layer: WallLayer
    outer: shapely.Geometry
    inner: shapely.Geometry
    whole: shapely.Geometry
    openings: tuple[OpeningShape, ...]
    bevels: tuple[tuple[Side, LayerEnd], ...]
    gaps: tuple[TowerGap, ...] = ()


def edge_span_mm(shape: shapely.Geometry, u_mm: float) -> tuple[float, float] | None:
    """Lowest and highest v of a shape's plumb edge at u; None where it has only a point there."""
    cut = shape.boundary.intersection(
        shapely.box(u_mm - 1e-6, shape.bounds[1] - 1.0, u_mm + 1e-6, shape.bounds[3] + 1.0)
    )
    if cut.is_empty:
        return None
    low, high = cut.bounds[1], cut.bounds[3]
    return (low, high) if high - low > 1e-3 else None


def with_shifted_end(shape: shapely.Geometry, side: Side, by_mm: float) -> shapely.Geometry:
    """Shape made longer or shorter at its plumb edge on one side."""
    left, low, right, high = shape.bounds
    if abs(by_mm) < 1e-9:
        return shape
    edge = left if side == "left" else right
    end = edge + outward(side) * by_mm
    if by_mm < 0:
        bounds = sorted((end, edge + outward(side)))
        return shape.difference(shapely.box(bounds[0], low - 1.0, bounds[1], high + 1.0))
    span = edge_span_mm(shape, edge)
    if span is None:
        return shape
    bounds = sorted((edge, end))
    joined = shapely.union_all([shape, shapely.box(bounds[0], span[0], bounds[1], span[1])])
    return joined.simplify(1e-9)


def common_span_mm(*edges: tuple[shapely.Geometry, float]) -> tuple[float, float] | None:
    """Lowest and highest v that plumb edges of shapes, each with its u, have in common."""
    spans = [span for shape, u in edges if (span := edge_span_mm(shape, u)) is not None]
    if len(spans) < len(edges):
        return None
    return max(low for low, _ in spans), min(high for _, high in spans)


def make_body(
    face: FaceShape, layer: WallLayer, ends: Ends, openings: Sequence[OpeningShape]
) -> LayerBody:
    """Shape one layer of a wall.

    Parameters
    ----------
    face : FaceShape
    layer : WallLayer
    ends : Ends
    openings : sequence of OpeningShape
        As large as they are to be cut in this layer.
    """
    outer, inner = face.area, face.area
    bevels: list[tuple[Side, LayerEnd]] = []
    for side in SIDES:
        end = ends.at(side).layer_end(layer)
        outer = with_shifted_end(outer, side, end.outer_mm)
        inner = with_shifted_end(inner, side, end.inner_mm)
        if end.is_bevelled:
            bevels.append((side, end))
    low, high = face.box.bottom_mm, face.box.top_mm
    for gap in ends.gaps:
        outer = outer.difference(gap.area_at(layer.outer_mm, low, high))
        inner = inner.difference(gap.area_at(layer.inner_mm, low, high))
    whole = shapely.union_all([outer, inner]).simplify(1e-9)
    holes = shapely.union_all([opening.area for opening in openings])
    return LayerBody(
        face,
        layer,
        outer.difference(holes),
        inner.difference(holes),
        whole,
        tuple(openings),
        tuple(bevels),
        ends.gaps,
    )


def body_lines(body: LayerBody, mark: str) -> list[PartLine]:
    """Cut lines of a layer, its openings as true arcs where they lie wholly inside."""
    inside = [o for o in body.openings if body.whole.contains_properly(o.area)]
    crossing = [o for o in body.openings if o not in inside and o.area.intersects(body.whole)]
    shape = body.whole
    if crossing:
        shape = shape.difference(shapely.union_all([o.area for o in crossing]))
    lines = lines_of_polygon("cut", shape, mark)
    for opening in inside:
        start, segments = opening.path()
        lines.append(PartLine("cut", start, segments, True, f"{mark}.{opening.id}"))
    return lines


def bevel_lines(body: LayerBody, mark: str) -> list[PartLine]:
    """Where the far edge of a bevelled end lies."""
    lines = []
    for side, end in body.bevels:
        edge = body.face.edge_mm(side)
        u = edge + outward(side) * end.shorter_mm
        span = edge_span_mm(body.face.area, edge)
        if span is not None:
            points = [(u, span[0]), (u, span[1])]
            lines.append(line_through("bevel", points, id=f"{mark}.bevel-{side}"))
    for gap in body.gaps:
        end = gap.tower.layer_end(body.layer)
        if not end.is_bevelled:
            continue
        for name, u in zip(SIDES, gap.edges_mm(0.0), strict=True):
            sign = -outward(name)
            span = edge_span_mm(body.whole, u + sign * end.longer_mm)
            if span is not None:
                points = [
                    (u + sign * end.shorter_mm, v) for v in (span[0], min(span[1], gap.top_mm))
                ]
                lines.append(
                    line_through("bevel", points, id=f"{mark}.bevel-{gap.tower.other}-{name}")
                )
    return lines


def find_thin_piers(
    face: FaceShape, openings: Sequence[OpeningShape], thickness_mm: float, denominator: float
) -> list[str]:
    """Say which openings, as large as they are cut, leave less card between them than holds."""
    least = max(LEAST_PIER_MM, 2.0 * thickness_mm)
    said = []
    for one, other in itertools.combinations(openings, 2):
        gap = one.area.distance(other.area)
        if gap < least:
            said.append(_pier(face.id, f"{one.id} and {other.id}", gap, least, denominator))
    for opening in openings:
        gap = face.area.exterior.distance(opening.area)
        if 1e-6 < gap < least:
            said.append(_pier(face.id, f"{opening.id} and the edge", gap, least, denominator))
    return said


def _pier(face: str, between: str, gap: float, least: float, denominator: float) -> str:
    return (
        f"Between {between} on face {face} only {gap:.2f} mm of card are left "
        f"({gap * denominator:.0f} mm full size), less than the {least:.1f} mm that hold: back it "
        "with a strip, or cut it away and lay it on afterwards."
    )


def cut_openings(shell: Shell, face: FaceShape) -> list[OpeningShape]:
    """Openings of a face that are cut, at true size: blind ones are only printed.

    One that ends so close above the wall's foot that no card would hold there is cut down to
    the foot.
    """
    wish = shell.wishes.of_face(face.id)
    foot = face.box.bottom_mm
    cut = []
    for opening in face.openings:
        if opening.id in wish.openings and wish.openings[opening.id].blind:
            continue
        cut.append(_down_to(opening, foot) if is_at_foot(opening, foot) else opening)
    return cut


def is_at_foot(opening: OpeningShape, foot_mm: float) -> bool:
    """Whether an opening leaves too little wall below it to be cut."""
    return opening.sill_mm < foot_mm + LEAST_PIER_MM and opening.head != "round"


def _down_to(opening: OpeningShape, foot_mm: float) -> OpeningShape:
    low = min(opening.sill_mm, foot_mm)
    return replace(opening, sill_mm=low, height_mm=opening.head_mm - low)


def layer_openings(
    shell: Shell, face: FaceShape, layer: WallLayer, lined: set[str]
) -> list[OpeningShape]:
    """Openings as large as one layer is cut: lined ones are larger in card than in the skin."""
    grow = 0.0 if layer.role == "skin" else shell.workshop.opening_grows_mm
    return [o.grown(grow) if o.id in lined else o for o in cut_openings(shell, face)]


def layer_body(shell: Shell, face: FaceShape, layer: WallLayer, lined: set[str]) -> LayerBody:
    """One layer of a wall of the shell."""
    openings = layer_openings(shell, face, layer, lined)
    return make_body(face, layer, shell.ends[face.id], openings)


def wall_part(shell: Shell, body: LayerBody, mark: str, folds: Sequence[PartLine] = ()) -> Part:
    """Lay one layer of one wall out as a part, with the lines of its tabs."""
    layer = body.layer
    lines = body_lines(body, mark)
    if layer.role == "skin":
        lines = as_skin(lines, body.whole, mark, shell.wishes.bleed_mm)
    lines += [*bevel_lines(body, mark), *folds]
    words, marks = _marked(body, mark)
    if layer.role == "skin":
        words, marks = (mark_below(body.whole, mark, shell.wishes.bleed_mm),), []
    return Part(
        mark,
        f"{body.face.label}, {layer.role}",
        body.face.id,
        layer.role,
        layer.material,
        (*lines, *marks),
        words,
        grain="any" if layer.role == "overlay" else "up",
        openings=tuple(o.id for o in body.openings),
        note=bevel_note(body),
        pictures=(skin_picture(body, shell.wishes.bleed_mm),) if layer.role == "skin" else (),
    )


def _marked(body: LayerBody, mark: str) -> tuple[tuple[PartWords, ...], list[PartLine]]:
    """Mark and arrow on each piece of a layer; a tower let in may part it in two."""
    words: list[PartWords] = []
    lines: list[PartLine] = []
    for piece in shapely.get_parts(body.outer.intersection(body.inner)):
        if piece.area < 1.0 and words:
            continue
        said, drawn = mark_on(piece, mark, body.face.label)
        words += said
        lines += [replace(line, id=None) for line in drawn] if lines else drawn
    return tuple(words), lines


def skin_picture(body: LayerBody, bleed_mm: float, shift_mm: float = 0.0) -> PartPicture:
    """What is printed on a skin: the wall's chart and its bleed."""
    chart = Box(*body.whole.bounds).grown(bleed_mm)
    return PartPicture(body.face.id, chart, (shift_mm, 0.0))


def bevel_note(body: LayerBody) -> str:
    """Say which ends are bevelled, and what a square cut would leave open."""
    ends = [(f"the {side} end", end) for side, end in body.bevels]
    pieces = [p for p in shapely.get_parts(body.whole) if p.area > 1.0]
    for gap in body.gaps:
        end = gap.tower.layer_end(body.layer)
        if end.is_bevelled:
            ends.append((f"both edges at {gap.tower.other}", end))
    said = [f"in {len(pieces)} pieces beside the tower"] if len(pieces) > 1 else []
    for where, end in ends:
        angle = math.degrees(math.atan2(end.bevel_mm, body.layer.thickness_mm))
        face = "back" if end.outer_mm > end.inner_mm else "front"
        said.append(
            f"bevel {where} by {angle:.0f}° off the {face} (square it gapes {end.bevel_mm:.2f} mm)"
        )
    return "; ".join(said)


def as_skin(
    lines: list[PartLine], whole: shapely.Geometry, mark: str, bleed_mm: float
) -> list[PartLine]:
    """Lines of a skin: true edges are trimmed after gluing, the sheet is cut outside them."""
    trimmed = [PartLine("trim", x.start_mm, x.segments, x.closed, x.id) for x in lines]
    if bleed_mm <= 0:
        return lines
    around = whole.buffer(bleed_mm, join_style="mitre")
    return [*lines_of_polygon("cut", around, f"{mark}.bleed", holes=False), *trimmed]
