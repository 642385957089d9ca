"""What lies within a rectangle, beside it, and beyond its corners: evidence for an opening.

Two kinds. Against the wall as a whole: how like its tone the inside and the sides are. And on the
spot, which holds on walls of several materials and in patches of light too: the same wall lies to
the left and the right of an opening, what is within differs from it, and the edges of an opening
end at its corners, where those of pipes, pilasters and panels run on.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from measure.finding.edges import EdgeMaps
from measure.finding.picture import BoxMeans, Floats, WallPicture

Array = npt.NDArray[np.float64]

#: Strips beside an opening: right beside it, and behind a dressing.
NEAR_MM, BEHIND_MM = (60.0, 160.0), (260.0, 380.0)

#: Behind a shutter standing open, half as wide as its opening.
BEHIND_SHUTTER_MM = (90.0, 190.0)

#: An edge that runs on does so over this much beyond a corner; it may start so far from it.
RUNS_ON_MM, CORNER_MM = 420.0, 70.0

#: Edges lie so far to either side of where a side is thought to be.
ASIDE_MM = 30.0

#: Depth of the strips right within the sides; more than such a step over noise says no more.
RIM_MM, MOST_STEP = 55.0, 40.0


@dataclass(frozen=True, slots=True, eq=False)
class Around:
    """Evidence for n rectangles; each an array of shape (n,).

    Attributes
    ----------
    inside : ndarray
        How unlike wall the strip within is that is most like it.
    beside : ndarray
        How like wall it is to either side; the weaker side.
    uneven : ndarray
        By how much what lies right beside it differs between the sides: 1 with wall on one and
        a shutter on the other.
    unalike : ndarray
        How far apart the colours to its left and right are, in units of CIE L*a*b*.
    apart : ndarray
        How far the colour within is from that beside it, of the strip that is nearest; the same.
    runs_on : ndarray
        Part of its edges that run on beyond its corners, 0 to 1; the mean of the two worst of four.
    near : ndarray
        How like wall it is right beside it; the weaker side.
    rim : ndarray
        How like wall it is right within its sides and its sill; the most wall-like of them.
    step : ndarray
        Logarithm of the step across the weaker jamb, over the noise.
    """

    inside: Array
    beside: Array
    uneven: Array
    unalike: Array
    apart: Array
    runs_on: Array
    near: Array
    rim: Array
    step: Array


class Surroundings:
    """Looks around rectangles in one picture."""

    def __init__(self, picture: WallPicture, edges: EdgeMaps, like_wall: Floats) -> None:
        self._px = picture.px
        self._wall = BoxMeans(like_wall)
        self._colours = [BoxMeans(picture.lab[..., c]) for c in range(3)]
        aside = picture.px(ASIDE_MM, 1)
        self._upright = BoxMeans(thick(edges.on_upright.T, aside).T)
        self._level = BoxMeans(thick(edges.on_level, aside))
        self._step = BoxMeans(cv2.dilate(np.minimum(edges.upright, MOST_STEP), np.ones((1, 3))))

    def inside(self, box: Array) -> Array:
        """How unlike wall the most wall-like strip within is; shape (n,)."""
        likeness = [self._wall(*strip) for strip in _strips_within(box)]
        return np.asarray(1.0 - np.nan_to_num(np.max(likeness, axis=0), nan=1.0))

    def beside(self, box: Array) -> tuple[Array, Array]:
        """How like wall the weaker side is, and how uneven the sides are right beside it."""
        lefts, rights = [], []
        for on_left, on_right in self._strips_beside(box):
            lefts.append(np.nan_to_num(self._wall(*on_left)))
            rights.append(np.nan_to_num(self._wall(*on_right)))
        weaker = np.minimum(np.max(lefts, axis=0), np.max(rights, axis=0))
        return np.asarray(weaker), np.abs(lefts[0] - rights[0])

    def look(self, box: Array) -> Around:
        """Look around each box; left, top, right, bottom in a row."""
        weaker, uneven = self.beside(box)
        unalike, apart = self._on_the_spot(box)
        near, rim, step = self._at_the_edges(box)
        runs_on = self._runs_on(box)
        return Around(self.inside(box), weaker, uneven, unalike, apart, runs_on, near, rim, step)

    def _at_the_edges(self, box: Array) -> tuple[Array, Array, Array]:
        left, top, right, low = box.T
        dy, deep, gap = 0.1 * (low - top), self._px(RIM_MM, 3), 1
        on_left, on_right = self._strips_beside(box)[0]
        near = np.minimum(self._wall(*on_left), self._wall(*on_right))
        rim = [
            self._wall(left + gap, top + dy, left + gap + deep, low - dy),
            self._wall(right - gap - deep, top + dy, right - gap, low - dy),
            self._wall(left + deep, low - gap - deep, right - deep, low - gap),
        ]
        step = np.minimum(
            self._step(left, top, left + 1, low), self._step(right, top, right + 1, low)
        )
        return (
            np.nan_to_num(near),
            np.nan_to_num(np.max(rim, axis=0), nan=1.0),
            np.log(np.maximum(np.nan_to_num(step), 1.0)),
        )

    def _colour(self, strip: tuple[Array, ...]) -> Array:
        return np.stack([np.nan_to_num(mean(*strip), nan=1e3) for mean in self._colours], axis=-1)

    def _strips_beside(self, box: Array) -> list[tuple[tuple[Array, ...], tuple[Array, ...]]]:
        left, top, right, low = box.T
        dy, half, px = 0.1 * (low - top), 0.5 * (right - left), self._px
        out: list[tuple[tuple[Array, ...], tuple[Array, ...]]] = []
        for near, far in (
            (px(NEAR_MM[0], 4) + 0 * half, px(NEAR_MM[1], 9) + 0 * half),
            (px(BEHIND_MM[0]) + 0 * half, px(BEHIND_MM[1]) + 0 * half),
            (half + px(BEHIND_SHUTTER_MM[0]), half + px(BEHIND_SHUTTER_MM[1])),
        ):
            on_left = (left - far, top + dy, left - near, low - dy)
            on_right = (right + near, top + dy, right + far, low - dy)
            out.append((on_left, on_right))
        return out

    def _on_the_spot(self, box: Array) -> tuple[Array, Array]:
        unalike = np.full(len(box), np.inf)
        apart = np.zeros(len(box))
        within = [self._colour(strip) for strip in _strips_within(box)]
        for on_left, on_right in self._strips_beside(box):
            one, other = self._colour(on_left), self._colour(on_right)
            gap = np.linalg.norm(one - other, axis=-1)
            nearest = np.min(
                [
                    np.minimum(
                        np.linalg.norm(mean - one, axis=-1), np.linalg.norm(mean - other, axis=-1)
                    )
                    for mean in within
                ],
                axis=0,
            )
            better = gap < unalike - 1.0
            unalike, apart = np.where(better, gap, unalike), np.where(better, nearest, apart)
        return unalike, apart

    def _runs_on(self, box: Array) -> Array:
        left, top, right, low = box.T
        start, stop = self._px(CORNER_MM, 4), self._px(RUNS_ON_MM, 14)
        on = [
            np.maximum(
                self._upright(x, low + start, x + 1, low + stop),
                self._upright(x, top - stop, x + 1, top - start),
            )
            for x in (left, right)
        ]
        on += [
            np.maximum(
                self._level(left - stop, y, left - start, y + 1),
                self._level(right + start, y, right + stop, y + 1),
            )
            for y in (top, low)
        ]
        return np.asarray(np.sort(np.nan_to_num(on), axis=0)[2:].mean(axis=0))


def _strips_within(box: Array) -> list[tuple[Array, ...]]:
    """Four upright and three level strips, away from the edges."""
    left, top, right, low = box.T
    x0, y0 = left + 0.08 * (right - left), top + 0.08 * (low - top)
    wide, high = 0.84 * (right - left), 0.84 * (low - top)
    strips = [(x0 + i / 4 * wide, y0, x0 + (i + 1) / 4 * wide, y0 + high) for i in range(4)]
    return strips + [(x0, y0 + i / 3 * high, x0 + wide, y0 + (i + 1) / 3 * high) for i in range(3)]


def thick(marks: npt.NDArray[np.bool_], by: int) -> npt.NDArray[np.bool_]:
    """Marks made thicker up and down."""
    out = marks.copy()
    for shift in range(1, by + 1):
        out[shift:] |= marks[:-shift]
        out[:-shift] |= marks[shift:]
    return out
