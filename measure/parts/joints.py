"""Parts that are larger than a sheet, cut in two where a joint does least harm.

A joint runs straight across the part, through no opening where that can be had, in the
middle of a pier rather than near its edge. Card that nothing else holds gets strips glued
behind the joint, clear of openings; a layer that is glued onto another one has its joints
elsewhere than that.
"""

from __future__ import annotations

from collections.abc import Sequence
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
    rectangle,
)
from measure.parts.part_marks import mark_below, mark_on
from shared.errors import FieldError

#: Widths of a strip behind a joint; the widest that is clear of all openings is taken.
BACKING_WIDTHS_MM = (12.0, 10.0, 8.0, 6.0, 4.0)
#: On a round wall a strip is narrow enough to bend.
BENT_BACKING_MM = 8.0
#: A strip stays this clear of an opening's lining, and one shorter than the last holds nothing.
BACKING_CLEAR_MM, LEAST_BACKING_MM = 0.8, 3.0
MARK_BELOW_MM = 3.0
STEP_MM = 0.5
#: Roles whose joints have to hold by themselves; all others are glued onto something.
BACKED = ("carcass", "wrap", "board", "former", "roof")
#: More pieces than this are a wrong scale.
MOST_PIECES = 64

#: Joint through an opening weighs as much as lying this far from where it should.
OPENING_WEIGHS_MM = 1000.0

#: Joints of two layers this far apart hold each other; each millimetre nearer weighs like that.
STAGGER_MM, STACKED_WEIGHS_MM = 6.0, 50.0

#: A piece narrower than this beyond its fold cannot be folded; each millimetre less weighs so.
SLIVER_MM, SLIVER_WEIGHS_MM = 8.0, 50.0

#: Along (0: at an x, 1: at a y) and where.
Joint = tuple[int, float]


