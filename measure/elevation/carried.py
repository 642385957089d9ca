"""Where things of a facade went when it was fitted to its plot.

Openings and the ends of the wall say it; what stands between two of them keeps its share of
the way from one to the other. Details are carried along, so that a pipe between two windows
stands between them still.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from measure.elevation.facade import Facade, MapLength
from shared.survey_details import Detail, RainwaterPipeDetail


def place_maps(before: Facade, after: Facade) -> tuple[MapLength, MapLength]:
    """Maps of places along the wall and up it, from one facade to another.

    Parameters
    ----------
    before, after : Facade
        Openings of the same id are the same opening.

    Returns
    -------
    along, up : callable
        Beyond the ends of the wall places go as far as the end went.
    """
    if before is after:
        return _same, _same
    old, new = before.wall_box, after.wall_box
    along = [(old.left_mm, new.left_mm), (old.right_mm, new.right_mm)]
    up = [(old.bottom_mm, new.bottom_mm), (old.top_mm, new.top_mm)]
    for each in before.openings:
        other = after.opening(each.id)
        if other is not None:
            along += [(each.left_mm, other.left_mm), (each.right_mm, other.right_mm)]
            up += [(each.sill_mm, other.sill_mm), (each.head_mm, other.head_mm)]
    return _through(along), _through(up)


def _same(at_mm: float) -> float:
    return at_mm


def _through(pairs: list[tuple[float, float]]) -> MapLength:
    """Straight between the pairs, shifted beyond them."""
    found = dict(sorted(pairs))
    xs, ys = np.array(list(found)), np.array(list(found.values()))

    def mapped(at_mm: float) -> float:
        if at_mm <= xs[0]:
            return at_mm + float(ys[0] - xs[0])
        if at_mm >= xs[-1]:
            return at_mm + float(ys[-1] - xs[-1])
        return float(np.interp(at_mm, xs, ys))

    return mapped


def carried_details(details: Iterable[Detail], along: MapLength, up: MapLength) -> list[Detail]:
    """Details with their places given in millimetres carried along; names and sizes stay.

    Picks are carried where they are laid on the drawing.
    """
    made: list[Detail] = []
    for detail in details:
        changes: dict[str, Any] = {}
        for name in ("foot", "head"):
            level = getattr(detail, name, None)
            if isinstance(level, float):
                changes[name] = up(level)
        if isinstance(detail, RainwaterPipeDetail) and detail.at_mm is not None:
            changes["at_mm"] = along(detail.at_mm)
        made.append(detail.model_copy(update=changes))
    return made
