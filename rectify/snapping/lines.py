"""Rough straight edges in a patch: where brightness changes, and which lines explain it.

Good to half a pixel and a few degrees; :mod:`rectify.snapping.edges` does the rest.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from rectify.snapping.patch import Array, BoolArray, Patch

# Along a line, edge points further off than this are another edge.
LINE_REACH_PX = 14.0
MOST_LINES = 10
# Strongest first; more are texture, and the work grows with their square.
MOST_POINTS = 220
_FINE_PX, _COARSE_PX = 1.2, 2.0


@dataclass(frozen=True, slots=True)
class EdgePoints:
    """Places where brightness changes fastest across an edge.

    Attributes
    ----------
    points_px : ndarray, shape (N, 2)
        Photo pixels.
    normals : ndarray, shape (N, 2)
        Unit, from dark to light.
    strengths : ndarray, shape (N,)
        Change of brightness for each pixel.
    """

    points_px: Array
    normals: Array
    strengths: Array


@dataclass(frozen=True, slots=True)
class RoughLine:
    """A straight line through edge points.

    Attributes
    ----------
    point_px, direction : ndarray, shape (2,)
        A point on it in photo pixels, and a unit vector along it.
    along_px : ndarray, shape (M,)
        Where its edge points lie, from `point_px` along `direction`.
    strength : float
        Sum of the strengths of its points.
    """

    point_px: Array
    direction: Array
    along_px: Array
    strength: float

    @property
    def normal(self) -> Array:
        """Unit vector a quarter turn from `direction`."""
        return np.array([-self.direction[1], self.direction[0]])


def find_edge_points(patch: Patch, near_px: Array, radius_px: float) -> EdgePoints:
    """Find edge points by the gradient's ridges, to a fraction of a pixel.

    Parameters
    ----------
    patch : Patch
        Surroundings of the click.
    near_px : ndarray, shape (2,)
        The click; its neighbourhood decides how much smoothing the noise needs.
    radius_px : float
        Size of that neighbourhood.
    """
    for width_px in (_FINE_PX, _COARSE_PX):
        gradient_x, gradient_y, size = _gradient(patch.levels, width_px)
        noise = patch.noise / (width_px**2 * np.sqrt(8.0 * np.pi))
        centre = _window(patch, near_px, radius_px)
        if size[centre].max(initial=0.0) > 15.0 * noise:
            break
    # Chance peaks of pure noise stay below 4 deviations in most patches of this size.
    threshold = max(4.0 * noise, 0.08 * float(size[centre].max(initial=0.0)))
    rows, columns = np.nonzero(size[2:-2, 2:-2] > threshold)
    rows, columns = rows + 2, columns + 2
    peak = size[rows, columns]
    normal_x, normal_y = gradient_x[rows, columns] / peak, gradient_y[rows, columns] / peak
    before = _bilinear(size, rows - normal_y, columns - normal_x)
    after = _bilinear(size, rows + normal_y, columns + normal_x)
    ridge = (peak >= before) & (peak > after)
    bend = before - 2.0 * peak + after
    with np.errstate(divide="ignore", invalid="ignore"):
        shift = np.where(bend < 0, 0.5 * (before - after) / bend, 0.0)
    shift = np.clip(shift, -0.7, 0.7)
    points = np.stack(
        [
            columns + 0.5 + patch.left_px + shift * normal_x,
            rows + 0.5 + patch.top_px + shift * normal_y,
        ],
        axis=-1,
    )
    normals = np.stack([normal_x, normal_y], axis=-1)
    order = np.argsort(-peak[ridge], kind="stable")[:MOST_POINTS]
    kept = np.flatnonzero(ridge)[order]
    return EdgePoints(points[kept], normals[kept], peak[kept])


def find_rough_lines(edge_points: EdgePoints, near_px: Array, radius_px: float) -> list[RoughLine]:
    """Explain edge points by straight lines that pass near the click, strongest first.

    Every edge point proposes the line through itself across its gradient; the
    proposal with most support wins, is fitted, takes its points away, and the
    rest go on. Light may change sides along a line, as on a chessboard.
    """
    points, normals, strengths = edge_points.points_px, edge_points.normals, edge_points.strengths
    if len(points) == 0:
        return []
    # One strong edge must not count for more than several points of a fainter one.
    weights = np.sqrt(strengths)
    from_click = points - near_px
    tangents = np.stack([-normals[:, 1], normals[:, 0]], axis=-1)
    across, along = (
        np.abs(axes @ from_click.T - np.sum(axes * from_click, axis=1)[:, np.newaxis])
        for axes in (normals, tangents)
    )
    aligned = np.abs(normals @ normals.T) > np.cos(np.radians(25.0))
    # A single gradient's direction is good to some degrees only.
    inside = aligned & (along < LINE_REACH_PX) & (across < 0.6 + 0.08 * along)
    support_by_point = inside * weights
    misses_px = np.abs(np.sum(from_click * normals, axis=1))
    may_propose = (misses_px < radius_px + 2.0) & (
        np.hypot(*from_click.T) < radius_px + LINE_REACH_PX
    )
    free = np.ones(len(points), dtype=bool)
    lines: list[RoughLine] = []
    for _ in range(MOST_LINES):
        support = support_by_point @ free.astype(float)
        support[~(may_propose & free)] = 0.0
        best = int(np.argmax(support))
        chosen = inside[best] & free
        if support[best] <= 0.0 or np.count_nonzero(chosen) < 4:
            break
        line, taken = _fit_rough_line(points, normals, strengths, chosen, free)
        may_propose[best] = False
        if line is None:
            continue
        free &= ~taken
        lines.append(line)
    return lines


def _fit_rough_line(
    points: Array, normals: Array, strengths: Array, chosen: BoolArray, free: BoolArray
) -> tuple[RoughLine | None, BoolArray]:
    """Fit by weighted orthogonal regression, gather points again, and fit again."""
    for tolerance_px in (1.2, 0.9):
        weights = strengths * chosen
        centre = weights @ points / weights.sum()
        offsets = points - centre
        _, axes = np.linalg.eigh((offsets * weights[:, np.newaxis]).T @ offsets)
        direction = axes[:, 1]
        normal = np.array([-direction[1], direction[0]])
        chosen = (
            free
            & (np.abs(offsets @ normal) < tolerance_px)
            & (np.abs(offsets @ direction) < LINE_REACH_PX)
            & (np.abs(normals @ normal) > np.cos(np.radians(30.0)))
        )
        if np.count_nonzero(chosen) < 4:
            return None, chosen
    along = offsets[chosen] @ direction
    line = RoughLine(centre, direction, along, float(np.sum(strengths[chosen])))
    return line, chosen


def _gradient(levels: Array, width_px: float) -> tuple[Array, Array, Array]:
    smoothed = cv2.GaussianBlur(levels, (0, 0), width_px, borderType=cv2.BORDER_REFLECT_101)
    gradient_y, gradient_x = np.gradient(smoothed)
    return gradient_x, gradient_y, np.hypot(gradient_x, gradient_y)


def _window(patch: Patch, near_px: Array, radius_px: float) -> tuple[slice, slice]:
    column, row = int(near_px[0]) - patch.left_px, int(near_px[1]) - patch.top_px
    reach = int(np.ceil(radius_px))
    return (
        slice(max(row - reach, 2), max(row + reach + 1, 3)),
        slice(max(column - reach, 2), max(column + reach + 1, 3)),
    )


def _bilinear(values: Array, rows: Array, columns: Array) -> Array:
    row, column = rows.astype(int), columns.astype(int)
    down, right = rows - row, columns - column
    upper = values[row, column] * (1 - right) + values[row, column + 1] * right
    lower = values[row + 1, column] * (1 - right) + values[row + 1, column + 1] * right
    result: Array = upper * (1 - down) + lower * down
    return result
