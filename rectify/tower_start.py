"""A first place for a round tower, by trying many."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from rectify.observations import Sheet
from rectify.surfaces import Round
from shared.errors import UnderdeterminedError
from shared.jets import Array, value_of
from shared.survey import Pick, RoundSurface

#: Radii tried, as parts of the camera's distance; set-backs of the axis tried, as parts of the
#: radius where the tower meets the wall, else as parts of the distance.
RADII = np.geomspace(0.01, 0.8, 70)
BACKS_AT_THE_WALL = np.linspace(-0.95, 0.95, 39)
BACKS_APART = np.linspace(-0.35, 0.6, 39)


def place_tower(
    face: str, surface: RoundSurface, sheet: Sheet, rays: Array, distance: float, *, in_mm: bool
) -> tuple[float, float, float]:
    """Axis x, axis set-back and radius that go best with all that is picked of a tower.

    Parameters
    ----------
    face : str
    surface : RoundSurface
    sheet : Sheet
    rays : ndarray, shape (n, 3)
        Of all picks, in the building frame.
    distance : float
        Of the camera from the main wall.
    in_mm : bool
        Whether that is in millimetres, so that known sizes may be used.

    Raises
    ------
    UnderdeterminedError
        If neither outline is picked.

    Notes
    -----
    For each radius and set-back one outline gives the axis; the rest choose. Two circles
    touch the same two rays and pass through the same point of the wall: the one that the
    camera sees there is meant, the other lies behind that point.
    """

    def of(picks: Sequence[Pick] | None) -> Array:
        return rays[[sheet.pick_index[pick.x, pick.y] for pick in picks or ()]]

    edges = [(of(surface.left_edge), -1.0), (of(surface.right_edge), 1.0)]
    edges = [(edge, side) for edge, side in edges if len(edge)]
    if not edges:
        raise UnderdeterminedError(
            f"Tower '{face}' has no outline.",
            hint="Pick two points or more along its left or right outline.",
            details={"face": face},
            unobservable=("radius",),
        )
    radius_mm = surface.radius_mm if in_mm else None
    back_mm = surface.axis_set_back_mm if in_mm else None
    radii = distance * RADII if radius_mm is None else np.array([radius_mm])
    r = np.repeat(radii[None, :], len(BACKS_APART), axis=0)
    apart = np.repeat((distance * BACKS_APART)[:, None], len(radii), axis=1)
    back = BACKS_AT_THE_WALL[:, None] * r if surface.meets_wall is not None else apart
    if back_mm is not None:
        back = np.full_like(r, back_mm)
    edge, side = edges[0]
    x = np.mean([_axis_x(ray, side, back, r, distance) for ray in edge], axis=0)
    tower, eye = Round(x, -back, r), (0.0, 0.0, distance)
    # where several places fit alike, the one nearest to the wall
    misfit = 1e-4 * back**2
    with np.errstate(all="ignore"):
        for edge, side in edges[1:]:
            for ray in edge:
                misfit = misfit + tower.clearance_mm(eye, tuple(ray), side) ** 2
        for ray in of(surface.meets_wall):
            at = -distance / ray[2] * ray[0]
            misfit = misfit + (np.hypot(at - x, back) - r) ** 2
            seen = (at - x) * -x + back * (distance + back) >= 0.9 * r**2
            misfit = np.where(seen, misfit, misfit + distance**2)
        for name, first, second, set_back_mm, weight, known_mm in sheet.lengths:
            if name == face and in_mm:
                ends = [tower.chart_mm_from_ray(eye, tuple(rays[i]), set_back_mm)
                        for i in (first, second)]  # fmt: skip
                du, dv = (value_of(ends[1][axis]) - value_of(ends[0][axis]) for axis in (0, 1))
                length = np.hypot(weight[0] * du, weight[1] * dv)
                # in proportion, and as much as a tower: a size fixes how far away it stands
                misfit = misfit + (distance * (length / known_mm - 1.0)) ** 2
    misfit = np.where(np.isfinite(misfit), misfit, np.inf)
    i, j = np.unravel_index(int(np.argmin(misfit)), misfit.shape)
    return float(x[i, j]), float(back[i, j]), float(r[i, j])


def _axis_x(ray: Array, side: float, back: Array, r: Array, distance: float) -> Array:
    """Axis x of a tower that a ray touches."""
    along = np.hypot(ray[0], ray[2])
    return np.asarray(((-back - distance) * ray[0] + side * r * along) / ray[2])
