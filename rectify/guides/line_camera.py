"""A camera from pieces of straight edges: which run level or plumb, and what lens bends them.

Works with directions only, so that nothing needs a scale. The user's own lines are held
to; pieces of the photo count as far as they agree, which is decided anew at every step:
the gate is as wide as the direction of a piece is uncertain as yet.

References
----------
Removing a piece's say as it disagrees: A. E. Beaton and J. W. Tukey, "The fitting of power
series ...", Technometrics 16(2), 1974 (the biweight; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from rectify.camera import CameraPrior, u_k2_beside, undistorted_ab
from rectify.frames import rotation_after_turn
from shared.jets import Array

if TYPE_CHECKING:  # it knows OpenCV, which takes long to load
    from rectify.guides.edges import EdgePieces

#: How far an edge of a building lies off level or plumb, in radians: some 3 mm in a metre
#: (common practice, no source).
U_OFF_TRUE_RAD = 0.003

#: Pieces further off than this many times their ± say nothing.
CUT = 3.5

#: However uncertain a direction is, this far off it is another one.
WIDEST_GATE_RAD = math.radians(6.0)

#: The share by which a lens may draw in the corners of a photo: what is tried at first.
DRAWN_IN = (-0.28, -0.2, -0.14, -0.09, -0.05, -0.02, 0.0, 0.03, 0.08)

#: Beyond the range that is tried the first radial term is held by this.
U_BEND_1 = 0.4

#: Edges of one wall share its settlement: more than so many are not believed to be independent.
MOST_INDEPENDENT = 60.0

#: The lens is looked for with the longest pieces only.
MOST_AT_FIRST = 120

PLUMB, LEVEL = 0, 1

#: Parameters before the headings of wings.
_LOG_FOCAL, _X, _Y, _BEND_1, _BEND_2, _TURN, _HEADINGS = 0, 1, 2, 3, 4, 5, 8
_LENS = (_BEND_1, _BEND_2)


@dataclass(frozen=True, slots=True)
class LineCamera:
    """A camera as far as straight lines tell it.

    Parameters
    ----------
    numbers : ndarray, shape (5,)
        Logarithm of the focal length, principal point, and the radial terms that the lens
        would have were its focal length `bend_focal_px`.
    rotation : ndarray, shape (3, 3)
        ``cam_from_building``.
    headings : tuple of float
        Plan directions of the walls that have their own.
    bend_focal_px : float
    """

    numbers: Array
    rotation: Array
    headings: tuple[float, ...]
    bend_focal_px: float

    def moved(self, step: Array) -> LineCamera:
        """Change all numbers a little."""
        return replace(
            self,
            numbers=self.numbers + step[:5],
            rotation=rotation_after_turn(self.rotation, step[_TURN:_HEADINGS]),
            headings=tuple(np.array(self.headings) + step[_HEADINGS:]),
        )

    def straight_ab(self, points_px: Array) -> Array:
        """Normalised coordinates with the lens taken off, shape (..., 2); NaN past its fold."""
        log_focal, x, y, bend_1, bend_2 = (np.float64(number) for number in self.numbers)
        a = (points_px[..., 0] - x) / self.bend_focal_px
        b = (points_px[..., 1] - y) / self.bend_focal_px
        a, b = undistorted_ab(a, b, bend_1, bend_2)
        return np.stack([a, b], axis=-1) * (self.bend_focal_px / math.exp(log_focal))

    @property
    def directions(self) -> Array:
        """Directions in the camera: plumb (up), level of the main wall, then of the wings."""
        headings = np.array((0.0, *self.headings))
        level = np.stack([np.cos(headings), np.zeros(len(headings)), np.sin(headings)])
        return np.concatenate([self.rotation[:, 1:2], self.rotation @ level], axis=1).T

    def angles_rad(self, ends_px: Array) -> Array:
        """By how much pieces are turned from each direction, shape (n, directions).

        Both taken in the straight picture, at the middle of the piece.
        """
        return self.angles_from_ab(self.straight_ab(ends_px))

    def angles_from_ab(self, ab: Array) -> Array:
        """`angles_rad` of pieces whose straight coordinates are known, shape (n, 2, 2)."""
        chord, middle = ab[:, 1] - ab[:, 0], ab.mean(axis=1)
        d = self.directions
        run = d[None, :, :2] - middle[:, None] * d[None, :, 2:]
        cross = chord[:, None, 0] * run[..., 1] - chord[:, None, 1] * run[..., 0]
        dot = np.sum(chord[:, None] * run, axis=-1)
        return np.asarray(np.arctan(cross / np.where(dot == 0.0, 1e-300, dot)))


@dataclass(frozen=True, slots=True)
class KnownLines:
    """Lines picked by the user: their ends, directions and ±.

    Parameters
    ----------
    ends_px : ndarray, shape (m, 2, 2)
    direction : ndarray of int, shape (m,)
    u_rad : ndarray, shape (m,)
    """

    ends_px: Array
    direction: npt.NDArray[np.intp]
    u_rad: Array


@dataclass(frozen=True, slots=True)
class Sorted:
    """Which pieces run in which direction.

    Parameters
    ----------
    camera : LineCamera
    direction : ndarray of int, shape (n,)
        -1 where a piece runs in none, or in two at once.
    """

    camera: LineCamera
    direction: npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class _Fit:
    """One step of the way: the camera, its covariance, who counts and how much."""

    camera: LineCamera
    cov: Array
    direction: npt.NDArray[np.intp]
    z: Array


def sort_pieces(
    pieces: EdgePieces,
    start: LineCamera,
    prior: CameraPrior,
    known: KnownLines,
    allowed: npt.NDArray[np.bool_],
) -> Sorted:
    """Find the camera that most pieces agree with, and which pieces those are.

    Parameters
    ----------
    pieces : EdgePieces
        The longest first.
    start : LineCamera
        From the user's picks.
    prior : CameraPrior
    known : KnownLines
    allowed : ndarray of bool, shape (n, directions)
        Which directions a piece may have, by where it lies.

    Returns
    -------
    Sorted
    """
    search = _Search(pieces, start, prior, known, allowed)
    some = np.arange(min(len(pieces), MOST_AT_FIRST))
    fits = [search.settled(camera, some, 3, _LENS) for camera in _bent(start, prior)]
    best = max(fits, key=lambda fit: search.agreement(fit, some))
    fit = search.settled(best.camera, np.arange(len(pieces)), 12)
    near = np.abs(fit.z) < CUT
    return Sorted(fit.camera, np.where(near, fit.direction, -1))


def start_from_lines(known: KnownLines, start: LineCamera, prior: CameraPrior) -> LineCamera:
    """Find the camera that lines of known direction agree with, from several lenses.

    Parameters
    ----------
    known : KnownLines
        A line of several picks in parts, so that its bend is told.
    start : LineCamera
    prior : CameraPrior
    """
    search = _Search(None, start, prior, known, np.zeros((0, 2 + len(start.headings)), dtype=bool))
    none = np.zeros(0, dtype=np.intp)
    fits = [search.settled(camera, none, 6) for camera in _bent(start, prior)]
    return min(fits, key=search.misfit).camera


def _bent(start: LineCamera, prior: CameraPrior) -> Iterator[LineCamera]:
    """Cameras with other lenses, and other focal lengths where it is not known."""
    width, height = 2.0 * prior.principal_px[0], 2.0 * prior.principal_px[1]
    corner2 = (width**2 + height**2) / (4.0 * start.bend_focal_px**2)
    for share in DRAWN_IN:
        for zoom in (0.0,) if prior.focal_known else (-0.3, 0.0, 0.3):
            numbers = start.numbers.copy()
            numbers[_BEND_1], numbers[_BEND_2] = share * (1.0 + share) ** 2 / corner2, 0.0
            numbers[_LOG_FOCAL] += zoom
            yield replace(start, numbers=numbers)


class _Search:
    """One photo's pieces and what is known: makes fits."""

    def __init__(
        self,
        pieces: EdgePieces | None,
        start: LineCamera,
        prior: CameraPrior,
        known: KnownLines,
        allowed: npt.NDArray[np.bool_],
    ) -> None:
        self.known, self.allowed = known, allowed
        if pieces is not None:
            self.ends_px = pieces.ends_px
            self.u_rad = np.hypot(U_OFF_TRUE_RAD, math.sqrt(2.0) * pieces.u_px / pieces.lengths_px)
        u = [prior.u_log_focal, *prior.u_principal_px, U_BEND_1]
        self.count = _HEADINGS + len(start.headings)
        self.prior_weight = np.zeros(self.count)
        self.prior_weight[:_BEND_2] = 1.0 / np.square(u)
        self.middle = np.array([math.log(prior.focal_px), *prior.principal_px, 0.0, 0.0])
        far_px = 0.1 * (prior.principal_px[0] + prior.principal_px[1])
        turns = [0.15] * (self.count - _TURN)
        self.longest = np.array([0.4, far_px, far_px, 0.15, 0.05, *turns])
        self.unit = np.array([1e-4, 0.1, 0.1, 1e-4, 1e-4, *[1e-5] * (self.count - _TURN)])

    def _prior_weight(self, camera: LineCamera) -> Array:
        """One over variance of what is believed; of the second radial term beside the first."""
        weight = self.prior_weight.copy()
        weight[_BEND_2] = 1.0 / u_k2_beside(float(camera.numbers[_BEND_1])) ** 2
        return weight

    def _angles(
        self, camera: LineCamera, ends_px: Array, free: npt.NDArray[np.intp]
    ) -> tuple[Array, Array]:
        """Angles (n, d) and their derivatives (n, d, p), 0 for what is not free."""
        ab = camera.straight_ab(ends_px)
        here = camera.angles_from_ab(ab)
        slopes = np.zeros((*here.shape, self.count))
        for i in free:
            step = np.zeros(self.count)
            step[i] = self.unit[i]
            moved = camera.moved(step)
            if i == _LOG_FOCAL:
                there = moved.angles_from_ab(ab * math.exp(-self.unit[i]))
            elif i < _TURN:
                there = moved.angles_rad(ends_px)
            else:
                there = moved.angles_from_ab(ab)
            slopes[..., i] = (there - here) / self.unit[i]
        lost = ~np.isfinite(slopes).all(axis=-1) | ~np.isfinite(here)
        return np.where(lost, np.pi / 2, here), np.where(lost[..., None], 0.0, slopes)

    def settled(
        self,
        camera: LineCamera,
        some: npt.NDArray[np.intp],
        rounds: int,
        held: tuple[int, ...] = (),
    ) -> _Fit:
        """Fit the camera, some of its numbers held, to the known lines and agreeing pieces."""
        free = np.array([i for i in range(self.count) if i not in held])
        fit = self._stepped(camera, np.full((self.count,) * 2, np.nan), some[:0], free)
        fit = self._stepped(fit.camera, fit.cov, some[:0], free)
        for _ in range(rounds):
            fit = self._stepped(fit.camera, fit.cov, some, free)
        return fit

    def _stepped(
        self,
        camera: LineCamera,
        cov: Array,
        some: npt.NDArray[np.intp],
        free: npt.NDArray[np.intp],
    ) -> _Fit:
        known = self.known
        angles, slopes = self._angles(camera, known.ends_px, free)
        rows = np.arange(len(angles))
        off, push = angles[rows, known.direction], slopes[rows, known.direction]
        weight = 1.0 / known.u_rad**2
        direction = np.full(len(some), -1)
        z = np.full(len(some), np.inf)
        if len(some):
            angles, slopes = self._angles(camera, self.ends_px[some], free)
            unsure2 = np.einsum("ndp,pq,ndq->nd", slopes, np.nan_to_num(cov), slopes)
            unsure2 = np.minimum(unsure2, (WIDEST_GATE_RAD / CUT) ** 2)
            scale = np.sqrt(self.u_rad[some, None] ** 2 + unsure2)
            each = np.where(self.allowed[some], np.abs(angles) / scale, np.inf)
            direction = np.argmin(each, axis=1)
            rows = np.arange(len(some))
            z = each[rows, direction]
            each[rows, direction] = np.inf
            torn = each.min(axis=1) < np.maximum(CUT, 3.0 * z)
            z = np.where(torn, np.inf, z)
            share = np.square(np.clip(1.0 - (np.minimum(z, CUT) / CUT) ** 2, 0.0, 1.0))
            share *= min(1.0, MOST_INDEPENDENT / max(float(share.sum()), 1.0))
            off = np.concatenate([off, angles[rows, direction]])
            push = np.concatenate([push, slopes[rows, direction]])
            weight = np.concatenate([weight, share / scale[rows, direction] ** 2])
        push, prior_weight = push[:, free], self._prior_weight(camera)
        normal = (push.T * weight) @ push + np.diag(prior_weight[free])
        from_prior = np.zeros(self.count)
        from_prior[:5] = camera.numbers - self.middle
        slope = -(push.T @ (weight * off)) - (prior_weight * from_prior)[free]
        size = np.sqrt(np.maximum(np.diag(normal), 1e-12))
        inverse = np.linalg.pinv(normal / np.outer(size, size), rcond=1e-12, hermitian=True)
        inverse /= np.outer(size, size)
        cov = np.zeros((self.count,) * 2)
        cov[np.ix_(free, free)] = inverse
        step = np.zeros(self.count)
        step[free] = inverse @ slope
        step *= min(1.0, 1.0 / max(float((np.abs(step) / self.longest).max()), 1e-12))
        return _Fit(camera.moved(step), cov, direction, z)

    def misfit(self, fit: _Fit) -> float:
        """Weighted sum of squares of the known lines and of what is believed of the camera."""
        angles = fit.camera.angles_rad(self.known.ends_px)
        off = angles[np.arange(len(angles)), self.known.direction] / self.known.u_rad
        off = np.where(np.isfinite(off), off, 1e3)
        from_prior = fit.camera.numbers - self.middle
        return float(off @ off + self._prior_weight(fit.camera)[:5] @ from_prior**2)

    def agreement(self, fit: _Fit, some: npt.NDArray[np.intp]) -> float:
        """How much length runs level or plumb by a camera, within a degree or so."""
        angles = np.where(self.allowed[some], np.abs(fit.camera.angles_rad(self.ends_px[some])), 9)
        nearest = np.nan_to_num(angles, nan=9.0).min(axis=1) / math.radians(1.0)
        length = np.hypot(*(self.ends_px[some, 1] - self.ends_px[some, 0]).T)
        held = np.square(np.clip(1.0 - nearest**2, 0.0, 1.0))
        return float(np.sum(np.sqrt(length) * held))


def known_lines(
    lines: Sequence[tuple[int, Array, float]],
) -> KnownLines:
    """Gather the user's lines.

    Parameters
    ----------
    lines : sequence of (direction, ends_px, u_px)
    """
    ends = np.array([ends for _, ends, _ in lines], dtype=float).reshape(-1, 2, 2)
    lengths = np.maximum(np.hypot(*(ends[:, 1] - ends[:, 0]).T), 1e-6)
    u_px = np.array([u for _, _, u in lines])
    u_rad = np.hypot(U_OFF_TRUE_RAD, math.sqrt(2.0) * u_px / lengths)
    return KnownLines(ends, np.array([at for at, _, _ in lines], dtype=np.intp), u_rad)
