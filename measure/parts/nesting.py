"""Laying parts on sheets: few sheets, no overlap, the grain respected.

First the boxes of the parts are packed, largest first, into the free rectangles of as few
sheets as they need; then parts of the emptiest sheet are tried by their true shapes in the
gaps of the others (beside a gable, around a disc). Where one sheet holds all parts in plain
rows, none turned that need not be, rows they are: a row is easier to cut from.

Frame: that of `measure.parts.blanks`.

References
----------
The bookkeeping of all largest free rectangles and the choice by the shorter side left over are
described by J. Jylänki, "A thousand ways to pack the bin", 2010 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import affinity

from measure.parts.blanks import Blank, Placement
from shared.errors import FieldError

#: Told what is being done and how far it is, 0 to 1; returning False stops.
Report = Callable[[str, float], bool | None]

#: Steps in which gaps are searched by true shapes.
GAP_STEP_MM = 1.5

#: Parts of the emptiest sheet that are tried elsewhere, at most.
MOST_MOVED = 60

#: How often a sheet is emptied that way, at most.
MOST_ROUNDS = 8


@dataclass(frozen=True, slots=True)
class _Free:
    x: float
    y: float
    w: float
    h: float


class _Bin:
    """One sheet while it is being filled with boxes."""

    def __init__(self, width: float, height: float) -> None:
        self.free = [_Free(0.0, 0.0, width, height)]

    def best(self, w: float, h: float) -> tuple[tuple[float, float], _Free] | None:
        """Free rectangle in which the box leaves the shortest side over."""
        found: tuple[tuple[float, float], _Free] | None = None
        for rect in self.free:
            left_w, left_h = rect.w - w, rect.h - h
            if left_w < -1e-9 or left_h < -1e-9:
                continue
            score = (min(left_w, left_h), max(left_w, left_h))
            if found is None or score < found[0]:
                found = (score, rect)
        return found

    def take(self, x: float, y: float, w: float, h: float) -> None:
        """Take a box out of all free rectangles."""
        kept: list[_Free] = []
        for r in self.free:
            if x >= r.x + r.w or x + w <= r.x or y >= r.y + r.h or y + h <= r.y:
                kept.append(r)
                continue
            if x > r.x:
                kept.append(_Free(r.x, r.y, x - r.x, r.h))
            if x + w < r.x + r.w:
                kept.append(_Free(x + w, r.y, r.x + r.w - x - w, r.h))
            if y > r.y:
                kept.append(_Free(r.x, r.y, r.w, y - r.y))
            if y + h < r.y + r.h:
                kept.append(_Free(r.x, y + h, r.w, r.y + r.h - y - h))
        self.free = _without_inner(kept)


def _without_inner(rects: list[_Free]) -> list[_Free]:
    """Leave out rectangles that lie within others."""
    rects = sorted(set(rects), key=lambda r: -r.w * r.h)
    kept: list[_Free] = []
    for r in rects:
        inside = any(
            o.x <= r.x + 1e-9
            and o.y <= r.y + 1e-9
            and r.x + r.w <= o.x + o.w + 1e-9
            and r.y + r.h <= o.y + o.h + 1e-9
            for o in kept
        )
        if not inside:
            kept.append(r)
    return kept


def nest(
    blanks: Sequence[Blank],
    width_mm: float,
    height_mm: float,
    spacing_mm: float = 2.0,
    report: Report | None = None,
    pinned: Sequence[Placement] = (),
) -> list[Placement]:
    """Lay blanks on sheets of one size.

    Parameters
    ----------
    blanks : sequence of Blank
    width_mm, height_mm : float
        Free area of a sheet.
    spacing_mm : float
        Left between two parts.
    report : callable, optional
        Told how far it is; may stop it.
    pinned : sequence of Placement
        Blanks that have their place already, checked; the others are laid around them.

    Returns
    -------
    list of Placement
        One for each blank, in their order. Sheets keep their numbers, so that one before a
        pinned sheet may be empty.

    Raises
    ------
    FieldError
        If a blank is larger than the sheet, or the work was stopped.
    """
    if not blanks:
        return []
    orders: list[Callable[[tuple[float, float]], tuple[float, float]]] = [
        lambda s: (max(s), min(s)),
        lambda s: (s[0] * s[1], max(s)),
        lambda s: (s[1], s[0]),
        lambda s: (s[0] + s[1], max(s)),
    ]
    by_number = {b.number: b for b in blanks}
    kept = [(p, by_number[p.number]) for p in pinned]
    held = {p.number for p in pinned}
    loose = [b for b in blanks if b.number not in held]
    sizes = {b.number: _box_size(b.turned(b.turns[0])) for b in loose}
    best: list[Placement] | None = None
    for step, order in enumerate(orders):
        _tell(report, "laying parts on sheets", step / (len(orders) + 1))
        ranked = sorted(loose, key=lambda b: (order(sizes[b.number]), -b.number), reverse=True)
        laid = _pack(ranked, width_mm, height_mm, spacing_mm, kept)
        if best is None or _cost(laid, blanks) < _cost(best, blanks):
            best = laid
    if best is None:
        raise ValueError("blanks: nothing was laid")
    rows = None if kept else _in_rows(blanks, width_mm, height_mm, spacing_mm)
    if rows is not None and all(p.sheet == 0 for p in rows):
        return rows
    count = max(p.sheet for p in best) + 1
    for _ in range(MOST_ROUNDS):
        best = _fill_gaps(best, blanks, width_mm, height_mm, spacing_mm, report, held)
        fewer = max(p.sheet for p in best) + 1
        if fewer == count:
            break
        count = fewer
    _tell(report, "laying parts on sheets", 1.0)
    return sorted(best, key=lambda p: p.number)


def _tell(report: Report | None, what: str, share: float) -> None:
    if report is not None and report(what, share) is False:
        raise FieldError("Laying the parts on sheets was stopped.", hint="Start it again.")


def _box_size(shape: shapely.Geometry) -> tuple[float, float]:
    left, low, right, high = shape.bounds
    return right - left, high - low


def _cost(laid: Sequence[Placement], blanks: Sequence[Blank]) -> tuple[int, float]:
    """Sheets used, then how much lies on the last one."""
    last = max(p.sheet for p in laid)
    by_number = {b.number: b for b in blanks}
    return last, sum(by_number[p.number].shape.envelope.area for p in laid if p.sheet == last)


def _pack(
    ranked: Sequence[Blank],
    width_mm: float,
    height_mm: float,
    spacing_mm: float,
    kept: Sequence[tuple[Placement, Blank]],
) -> list[Placement]:
    """Pack boxes in the order given, each where it leaves least over, around those kept."""
    count = max((p.sheet for p, _ in kept), default=-1) + 1
    # a part needs no room beyond the sheet's own edge
    bins = [_Bin(width_mm + spacing_mm, height_mm + spacing_mm) for _ in range(count)]
    laid: list[Placement] = []
    for place, blank in kept:
        w, h = _box_size(blank.turned(place.quarters))
        bins[place.sheet].take(place.left_mm, place.bottom_mm, w + spacing_mm, h + spacing_mm)
        laid.append(place)
    for blank in ranked:
        # what was put on a later sheet draws nothing after it
        choice = _choice(blank, bins, spacing_mm, earliest=bool(kept))
        if choice is None:
            bins.append(_Bin(width_mm + spacing_mm, height_mm + spacing_mm))
            choice = _choice(blank, bins, spacing_mm)
        if choice is None:
            w, h = _box_size(blank.turned(blank.turns[0]))
            raise FieldError(
                f"A part of {w:.1f} x {h:.1f} mm does not fit on a sheet with room for "
                f"{width_mm:.1f} x {height_mm:.1f} mm.",
                hint="Use larger paper or a smaller scale.",
            )
        place, w, h = choice
        bins[place.sheet].take(place.left_mm, place.bottom_mm, w, h)
        laid.append(place)
    return laid


def _choice(
    blank: Blank, bins: Sequence[_Bin], spacing_mm: float, *, earliest: bool = False
) -> tuple[Placement, float, float] | None:
    """Where a blank leaves least over, on the earliest sheet if wished for, and what it takes."""
    best: tuple[tuple[int, tuple[float, float]], Placement, float, float] | None = None
    for quarters in blank.turns:
        w, h = _box_size(blank.turned(quarters))
        w, h = w + spacing_mm, h + spacing_mm
        for index, sheet in enumerate(bins):
            found = sheet.best(w, h)
            if found is None:
                continue
            left_over, rect = found
            rank = (index if earliest else 0, left_over)
            if best is None or rank < best[0]:
                best = rank, Placement(blank.number, index, quarters, rect.x, rect.y), w, h
    return best[1:] if best is not None else None


def _in_rows(
    blanks: Sequence[Blank], width_mm: float, height_mm: float, spacing_mm: float
) -> list[Placement] | None:
    """Rows from the top down, taller parts first; None where a part fits in no row."""
    sized = [(b, *_box_size(b.turned(b.turns[0]))) for b in blanks]
    # heights in steps, so that parts of nearly one height keep the order of their marks
    sized.sort(key=lambda row: (-round(row[2] / 3.0), row[0].number))
    laid: list[Placement] = []
    sheet, x, top, row = 0, 0.0, height_mm, 0.0
    for blank, w, h in sized:
        if w > width_mm + 1e-9 or h > height_mm + 1e-9:
            return None
        if x + w > width_mm + 1e-9:
            x, top, row = 0.0, top - row - spacing_mm, 0.0
        if top - h < -1e-9:
            sheet, x, top, row = sheet + 1, 0.0, height_mm, 0.0
        laid.append(Placement(blank.number, sheet, blank.turns[0], x, top - h))
        x += w + spacing_mm
        row = max(row, h)
    return sorted(laid, key=lambda p: p.number)


def _fill_gaps(
    laid: list[Placement],
    blanks: Sequence[Blank],
    width_mm: float,
    height_mm: float,
    spacing_mm: float,
    report: Report | None,
    held: set[int],
) -> list[Placement]:
    """Move parts of the emptiest sheet into gaps of the others, by true shapes.

    A sheet with a pinned part stays, whatever else lies on it.
    """
    by_number = {b.number: b for b in blanks}
    count = max(p.sheet for p in laid) + 1
    if count == 1:
        return laid
    filled = [0.0] * count
    for p in laid:
        filled[p.sheet] += np.inf if p.number in held else by_number[p.number].shape.area
    poorest = int(np.argmin(filled))
    moving = sorted(
        (p for p in laid if p.sheet == poorest), key=lambda p: -by_number[p.number].shape.area
    )
    if not moving or len(moving) > MOST_MOVED or any(p.number in held for p in moving):
        return laid
    stay = [p for p in laid if p.sheet != poorest]
    area = shapely.box(0.0, 0.0, width_mm, height_mm)
    gaps = {}
    for sheet in range(count):
        shapes = [
            by_number[p.number].placed(p).buffer(spacing_mm) for p in stay if p.sheet == sheet
        ]
        if sheet != poorest and (not held or sheet < poorest):
            gaps[sheet] = area.difference(shapely.union_all(shapes))
    moved: list[Placement] = []
    for step, p in enumerate(moving):
        _tell(report, "trying gaps", 0.9)
        blank = by_number[p.number]
        for sheet, gap in gaps.items():
            spot = _spot_in(blank, gap)
            if spot is not None:
                quarters, x, y = spot
                new = Placement(p.number, sheet, quarters, x, y)
                gaps[sheet] = gap.difference(blank.placed(new).buffer(spacing_mm))
                moved.append(new)
                break
        else:
            return [*stay, *moved, *moving[step:]]
    done = [*stay, *moved]
    return done if held else _renumbered(done)


def _renumbered(laid: list[Placement]) -> list[Placement]:
    """Number sheets without gaps."""
    names = {old: new for new, old in enumerate(sorted({p.sheet for p in laid}))}
    return [Placement(p.number, names[p.sheet], p.quarters, p.left_mm, p.bottom_mm) for p in laid]


def _spot_in(blank: Blank, gap: shapely.Geometry) -> tuple[int, float, float] | None:
    """Lowest, then leftmost place of a grid at which a shape lies wholly in a gap."""
    for quarters in blank.turns:
        shape = blank.turned(quarters)
        w, h = _box_size(shape)
        left, low, right, high = gap.bounds
        if gap.is_empty or w > right - left or h > high - low:
            continue
        xs = np.arange(left, right - w + 1e-9, GAP_STEP_MM)
        ys = np.arange(low, high - h + 1e-9, GAP_STEP_MM)
        if not len(xs) or not len(ys):
            continue
        gx, gy = np.tile(xs, len(ys)), np.repeat(ys, len(xs))
        free = np.ones(len(gx), dtype=bool)
        hull = np.array(shape.convex_hull.exterior.coords)[:-1]
        for px, py in hull[:: max(1, len(hull) // 12)]:
            at = np.flatnonzero(free)
            free[at] = shapely.contains_xy(gap, gx[at] + px, gy[at] + py)
        shapely.prepare(gap)
        for index in np.flatnonzero(free):
            x, y = float(gx[index]), float(gy[index])
            if gap.contains(affinity.translate(shape, x, y)):
                return quarters, x, y
    return None
