"""From the ± of chart points to the ± of sizes: first order, and by sampling."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from measure.datum import Datum
from measure.features.chart_points import ChartPoints, Sizes
from measure.results import SizeValue
from rectify.sampled_chart import sampled_chart
from rectify.solution import Charted
from shared.errors import GeometryError
from shared.jets import Array, Jet, Number, gradient_of, value_of

Make = Callable[[ChartPoints], Sizes]
Values = dict[str, SizeValue]

#: Above this relative ± of the distance along a ray, first order is no longer trusted alone.
SHALLOW = 0.02

#: Draws of the sampled route, and its seed: the same survey always gives the same ±.
DRAWS, SEED = 2000, 20260101


def sizes_with_u(
    make: Make, charted: Charted, rows: tuple[int, ...], datum: Datum, name: str
) -> tuple[Values, Values]:
    """Make the sizes of a measure and their standard uncertainties.

    Parameters
    ----------
    make : callable
        ``sizes`` of a kind of measure.
    charted : Charted
        All picks of the face.
    rows : tuple of int
        Those of the measure.
    datum : Datum
    name : str
        What the measure is called in a refusal.

    Returns
    -------
    sizes, u : dict
        Under the same keys.

    Raises
    ------
    GeometryError
        If the picks lie so near the horizon that the size is not to be had.

    Notes
    -----
    First order, ``J cov J.T``. Where the distance along a ray is uncertain by more than
    2 %, or the focal length is open, the formulas bend within their own ±; then the picks
    and the camera are drawn within theirs, and the wider of both answers stands.
    """
    joined, every = datum.joined(charted, rows)
    count = len(rows)
    cov = joined.cov_chart(every)
    flat = joined.chart_mm[every].ravel()
    unit = np.eye(len(flat))
    jets: list[Number] = [Jet(flat[i], unit[i]) for i in range(len(flat))]
    u, v = jets[0::2], jets[1::2]
    level = v[count] if datum.charted is not None else 0.0
    cov_points = cov[: 2 * count, : 2 * count]
    sizes = make(ChartPoints(u[:count], v[:count], level, cov_points))
    values, spreads = _first_order(sizes, cov)
    if charted.solution.focal_is_open or joined.u_log_depth(every) > SHALLOW:
        draws = _sampled(make, joined, every, count, datum, cov_points, name)
        spreads = {key: _wider(u, values[key], draws[key]) for key, u in spreads.items()}
    return values, spreads


def _first_order(sizes: Sizes, cov: Array) -> tuple[Values, Values]:
    values: Values = {}
    u: Values = {}
    for key, size in sizes.items():
        parts = size if isinstance(size, list) else [size]
        g = np.stack([gradient_of(part, len(cov)) for part in parts])
        each = np.sqrt(np.maximum(np.einsum("ni,ij,nj->n", g, cov, g), 0.0)).tolist()
        numbers = [float(value_of(part)) for part in parts]
        values[key] = numbers if isinstance(size, list) else numbers[0]
        u[key] = each if isinstance(size, list) else each[0]
    return values, u


def _sampled(
    make: Make,
    joined: Charted,
    every: list[int],
    count: int,
    datum: Datum,
    cov_points: Array,
    name: str,
) -> Sizes:
    draws_u, draws_v = sampled_chart(joined, every, DRAWS, SEED)
    sound = np.isfinite(draws_u).all(axis=0) & np.isfinite(draws_v).all(axis=0)
    if sound.mean() < 0.99:
        raise GeometryError(
            f"The {name} lies so near the horizon of its face that its size cannot be told.",
            hint="Take it from a photo that faces the wall more squarely.",
        )
    draws_u, draws_v = draws_u[:, sound], draws_v[:, sound]
    level = draws_v[count] if datum.charted is not None else 0.0
    with np.errstate(all="ignore"):
        return make(ChartPoints(list(draws_u[:count]), list(draws_v[:count]), level, cov_points))


def _wider(u: SizeValue, value: SizeValue, draws: Number | list[Number]) -> SizeValue:
    """First-order ±, or that of the draws if wider."""
    if isinstance(u, list) and isinstance(value, list):
        return [max(a, _spread(b, c)) for a, b, c in zip(u, value, draws, strict=True)]
    if isinstance(u, float) and isinstance(value, float):
        return max(u, _spread(value, draws))
    raise TypeError("a size and its ± differ in kind")


def _spread(value: float, draws: Number) -> float:
    """± for which 95 % of the draws lie within 1.96 of it, as for a normal curve."""
    return float(np.percentile(np.abs(value_of(draws) - value), 95.0)) / 1.96
