"""A rough click -> the corner or edge it meant, with its own ±.

A corner is where two fitted edges cross: of an outline (L), of an edge that
ends on another (T), or of four fields (X, as on a chessboard). The edges are
fitted away from the corner, where blur does not round them. Of several corners
near the click the nearest clear one is taken: a painted frame has one on its
outside and one on its inside, and the click says which is meant.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.typing import ArrayLike

from rectify.snapping.edges import Edge, fit_edge
from rectify.snapping.lines import RoughLine, find_edge_points, find_rough_lines
from rectify.snapping.patch import Array, Patch, make_patch
from rectify.snapping.profiles import STATION_REACH_PX
from shared.errors import DegenerateError

# Along an edge nothing but the click says where the pick is.
CLICK_U_PX = 3.0
# Edges crossing more acutely fix the corner badly along themselves.
LEAST_CROSSING_RAD = np.radians(35.0)
# Step over noise, averaged along the edge: below it chance imitates edges.
LEAST_SIGNAL = 10.0
# A snap must beat a careful hand; round and ragged things that pass for edges do not.
LARGEST_U_PX = 0.8
# A click is seldom further off than this; a clearer corner further out must be much clearer.
_CLICK_SPREAD_PX = 4.0
# A corner is what is mostly meant, unless it is some 7 px off and an edge lies under the click.
_CORNER_BONUS = 1.6
_MOST_CORNERS_TRIED = 3


@dataclass(frozen=True, slots=True, eq=False)
class Snap:
    """Where a click was drawn to.

    Attributes
    ----------
    point_photo_px : ndarray, shape (2,)
        Photo pixels; (0.5, 0.5) is the centre of the first pixel.
    cov_px : ndarray, shape (2, 2)
        Covariance in px². Of an edge it is drawn out along the edge.
    u_px : float
        One standard uncertainty for both directions: root of the mean variance.
    kind : str
        "corner" or "edge".
    quality : float
        0 to 1: how clear the weaker edge is, ``s / (s + 30)`` for a step of s
        times its noise, less where edges are short or do not fit together.
    """

    point_photo_px: Array
    cov_px: Array
    u_px: float
    kind: str
    quality: float

    @property
    def u_across_px(self) -> float:
        """Standard uncertainty in the direction known best; across, for an edge."""
        return float(np.sqrt(np.linalg.eigvalsh(self.cov_px)[0]))


def snap_corner(
    photo: npt.NDArray[np.uint8], point_photo_px: ArrayLike, radius_px: float = 8.0
) -> Snap:
    """Draw a rough click to the corner, or else the edge, that it meant.

    Parameters
    ----------
    photo : ndarray of uint8, shape (H, W) or (H, W, 3)
        Grey or RGB, upright.
    point_photo_px : array_like, shape (2,)
        The click in photo pixels.
    radius_px : float
        How far off the corner may be, 2 to 30.

    Returns
    -------
    Snap
        A corner if one is near; else the point of the nearest edge beside the
        click, whose place along the edge is as uncertain as the click.

    Raises
    ------
    DegenerateError
        If there is no clear edge within the radius, if it cannot be placed
        better than by hand, or if the click is outside the photo.
    ValueError
        If shapes are wrong or the radius is out of range.
    """
    pixels = np.asarray(photo)
    click = np.asarray(point_photo_px, dtype=float)
    if pixels.dtype != np.uint8 or not (
        pixels.ndim == 2 or (pixels.ndim == 3 and pixels.shape[2] == 3)
    ):
        raise ValueError(
            f"photo: must be uint8 of shape (H, W) or (H, W, 3), got {pixels.dtype} {pixels.shape}"
        )
    if click.shape != (2,) or not np.all(np.isfinite(click)):
        raise ValueError(f"point_photo_px: must be two finite numbers, got {point_photo_px!r}")
    if not 2.0 <= radius_px <= 30.0:
        raise ValueError(f"radius_px: must be 2 to 30, got {radius_px!r}")
    patch = make_patch(pixels, click, int(np.ceil(radius_px)) + STATION_REACH_PX)
    edge_points = find_edge_points(patch, click, radius_px)
    lines = find_rough_lines(edge_points, click, radius_px)
    snap = _best_corner(patch, lines, click, radius_px)
    if snap is None or _rank(snap, click) + _CORNER_BONUS < 0.0:
        edge = _best_edge(patch, lines, click, radius_px)
        if snap is None or (
            edge is not None and _rank(edge, click) > _rank(snap, click) + _CORNER_BONUS
        ):
            snap = edge
    if snap is None:
        raise DegenerateError(
            f"There is no clear corner or edge within {radius_px:g} px of "
            f"({click[0]:.1f}, {click[1]:.1f}): pick closer to one, or place the pick by hand."
        )
    return snap


def _rank(snap: Snap, click: Array) -> float:
    """How likely it is that a click meant this, as a logarithm; at most 0."""
    distance2 = float(np.sum((snap.point_photo_px - click) ** 2))
    return float(np.log(snap.quality)) - 0.5 * distance2 / _CLICK_SPREAD_PX**2


def _best_corner(
    patch: Patch, lines: list[RoughLine], click: Array, radius_px: float
) -> Snap | None:
    candidates = []
    for i, first in enumerate(lines):
        for second in lines[:i]:
            corner = _cross(first.point_px, first.direction, second.point_px, second.direction)
            if corner is None or np.hypot(*(corner - click)) > radius_px + 1.0:
                continue
            reach = [
                np.sort(np.abs((corner - line.point_px) @ line.direction - line.along_px))
                for line in (first, second)
            ]
            # Each must come near the corner and go on from there.
            if any(gaps[0] > 7.0 or np.count_nonzero(gaps < 12.0) < 4 for gaps in reach):
                continue
            strength = min(line.strength for line in (first, second))
            rank = np.log(strength) - 0.5 * np.sum((corner - click) ** 2) / _CLICK_SPREAD_PX**2
            candidates.append((float(rank), corner, first, second))
    candidates.sort(key=lambda candidate: -candidate[0])
    best: Snap | None = None
    best_rank = -np.inf
    tried: list[Array] = []
    for _, corner, first, second in candidates:
        # Rough lines split by a change of light lead to the same corner again.
        if len(tried) == _MOST_CORNERS_TRIED or any(
            np.hypot(*(corner - other)) < 1.2 for other in tried
        ):
            continue
        nearest = max(float(np.hypot(*(corner - click))) - 1.0, 0.0)
        if best_rank > -0.5 * nearest**2 / _CLICK_SPREAD_PX**2:
            continue
        snap = _fit_corner(patch, corner, first, second)
        tried.append(corner)
        if snap is None:
            continue
        rank = _rank(snap, click)
        if np.hypot(*(snap.point_photo_px - click)) <= radius_px and rank > best_rank:
            best, best_rank = snap, rank
    return best


def _fit_corner(patch: Patch, corner: Array, first: RoughLine, second: RoughLine) -> Snap | None:
    """Fit both edges, each without looking near the other, until the corner rests."""
    directions = (first.direction, second.direction)
    widths: tuple[float | None, float | None] = (None, None)
    edges: tuple[Edge, Edge] | None = None
    for round_number in range(3):
        edge = fit_edge(patch, corner, directions[0], directions[1], widths[0])
        if edge is None:
            return None
        other = fit_edge(patch, corner, directions[1], directions[0], widths[1])
        if other is None:
            return None
        moved = _cross(edge.point_px, edge.direction, other.point_px, other.direction)
        if moved is None:
            return None
        edges = edge, other
        shift = float(np.hypot(*(moved - corner)))
        corner = moved
        directions = edge.direction, other.direction
        widths = edge.width_px, other.width_px
        if shift < (0.1 if round_number == 0 else 0.3):
            break
        if shift > 4.0:
            return None
    if edges is None or min(edge.signal for edge in edges) < LEAST_SIGNAL:
        return None
    inverse = np.linalg.inv(np.stack([edge.normal for edge in edges]))
    variances_px2 = np.array([edge.var_offset_px2 for edge in edges])
    cov_px = (inverse * variances_px2) @ inverse.T
    if np.linalg.eigvalsh(cov_px)[1] > LARGEST_U_PX**2:
        return None
    quality = min(_clearness(edge) for edge in edges)
    if not _sides_agree(*edges):
        quality *= 0.1
    # An edge that stops short of the corner belongs to another one.
    quality *= float(np.exp(-sum(max(edge.gap_px - 1.0, 0.0) for edge in edges)))
    return _make_snap(corner, cov_px, "corner", quality)


def _sides_agree(first: Edge, second: Edge) -> bool:
    """Whether two edges that both end at the corner bound one and the same field.

    The light side of each must be towards the other's run, or away from it, for
    both alike; otherwise one belongs to the inside of a frame and one to its
    outside. Edges that run on through the corner may differ.
    """
    if all(first.steps) or all(second.steps):
        return True
    runs, lights = [], []
    for edge in (first, second):
        ahead = edge.steps[1] != 0.0
        runs.append(edge.direction if ahead else -edge.direction)
        lights.append(edge.normal * np.sign(edge.steps[1] if ahead else edge.steps[0]))
    return bool((lights[0] @ runs[1] > 0) == (lights[1] @ runs[0] > 0))


def _best_edge(patch: Patch, lines: list[RoughLine], click: Array, radius_px: float) -> Snap | None:
    best: Snap | None = None
    best_rank = -np.inf
    for line in lines[:6]:
        foot = line.point_px + ((click - line.point_px) @ line.direction) * line.direction
        if np.hypot(*(foot - click)) > radius_px:
            continue
        edge: Edge | None = None
        direction, width_px = line.direction, None
        for _ in range(2):
            edge = fit_edge(patch, foot, direction, None, width_px)
            if edge is None:
                break
            direction, width_px = edge.direction, edge.width_px
            foot = edge.point_px + ((click - edge.point_px) @ direction) * direction
        if edge is None or edge.signal < LEAST_SIGNAL:
            continue
        if edge.var_offset_px2 > LARGEST_U_PX**2:
            continue
        along, across = edge.direction, edge.normal
        cov_px = edge.var_offset_px2 * np.outer(across, across)
        cov_px += CLICK_U_PX**2 * np.outer(along, along)
        snap = _make_snap(foot, cov_px, "edge", _clearness(edge))
        rank = _rank(snap, click)
        if np.hypot(*(foot - click)) <= radius_px and rank > best_rank:
            best, best_rank = snap, rank
    return best


def _clearness(edge: Edge) -> float:
    return edge.signal / (edge.signal + 30.0) * min(1.0, edge.station_count / 8.0)


def _make_snap(point: Array, cov_px: Array, kind: str, quality: float) -> Snap:
    return Snap(
        point_photo_px=point,
        cov_px=cov_px,
        u_px=float(np.sqrt(np.trace(cov_px) / 2.0)),
        kind=kind,
        quality=float(quality),
    )


def _cross(point: Array, direction: Array, other_point: Array, other: Array) -> Array | None:
    """Intersection of two lines, or None where they cross too acutely."""
    sine = direction[0] * other[1] - direction[1] * other[0]
    if abs(sine) < np.sin(LEAST_CROSSING_RAD):
        return None
    offset = other_point - point
    crossing: Array = point + (offset[0] * other[1] - offset[1] * other[0]) / sine * direction
    return crossing
