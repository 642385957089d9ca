"""Points of one measure on the chart of its face, as every kind of measure gets them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shared.jets import Array, Number

#: What a measure gives: names ending in their unit; a list where there are several.
Sizes = Mapping[str, Number | list[Number]]


@dataclass(frozen=True, slots=True)
class ChartPoints:
    """Chart points of one measure, in picking order.

    Parameters
    ----------
    u, v : list of number
        Millimetres; jets, or arrays of samples.
    datum_v : number
        What levels count from.
    cov : ndarray, shape (2 k, 2 k)
        Covariance of ``(u1, v1, u2, v2, ...)`` in mm^2, to weigh the points by.
    radius : number, optional
        Of the tower they lie on, in millimetres.
    upright_u : number
        Of a tower's upright that angles count from.
    """

    u: list[Number]
    v: list[Number]
    datum_v: Number
    cov: Array
    radius: Number | None = None
    upright_u: Number = 0.0

    def __len__(self) -> int:
        return len(self.u)

    def interleaved(self) -> list[Number]:
        """``u1, v1, u2, v2, ...``, the order of `cov`."""
        return [number for pair in zip(self.u, self.v, strict=True) for number in pair]
