"""Everything an elevation is drawn from, as numbers with one covariance.

For each opening its left and right jamb, sill, springing and head; for each level its
height; for each outline, spacing and distance, for the frame and the known sizes, the places
of their picks. All of one face, in millimetres: u on the chart of the face, v above the datum
that its levels count from. `measure.elevation.face_numbers` makes them of a measured face.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from measure.elevation.openings import HeadKind
from shared.jets import Array

#: Parts of an opening, in the order of their columns.
PARTS = ("left", "right", "sill", "springing", "head")


@dataclass(frozen=True, slots=True)
class OpeningColumns:
    """Where the numbers of one opening stand.

    Attributes
    ----------
    id, label : str
    form : str
        Kind of its head.
    left, right, sill, springing, head : int
        Places among the numbers. Where nothing rises above a springing (a flat head, a round
        opening) the springing is the head.
    """

    id: str
    label: str
    form: HeadKind
    left: int
    right: int
    sill: int
    springing: int
    head: int
    photo: str = ""

    @property
    def arched(self) -> bool:
        """Whether the head rises above a springing."""
        return self.springing != self.head


@dataclass(frozen=True, slots=True)
class LevelColumn:
    """Where the height of one level stands; the datum is a level called ``datum``."""

    id: str
    label: str
    v: int


@dataclass(frozen=True, slots=True)
class PointColumns:
    """Where picks stand, in picking order: of an outline, spacing, distance, frame, reference."""

    id: str
    label: str
    kind: str
    u: tuple[int, ...]
    v: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Quantities:
    """Numbers of one face with their joint covariance.

    Attributes
    ----------
    names : tuple of str, length n
        Such as ``w1.sill``, ``h1.level``, ``o1.3.u``.
    values : ndarray, shape (n,)
        Millimetres.
    cov : ndarray, shape (n, n)
        In mm^2.
    openings, levels, points
        Which number is what.
    twins : tuple of (OpeningColumns, OpeningColumns)
        Openings that another photo shows too: here and, under numbers of its own, there.
    widening : ndarray, shape (n,)
        By how much the ± of each is wider than the covariance says, where the formulas bend.
    """

    names: tuple[str, ...]
    values: Array
    cov: Array
    openings: tuple[OpeningColumns, ...] = ()
    levels: tuple[LevelColumn, ...] = ()
    points: tuple[PointColumns, ...] = ()
    twins: tuple[tuple[OpeningColumns, OpeningColumns], ...] = ()
    widening: Array = field(default_factory=lambda: np.ones(0))
    _places: dict[str, int] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        n = len(self.names)
        if self.values.shape != (n,) or self.cov.shape != (n, n):
            raise ValueError(
                f"values and cov: shapes ({n},) and ({n}, {n}) wanted, "
                f"got {self.values.shape} and {self.cov.shape}"
            )
        if len(self.widening) != n:
            object.__setattr__(self, "widening", np.ones(n))
        object.__setattr__(self, "_places", {name: i for i, name in enumerate(self.names)})

    def __len__(self) -> int:
        return len(self.names)

    def place(self, name: str) -> int:
        """Column of a number; KeyError if there is none of that name."""
        return self._places[name]

    def has(self, name: str) -> bool:
        """Whether there is a number of that name."""
        return name in self._places

    def value(self, name: str) -> float:
        """One number, in mm."""
        return float(self.values[self._places[name]])

    def u(self, name: str) -> float:
        """Its standard uncertainty, in mm, widened where first order is not enough."""
        at = self._places[name]
        return float(np.sqrt(max(self.cov[at, at], 0.0)) * self.widening[at])

    def u_of_difference(self, one: int, other: int) -> float:
        """Standard uncertainty of the difference of two columns, in mm, widened likewise."""
        variance = self.cov[one, one] + self.cov[other, other] - 2.0 * self.cov[one, other]
        wider = max(self.widening[one], self.widening[other])
        return float(np.sqrt(max(variance, 0.0)) * wider)
