"""Level and upright edges that outdo the wall's own texture, and the upright runs they make.

On either side of an edge stand two boxes, long along it: bricks and joints average out in them,
and a jamb does not. What the differences of boxes are on bare wall is the noise they are
measured by.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from measure.finding.picture import Bools, Floats, WallPicture

#: Depth of the boxes across the edge: as deep as the face of a frame.
DEEP_MM = 42.0

#: Length of the boxes along the edge: two courses.
LONG_MM = 160.0

#: Least noise of lightness and colours: below it lies what JPEG does.
LEAST_NOISE = np.array([0.7, 0.5, 0.5], np.float32)

#: An edge is so many times the noise.
CLEAR = 4.5

#: The shortest jamb, and the gaps that may be bridged in one.
SHORTEST_MM, GAP_MM = 330.0, 170.0

#: Parts of one jamb may stand so far out of line: of its arris, or of the frame.
IN_LINE_MM = 45.0

#: So many runs are looked at, the longest and clearest.
MOST_RUNS = 900


@dataclass(frozen=True, slots=True, eq=False)
class EdgeMaps:
    """Edges of a picture. Index x means the line between columns x - 1 and x; y alike.

    Attributes
    ----------
    upright, level : ndarray of float32, shape (h, w)
        Step over noise at each place.
    on_upright, on_level : ndarray of bool, shape (h, w)
        Where it is clear and greatest among its neighbours across.
    """

    upright: Floats
    level: Floats
    on_upright: Bools
    on_level: Bools


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """Upright runs of edges, each a row of four arrays.

    Attributes
    ----------
    x, top, low : ndarray of int, shape (n,)
    strength : ndarray, shape (n,)
        Mean step over noise.
    """

    x: npt.NDArray[np.int64]
    top: npt.NDArray[np.int64]
    low: npt.NDArray[np.int64]
    strength: npt.NDArray[np.float64]


def find_edges(picture: WallPicture) -> EdgeMaps:
    """Measure the edges of a picture."""
    deep, long_ = picture.px(DEEP_MM, 2), picture.px(LONG_MM, 5) | 1
    upright = _steps(picture, deep, long_)
    turned = WallPicture(
        np.ascontiguousarray(picture.lab.transpose(1, 0, 2)), picture.seen.T, picture.mm_per_px
    )
    level = np.ascontiguousarray(_steps(turned, deep, long_).T)
    wide = 2 * (deep // 2) + 1
    return EdgeMaps(
        upright,
        level,
        (upright >= CLEAR) & (upright >= cv2.dilate(upright, np.ones((1, wide)))),
        (level >= CLEAR) & (level >= cv2.dilate(level, np.ones((wide, 1)))),
    )


def _steps(picture: WallPicture, deep: int, long_: int) -> Floats:
    """Step over noise across upright edges."""
    smooth = cv2.blur(picture.lab, (1, long_))
    kernel = np.concatenate([-np.ones(deep), np.ones(deep)])[None] / deep
    change = cv2.filter2D(smooth, -1, kernel, anchor=(deep, 0), borderType=cv2.BORDER_REPLICATE)
    noise = 1.4826 * np.median(np.abs(change[::3, ::3][picture.seen[::3, ::3]]), axis=0)
    scaled = change / np.maximum(noise, LEAST_NOISE).astype(np.float32)
    step = np.sqrt(np.einsum("ijk,ijk->ij", scaled, scaled)).astype(np.float32)
    # where the picture ends there is no edge of the building
    inside = cv2.erode(picture.seen.astype(np.uint8), np.ones((3, 2 * deep + 1)))
    return np.asarray(step * inside, np.float32)


def upright_runs(picture: WallPicture, edges: EdgeMaps) -> Runs:
    """Join edge places above each other to runs, and runs in line with each other to longer ones.

    Where an arch bends away from its jamb the run ends.
    """
    shortest, gap = picture.px(SHORTEST_MM, 12), picture.px(GAP_MM, 5)
    marks = edges.on_upright.astype(np.uint8)
    joined = cv2.morphologyEx(marks, cv2.MORPH_CLOSE, np.ones((gap, 1), np.uint8))
    _, labels, stats, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
    tall = stats[:, cv2.CC_STAT_HEIGHT] >= shortest
    tall[0] = False
    rows, columns = np.nonzero(edges.on_upright & tall[labels])
    label = labels[rows, columns]
    order = np.argsort(label, kind="stable")
    rows, columns, label = rows[order], columns[order], label[order]
    found: list[tuple[int, int, int, float]] = []
    for start, stop in _stretches(label):
        found += _straight_parts(rows[start:stop], columns[start:stop], edges, shortest, gap)
    found += _in_line(found, picture.px(IN_LINE_MM, 2), gap)
    if not found:
        none = np.zeros(0, int)
        return Runs(none, none, none, np.zeros(0))
    table = np.array(found)
    worth = np.minimum(table[:, 3], 20.0) * np.sqrt(table[:, 2] - table[:, 1])
    x, top, low, strength = table[np.argsort(-worth)[:MOST_RUNS]].T
    return Runs(x.astype(int), top.astype(int), low.astype(int), strength)


def _stretches(label: npt.NDArray[np.integer]) -> list[tuple[int, int]]:
    """Start and stop of each stretch of equal labels."""
    cuts = np.flatnonzero(np.diff(label)) + 1
    ends = [0, *cuts.tolist(), len(label)]
    return [(a, b) for a, b in itertools.pairwise(ends) if b > a]


def _straight_parts(
    rows: npt.NDArray[np.integer],
    columns: npt.NDArray[np.integer],
    edges: EdgeMaps,
    shortest: int,
    gap: int,
) -> list[tuple[int, int, int, float]]:
    """Upright parts of one chain of marks, the longest first, as x, top, low, strength."""
    out: list[tuple[int, int, int, float]] = []
    for _ in range(3):
        if len(rows) < 0.5 * shortest:
            break
        low = int(columns.min())
        count = np.bincount(columns - low, minlength=3)
        near = np.convolve(count, np.ones(3, int), mode="same")
        x = int(np.argmax(near)) + low
        mine = np.abs(columns - x) <= 2
        along = np.sort(rows[mine])
        breaks = [0, *(np.flatnonzero(np.diff(along) > gap) + 1).tolist(), len(along)]
        for a, b in itertools.pairwise(breaks):
            if b <= a:
                continue
            length = int(along[b - 1] - along[a]) + 1
            if length >= shortest and b - a >= 0.5 * length:
                steps = edges.upright[along[a:b], x]
                out.append((x, int(along[a]), int(along[b - 1]) + 1, float(np.mean(steps))))
        rows, columns = rows[~mine], columns[~mine]
    return out


def _in_line(
    found: list[tuple[int, int, int, float]], aside: int, gap: int
) -> list[tuple[int, int, int, float]]:
    """Longer runs made of two that stand one above the other."""
    table = np.array(found) if found else np.zeros((0, 4))
    near = np.abs(table[:, None, 0] - table[None, :, 0]) <= aside
    step = table[None, :, 1] - table[:, None, 2]  # from the foot of one to the head of the next
    upper, lower = np.nonzero(near & (step > -aside) & (step <= gap))
    return [
        (
            found[max((a, b), key=lambda i: found[i][2] - found[i][1])][0],
            found[a][1],
            found[b][2],
            0.5 * (found[a][3] + found[b][3]),
        )
        for a, b in zip(upper.tolist(), lower.tolist(), strict=True)
        if found[b][2] > found[a][2] and found[a][1] < found[b][1]
    ]
