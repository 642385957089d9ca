"""What the ± of picks laid on a face comes from, ready for hundreds of them at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.sparse import csr_array

from measure.elevation.quantities import Quantities
from rectify.one_chart import Laid
from rectify.projection import photo_px_from_chart_mm
from rectify.solution import Charted
from shared.jets import Array
from shared.survey import Pick


class PickSpread:
    """What the ± of charted picks comes from: unknowns, picks that the adjustment used, others.

    Wider by the misfit of the adjustment, as every ± that comes out of it.
    """

    def __init__(self, laid: Laid) -> None:
        adjusted = laid.adjusted
        k = len(laid.chart_mm)
        self.jac_unknowns = laid.jac_unknowns.reshape(2 * k, -1)
        self.cov_unknowns = adjusted.cov_unknowns
        self.variance_factor = adjusted.misfit**2
        free = laid.observed < 0
        used, source = np.unique(laid.observed[~free], return_inverse=True)
        observed = np.stack([used, used + 1], axis=-1).ravel()
        # the same spot of a photo picked for two measures is one pick
        spots, first, twin = np.unique(
            np.column_stack([laid.photo[free], laid.picks_px[free]]),
            axis=0,
            return_index=True,
            return_inverse=True,
        )
        m, f = len(used), len(spots)
        which = np.empty(k, dtype=int)
        which[~free] = source
        which[free] = m + twin.ravel()
        self.which, self.jac_pick = which, laid.jac_pick
        self.cov_picks = np.zeros((2 * (m + f), 2 * (m + f)))
        self.cross = np.zeros((2 * (m + f), self.cov_unknowns.shape[0]))
        if m:
            self.cov_picks[: 2 * m, : 2 * m] = adjusted.cov_adjusted(observed)
            self.cross[: 2 * m] = adjusted.cov_adjusted_unknowns(observed)
        alone = np.repeat(laid.u_px[free][first] ** 2, 2)
        self.cov_picks[range(2 * m, 2 * (m + f)), range(2 * m, 2 * (m + f))] = alone
        # rows of the charted picks, columns of the picks they come from
        row = np.repeat(np.arange(2 * k), 2)
        column = (2 * which[:, None, None] + np.array([[0, 1], [0, 1]])).ravel()
        self.jac_picks = csr_array(
            (laid.jac_pick.ravel(), (row, column)), shape=(2 * k, 2 * (m + f))
        )

    def cov_of(self, jac: csr_array) -> Array:
        """Covariance of numbers whose derivatives by the chart points are `jac`, (n, 2 k)."""
        by_unknowns = np.asarray(jac @ self.jac_unknowns)
        by_picks = csr_array(jac @ self.jac_picks)
        mixed = np.asarray(by_picks @ self.cross) @ by_unknowns.T
        cov: Array = by_unknowns @ self.cov_unknowns @ by_unknowns.T + mixed + mixed.T
        cov += np.asarray(by_picks @ np.asarray(by_picks @ self.cov_picks).T)
        return 0.5 * (cov + cov.T) * self.variance_factor

    def cov_chart(self, rows: Sequence[int]) -> Array:
        """Covariance of a few chart points, (2 k, 2 k)."""
        at = np.array([[2 * i, 2 * i + 1] for i in rows]).ravel()
        source = self.which[list(rows)]
        columns = np.stack([2 * source, 2 * source + 1], axis=-1).ravel()
        by_unknowns = self.jac_unknowns[at]
        by_picks = np.zeros((len(at), len(at)))
        for number, row in enumerate(rows):
            place = slice(2 * number, 2 * number + 2)
            by_picks[place, place] = self.jac_pick[row]
        mixed = by_picks @ self.cross[columns] @ by_unknowns.T
        cov: Array = by_unknowns @ self.cov_unknowns @ by_unknowns.T + mixed + mixed.T
        cov += by_picks @ self.cov_picks[np.ix_(columns, columns)] @ by_picks.T
        return 0.5 * (cov + cov.T) * self.variance_factor


def moved_picks(
    charted: Charted,
    near: Quantities,
    ids: Sequence[str],
    counts: Sequence[int],
    datum_v_mm: float,
    tied: Sequence[bool],
) -> Charted:
    """Take the same picks with the derivatives of the places where they are once lined up.

    Parameters
    ----------
    charted : Charted
    near : Quantities
        The lined up numbers.
    ids, counts : sequence
        What the picks belong to, and how many to each.
    datum_v_mm : float
        Chart height of the datum.
    tied : sequence of bool
        Picks that the adjustment ties to each other exactly. They stay as they are: they are
        level and plumb already, and derivatives of other places would not know it.
    """
    solution = charted.solution
    places = charted.chart_mm.copy()
    openings = {each.id: each for each in near.openings}
    points = {each.id: each for each in near.points}
    levels = {each.id: each for each in near.levels}
    x = near.values
    start = 0
    for id_, count in zip(ids, counts, strict=True):
        rows = slice(start, start + count)
        start += count
        if id_ in openings:
            at = openings[id_]
            left, right, top, sill = x[at.left], x[at.right], x[at.springing], x[at.sill]
            if at.form == "round":
                middle = places[rows].mean(axis=0)
                target = (left + right) / 2.0, (top + sill) / 2.0 + datum_v_mm
                places[rows] += np.array(target) - middle
                continue
            corners = np.array([[left, top], [right, top], [right, sill], [left, sill]])
            heads = places[rows][4:]
            heads[:, 1] += x[at.head] + datum_v_mm - heads[:, 1].max(initial=-np.inf)
            corners[:, 1] += datum_v_mm
            places[rows] = np.concatenate([corners, heads])
        elif id_ in points:
            u, v = list(points[id_].u), list(points[id_].v)
            places[rows] = np.stack([x[u], x[v] + datum_v_mm], axis=-1)
        elif id_ in levels:
            places[rows, 1] = x[levels[id_].v] + datum_v_mm
    px = np.empty_like(places)
    for face in set(charted.faces):
        for back in np.unique(charted.set_back_mm):
            here = charted.set_back_mm == back
            px[here] = photo_px_from_chart_mm(places[here], solution.view(face), float(back))
    stays = np.asarray(tied, dtype=bool) | ~np.isfinite(px).all(axis=1)
    px[stays] = charted.picks_px[stays]
    face = charted.faces[0] if charted.faces else ""
    picks = [Pick(x=float(at_x), y=float(at_y)) for at_x, at_y in px]
    there = solution.charted(face, picks, charted.set_back_mm.tolist()) if picks else charted
    return replace(charted, jac_unknowns=there.jac_unknowns, jac_pick=there.jac_pick)
