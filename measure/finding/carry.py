"""An opening found in the straightened picture, carried back into the photo with its ±."""

from __future__ import annotations

import math

import numpy as np

from measure.finding.choose import Found
from measure.finding.sides import Sides
from rectify.projection import View, photo_px_from_chart_mm
from rectify.window import Window
from shared.survey import OpeningMeasure, Pick


def box_mm(window: Window, sides: Sides) -> tuple[float, float, float, float]:
    """Left, bottom, right and top on the chart."""
    corners = [[sides.left.at, sides.sill.at], [sides.right.at, sides.top.at]]
    (u0, v0), (u1, v1) = window.chart_mm_from_target_px(corners)
    return float(u0), float(v0), float(u1), float(v1)


def as_opening(
    found: Found, sides: Sides, window: Window, view: View, id_: str
) -> OpeningMeasure | None:
    """Carry an opening back into the photo; None where it cannot be seen there."""
    left, right = sides.left, sides.right
    middle = 0.5 * (left.at + right.at)
    u_middle = 0.5 * math.hypot(left.u_px, right.u_px)
    if found.head == "round":
        radius = 0.25 * (right.at - left.at + sides.sill.at - sides.top.at)
        y = 0.5 * (sides.sill.at + sides.top.at)
        u = max(left.u_px, right.u_px, sides.sill.u_px, sides.top.u_px)
        turn = np.radians([-135.0, -45.0, 45.0, 135.0])
        spots = [(middle + radius * math.cos(t), y + radius * math.sin(t), u) for t in turn]
        heads: list[tuple[float, float, float]] = []
    else:
        rows = [sides.springing, sides.springing, sides.sill, sides.sill]
        columns = [left, right, right, left]
        spots = [
            (column.at, row.at, math.sqrt(0.5 * (column.u_px**2 + row.u_px**2)))
            for column, row in zip(columns, rows, strict=True)
        ]
        heads = []
        if found.head != "flat":
            heads = [(middle, sides.top.at, math.sqrt(0.5 * (u_middle**2 + sides.top.u_px**2)))]
    picks = [_pick(spot, window, view) for spot in [*spots, *heads]]
    sure = [pick for pick in picks if pick is not None]
    if len(sure) < len(picks):
        return None
    return OpeningMeasure(
        id=id_, kind="opening", at=tuple(sure[:4]), head=found.head, head_at=tuple(sure[4:])
    )


def _pick(spot: tuple[float, float, float], window: Window, view: View) -> Pick | None:
    """A pick in the photo of a spot of the picture, with its ± in photo pixels."""
    x, y, u_px = spot
    around = [[x, y], [x + 1.0, y], [x, y + 1.0]]
    with np.errstate(all="ignore"):
        seen = photo_px_from_chart_mm(window.chart_mm_from_target_px(around), view)
    if not np.isfinite(seen).all():
        return None
    across, down = seen[1] - seen[0], seen[2] - seen[0]
    grown = math.sqrt(0.5 * float(across @ across + down @ down))
    u = max(0.05, min(u_px * grown, 100.0))
    return Pick(x=round(float(seen[0, 0]), 2), y=round(float(seen[0, 1]), 2), u_px=round(u, 3))


def is_inside_photo(opening: OpeningMeasure | None, width_px: int, height_px: int) -> bool:
    """Tell whether every pick lies inside the photo."""
    return opening is not None and all(
        0 <= pick.x <= width_px and 0 <= pick.y <= height_px
        for pick in (*opening.at, *opening.head_at)
    )
