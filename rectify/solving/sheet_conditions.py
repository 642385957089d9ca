"""The conditions of one photo's observations, at any unknowns and adjusted observations."""

from __future__ import annotations

from collections.abc import Callable

from rectify.solving.adjusted import Conditions
from rectify.solving.observations import Sheet
from rectify.solving.residuals import Look, make_conditions, merged
from rectify.solving.sighting import Sightings, make_rays
from rectify.solving.unknowns import Unknowns
from shared.jets import Array

Linearise = Callable[[Unknowns, Array], Conditions]


def linearised(sheet: Sheet) -> Linearise:
    """Make the function that evaluates all conditions of a sheet, with their derivatives.

    What does not change from step to step is put together once.

    Parameters
    ----------
    sheet : Sheet
        With all its observations entered.
    """
    end = 2 * len(sheet.picks_px)
    kinds, sightings = merged(sheet.kinds), Sightings(sheet.sights)

    def linearise(state: Unknowns, observations: Array) -> Conditions:
        rays = make_rays(state, observations[:end].reshape(-1, 2))
        look = Look(state, rays, sightings.on_faces(state, rays), observations[end:])
        return make_conditions(kinds, look)

    return linearise
