"""Which of the openings found on an invented front are there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tests.support.invented_fronts import InventedFront, TrueOpening

#: Shared area over that of both together from which an offer is right.
RIGHT = 0.7


@dataclass(frozen=True)
class Matched:
    """Openings there are (hidden ones not counted), offers that are right and wrong, and pairs."""

    there: int
    right: int
    wrong: int
    pairs: tuple[tuple[int, TrueOpening], ...]


def overlap(one: Sequence[float], other: Sequence[float]) -> float:
    """Shared area over that of both together."""
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    if wide <= 0 or high <= 0:
        return 0.0
    areas = [(b[2] - b[0]) * (b[3] - b[1]) for b in (one, other)]
    return wide * high / (sum(areas) - wide * high)


def match_front(front: InventedFront, found: Sequence[Any]) -> Matched:
    """Match what was found, in pixels, to what is there; each opening counts once."""
    mm, high = front.mm_per_px, front.rgb.shape[0]
    left = list(front.openings)
    pairs: list[tuple[int, TrueOpening]] = []
    wrong = 0
    for i, one in enumerate(found):
        box = (one.left * mm, (high - one.sill) * mm, one.right * mm, (high - one.top) * mm)
        best = max(left, key=lambda true: overlap(box, true.box), default=None)
        if best is None or overlap(box, best.box) <= RIGHT:
            wrong += 1
            continue
        left.remove(best)
        pairs.append((i, best))
    seen = [pair for pair in pairs if not pair[1].hidden]
    there = sum(not one.hidden for one in front.openings)
    return Matched(there, len(seen), wrong, tuple(seen))
