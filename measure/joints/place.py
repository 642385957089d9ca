"""Place each joint of a run to a part of a pixel, with a standard uncertainty it can stand by.

The joints found are laid over each other; their mean, made symmetrical, is the shape of a joint
in this strip, and each joint is shifted until the shape fits best (linear least squares with an
offset, a slope, the shape and its derivative). Groups of blocks give independent answers, and their
scatter gives the uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from measure.joints.path import Run
from measure.joints.profile import Array
from measure.joints.response import PAD, Sampling, make_sampling
from measure.joints.search import Trial

# At least so many samples to a course; up to the most where the strip has as many rows, since a
# joint between long bricks is a small part of them.
SAMPLES_PER_COURSE, MOST_PER_COURSE = 26, 60
N_GROUPS = 6
# How the ± of a joint is made up: see the notes of `place_joints`.
GROUPS_TIED = 1.6
U_PX = 0.13
U_COURSES = 0.004
U_EDGE, EDGE_COURSES = 0.11, 0.3
U_HIDDEN_COURSES = 0.2  # a joint that was stepped over, or lies where a pick was put


@dataclass(frozen=True, slots=True)
class PlacedJoints:
    """Joints of a run in rows of the profile, from the top.

    Attributes
    ----------
    rows, u_rows : ndarray, shape (count + 1,)
    seen : ndarray of bool, shape (count + 1,)
        False for a joint that was inferred from its neighbours or from the pick.
    """

    rows: Array
    u_rows: Array
    seen: npt.NDArray[np.bool_]


def place_joints(trial: Trial) -> PlacedJoints:
    """Refine the joints of a run, at the middle of the strip; fill in those that it stepped over.

    Notes
    -----
    The square of a joint's ± is the sum of: the scatter of groups of blocks about their mean,
    times `GROUPS_TIED`, since a stone, a bend of the bed or a shadow spans several of them; a
    share of a pixel for blur, noise and compression; a little of the course, for stones that
    are not cut to their lines; and near the upper or lower edge of the strip, where half of the
    joint's surroundings are missing, a share of the course that grows to the edge. The sizes were
    fitted by maximum likelihood to the errors of end joints and inner ones of drawn strips of
    training, but the share of the course, which is set by a wall of long bricks. What moves all
    joints alike (light on one edge) is not in it, since no size read from courses holds it.
    """
    profile, run = trial.profile, trial.run
    rows = trial.sampling.rows(run.joints)
    used = trial.sampling.rows(run.peaks.at[run.used])
    seen = np.array([bool(np.any(np.abs(used - row) < 1e-6)) for row in rows])
    gap_rows = float(np.median(np.diff(rows) / run.steps))
    u_rows = np.full(len(rows), U_HIDDEN_COURSES * gap_rows)
    if seen.any():
        per_course = np.clip(gap_rows, SAMPLES_PER_COURSE, MOST_PER_COURSE)
        n_span = int(np.clip(per_course * profile.span_rows / gap_rows, 48, 3600))
        fine = make_sampling(profile, n_span)
        nearest = float(np.diff(rows).min())
        found, u_found = _fit(fine, rows[seen], run.peaks.sign[run.used], gap_rows, nearest)
        rows = rows.copy()
        rows[seen] = found
        to_edge = np.minimum(found, profile.blocks.shape[1] - found) / gap_rows
        u_edge = U_EDGE * np.maximum(0.0, EDGE_COURSES - to_edge) * gap_rows
        u_px = U_PX * profile.rows_per_strip_row
        u_rows[seen] = np.sqrt(
            (GROUPS_TIED * u_found) ** 2 + u_px**2 + (U_COURSES * gap_rows) ** 2 + u_edge**2
        )
    rows = rows + profile.slope * profile.aside * profile.rows_per_strip_row
    return _filled(rows, u_rows, seen, run, gap_rows)


def _fit(
    sampling: Sampling, rows: Array, signs: Array, gap_rows: float, nearest_rows: float
) -> tuple[Array, Array]:
    """Shift each joint to where the common shape fits; rows and their scatter."""
    at = (rows - sampling.first_row) / sampling.rows_per_sample + PAD
    half = int(np.clip(0.38 * min(gap_rows, 1.15 * nearest_rows) / sampling.rows_per_sample, 3, 14))
    offsets = np.arange(-half, half + 1)
    limit = 0.15 * gap_rows / sampling.rows_per_sample
    signal, trust = sampling.blocks, sampling.trust
    groups = np.array_split(np.arange(len(signal)), min(N_GROUPS, len(signal)))
    start = at.copy()
    whole = np.clip(np.round(at).astype(int), 1, sampling.n_samples - 2)
    share = np.stack([trust[group][:, whole].sum(axis=0) for group in groups])
    share = share / np.maximum(share.sum(axis=0), 1e-9)
    shift_of_group = np.zeros((len(groups), len(at)))
    for _ in range(3):
        parts = np.stack(
            [_windows(signal[group], trust[group], at, offsets) for group in groups]
        )  # groups, joints, offsets
        together = (parts * share[..., None]).sum(axis=0) * signs[:, None]
        together = together - together.mean(axis=1, keepdims=True)
        shape = np.median(together, axis=0)
        shape = 0.5 * (shape + shape[::-1])
        slope = np.gradient(shape)
        design = np.stack([np.ones(len(offsets)), offsets.astype(float), shape, slope], axis=1)
        solve = np.linalg.pinv(design)
        height = np.maximum((together @ solve[2]), 0.2)
        shift_of_group = -((parts * signs[:, None]) @ solve[3]) / height
        shift_of_group = np.clip(shift_of_group, -half, half)
        at = np.clip(at + (shift_of_group * share).sum(axis=0), start - limit, start + limit)
    mean = (shift_of_group * share).sum(axis=0)
    freedom = np.maximum(1.0 - (share**2).sum(axis=0), 0.2)
    variance = (share**2 * (shift_of_group - mean) ** 2).sum(axis=0) / freedom
    pooled = float(np.median(variance)) * 1.2
    u_samples = np.sqrt((4.0 * pooled + (len(groups) - 1) * variance) / (len(groups) + 3))
    return sampling.rows(at), u_samples * sampling.rows_per_sample


def _windows(
    signal: npt.NDArray[np.float32],
    trust: npt.NDArray[np.float32],
    at: Array,
    offsets: npt.NDArray[np.intp],
) -> Array:
    """Mean signal of a group of blocks around each joint, shape (n_joints, n_offsets)."""
    where = at[:, None] - 0.5 + offsets
    low = np.clip(np.floor(where).astype(int), 0, signal.shape[1] - 2)
    part = where - low
    weight = trust[:, np.clip(np.round(at).astype(int), 0, signal.shape[1] - 1)]
    total = weight.sum(axis=0) + 1e-9
    before = np.einsum("bj,bjk->jk", weight, signal[:, low]) / total[:, None]
    after = np.einsum("bj,bjk->jk", weight, signal[:, low + 1]) / total[:, None]
    return np.asarray(before + part * (after - before), float)


def _filled(
    rows: Array, u_rows: Array, seen: npt.NDArray[np.bool_], run: Run, gap_rows: float
) -> PlacedJoints:
    """Insert the joints that were stepped over and settle unseen ends."""
    rows = rows.copy()
    if run.even and len(rows) > 3:
        if not seen[0] and run.steps[0] == 1:
            rows[0] = 0.5 * (rows[0] + rows[1] - gap_rows)
        if not seen[-1] and run.steps[-1] == 1:
            rows[-1] = 0.5 * (rows[-1] + rows[-2] + gap_rows)
    all_rows, all_u, all_seen = [rows[0]], [u_rows[0]], [bool(seen[0])]
    for i, step in enumerate(run.steps):
        for k in range(1, int(step)):
            all_rows.append(rows[i] + (rows[i + 1] - rows[i]) * k / step)
            all_u.append(U_HIDDEN_COURSES * gap_rows)
            all_seen.append(False)
        all_rows.append(rows[i + 1])
        all_u.append(u_rows[i + 1])
        all_seen.append(bool(seen[i + 1]))
    return PlacedJoints(np.array(all_rows), np.array(all_u), np.array(all_seen))
