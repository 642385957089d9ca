"""A first pitch for a roof slope, by trying many."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from rectify.solving.observations import Sheet
from rectify.solving.unknowns import Unknowns
from shared.errors import UnderdeterminedError
from shared.jets import Array, value_of
from shared.survey import RoofSurface

#: Pitches tried.
PITCHES_RAD = np.radians(np.linspace(2.0, 88.0, 130))


def start_pitch_rad(
    face: str,
    surface: RoofSurface,
    state: Unknowns,
    sheet: Sheet,
    rays: Array,
    distance: float,
) -> float:
    """Pitch that goes best with the verges, frame and known sizes of a slope.

    Parameters
    ----------
    face : str
    surface : RoofSurface
    state : Unknowns
        With the wall and the eaves in place.
    sheet : Sheet
    rays : ndarray, shape (n, 3)
        Of all picks, in the building frame.
    distance : float
        Of the camera from the main wall.

    Raises
    ------
    UnderdeterminedError
        If nothing tells the pitch: a level line along the slope is one at any pitch.
    """
    if surface.pitch_deg is not None:
        return float(np.radians(surface.pitch_deg))
    up = [line.picks for line in sheet.lines if line.face == face and line.direction == "plumb"]
    sizes = [length for length in sheet.lengths if length[0] == face]
    if not up and not sizes:
        raise UnderdeterminedError(
            f"Roof '{face}' has nothing to find its pitch by.",
            hint="Give its pitch, or pick a verge, a frame on the slope, or a known size up it.",
            details={"face": face},
            unobservable=("pitch",),
        )
    values = np.repeat(state.values[:, None], len(PITCHES_RAD), axis=1)
    values[state.index(face, "pitch")] = PITCHES_RAD
    slope = replace(state).surface(face, list(values))

    def seen(pick: int, back: float = 0.0) -> tuple[Array, Array]:
        u, v, _ = slope.chart_mm_from_ray((0.0, 0.0, distance), tuple(rays[pick]), back)
        return np.asarray(value_of(u)), np.asarray(value_of(v))

    misfit = np.zeros(len(PITCHES_RAD))
    with np.errstate(all="ignore"):
        for line in up:
            u, v = (np.stack(part) for part in zip(*map(seen, line), strict=True))
            misfit += np.var(u, axis=0) / np.maximum(np.var(v, axis=0), 1e-12)
        for _, first, second, back, weight, known_mm in sizes:
            (u0, v0), (u1, v1) = seen(first, back), seen(second, back)
            length = np.hypot(weight[0] * (u1 - u0), weight[1] * (v1 - v0))
            misfit += (length / known_mm - 1.0) ** 2
    misfit = np.where(np.isfinite(misfit), misfit, np.inf)
    return float(PITCHES_RAD[int(np.argmin(misfit))])
