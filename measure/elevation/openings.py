"""The outline of an opening from its sizes and the kind of its head."""

from __future__ import annotations

import math
from typing import Literal

from measure.elevation.drawing import Path, circle_segments
from measure.elevation.path_geometry import ArcSegment, LineSegment, Point, Segment
from shared.errors import FieldError

HeadKind = Literal["flat", "semicircular", "segmental", "pointed", "round"]


def opening_path(
    u_left_mm: float,
    v_sill_mm: float,
    width_mm: float,
    height_mm: float,
    head: HeadKind = "flat",
    rise_mm: float | None = None,
    *,
    layer: str = "openings",
    id: str | None = None,
    inferred: bool = False,
) -> Path:
    """Closed outline of an opening, anticlockwise from the left end of its sill.

    Parameters
    ----------
    u_left_mm, v_sill_mm : float
        Left end of the sill, at full size.
    width_mm : float
        Clear width between the jambs; the span of the arch.
    height_mm : float
        From the sill to the highest point of the head.
    head : {"flat", "semicircular", "segmental", "pointed", "round"}
    rise_mm : float, optional
        From the springing to the crown. Needed for a segmental and a pointed head; a
        semicircular head rises half the width.
    layer, id, inferred
        As for :class:`measure.elevation.drawing.Path`.

    Returns
    -------
    Path
        A round opening is a circle in the middle of the box, its diameter the mean of width and
        height.

    Raises
    ------
    FieldError
        Sizes that make no opening.

    Notes
    -----
    Segmental: over a span ``s`` with rise ``h`` the arc turns ``4*atan(2*h/s)``.
    Pointed: two arcs with centres on the springing line, radius ``s/4 + h**2/s``, springing
    upright. That needs ``h >= s/2``. A lower pointed head has its centres below the springing
    line and its two picks do not say where; it is drawn with arcs that turn by the angle of
    their chord, which keeps span, springing and point true (a drawing convention of ours).
    """
    name = f"Opening {id}" if id else "Opening"
    for word, value in (("width", width_mm), ("height", height_mm)):
        if not (math.isfinite(value) and value > 0):
            raise FieldError(f"{name}: its {word} is {value} mm; give one above 0.")
    if head == "round":
        centre = (u_left_mm + width_mm / 2, v_sill_mm + height_mm / 2)
        start, circle = circle_segments(centre, (width_mm + height_mm) / 4)
        return Path(layer, start, circle, True, id, inferred)

    rise = _rise_mm(name, width_mm, height_mm, head, rise_mm)
    left, right = u_left_mm, u_left_mm + width_mm
    springing = v_sill_mm + height_mm - rise
    start = (left, v_sill_mm)
    segments: list[Segment] = [LineSegment((right, v_sill_mm))]
    if height_mm > rise:
        segments.append(LineSegment((right, springing)))
    left_springing: Point = (left, springing)
    if head == "flat":
        segments.append(LineSegment(left_springing))
    elif head == "pointed":
        apex = ((left + right) / 2, v_sill_mm + height_mm)
        chord_rad = math.atan2(2 * rise, width_mm)
        turn = 2 * (math.pi / 2 - chord_rad) if rise >= width_mm / 2 else chord_rad
        segments += [ArcSegment(apex, turn), ArcSegment(left_springing, turn)]
    else:
        segments.append(ArcSegment(left_springing, 4 * math.atan(2 * rise / width_mm)))
    return Path(layer, start, tuple(segments), True, id, inferred)


def _rise_mm(
    name: str, width_mm: float, height_mm: float, head: HeadKind, rise_mm: float | None
) -> float:
    """Rise of the head, checked."""
    if head == "flat":
        return 0.0
    if head == "semicircular":
        rise_mm = width_mm / 2
    elif head not in ("segmental", "pointed"):
        raise FieldError(
            f"{name}: the head {head!r} is unknown; "
            "use flat, semicircular, segmental, pointed or round."
        )
    if rise_mm is None or not (math.isfinite(rise_mm) and rise_mm > 0):
        raise FieldError(f"{name}: a {head} head needs its rise above 0 mm, got {rise_mm}.")
    # A measured semicircular head may come out a hair higher than its opening; a thousandth of a
    # millimetre is rounding, more is a wrong size.
    if rise_mm > height_mm + 1e-3:
        raise FieldError(
            f"{name}: its head rises {rise_mm:.0f} mm but the whole opening is {height_mm:.0f} mm "
            "high; give the height from the sill to the crown."
        )
    if head == "segmental" and rise_mm > width_mm / 2 + 1e-3:
        raise FieldError(
            f"{name}: a segmental head cannot rise {rise_mm:.0f} mm over a width of "
            f"{width_mm:.0f} mm; half the width is the most."
        )
    return min(rise_mm, height_mm)
