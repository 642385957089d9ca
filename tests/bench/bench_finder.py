"""What a search for openings costs and finds, on fronts it was not set up on.

Run with ``python -m tests.bench.bench_finder [fronts]``: prints, asserts nothing. Beside it
OpenCV's own search for rectangles is what most would start from: edges, outlines, four-sided
ones (``cv2.Canny``, ``cv2.findContours``, ``cv2.approxPolyDP``) on the same picture. Promise:
2 s for a photo's wall; four in five openings offered, one offer in five wrong at most.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from measure.finding.picture import make_picture
from measure.opening_finder import find_in_picture
from tests.bench.promises import keep
from tests.support.front_matches import match_front
from tests.support.invented_fronts import InventedFront, make_front
from tests.support.seen_fronts import make_seen_front
from tests.support.street_fronts import make_street_front, picked_core

FIRST = 300


@dataclass(frozen=True)
class Box:
    """A four-sided outline."""

    left: float
    right: float
    sill: float
    top: float
    head: str = "flat"


def find_four_sided(front: InventedFront) -> list[Box]:
    """Four-sided outlines of the size of openings, by OpenCV alone."""
    grey = cv2.GaussianBlur(cv2.cvtColor(front.rgb, cv2.COLOR_RGB2GRAY), (5, 5), 0)
    edges = cv2.dilate(cv2.Canny(grey, 40, 120), np.ones((3, 3), np.uint8))
    outlines, _ = cv2.findContours(edges, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)
    out = []
    for one in outlines:
        four = cv2.approxPolyDP(one, 0.04 * cv2.arcLength(one, True), True)
        x, y, wide, high = cv2.boundingRect(four)
        if len(four) == 4 and 40 < wide * front.mm_per_px / 10 < 420 and high > 0.4 * wide:
            out.append(Box(x, x + wide, y + high, y))
    return out


def find_ours(front: InventedFront) -> Sequence[Any]:
    """Openings as the program proposes them."""
    picture = make_picture(front.rgb, None, front.mm_per_px)
    return find_in_picture(picture, core=picked_core(front))


def main(count: int = 20) -> None:
    """Search fronts of every kind both ways and print what was found and how long it took."""
    kinds = {"plain": make_front, "street": make_street_front, "seen": make_seen_front}
    ways: dict[str, Callable[[InventedFront], Sequence[Any]]] = {
        "ours": find_ours,
        "OpenCV": find_four_sided,
    }
    print(f"{'':16} {'offered':>7} {'right':>7} {'heads':>7} {'time':>9}   of {count} fronts each")
    for kind, make in kinds.items():
        fronts = [make(FIRST + i) for i in range(count)]
        for name, way in ways.items():
            _search(f"{kind}, {name}", kind, fronts, way)


def _search(
    row: str,
    kind: str,
    fronts: Sequence[InventedFront],
    way: Callable[[InventedFront], Sequence[Any]],
) -> None:
    there = right = wrong = heads = 0
    took_s = []
    for front in fronts:
        begun = time.process_time()
        found = way(front)
        took_s.append(time.process_time() - begun)
        matched = match_front(front, found)
        there += matched.there
        right += matched.right
        wrong += matched.wrong
        heads += sum(found[i].head == true.head for i, true in matched.pairs)
    if way is find_ours:
        where = f"on {kind} fronts"
        keep(f"openings searched for, {where}", float(np.median(took_s)), "s", 2.0)
        keep(f"openings offered, {where}", 100 * right / there, "%", 80.0, at_least=True)
        keep(f"offers wrong, {where}", 100 * wrong / max(right + wrong, 1), "%", 20.0)
    print(
        f"{row:16} {100 * right / there:5.0f} % {100 * right / max(right + wrong, 1):5.0f} % "
        f"{100 * heads / max(right, 1):5.0f} % {1e3 * np.median(took_s):6.0f} ms"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 20)
