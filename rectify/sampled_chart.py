"""Picks laid on a face many times over, drawn within the ± of picks and camera.

The route beside first order: it shows whether the sizes bend within their own ±, and
gives their ± where they do, or where the picks leave the focal length open.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rectify.camera import Camera, ray_from_photo_px
from rectify.frames import Pose
from rectify.solution import Charted
from rectify.solving.adjusted import Adjusted
from shared.jets import Array, Number, value_of


@dataclass(frozen=True, slots=True)
class _Part:
    """Draws of one solution: what moves it, and the unknowns moved, shapes (q, m) and (p, m)."""

    adjusted: Adjusted
    source: Array
    step: Array

    @property
    def numbers(self) -> Array:
        moved: Array = self.adjusted.state.values[:, None] + self.step
        return moved

    def off_px(self, which: Array) -> Array:
        """By how much some of the adjusted picks are off, shape (k, 2, m)."""
        rows = np.stack([2 * which, 2 * which + 1], axis=-1).ravel()
        off: Array = self.adjusted.sources[1][rows] @ self.source
        return off.reshape(len(which), 2, -1)

    def at_px(self, which: Array) -> Array:
        """Where they were adjusted to, shape (k, 2)."""
        return self.adjusted.adjusted[np.stack([2 * which, 2 * which + 1], axis=-1)]


class ChartDraws:
    """Many cameras, faces and picks that could be the true ones.

    Where the picks leave the focal length open, of every camera that they leave possible
    (`Solution.possible`), each as often as it is likely. Picks are drawn when they are asked
    for: a survey of thousands of measures has too many to hold.

    Parameters
    ----------
    charted : Charted
    count : int
        Draws, near enough.
    seed : int
    mirrored : bool
        Each draw is followed, half of `count` later, by its opposite, so that what is straight
        cancels; all are then of the likeliest camera.
    """

    def __init__(self, charted: Charted, count: int, seed: int, *, mirrored: bool = False) -> None:
        self._charted = charted
        self._mirrored, self._seed = mirrored, seed
        solution = charted.solution
        rng = np.random.default_rng(seed)
        self._parts = []
        for weight, one in [(1.0, solution)] if mirrored else solution.possible:
            by_unknowns, _ = one.adjusted.sources
            noise = self._noise(rng, by_unknowns.shape[1], max(1, round(weight * count)))
            source = one.adjusted.misfit * noise
            self._parts.append(_Part(one.adjusted, source, by_unknowns @ source))
        self.count = sum(part.step.shape[1] for part in self._parts)

    def chart(self, which: Sequence[int]) -> tuple[Array, Array]:
        """Lay some of the picks on their faces: u and v in mm, shape (len(which), m).

        NaN in draws that look past the face.
        """
        rows = np.array(which, dtype=int)
        camera, pose = self._camera_and_pose
        picks_px = self._picks_px(rows)
        u_mm, v_mm = np.full((2, len(rows), self.count), np.nan)
        faces = [self._charted.faces[at] for at in which]
        with np.errstate(all="ignore"):
            for face in dict.fromkeys(faces):
                mine = np.array([name == face for name in faces])
                back = self._charted.set_back_mm[rows[mine]][:, None]
                ray = ray_from_photo_px(camera, pose, picks_px[mine, 0], picks_px[mine, 1])
                surface = self._charted.solution.unknowns.surface(face, self._numbers)
                u, v, _ = surface.chart_mm_from_ray(pose.centre_mm, ray, back)
                u_mm[mine], v_mm[mine] = value_of(u), value_of(v)
        return u_mm, v_mm

    def straight_mm(self, which: Sequence[int]) -> Array:
        """By how much each draw would move them, were everything straight, shape (k, 2, m)."""
        rows = np.array(which, dtype=int)
        step = _side_by_side([part.step for part in self._parts])
        moved: Array = np.tensordot(self._charted.jac_unknowns[rows], step, axes=1)
        moved += self._charted.jac_pick[rows] @ self._off_px(rows)
        return moved

    def _noise(self, rng: np.random.Generator, rows: int, count: int) -> Array:
        if not self._mirrored:
            return rng.standard_normal((rows, count))
        half = rng.standard_normal((rows, count // 2))
        return np.concatenate([half, -half], axis=1)

    @cached_property
    def _numbers(self) -> list[Array]:
        return list(_side_by_side([part.numbers for part in self._parts]))

    @cached_property
    def _camera_and_pose(self) -> tuple[Camera, Pose]:
        with np.errstate(all="ignore"):
            made = [part.adjusted.state.camera(list(part.numbers)) for part in self._parts]
        counts = [part.step.shape[1] for part in self._parts]
        if len(made) == 1:
            return made[0][0], made[0][1]

        def every(numbers: list[Number]) -> Array:
            wide = [np.broadcast_to(x, (n,)) for x, n in zip(numbers, counts, strict=True)]
            return _side_by_side(wide)

        cameras, poses = zip(*made, strict=True)
        px, py = zip(*(camera.principal_px for camera in cameras), strict=True)
        camera = Camera(
            every([camera.focal_px for camera in cameras]),
            (every(list(px)), every(list(py))),
            every([camera.k1 for camera in cameras]),
            every([camera.k2 for camera in cameras]),
        )
        away = every([pose.centre_mm[2] for pose in poses])
        return camera, Pose(_side_by_side([pose.rotation for pose in poses]), (0.0, 0.0, away))

    @cached_property
    def _spot(self) -> NDArray[np.intp]:
        """Number of the spot of each pick: the same spot picked for two measures is one pick."""
        _, spot = np.unique(self._charted.picks_px, axis=0, return_inverse=True)
        return np.asarray(spot, dtype=np.intp).ravel()

    def _alone(self, spots: NDArray[np.intp]) -> Array:
        """Noise of picks that the adjustment did not use, shape (k, 2, m)."""
        if self._mirrored:
            return self._few_alone[spots]
        distinct, at = np.unique(spots, return_inverse=True)
        drawn = [
            np.random.default_rng([self._seed, int(one)]).standard_normal((2, self.count))
            for one in distinct
        ]
        return np.array(drawn)[at.ravel()]

    @cached_property
    def _few_alone(self) -> Array:
        rng = np.random.default_rng([self._seed, 1])
        noise = self._noise(rng, 2 * (int(self._spot.max()) + 1), self.count)
        return noise.reshape(-1, 2, self.count)

    def _off_px(self, rows: Array) -> Array:
        """By how much picks are off, shape (k, 2, m)."""
        off = np.empty((len(rows), 2, self.count))
        entered = self._charted.entered[rows]
        inside = entered >= 0
        if inside.any():
            of = entered[inside]
            off[inside] = _side_by_side([part.off_px(of) for part in self._parts])
        if not inside.all():
            alone = self._alone(self._spot[rows[~inside]])
            misfit = [np.full(part.step.shape[1], part.adjusted.misfit) for part in self._parts]
            u_px = self._charted.u_px[rows[~inside], None, None]
            off[~inside] = u_px * alone * _side_by_side(misfit)
        return off

    def _picks_px(self, rows: Array) -> Array:
        """Picks as drawn, shape (k, 2, m)."""
        px = self._off_px(rows)
        entered = self._charted.entered[rows]
        inside = entered >= 0
        px[~inside] += self._charted.picks_px[rows[~inside]][:, :, None]
        if inside.any():
            of = entered[inside]
            px[inside] += _side_by_side(
                [
                    np.broadcast_to(part.at_px(of)[:, :, None], (len(of), 2, part.step.shape[1]))
                    for part in self._parts
                ]
            )
        return px


def sampled_chart(
    charted: Charted, which: Sequence[int], count: int, seed: int
) -> tuple[Array, Array]:
    """Draw some picks and lay them on their faces; see `ChartDraws`.

    Returns
    -------
    u_mm, v_mm : ndarray, shape (k, count)
        NaN in draws that look past the face.
    """
    return ChartDraws(charted, count, seed).chart(which)


def _side_by_side(parts: Sequence[Number]) -> Array:
    if len(parts) == 1:
        return np.asarray(parts[0])
    return np.concatenate([np.asarray(part) for part in parts], axis=-1)
