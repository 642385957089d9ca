"""What an adjustment found: cameras and faces with one covariance, ready to measure by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from rectify.camera import Camera, CameraPrior
from rectify.frames import Pose
from rectify.projection import View
from rectify.solving.adjusted import Adjusted
from rectify.solving.focal_spread import OPEN_FOCAL, Solve, possible_cameras
from rectify.solving.observations import U_HAND_PX, Sheet
from rectify.solving.sighting import make_rays
from rectify.solving.snooping import Finding
from rectify.solving.unknowns import Unknowns
from rectify.surfaces import Surface
from shared.jets import Array, Jet, gradient_of, value_of
from shared.survey import Pick


@dataclass(frozen=True, slots=True)
class PhotoFacts:
    """What is known of a photo without looking at its pixels.

    Parameters
    ----------
    id : str
    width_px, height_px : int
        Size of the upright photo.
    focal_35mm : float or None
        EXIF's 35 mm equivalent, None when unknown.
    cropped : bool
        Whether the picture was cut from a larger one.
    """

    id: str
    width_px: int
    height_px: int
    focal_35mm: float | None = None
    cropped: bool = False


@dataclass(frozen=True)
class Charted:
    """Picks laid on the chart of a face, with everything their ± depends on.

    Parameters
    ----------
    solution : Solution
    faces : tuple of str, length m
        The face that each pick is laid on.
    chart_mm : ndarray, shape (m, 2)
        ``(u, v)``; NaN where the pick looks past the face.
    jac_unknowns : ndarray, shape (m, 2, p)
    jac_pick : ndarray, shape (m, 2, 2)
    picks_px : ndarray, shape (m, 2)
        Adjusted, where the adjustment used them.
    u_px : ndarray, shape (m,)
    entered : ndarray, shape (m,)
        Index of the pick among the adjusted ones, -1 for picks of measures only.
    set_back_mm : ndarray, shape (m,)
    depth_gradient : ndarray, shape (m, 2 + p)
        Of the logarithm of the depth along the ray, beside that of the middle of the frame;
        large means first order is poor.
    """

    solution: Solution
    faces: tuple[str, ...]
    chart_mm: Array
    jac_unknowns: Array
    jac_pick: Array
    picks_px: Array
    u_px: Array
    entered: Array
    set_back_mm: Array
    depth_gradient: Array

    def joined(self, rows: Sequence[int], other: Charted) -> Charted:
        """Take some picks together with all picks of another set of the same solution."""
        r = list(rows)
        return Charted(
            self.solution,
            tuple(self.faces[i] for i in r) + other.faces,
            np.concatenate([self.chart_mm[r], other.chart_mm]),
            np.concatenate([self.jac_unknowns[r], other.jac_unknowns]),
            np.concatenate([self.jac_pick[r], other.jac_pick]),
            np.concatenate([self.picks_px[r], other.picks_px]),
            np.concatenate([self.u_px[r], other.u_px]),
            np.concatenate([self.entered[r], other.entered]),
            np.concatenate([self.set_back_mm[r], other.set_back_mm]),
            np.concatenate([self.depth_gradient[r], other.depth_gradient]),
        )

    def cov_picks(self, which: Sequence[int]) -> tuple[Array, Array]:
        """Covariance of some picks, shape (2k, 2k), and with the unknowns, (2k, p)."""
        k = len(which)
        p = len(self.solution.unknowns.names)
        cov = np.diag(np.repeat(self.u_px[list(which)] ** 2, 2))
        cross = np.zeros((2 * k, p))
        inside = [i for i, at in enumerate(which) if self.entered[at] >= 0]
        if inside:
            adjusted = self.solution.adjusted
            of = np.array([self.entered[which[i]] for i in inside])
            observation = np.stack([2 * of, 2 * of + 1], axis=-1).ravel()
            rows = np.array([[2 * i, 2 * i + 1] for i in inside]).ravel()
            cov[np.ix_(rows, rows)] = adjusted.cov_adjusted(observation)
            cross[rows] = adjusted.cov_adjusted_unknowns(observation)
        # the same spot picked for two measures is one pick
        for i, first in enumerate(which):
            for j, second in enumerate(which[:i]):
                same = self.entered[first] < 0 and bool(
                    np.all(self.picks_px[first] == self.picks_px[second])
                )
                if same:
                    for axis in (0, 1):
                        cov[2 * i + axis, 2 * j + axis] = cov[2 * j + axis, 2 * j + axis]
                        cov[2 * j + axis, 2 * i + axis] = cov[2 * j + axis, 2 * j + axis]
        return cov, cross

    def cov_chart(self, which: Sequence[int]) -> Array:
        """Joint covariance of ``(u, v)`` of some picks, in mm^2, shape (2k, 2k)."""
        which = list(which)
        k = len(which)
        push_x = self.jac_unknowns[which].reshape(2 * k, -1)
        push_l = np.zeros((2 * k, 2 * k))
        for i, at in enumerate(which):
            push_l[2 * i : 2 * i + 2, 2 * i : 2 * i + 2] = self.jac_pick[at]
        cov_l, cross = self.cov_picks(which)
        mixed = push_l @ cross @ push_x.T
        cov: Array = push_x @ self.solution.adjusted.cov_unknowns @ push_x.T
        cov = cov + push_l @ cov_l @ push_l.T + mixed + mixed.T
        return 0.5 * (cov + cov.T) * self.solution.adjusted.misfit**2

    def u_log_depth(self, which: Sequence[int]) -> float:
        """Largest relative ± of the depth at which these picks' rays meet the face.

        Beside the depth of the middle of the frame: that all is farther where the focal
        length is longer bends nothing.
        """
        g = self.depth_gradient[list(which)]
        var = np.einsum("mp,pq,mq->m", g[:, 2:], self.solution.adjusted.cov_unknowns, g[:, 2:])
        var = var + np.sum(g[:, :2] ** 2, axis=1) * self.u_px[list(which)] ** 2
        return float(np.sqrt(var.max())) if len(var) else 0.0


@dataclass(frozen=True)
class Solution:
    """One photo solved.

    Parameters
    ----------
    photo : PhotoFacts
    prior : CameraPrior
    sheet : Sheet
        The observations that went in.
    adjusted : Adjusted
    solve : callable
        Solves the same observations again from another start, with other priors.
    findings : tuple of Finding
        Observations that the rest contradict, the likeliest first.
    left_out : tuple of (face, item)
        Openings that the other picks contradict; they are measured but hold nothing.
    """

    photo: PhotoFacts
    prior: CameraPrior
    sheet: Sheet
    adjusted: Adjusted
    solve: Solve
    findings: tuple[Finding, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()

    @property
    def scaled(self) -> bool:
        """False when nothing of known size was given: there are shapes, but no sizes."""
        return (self.photo.id, "log_reach") not in self.unknowns.fixed

    @cached_property
    def possible(self) -> list[tuple[float, Solution]]:
        """Solutions with their probabilities: this one alone, unless the focal length is open."""
        at = self.unknowns.index(self.photo.id, "log_focal")
        if not self.focal_is_open:
            return [(1.0, self)]
        return [
            (weight, replace(self, adjusted=adjusted))
            for weight, adjusted in possible_cameras(self.adjusted, at, self.solve)
        ]

    @property
    def focal_is_open(self) -> bool:
        """Tell whether the focal length is known too badly for straight-line ±."""
        return self.value_and_u(self.photo.id, "log_focal")[1] > OPEN_FOCAL

    @property
    def unknowns(self) -> Unknowns:
        """The solved unknowns."""
        state: Unknowns = self.adjusted.state
        return state

    @cached_property
    def camera_and_pose(self) -> tuple[Camera, Pose]:
        """Camera and pose in plain numbers."""
        camera, pose = self.unknowns.camera(list(self.unknowns.values))

        def plain(number: object) -> float:
            return float(value_of(number))

        px, py = camera.principal_px
        rows = [tuple(plain(part) for part in row) for row in pose.rotation]
        x, y, z = (plain(part) for part in pose.centre_mm)
        flat = Camera(
            plain(camera.focal_px), (plain(px), plain(py)), plain(camera.k1), plain(camera.k2)
        )
        (a, b, c), (d, e, f), (g, h, i) = rows
        return flat, Pose(((a, b, c), (d, e, f), (g, h, i)), (x, y, z))

    @cached_property
    def _camera_jets(self) -> tuple[Camera, Pose]:
        """Camera and pose as jets over ``(x, y, unknowns)``."""
        return self.unknowns.camera(self.unknowns.numbers(leading=2))

    def surface(self, face: str) -> Surface:
        """Surface of a face in plain numbers."""
        return self.unknowns.surface(face, list(self.unknowns.values))

    def view(self, face: str) -> View:
        """Camera, pose and surface of a face, for projecting."""
        camera, pose = self.camera_and_pose
        return View(camera, pose, self.surface(face))

    def value_and_u(self, owner: str, what: str) -> tuple[float, float]:
        """Value and standard uncertainty of one unknown; a fixed one has ± 0.

        ``k1`` and ``k2`` of the photo may be asked for too.
        """
        if what in ("k1", "k2"):
            camera, _ = self._camera_jets
            k = camera.k1 if what == "k1" else camera.k2
            g = gradient_of(k, 2 + len(self.unknowns.names))[2:]
            return float(value_of(k)), self.adjusted.misfit * float(
                np.sqrt(g @ self.adjusted.cov_unknowns @ g)
            )
        if (owner, what) in self.unknowns.fixed:
            return self.unknowns.fixed[owner, what], 0.0
        at = self.unknowns.index(owner, what)
        u = self.adjusted.misfit * float(np.sqrt(self.adjusted.cov_unknowns[at, at]))
        return float(self.unknowns.values[at]), u

    @property
    def adjusted_picks_px(self) -> Array:
        """Picks as they fit together, shape (n, 2)."""
        return self.adjusted.adjusted[: 2 * len(self.sheet.picks_px)].reshape(-1, 2)

    def fitted_px(self, pick: Pick) -> tuple[float, float]:
        """Where a pick stands once all fit together; as picked, if nothing used it."""
        at = self.sheet.pick_index.get((pick.x, pick.y))
        if at is None:
            return pick.x, pick.y
        x, y = self.adjusted_picks_px[at]
        return float(x), float(y)

    @property
    def residuals_px(self) -> Array:
        """Observed minus adjusted picks, shape (n, 2)."""
        return self.adjusted.residuals[: 2 * len(self.sheet.picks_px)].reshape(-1, 2)

    @property
    def rms_px(self) -> float:
        """Root mean square of the picks' residuals, each coordinate by itself."""
        residuals = self.residuals_px
        return float(np.sqrt(np.mean(residuals**2))) if residuals.size else 0.0

    @property
    def redundancy(self) -> int:
        """How many more conditions than the turn, distance, focal length and faces need.

        The principal point and lens terms are held by what is known of cameras and are
        not counted; a redundancy of 0 means that nothing checks the picks.
        """
        counted = [
            what
            for _, what in self.unknowns.names
            if what not in ("principal_x", "principal_y", "bend_1", "bend_2")
        ]
        return len(self.adjusted.conditions.value) - len(counted)

    def charted(
        self, face: str, picks: Sequence[Pick], set_back_mm: Sequence[float] | float = 0.0
    ) -> Charted:
        """Lay picks on the chart of a face, keeping all that their ± depends on.

        Parameters
        ----------
        face : str
        picks : sequence of Pick, length m
        set_back_mm : float or sequence of float
            Depth of each behind the face.
        """
        given = np.array([(pick.x, pick.y) for pick in picks], dtype=float).reshape(-1, 2)
        u_px = np.array([pick.u_px or U_HAND_PX for pick in picks], dtype=float)
        back = np.broadcast_to(np.asarray(set_back_mm, dtype=float), len(picks))
        index = self.sheet.pick_index
        entered = np.array([index.get((pick.x, pick.y), -1) for pick in picks], dtype=int)
        known = entered >= 0
        at_px = given.copy()
        at_px[known] = self.adjusted_picks_px[entered[known]]
        u_px[known] = np.array(self.sheet.u_px)[entered[known]]
        chart, depth = self._chart_jets(face, at_px, back)
        return Charted(
            solution=self,
            faces=(face,) * len(picks),
            chart_mm=chart.value,
            jac_unknowns=chart.gradient[:, :, 2:],
            jac_pick=chart.gradient[:, :, :2],
            picks_px=at_px,
            u_px=u_px,
            entered=entered,
            set_back_mm=back,
            depth_gradient=depth,
        )

    def _chart_jets(self, face: str, at_px: Array, back: Array) -> tuple[Jet, Array]:
        with np.errstate(all="ignore"):
            rays = make_rays(self.unknowns, at_px, self._camera_jets)
            surface = self.unknowns.surface(face, rays.numbers)
            u, v, t = surface.chart_mm_from_ray(rays.centre_mm, rays.along, back)
            size = 2 + len(rays.numbers)
            here = self.unknowns
            anchor = here.number(self.photo.id, "log_focal", rays.numbers) + here.number(
                self.photo.id, "log_reach", rays.numbers
            )
            depth = gradient_of(np.log(t) - anchor, size)
        chart = Jet(
            np.stack([value_of(u), value_of(v)], axis=-1),
            np.stack([gradient_of(u, size), gradient_of(v, size)], axis=-2),
        )
        return chart, np.broadcast_to(depth, (len(at_px), size))
