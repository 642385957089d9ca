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
    return find_in_picture(make_picture(front.rgb, None, front.mm_per_px))


def main(count: int = 20) -> None:
    """Search all fronts both ways and print what was found and how long it took."""
    fronts = [make_front(FIRST + i) for i in range(count)]
    ways: dict[str, Callable[[InventedFront], Sequence[Any]]] = {
        "ours": find_ours,
        "OpenCV": find_four_sided,
    }
    print(f"{'':8} {'offered':>9} {'right':>7} {'heads':>7} {'time':>9}   of {len(fronts)} fronts")
    for name, way in ways.items():
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
        if name == "ours":
            keep("openings searched for on a wall", float(np.median(took_s)), "s", 2.0)
            keep("openings offered", 100 * right / there, "%", 80.0, at_least=True)
            keep("offers wrong", 100 * wrong / max(right + wrong, 1), "%", 20.0)
        print(
            f"{name:8} {100 * right / there:7.0f} % {100 * right / max(right + wrong, 1):5.0f} % "
            f"{100 * heads / max(right, 1):5.0f} % {1e3 * np.median(took_s):6.0f} ms"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 20)
