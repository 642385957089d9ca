"""Parts that are larger than a sheet, cut in two where a joint does least harm.

A joint runs straight across the part, through no opening where that can be had, in the
middle of a pier rather than near its edge. A strip is glued behind it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from measure.elevation.path_geometry import Point
from measure.parts.part import (
    Grain,
    Part,
    PartLine,
    PartWords,
    flat_points,
    line_through,
    lines_of_polygon,
    polygon_of,
)
from measure.parts.part_marks import mark_below, mark_on
from shared.errors import FieldError

BACKING_MM = 12.0
MARK_BELOW_MM = 3.0
STEP_MM = 0.5
#: Roles whose joints have to hold by themselves; all others are glued onto something.
BACKED = ("carcass", "overlay", "wrap", "board", "former")
#: More pieces than this are a wrong scale.
MOST_PIECES = 64

#: Joint through an opening weighs as much as lying this far from where it should.
OPENING_WEIGHS_MM = 1000.0


def fit_to_sheet(part: Part, width_mm: float, height_mm: float) -> list[Part]:
    """Cut a part into pieces that a sheet holds, with the strips that join them.

    Parameters
    ----------
    part : Part
    width_mm, height_mm : float
        Room on a sheet; the grain runs along the height.

    Returns
    -------
    list of Part
        The part itself where it fits.

    Raises
    ------
    FieldError
        If it would take more than 64 pieces.
    """
    fits = {
        "up": [(width_mm, height_mm)],
        "along": [(height_mm, width_mm)],
        "any": [(width_mm, height_mm), (height_mm, width_mm)],
    }[part.grain]
    box = part.box
    if any(box.width_mm <= w + 1e-6 and box.height_mm <= h + 1e-6 for w, h in fits):
        return [part]
    room_w, room_h = min(
        fits, key=lambda f: _pieces(box.width_mm, f[0]) * _pieces(box.height_mm, f[1])
    )
    if _pieces(box.width_mm, room_w) * _pieces(box.height_mm, room_h) > MOST_PIECES:
        raise FieldError(
            f"Part {part.mark} ({part.name}) is {box.width_mm:.0f} x {box.height_mm:.0f} mm and "
            f"would take more than {MOST_PIECES} sheets of {width_mm:.0f} x {height_mm:.0f} mm.",
            hint="Use a smaller scale or larger paper.",
        )
    grain: Grain = "up" if (room_w, room_h) == (width_mm, height_mm) else "along"
    # each piece of a skin has its mark below, where it is not part of the picture
    printed = part.role == "skin" and bool(part.pictures)
    whole = replace(part, words=()) if printed else part
    pieces, strips = _cut_axis(whole, 0, room_w)
    done: list[Part] = []
    for piece in pieces:
        more, more_strips = _cut_axis(piece, 1, room_h - (MARK_BELOW_MM if printed else 0.0))
        done += more
        strips += more_strips
    if printed:
        done = [_marked_below(piece) for piece in done]
    if len(done) > 1:
        done = [
            _named(
                piece, f"{part.mark}/{n + 1}", f"{part.name}, piece {n + 1} of {len(done)}", grain
            )
            for n, piece in enumerate(done)
        ]
    joints = []
    for number, length in enumerate(strips if part.role in BACKED else ()):
        mark = f"{part.mark}j{number + 1}"
        size = 1.8
        rect = line_through(
            "cut",
            [(0.0, 0.0), (BACKING_MM, 0.0), (BACKING_MM, length), (0.0, length)],
            closed=True,
            id=mark,
        )
        middle = line_through("place", [(BACKING_MM / 2, 0.0), (BACKING_MM / 2, length)])
        words = (PartWords((BACKING_MM / 2, length / 2), mark, size),)
        strip = Part(
            mark,
            f"backing of a joint in {part.mark}",
            part.face,
            "backing",
            part.material,
            (rect, middle),
            words,
            count=part.count,
            grain="any",
            note="behind the joint, half on either piece",
        )
        joints += fit_to_sheet(strip, width_mm, height_mm)
    return [*done, *joints]


def _marked_below(piece: Part) -> Part:
    shown = shapely.union_all([polygon_of(line) for line in _closed(piece)])
    return replace(piece, words=(mark_below(shown, piece.mark),))


def _pieces(size_mm: float, room_mm: float) -> int:
    return max(1, int(np.ceil(size_mm / room_mm - 1e-9)))


def _cut_axis(part: Part, axis: int, room_mm: float) -> tuple[list[Part], list[float]]:
    """Pieces along one axis, and lengths of their joints."""
    box = part.box
    low, high = (box.left_mm, box.right_mm) if axis == 0 else (box.bottom_mm, box.top_mm)
    if high - low <= room_mm + 1e-6:
        return [part], []
    first, second, length = _cut(part, axis, _best_place(part, axis, low, high, room_mm))
    before, joints = _cut_axis(first, axis, room_mm)
    after, more = _cut_axis(second, axis, room_mm)
    return [*before, *after], [length, *joints, *more]


def _best_place(part: Part, axis: int, low: float, high: float, room_mm: float) -> float:
    """Where the next joint does least harm, within what the room allows."""
    count = _pieces(high - low, room_mm)
    even = low + (high - low) / count
    earliest = max(low + STEP_MM, high - (count - 1) * room_mm)
    latest = min(low + room_mm, high - STEP_MM)
    holes = [_range(polygon_of(line), axis) for line in _holes(part)]

    def harm(at: float) -> float:
        crossed = sum(1 for a, b in holes if a - 0.3 < at < b + 0.3)
        near = min((min(abs(at - a), abs(at - b)) for a, b in holes), default=50.0)
        return OPENING_WEIGHS_MM * crossed + 0.3 * abs(at - even) - 2.0 * min(near, 10.0)

    places = np.arange(earliest, latest + 1e-9, STEP_MM)
    return float(min(places, key=harm)) if len(places) else even


def _range(shape: shapely.Geometry, axis: int) -> tuple[float, float]:
    bounds = shape.bounds
    return float(bounds[axis]), float(bounds[axis + 2])


def _closed(part: Part) -> list[PartLine]:
    return [line for line in part.lines if line.closed and line.use in ("cut", "trim")]


def _holes(part: Part) -> list[PartLine]:
    """Closed lines that lie within another one of the same use."""
    closed = _closed(part)
    shapes = [polygon_of(line) for line in closed]
    pairs = list(zip(closed, shapes, strict=True))
    return [
        line
        for line, shape in pairs
        if any(
            other is not line and other.use == line.use and around.contains_properly(shape)
            for other, around in pairs
        )
    ]


def _cut(part: Part, axis: int, at: float) -> tuple[Part, Part, float]:
    """Two pieces on either side of a line, and how long the joint is."""
    box = part.box.grown(10.0)
    if axis == 0:
        halves = [
            shapely.box(box.left_mm, box.bottom_mm, at, box.top_mm),
            shapely.box(at, box.bottom_mm, box.right_mm, box.top_mm),
        ]
        seam = shapely.LineString([(at, box.bottom_mm), (at, box.top_mm)])
    else:
        halves = [
            shapely.box(box.left_mm, box.bottom_mm, box.right_mm, at),
            shapely.box(box.left_mm, at, box.right_mm, box.top_mm),
        ]
        seam = shapely.LineString([(box.left_mm, at), (box.right_mm, at)])
    inner = _holes(part)
    outer = [line for line in _closed(part) if line not in inner]
    made = []
    for half in halves:
        lines: list[PartLine] = []
        free = shapely.Polygon()
        for use in ("cut", "trim"):
            solids = [polygon_of(line) for line in outer if line.use == use]
            if not solids:
                continue
            ids = [line.id or part.mark for line in outer if line.use == use]
            shape = shapely.union_all(solids).intersection(half)
            crossed = [line for line in inner if line.use == use]
            for line in crossed:
                hole = polygon_of(line)
                if half.contains_properly(hole):
                    lines.append(line)
                elif hole.intersects(half):
                    shape = shape.difference(hole)
            lines += lines_of_polygon(use, shape, ids[0])
            free = shape.difference(shapely.union_all([polygon_of(x) for x in crossed]))
        lines += [x for line in part.lines if line not in outer + inner for x in _clip(line, half)]
        words = tuple(w for w in part.words if half.contains(shapely.Point(w.at_mm)))
        if not words and part.words:
            words, _ = mark_on(free, part.mark, arrow=False)
        made.append(replace(part, lines=tuple(lines), words=words))
    whole = shapely.union_all([polygon_of(line) for line in outer])
    return made[0], made[1], float(whole.intersection(seam).length)


def _clip(line: PartLine, half: shapely.Geometry) -> list[PartLine]:
    """What of an open line, or of a closed one that is only a mark, lies on one side."""
    points = flat_points(line.start_mm, line.segments)
    if line.closed:
        points = [*points, points[0]]
    if all(half.contains(shapely.Point(p)) for p in points):
        return [line]
    clipped = shapely.LineString(points).intersection(half)
    found = []
    for piece in shapely.get_parts(clipped):
        if piece.length > 0.01:
            ends: list[Point] = [(float(x), float(y)) for x, y in piece.coords]
            found.append(line_through(line.use, ends, id=line.id))
    return found


def _named(piece: Part, mark: str, name: str, grain: Grain) -> Part:
    """Piece under its own mark."""
    old = piece.mark
    lines = tuple(
        replace(line, id=mark + line.id[len(old) :])
        if line.id is not None and line.id.startswith(old)
        else line
        for line in piece.lines
    )
    words = tuple(replace(w, text=mark) if w.text == old else w for w in piece.words)
    return replace(piece, mark=mark, name=name, lines=lines, words=words, grain=grain)
