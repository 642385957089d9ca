"""Which head closes a candidate, and where it springs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
import numpy.typing as npt

from measure.finding.edges import LEAST_NOISE
from measure.finding.picture import WallPicture

Array = npt.NDArray[np.float64]
HeadKind = Literal["flat", "semicircular", "segmental", "pointed", "round"]

#: Shapes tried: kind, and rise as part of the width.
SHAPES: tuple[tuple[HeadKind, float], ...] = (
    ("flat", 0.0),
    ("segmental", 0.07),
    ("segmental", 0.10),
    ("segmental", 0.14),
    ("segmental", 0.19),
    ("segmental", 0.25),
    ("segmental", 0.32),
    ("semicircular", 0.5),
    ("pointed", 0.7),
    ("pointed", 0.866),
    ("pointed", 1.0),
)

#: Points looked at along a head, clear of its ends.
POINTS = 15

#: A head's springing is looked for so far above and below where the jambs seem to end: the foot
#: of a steep arch passes for jamb.
ABOVE_MM, BELOW_MM = 200.0, 420.0

#: Steps in which it is looked for.
STEP_PX = 3

#: Step over noise of small gradients that counts as edge.
SEEN = 3.2

#: A curved head must show this much better than a flat one.
CURVED_BY = 0.13

#: Half circles are commoner than arches nearly as high.
HALF_ROUND_BY = 0.06

#: A head is placed finely where this much of it shows roughly.
HOPEFUL = 0.45

#: A curve that shows so well is no chance.
WELL_SHOWN = 0.7


@dataclass(frozen=True, slots=True, eq=False)
class Heads:
    """Heads of n candidates.

    Attributes
    ----------
    shape : ndarray of int, shape (n,)
        Index into `SHAPES`.
    springing : ndarray, shape (n,)
        Row at which the head springs.
    shown : ndarray, shape (n,)
        Part of the head that shows as an edge.
    """

    shape: npt.NDArray[np.int64]
    springing: Array
    shown: Array

    def joined(self, other: Heads) -> Heads:
        """These and others."""
        return Heads(
            np.concatenate([self.shape, other.shape]),
            np.concatenate([self.springing, other.springing]),
            np.concatenate([self.shown, other.shown]),
        )


class FineEdges:
    """Edges of any direction, at the finest grain."""

    def __init__(self, picture: WallPicture) -> None:
        smooth = cv2.GaussianBlur(picture.lab, (0, 0), 1.3)
        # from pixel centres on either side to the pixel between
        self._dx = cv2.filter2D(smooth, -1, np.array([[-0.5, 0.0, 0.5]]))
        self._dy = cv2.filter2D(smooth, -1, np.array([[-0.5], [0.0], [0.5]]))
        noise = []
        for d in (self._dx, self._dy):
            noise.append(1.4826 * np.median(np.abs(d[::3, ::3][picture.seen[::3, ::3]]), axis=0))
        scale = np.maximum(np.max(noise, axis=0), 0.3 * LEAST_NOISE).astype(np.float32)
        self._height, self._width = picture.shape
        self._dx = np.ascontiguousarray(self._dx / scale).reshape(-1, 3)
        self._dy = np.ascontiguousarray(self._dy / scale).reshape(-1, 3)

    def across(self, points: Array, normals: Array) -> Array:
        """Step over noise across lines through points (lines between pixels), shape (...)."""
        x = np.clip(points[..., 0], 0, self._width - 1).astype(np.int32)
        y = np.clip(points[..., 1], 0, self._height - 1).astype(np.int32)
        at = y * np.int32(self._width) + x
        normal = normals.astype(np.float32)
        step = np.take(self._dx, at, axis=0) * normal[..., :1]
        step += np.take(self._dy, at, axis=0) * normal[..., 1:]
        return np.asarray(np.sqrt(np.einsum("...c,...c->...", step, step)))

    def shown(self, points: Array, normals: Array) -> Array:
        """Part of the points of each line (last but one axis) that show an edge, within 1 px."""
        best = np.max(
            [self.across(points + shift * normals, normals) for shift in (-1.0, 0.0, 1.0)], axis=0
        )
        return np.asarray((best > SEEN).mean(axis=-1))

    def follows(self, points: Array, normals: Array) -> Array:
        """Part of the points at which the edge lies on the line itself, not a little beside it."""
        steps = np.stack(
            [self.across(points + shift * normals, normals) for shift in np.arange(-6.0, 6.5, 1.5)]
        )
        on = np.max(steps[3:6], axis=0)
        return np.asarray(((on > SEEN) & (on >= 0.9 * np.max(steps, axis=0))).mean(axis=-1))


def head_points(kind: HeadKind, rise: float) -> tuple[Array, Array]:
    """Points and outward normals of a head over a width of 1, springing at height 0.

    Height counts down, as rows do. Each of shape (POINTS, 2).
    """
    at = np.linspace(0.06, 0.94, POINTS)
    if kind == "flat" or rise <= 0.0:
        points = np.column_stack([at, np.zeros(POINTS)])
        return points, np.tile([0.0, -1.0], (POINTS, 1))
    if kind == "pointed":
        radius = (0.25 + rise**2) / 1.0
        reach = np.arctan2(rise, radius - 0.5)
        turn = np.concatenate([np.linspace(0.08, 0.95, POINTS // 2 + 1) * reach] * 2)[:POINTS]
        right = np.arange(POINTS) > POINTS // 2
        normals = np.column_stack([np.cos(turn), -np.sin(turn)])
        points = np.column_stack([1.0 - radius, 0.0]) + radius * normals
        points[~right, 0] = 1.0 - points[~right, 0]
        normals[~right, 0] *= -1.0
        return points, normals
    radius = (0.25 + rise**2) / (2.0 * rise)
    reach = np.arcsin(min(1.0, 0.5 / radius))
    turn = np.linspace(-0.92, 0.92, POINTS) * reach
    normals = np.column_stack([np.sin(turn), -np.cos(turn)])
    return np.array([0.5, radius - rise]) + radius * normals, normals


def find_heads(picture: WallPicture, fine: FineEdges, boxes: Array) -> Heads:
    """Choose the head of each candidate.

    Parameters
    ----------
    picture : WallPicture
    fine : FineEdges
    boxes : ndarray, shape (n, 4)
        Left, top, right, bottom; the top is where the jambs seem to end.
    """
    shifts = np.arange(-picture.px(ABOVE_MM, 6), picture.px(BELOW_MM, 9) + 1.0, STEP_PX)
    left, top, right, low = boxes.T
    wide = right - left
    shown = np.zeros((len(boxes), len(SHAPES)))
    follows = np.zeros((len(boxes), len(SHAPES)))
    springs = np.repeat(top[:, None], len(SHAPES), axis=1).astype(float)
    for i, (kind, rise) in enumerate(SHAPES):
        line = _Line(kind, rise, left, wide)
        tried = np.array([0.0]) if kind == "flat" else shifts
        spring = top[:, None] + tried
        found = line.measure(fine.shown, spring)
        # the jambs must reach up to the spring, and something be left of them
        found = np.where(spring > low[:, None] - 0.25 * wide[:, None], 0.0, found)
        found = np.where(spring - rise * wide[:, None] < 1.0, 0.0, found)
        found = found - 0.0004 * np.abs(tried)
        hopeful = np.flatnonzero(found.max(axis=1) > HOPEFUL)
        if not len(hopeful):
            continue
        line = _Line(kind, rise, left[hopeful], wide[hopeful])
        coarse = spring[hopeful, np.argmax(found[hopeful], axis=1)]
        spring = coarse[:, None] + np.array([0.0, -1.5, 1.5])
        finely = line.measure(fine.follows, spring)
        rows, at = np.arange(len(hopeful)), np.argmax(finely, axis=1)
        follows[hopeful, i] = finely[rows, at]
        shown[hopeful, i] = found[hopeful].max(axis=1)
        springs[hopeful, i] = spring[rows, at]
    # a transom or the foot of a fanlight is flat and shows as well as the arch above it
    rises = np.array([rise for _, rise in SHAPES])
    above = (springs[:, :1] - (springs - rises * wide[:, None])) / wide[:, None]
    ranked = 0.2 * shown + 0.8 * follows
    ranked += np.where(ranked >= WELL_SHOWN, 0.6 * np.clip(above - 0.1, 0.0, 0.35), 0.0)
    ranked[:, 0] += CURVED_BY
    ranked[:, [kind == "semicircular" for kind, _ in SHAPES]] += HALF_ROUND_BY
    shape = np.argmax(ranked, axis=1)
    rows = np.arange(len(boxes))
    both = 0.5 * (shown[rows, shape] + follows[rows, shape])
    return Heads(shape, springs[rows, shape], both)


class _Line:
    """A head over each of n openings, to be laid at any height."""

    def __init__(self, kind: HeadKind, rise: float, left: Array, wide: Array) -> None:
        unit, self._normals = head_points(kind, rise)
        self._points = unit[None, None] * wide[:, None, None, None]
        self._left = left

    def measure(self, by: Callable[[Array, Array], Array], spring: Array) -> Array:
        """Measure the heads where they spring at some rows each, shape (n, k)."""
        base = np.stack([np.broadcast_to(self._left[:, None], spring.shape), spring], axis=-1)
        points = self._points + base[:, :, None]
        return by(points, np.broadcast_to(self._normals, points.shape))
