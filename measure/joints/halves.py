"""Whether either half of the strip, read by itself, shows the same joints.

A bed joint runs through both halves; a mark, the end of a shadow or a row of like stones does not.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from measure.joints.path import Run, thread_run
from measure.joints.profile import Array
from measure.joints.response import Sampling, find_peaks, merge_peaks

#: A joint of one half is that of the other within this part of the lower course beside it.
SAME_JOINT = 0.25


@dataclass(frozen=True, slots=True)
class HalvesCheck:
    """How two halves of a strip agree with the whole.

    Attributes
    ----------
    missed, added : float
        Joints of the whole that a half lacks, and those it has beside them, as parts of all;
        mean of both halves.
    worst : float
        Both together, in the half that differs more.
    same : int
        Halves whose count is that of the whole, 0 to 2.
    """

    missed: float
    added: float
    worst: float
    same: int


def check_halves(sampling: Sampling, run: Run) -> HalvesCheck:
    """Thread the same run through each half of a strip.

    Parameters
    ----------
    sampling : Sampling
        The one in which the run was found.
    run : Run

    Returns
    -------
    HalvesCheck
    """
    missed, added, same = [], [], 0
    for half in _halves(sampling):
        signs = (1, -1) if run.sign == 0 else (run.sign,)
        found = [find_peaks(half, sign) for sign in signs]
        peaks = merge_peaks(*found) if run.sign == 0 else found[0]
        other = thread_run(half, peaks, run.pitch, run.scatter, even=run.even, sign=run.sign)
        if other is None:
            missed.append(1.0)
            added.append(0.0)
            continue
        missed.append(_share_without(run.joints, other.joints))
        added.append(_share_without(other.joints, run.joints))
        same += other.count == run.count
    worst = max(a + b for a, b in zip(missed, added, strict=True))
    return HalvesCheck(float(np.mean(missed)), float(np.mean(added)), worst, same)


def _halves(sampling: Sampling) -> list[Sampling]:
    """Left and right part of a strip, each with half of what shows the wall."""
    weight = np.cumsum(sampling.trust.sum(axis=1))
    middle = int(np.searchsorted(weight, 0.5 * weight[-1])) + 1
    middle = int(np.clip(middle, 1, max(len(weight) - 1, 1)))
    return [_part(sampling, slice(0, middle)), _part(sampling, slice(middle, None))]


def _part(sampling: Sampling, which: slice) -> Sampling:
    trust = sampling.trust[which]
    if not len(trust):
        return sampling
    lines = sampling.block_line[which]
    total = trust.sum(axis=0) + 1e-6
    return replace(
        sampling,
        line=np.asarray((lines * trust).sum(axis=0) / total, float),
        blocks=sampling.blocks[which],
        block_line=lines,
        trust=trust,
    )


def _share_without(joints: Array, others: Array) -> float:
    """Part of joints that have no other beside them."""
    gaps = np.diff(joints)
    near = np.minimum(np.r_[np.inf, gaps], np.r_[gaps, np.inf])
    away = np.abs(joints[:, None] - others).min(axis=1)
    return float(np.mean(away > SAME_JOINT * near))
