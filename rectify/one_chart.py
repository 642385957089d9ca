"""Picks of several photos laid on the chart of one wall that they all show.

Only for photos that were solved together: their unknowns have one covariance, and where one
photo's chart lies on the other's is known with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from rectify.solution import Charted, Solution
from rectify.solving.adjusted import Adjusted
from rectify.ties.conditions import TieRows
from rectify.ties.part_adjusted import PartAdjusted
from rectify.ties.tied import JointState
from shared.jets import Array, Jet


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Picks on one chart, and what their ± comes from.

    Parameters
    ----------
    adjusted : Adjusted
        Of the photo, or of all photos together.
    chart_mm : ndarray, shape (m, 2)
    jac_unknowns : ndarray, shape (m, 2, p)
    jac_pick : ndarray, shape (m, 2, 2)
    picks_px, u_px : ndarray, shape (m, 2) and (m,)
    photo : ndarray of int, shape (m,)
        Number of the photo of each.
    observed : ndarray of int, shape (m,)
        Place of its x among the adjusted observations, -1 for picks of measures only.
    """

    adjusted: Adjusted
    chart_mm: Array
    jac_unknowns: Array
    jac_pick: Array
    picks_px: Array
    u_px: Array
    photo: Array
    observed: Array


def laid(charted: Charted) -> Laid:
    """Picks of one photo by themselves."""
    return _laid(charted, charted.solution.adjusted, charted.chart_mm, charted.jac_unknowns, 0, 0)


def solved_together(one: Solution, other: Solution) -> bool:
    """Whether two photos were solved as one adjustment."""
    a, b = one.adjusted, other.adjusted
    return isinstance(a, PartAdjusted) and isinstance(b, PartAdjusted) and a.whole is b.whole


@dataclass(frozen=True, slots=True, eq=False)
class ChartShift:
    """By how much the chart of a wall lies aside of that of the same wall in another photo.

    Parameters
    ----------
    u, v : Jet
        Millimetres to be added, over the unknowns of all photos.
    """

    u: Jet
    v: Jet

    @property
    def mm(self) -> tuple[float, float]:
        """In plain numbers."""
        return float(self.u.value), float(self.v.value)


def chart_shift(kept: Solution, kept_face: str, other: Solution, other_face: str) -> ChartShift:
    """Find the shift from the chart of one photo's wall to that of the photo that is kept.

    Both charts are level and plumb, and the adjustment holds the walls to one plane, so no turn
    is left between them.

    Parameters
    ----------
    kept, other : Solution
        Solved together.
    kept_face, other_face : str

    Returns
    -------
    ChartShift
    """
    whole = _part(kept).whole
    state: JointState = whole.state
    size = state.starts[-1] + len(state.extra)
    rows = TieRows(state.parts, state.starts, state.placements(size), [], size, [])
    x, z, origin = rows.wall(_number(kept), kept_face)
    _, _, aside = rows.wall(_number(other), other_face)
    u = (aside[0] - origin[0]) * x + (aside[2] - origin[2]) * z
    return ChartShift(u, aside[1] - origin[1])


def laid_together(kept: Charted, others: Sequence[tuple[Charted, ChartShift]]) -> Laid:
    """Lay picks of other photos beside those of the photo that is kept, on its chart.

    Parameters
    ----------
    kept : Charted
    others : sequence of (Charted, ChartShift)
        Of photos solved together with it.

    Returns
    -------
    Laid
        Those of `kept` first, then the others in their order.
    """
    whole = _part(kept.solution).whole
    count = whole.cov_unknowns.shape[0]
    parts = []
    for charted, shift in [(kept, None), *others]:
        part = _part(charted.solution)
        jac = np.zeros((len(charted.chart_mm), 2, count))
        jac[:, :, part.unknowns_at] = charted.jac_unknowns
        chart = charted.chart_mm
        if shift is not None:
            chart = chart + np.array(shift.mm)
            jac += np.stack([shift.u.gradient, shift.v.gradient])
        number, first = _number(charted.solution), part.observations_at.start
        parts.append(_laid(charted, whole, chart, jac, number, first))
    arrays = [one.name for one in fields(Laid) if one.name != "adjusted"]
    return Laid(whole, *(np.concatenate([getattr(each, a) for each in parts]) for a in arrays))


def _laid(
    charted: Charted, adjusted: Adjusted, chart_mm: Array, jac: Array, photo: int, first: int
) -> Laid:
    entered = charted.entered
    return Laid(
        adjusted,
        chart_mm,
        jac,
        charted.jac_pick,
        charted.picks_px,
        charted.u_px,
        np.full(len(entered), photo),
        np.where(entered >= 0, first + 2 * entered, -1),
    )


def _part(solution: Solution) -> PartAdjusted:
    if not isinstance(solution.adjusted, PartAdjusted):
        raise ValueError(f"photo {solution.photo.id} was solved by itself")
    return solution.adjusted


def _number(solution: Solution) -> int:
    """Which of the photos solved together it is."""
    part = _part(solution)
    state: JointState = part.whole.state
    return state.starts.index(part.unknowns_at.start)
