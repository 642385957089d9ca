"""From the ± of chart points to the ± of sizes: first order, and by sampling where that is poor."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cached_property
from typing import Literal

import numpy as np

from measure.datum import Datum
from measure.features.chart_points import ChartPoints, Sizes
from measure.results import SizeValue
from rectify.sampled_chart import ChartDraws
from rectify.solution import Charted
from shared.errors import GeometryError
from shared.jets import Array, Jet, Number, gradient_of, value_of

Make = Callable[[ChartPoints], Sizes]
Values = dict[str, SizeValue]

#: How much is done for a ±: first order alone ("straight"); that and few draws of the likeliest
#: camera, while a pick is dragged ("quick"); many draws, of every possible camera ("whole").
Effort = Literal["straight", "quick", "whole"]

#: Few draws show whether a size bends within its ±, many say how wide it is then; and their
#: seed: the same survey always gives the same ±.
FEW, DRAWS, SEED = 64, 2000, 20260101

#: Above this excess of the draws' mean square over first order's, first order is poor. A bias
#: or a bend of a fifth of the ± makes 4 %, and 95 % intervals that hold 94.4 %.
POOR = 0.04

#: Share of draws that may look past the face.
MOST_LOST = 0.01


class Propagation:
    """Takes the ± of the picks of one face to the sizes made of them.

    Parameters
    ----------
    charted : Charted
        All picks of the face.
    datum : Datum
    radius : Charted, optional
        Of a tower: one pick of it as `rectify.solving.unknowns.radius_of` charts it.
    effort : {"whole", "quick", "straight"}

    Notes
    -----
    First order is ``J cov J.T``. Picks, camera and faces are also drawn within their ±, a few
    times, each draw with its opposite; the sizes of those draws are set beside what a straight
    line would make of them. Where they go notably farther, the formulas bend within their own
    ±; there, and where the focal length is open, many draws are taken and the wider of both
    answers stands.
    """

    def __init__(
        self,
        charted: Charted,
        datum: Datum,
        *,
        radius: Charted | None = None,
        effort: Effort = "whole",
    ) -> None:
        count = len(charted.faces)
        self._charted, rows = datum.joined(charted, tuple(range(count)))
        self._level = None if datum.charted is None else count
        self._radius = None if radius is None else len(rows)
        if radius is not None:
            self._charted = self._charted.joined(rows, radius)
        self._turns_from_datum = datum.is_upright
        self._effort = effort

    def sizes_with_u(self, make: Make, rows: Sequence[int], name: str) -> tuple[Values, Values]:
        """Make the sizes of a measure and their standard uncertainties.

        Parameters
        ----------
        make : callable
            ``sizes`` of a kind of measure.
        rows : sequence of int
            Its picks among those of the face.
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
        """
        beside = [at for at in (self._level, self._radius) if at is not None]
        every = [*rows, *beside]
        count = len(rows)
        cov = self._charted.cov_chart(every)
        flat = self._charted.chart_mm[every].ravel()
        unit = np.eye(len(flat))
        numbers: list[Number] = [Jet(flat[i], unit[i]) for i in range(len(flat))]
        cov_points = cov[: 2 * count, : 2 * count]

        def made(u: list[Number], v: list[Number]) -> Sizes:
            return make(
                ChartPoints(
                    u[:count],
                    v[:count],
                    datum_v=0.0 if self._level is None else v[count],
                    cov=cov_points,
                    radius=None if self._radius is None else u[-1],
                    upright_u=u[count] if self._turns_from_datum else 0.0,
                )
            )

        sizes = made(numbers[0::2], numbers[1::2])
        slopes = _slopes(sizes, len(flat))
        u_all = np.sqrt(np.maximum(np.einsum("ni,ij,nj->n", slopes, cov, slopes), 0.0))
        values = np.array([float(value_of(part)) for part in _parts(sizes)])
        if self._is_poor(made, every, values, slopes):
            off = self._many_off(made, every, values, name)
            u_all = _wider(u_all, _u_of_draws(off))
        return _keyed(sizes, values), _keyed(sizes, u_all)

    def _is_poor(
        self,
        made: Callable[[list[Number], list[Number]], Sizes],
        every: list[int],
        values: Array,
        slopes: Array,
    ) -> bool:
        """Tell whether first order is too poor to be left alone."""
        if self._effort == "straight":
            return False
        if self._effort == "whole" and self._charted.solution.focal_is_open:
            return True
        u, v, straight = (part[every] for part in self._few)
        if not (np.isfinite(u).all() and np.isfinite(v).all()):
            return True
        with np.errstate(all="ignore"):
            off = _drawn(made(list(u), list(v)), u.shape[1]) - values[:, None]
        excess = _excess(off, slopes @ straight.reshape(slopes.shape[1], -1))
        return not np.all(excess <= POOR)

    @cached_property
    def _few(self) -> tuple[Array, Array, Array]:
        """A few draws of all picks of the face: u and v (k, m), and what is straight (k, 2, m)."""
        draws = ChartDraws(self._charted, FEW, SEED, mirrored=True)
        every = range(len(self._charted.faces))
        return (*draws.chart(every), draws.straight_mm(every))

    @cached_property
    def _many(self) -> ChartDraws:
        return ChartDraws(self._charted, DRAWS, SEED)

    def _many_off(
        self,
        made: Callable[[list[Number], list[Number]], Sizes],
        every: list[int],
        values: Array,
        name: str,
    ) -> Array:
        """How far the sizes of many draws lie from those told, shape (n, m)."""
        if self._effort == "quick":
            u, v = (part[every] for part in self._few[:2])
        else:
            u, v = self._many.chart(every)
        sound = np.asarray(np.isfinite(u).all(axis=0) & np.isfinite(v).all(axis=0))
        if np.count_nonzero(~sound) > max(1, MOST_LOST * len(sound)):
            raise self._untold(name)
        u, v = u[:, sound], v[:, sound]
        with np.errstate(all="ignore"):
            return np.abs(_drawn(made(list(u), list(v)), u.shape[1]) - values[:, None])

    def _untold(self, name: str) -> GeometryError:
        """Why the size of a measure is not to be had: what was picked, or where it lies."""
        if self._charted.solution.adjusted.misfit > 1.0:
            return GeometryError(
                f"The picks contradict each other so much that the size of the {name} cannot be "
                "told.",
                hint="Take back what was picked last, or see what is said of the checks.",
            )
        return GeometryError(
            f"The {name} lies so near the horizon of its face that its size cannot be told.",
            hint="Take it from a photo that faces the wall more squarely.",
        )


def sizes_with_u(
    make: Make, charted: Charted, rows: Sequence[int], datum: Datum, name: str
) -> tuple[Values, Values]:
    """Make the sizes of one measure and their ±; see `Propagation`."""
    return Propagation(charted, datum).sizes_with_u(make, rows, name)


def _wider(first_order: Array, drawn: Array) -> Array:
    return np.maximum(first_order, drawn)


def _u_of_draws(off: Array) -> Array:
    """± for which 95 % of the draws lie within 1.96 of it, as for a normal curve, shape (n,)."""
    return np.asarray(np.nanpercentile(off, 95.0, axis=1)) / 1.96


def _excess(off: Array, straight: Array) -> Array:
    """By how much the mean square of draws exceeds a straight line's, shape (n,)."""
    plain = np.mean(straight**2, axis=1)
    return np.asarray(np.mean(off**2, axis=1) / np.maximum(plain, 1e-18) - 1.0)


def _parts(sizes: Sizes) -> Iterator[Number]:
    for size in sizes.values():
        if isinstance(size, list):
            yield from size
        else:
            yield size


def _slopes(sizes: Sizes, count: int) -> Array:
    """Derivatives of all sizes by the chart points, shape (n, count)."""
    return np.stack([gradient_of(part, count) for part in _parts(sizes)])


def _drawn(sizes: Sizes, count: int) -> Array:
    """All sizes of all draws, shape (n, count)."""
    return np.stack([np.broadcast_to(value_of(part), (count,)) for part in _parts(sizes)])


def _keyed(sizes: Sizes, numbers: Array) -> Values:
    """Numbers, one for each part, under the keys of the sizes."""
    given = iter(numbers.tolist())
    return {
        key: [next(given) for _ in size] if isinstance(size, list) else next(given)
        for key, size in sizes.items()
    }