def fit_to_sheet(
    part: Part,
    width_mm: float,
    height_mm: float,
    under: Sequence[Joint] = (),
    formers_mm: Sequence[tuple[float, float]] = (),
) -> list[Part]:
    """Cut a part into pieces that a sheet holds, with the strips that join them.

    Parameters
    ----------
    part : Part
    width_mm, height_mm : float
        Room on a sheet; the grain runs along the height.
    under : sequence of Joint
        Joints of the layer that it is glued onto, in the part's own frame.
    formers_mm : sequence of (low, high)
        Levels of a wrap at which formers stand: no strip lies there.

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
    pieces = _cut_axis(whole, 0, room_w, under)
    low_room = room_h - (MARK_BELOW_MM if printed else 0.0)
    done = [more for piece in pieces for more in _cut_axis(piece, 1, low_room, under)]
    if printed:
        done = [_marked_below(piece) for piece in done]
    if len(done) > 1:
        done = [
            _named(
                piece, f"{part.mark}/{n + 1}", f"{part.name}, piece {n + 1} of {len(done)}", grain
            )
            for n, piece in enumerate(done)
        ]
    strips = _backing(part, joints_of(done), formers_mm) if part.role in BACKED else []
    return [*done, *(x for strip in strips for x in fit_to_sheet(strip, width_mm, height_mm))]


def joints_of(pieces: Sequence[Part]) -> list[Joint]:
    """Joints between pieces of one part."""
    shown = [
        shapely.union_all([polygon_of(line) for line in _closed(piece)]).bounds for piece in pieces
    ]
    found: set[Joint] = set()
    for axis in (0, 1):
        # where one piece begins another one ends; a gap between them is no joint
        ends = {round(bounds[axis + 2], 3) for bounds in shown}
        found |= {(axis, b[axis]) for b in shown if round(b[axis], 3) in ends}
    return sorted(found)


def _backing(
    part: Part, joints: Sequence[Joint], formers_mm: Sequence[tuple[float, float]]
) -> list[Part]:
    """Strips behind the joints of a part, alike ones as one part with a count."""
    holes = shapely.union_all([polygon_of(line) for line in _holes(part)])
    outer = [polygon_of(line) for line in _closed(part)]
    solid = shapely.union_all(outer).difference(holes.buffer(BACKING_CLEAR_MM))
    left, low, right, high = solid.bounds
    widths = BACKING_WIDTHS_MM if part.role != "wrap" else (BENT_BACKING_MM,)
    sizes: list[tuple[float, float]] = []
    crossing: list[shapely.Geometry] = []
    for axis, at in joints:
        ends = [(at, low), (at, high)] if axis == 0 else [(left, at), (right, at)]
        run = shapely.LineString(ends).intersection(solid)
        if axis == 0:
            run = run.difference(
                shapely.union_all([shapely.box(left, a, right, b) for a, b in formers_mm])
            )
        for stretch in shapely.get_parts(run.difference(shapely.union_all(crossing))):
            if stretch.length < LEAST_BACKING_MM:
                continue
            for width in widths:
                strip = stretch.buffer(width / 2.0, cap_style="flat")
                if not strip.intersects(holes.buffer(BACKING_CLEAR_MM - 1e-6)):
                    sizes.append((round(width, 2), round(stretch.length, 2)))
                    # where two joints cross, one strip runs through
                    crossing.append(strip)
                    break
    made = []
    for number, (width, length) in enumerate(dict.fromkeys(sizes), start=1):
        mark = f"{part.mark}j{number}"
        middle = line_through("place", [(width / 2, 0.0), (width / 2, length)])
        made.append(
            Part(
                mark,
                f"backing of a joint in {part.mark}",
                part.face,
                "backing",
                part.material,
                (rectangle("cut", 0.0, 0.0, width, length, id=mark), middle),
                (PartWords((width / 2, length / 2), mark, 1.8, room_mm=0.9 * width),),
                count=part.count * sizes.count((width, length)),
                grain="up" if part.role == "wrap" else "any",
                note="behind the joint, half on either piece",
            )
        )
    return made


def _marked_below(piece: Part) -> Part:
    shown = shapely.union_all([polygon_of(line) for line in _closed(piece)])
    return replace(piece, words=(mark_below(shown, piece.mark),))


def _pieces(size_mm: float, room_mm: float) -> int:
    return max(1, int(np.ceil(size_mm / room_mm - 1e-9)))


def _cut_axis(part: Part, axis: int, room_mm: float, under: Sequence[Joint]) -> list[Part]:
    """Pieces along one axis."""
    box = part.box
    low, high = (box.left_mm, box.right_mm) if axis == 0 else (box.bottom_mm, box.top_mm)
    if high - low <= room_mm + 1e-6:
        return [part]
    stacked = [at for along, at in under if along == axis]
    first, second = _cut(part, axis, _best_place(part, axis, low, high, room_mm, stacked))
    return [
        *_cut_axis(first, axis, room_mm, under),
        *_cut_axis(second, axis, room_mm, under),
    ]


def _best_place(
    part: Part, axis: int, low: float, high: float, room_mm: float, stacked: Sequence[float]
) -> float:
    """Where the next joint does least harm, within what the room allows."""
    count = _pieces(high - low, room_mm)
    even = low + (high - low) / count
    earliest = max(low + STEP_MM, high - (count - 1) * room_mm)
    latest = min(low + room_mm, high - STEP_MM)
    holes = [_range(polygon_of(line), axis) for line in _holes(part)]
    # folds stand upright on every part
    folded = [line for line in part.lines if axis == 0 and line.id and ".fold-" in line.id]
    folds = [line.start_mm[0] for line in folded]

    def harm(at: float) -> float:
        crossed = sum(1 for a, b in holes if a - 0.3 < at < b + 0.3)
        near = min((min(abs(at - a), abs(at - b)) for a, b in holes), default=50.0)
        nearest = min((abs(at - other) for other in stacked), default=STAGGER_MM)
        return (
            OPENING_WEIGHS_MM * crossed
            + STACKED_WEIGHS_MM * max(0.0, STAGGER_MM - nearest)
            + SLIVER_WEIGHS_MM * max([0.0, *(SLIVER_MM - abs(at - x) for x in folds)])
            + 0.3 * abs(at - even)
            - 2.0 * min(near, 10.0)
        )

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


def _cut(part: Part, axis: int, at: float) -> tuple[Part, Part]:
    """Two pieces on either side of a line."""
    box = part.box.grown(10.0)
    if axis == 0:
        halves = [
            shapely.box(box.left_mm, box.bottom_mm, at, box.top_mm),
            shapely.box(at, box.bottom_mm, box.right_mm, box.top_mm),
        ]
    else:
        halves = [
            shapely.box(box.left_mm, box.bottom_mm, box.right_mm, at),
            shapely.box(box.left_mm, at, box.right_mm, box.top_mm),
        ]
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
    return made[0], made[1]


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
