"""The solved faces as lines over the photo and from above, so that one sees whether they fit."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from measure.workbench.placing import picks_on_wall
from rectify.placements import Placement
from rectify.projection import View, photo_px_from_chart_mm
from rectify.solution import Solution
from rectify.surfaces import Round
from shared.jets import Array, value_of
from shared.survey import Face

#: Points along one line: enough for the bend of a lens and of a ring.
STEPS = 25

#: Lines of a grid across the longer side of a face.
GRID = 6

#: How far round a tower its outline is drawn, short of where the eye only grazes it.
GRAZING = 0.999


def solid_of(
    face: Face, solution: Solution, placed: tuple[str, Placement] | None = None
) -> dict[str, Any] | None:
    """Lines of one solved face.

    Parameters
    ----------
    face : Face
    solution : Solution
        Of its photo.
    placed : tuple of photo and Placement, optional
        In whose frame its plan is drawn; in its own photo's if left out.

    Returns
    -------
    dict or None
        ``px``: polylines in photo pixels; ``plan_mm``: polylines from above, x to the right and
        z towards the viewer; ``plan_of``: the photo in whose frame; ``round``: whether it is a
        tower. None where nothing is picked.
    """
    view = solution.view(face.id)
    picks = np.array(list(picks_on_wall(face, view).values()))
    if len(picks) < 2:
        return None
    low, high = picks.min(axis=0), picks.max(axis=0)
    surface = solution.surface(face.id)
    if isinstance(surface, Round):
        u0, u1 = _seen_of_tower(surface, view)
        charts = _lines(u0, u1, low[1], high[1], sides_only=True)
        r, ax, az = (float(n) for n in (surface.radius_mm, surface.axis_x_mm, surface.axis_z_mm))
        turn = np.linspace(u0 / r, u1 / r, STEPS)
        around = np.linspace(0.0, 2.0 * math.pi, 2 * STEPS)
        plan = [np.stack([ax + r * np.sin(t), az + r * np.cos(t)], axis=-1) for t in (turn, around)]
    else:
        charts = _lines(low[0], high[0], low[1], high[1])
        middle = float(low[1] + high[1]) / 2.0
        ends = [surface.building_mm_from_chart(float(u), middle) for u in (low[0], high[0])]
        plan = [np.array([[float(end[0]), float(end[2])] for end in ends])]
    if placed is not None:
        plan = [_placed_mm(line, placed[1]) for line in plan]
    return {
        "px": _on_photo(charts, view, solution),
        "plan_mm": [line.round(1).tolist() for line in plan if np.isfinite(line).all()],
        "plan_of": solution.photo.id if placed is None else placed[0],
        "round": isinstance(surface, Round),
    }


def _placed_mm(line: Array, place: Placement) -> Array:
    x, _, z = place.to_reference((line[:, 0], np.zeros(len(line)), line[:, 1]))
    return np.stack([value_of(x), value_of(z)], axis=-1)


def _seen_of_tower(tower: Round, view: View) -> tuple[float, float]:
    """First and last u that the camera sees."""
    centre = view.pose.centre_mm
    x = float(centre[0]) - float(tower.axis_x_mm)
    z = float(centre[2]) - float(tower.axis_z_mm)
    radius = float(tower.radius_mm)
    half = math.acos(min(1.0, radius / math.hypot(x, z))) * GRAZING
    middle = math.atan2(x, z)
    return (middle - half) * radius, (middle + half) * radius


def _lines(u0: float, u1: float, v0: float, v1: float, *, sides_only: bool = False) -> list[Array]:
    """Grid over a window of the chart; of a tower rings, and its two sides."""
    step = round_step(max(u1 - u0, v1 - v0) / GRID)
    levels = sorted({v0, v1, *np.arange(math.ceil(v0 / step) * step, v1, step).tolist()})
    plumbs = {u0, u1}
    if not sides_only:
        plumbs |= set(np.arange(math.ceil(u0 / step) * step, u1, step).tolist())
    share = np.linspace(0.0, 1.0, STEPS)
    across = [np.stack([u0 + share * (u1 - u0), np.full(STEPS, v)], axis=-1) for v in levels]
    up = [np.stack([np.full(STEPS, u), v0 + share * (v1 - v0)], axis=-1) for u in sorted(plumbs)]
    return [*across, *up]


def _on_photo(charts: list[Array], view: View, solution: Solution) -> list[list[list[float]]]:
    with np.errstate(all="ignore"):
        px = photo_px_from_chart_mm(np.concatenate(charts), view)
    far = 3.0 * max(solution.photo.width_px, solution.photo.height_px)
    lines = []
    for line in np.split(px, len(charts)):
        sound = np.isfinite(line).all(axis=-1) & (np.abs(line) < far).all(axis=-1)
        if sound.sum() >= 2:
            lines.append(line[sound].round(1).tolist())
    return lines


def round_step(least_mm: float) -> float:
    """Smallest of 1, 2 and 5 times a power of ten that is at least as long."""
    if not (least_mm > 0.0 and math.isfinite(least_mm)):
        return 1.0
    power = 10.0 ** math.floor(math.log10(least_mm))
    return next(n * power for n in (1.0, 2.0, 5.0, 10.0) if n * power >= least_mm * (1.0 - 1e-9))
