"""Everything an elevation is drawn from, as numbers with one covariance.

For each opening its left and right jamb, sill, springing and head; for each level its
height; for each outline, spacing and distance, for the frame and the known sizes, the places
of their picks. All of one face, in millimetres: u on the chart of the face, v above the datum
that its levels count from.

Two windows share a camera, and a pick may serve a frame, a size and an opening at once;
the covariance knows it. It is put together in one piece, without looking at pairs of
measures one after the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.sparse import csr_array

from measure.datum import Datum
from measure.elevation.openings import HeadKind
from measure.features import opening
from measure.features.chart_points import ChartPoints
from measure.features.registry import Sight, sights_of
from measure.results import FaceResult
from rectify.solution import Charted, Solution
from shared.jets import Array, Jet, gradient_of, value_of
from shared.survey import Face, Measure, OpeningMeasure, Survey

#: Parts of an opening, in the order of their columns.
PARTS = ("left", "right", "sill", "springing", "head")

_POINT_KINDS = ("outline", "spacing", "distance")


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
    widening : ndarray, shape (n,)
        By how much the ± of each is wider than the covariance says, where the formulas bend.
    """

    names: tuple[str, ...]
    values: Array
    cov: Array
    openings: tuple[OpeningColumns, ...] = ()
    levels: tuple[LevelColumn, ...] = ()
    points: tuple[PointColumns, ...] = ()
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


def make_quantities(
    survey: Survey, face: Face, solution: Solution, result: FaceResult
) -> Quantities:
    """Gather the numbers of a measured face.

    Parameters
    ----------
    survey : Survey
    face : Face
    solution : Solution
    result : FaceResult
        Its measures; those that the picture could not give are left out.

    Returns
    -------
    Quantities
        The values and the ± of each are those of `result`.

    Notes
    -----
    ``x = f(chart points)``, chart points from picks and camera. With ``J = df/dchart`` (few
    numbers a row), ``U = dchart/dunknowns`` and ``L = dchart/dpicks``,
    ``cov = JU S (JU)' + JL P (JL)' + JL X (JU)' + (JL X (JU)')'`` where S, P and X are the
    covariances of unknowns, of picks, and between them.
    """
    wanted = [m for m in face.measures if m.id in result.measures and _is_wanted(m)]
    marks = [*_frame_sights(face), *_reference_sights(face)]
    sights = [sights_of(measure, measure.id) for measure in wanted]
    sights += [some for _, _, some in marks]
    picks = [pick for some in sights for pick, _ in some]
    charted = solution.charted(face.id, picks, [back for some in sights for _, back in some])
    datum = Datum(survey, face, solution)
    datum_row: int | None = None
    if datum.charted is not None:
        charted = charted.joined(range(len(picks)), datum.charted)
        datum_row = len(picks)
    spread = _Spread(charted)
    rows = _Rows(charted, spread, datum_row)
    start = 0
    for measure, some in zip(wanted, sights, strict=False):
        rows.add(measure, range(start, start + len(some)))
        start += len(some)
    for name, kind, some in marks:
        rows.add_points(name, "", kind, range(start, start + len(some)))
        start += len(some)
    if datum_row is not None:
        rows.add_datum()
    cov = spread.cov_of(rows.jacobian())
    values = np.array(rows.values, dtype=float)
    return Quantities(
        tuple(rows.names),
        values,
        cov,
        tuple(rows.openings),
        tuple(rows.levels),
        tuple(rows.points),
        _widening(rows.names, cov, result),
    )


def _is_wanted(measure: Measure) -> bool:
    return measure.kind in ("opening", "level", *_POINT_KINDS)


def _frame_sights(face: Face) -> Iterator[tuple[str, str, list[Sight]]]:
    if face.frame is not None:
        yield "frame", "frame", [(pick, 0.0) for pick in face.frame]


def _reference_sights(face: Face) -> Iterator[tuple[str, str, list[Sight]]]:
    for number, known in enumerate(face.references, start=1):
        back = known.set_back_mm
        yield f"reference-{number}", "reference", [(pick, back) for pick in known.at]


class _Spread:
    """What the ± of charted picks comes from: unknowns, picks that the adjustment used, others."""

    def __init__(self, charted: Charted) -> None:
        adjusted = charted.solution.adjusted
        k = len(charted.faces)
        self.jac_unknowns = charted.jac_unknowns.reshape(2 * k, -1)
        self.cov_unknowns = adjusted.cov_unknowns
        used, source = np.unique(charted.entered[charted.entered >= 0], return_inverse=True)
        observed = np.stack([2 * used, 2 * used + 1], axis=-1).ravel()
        # the same spot picked for two measures is one pick
        free = charted.entered < 0
        spots, first, twin = np.unique(
            charted.picks_px[free], axis=0, return_index=True, return_inverse=True
        )
        m, f = len(used), len(spots)
        which = np.empty(k, dtype=int)
        which[~free] = source
        which[free] = m + twin.ravel()
        self.which, self.jac_pick = which, charted.jac_pick
        self.cov_picks = np.zeros((2 * (m + f), 2 * (m + f)))
        self.cross = np.zeros((2 * (m + f), self.cov_unknowns.shape[0]))
        if m:
            self.cov_picks[: 2 * m, : 2 * m] = adjusted.cov_adjusted(observed)
            self.cross[: 2 * m] = adjusted.cov_adjusted_unknowns(observed)
        alone = np.repeat(charted.u_px[free][first] ** 2, 2)
        self.cov_picks[range(2 * m, 2 * (m + f)), range(2 * m, 2 * (m + f))] = alone
        # rows of the charted picks, columns of the picks they come from
        row = np.repeat(np.arange(2 * k), 2)
        column = (2 * which[:, None, None] + np.array([[0, 1], [0, 1]])).ravel()
        self.jac_picks = csr_array(
            (charted.jac_pick.ravel(), (row, column)), shape=(2 * k, 2 * (m + f))
        )

    def cov_of(self, jac: csr_array) -> Array:
        """Covariance of numbers whose derivatives by the chart points are `jac`, (n, 2 k)."""
        by_unknowns = np.asarray(jac @ self.jac_unknowns)
        by_picks = csr_array(jac @ self.jac_picks)
        mixed = np.asarray(by_picks @ self.cross) @ by_unknowns.T
        cov: Array = by_unknowns @ self.cov_unknowns @ by_unknowns.T + mixed + mixed.T
        cov += np.asarray(by_picks @ np.asarray(by_picks @ self.cov_picks).T)
        return 0.5 * (cov + cov.T)

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
        return 0.5 * (cov + cov.T)


class _Rows:
    """Gathers values and their derivatives by the chart points."""

    def __init__(self, charted: Charted, spread: _Spread, datum: int | None) -> None:
        self.chart = charted.chart_mm
        self.spread = spread
        self.datum = datum
        self.names: list[str] = []
        self.values: list[float] = []
        self.openings: list[OpeningColumns] = []
        self.levels: list[LevelColumn] = []
        self.points: list[PointColumns] = []
        self._row: list[int] = []
        self._column: list[int] = []
        self._slope: list[float] = []

    def add(self, measure: Measure, rows: range) -> None:
        """Add the numbers of one measure."""
        if isinstance(measure, OpeningMeasure):
            self._add_opening(measure, rows)
        elif measure.kind == "level":
            at = self._add_v(f"{measure.id}.level", rows[0])
            self.levels.append(LevelColumn(measure.id, measure.label, at))
        else:
            self.add_points(measure.id, measure.label, measure.kind, rows)

    def add_points(self, id_: str, label: str, kind: str, rows: range) -> None:
        """Add picks as they are."""
        u = [self._add_u(f"{id_}.{i + 1}.u", row) for i, row in enumerate(rows)]
        v = [self._add_v(f"{id_}.{i + 1}.v", row) for i, row in enumerate(rows)]
        self.points.append(PointColumns(id_, label, kind, tuple(u), tuple(v)))

    def add_datum(self) -> None:
        """Add the datum itself: nought, and known exactly, since levels count from it."""
        self.levels.append(LevelColumn("datum", "datum", self._add("datum.level", 0.0, {})))

    def jacobian(self) -> csr_array:
        """Derivatives of all numbers by the chart points, shape (n, 2 k)."""
        shape = (len(self.names), 2 * len(self.chart))
        return csr_array((self._slope, (self._row, self._column)), shape=shape)

    def _add(self, name: str, value: float, slopes: Mapping[int, float]) -> int:
        at = len(self.names)
        self.names.append(name)
        self.values.append(value)
        self._row += [at] * len(slopes)
        self._column += slopes.keys()
        self._slope += slopes.values()
        return at

    def _add_u(self, name: str, row: int) -> int:
        return self._add(name, float(self.chart[row, 0]), {2 * row: 1.0})

    def _add_v(self, name: str, row: int) -> int:
        slopes = {2 * row + 1: 1.0}
        value = float(self.chart[row, 1])
        if self.datum is not None:
            slopes[2 * self.datum + 1] = -1.0
            value -= float(self.chart[self.datum, 1])
        return self._add(name, value, slopes)

    def _add_opening(self, measure: OpeningMeasure, rows: range) -> None:
        every = [*rows] if self.datum is None else [*rows, self.datum]
        numbers = np.array([[2 * i, 2 * i + 1] for i in every]).ravel()
        flat = self.chart[every].ravel()
        unit = np.eye(len(flat))
        jets = [Jet(flat[i], unit[i]) for i in range(len(flat))]
        count = len(rows)
        datum_v = 0.0 if self.datum is None else jets[-1]
        cov = self.spread.cov_chart(rows)
        points = ChartPoints(jets[0 : 2 * count : 2], jets[1 : 2 * count : 2], datum_v, cov)
        sizes = opening.sizes(points, measure.head)
        at: dict[str, int] = {}
        for part in PARTS:
            size = sizes.get(f"{part}_mm")
            if size is not None:
                slopes = zip(numbers.tolist(), gradient_of(size, len(flat)).tolist(), strict=True)
                at[part] = self._add(f"{measure.id}.{part}", float(value_of(size)), dict(slopes))
        at.setdefault("springing", at["head"])
        self.openings.append(OpeningColumns(measure.id, measure.label, measure.head, **at))


def _widening(names: Sequence[str], cov: Array, result: FaceResult) -> Array:
    """How much wider sampling found the ± of each number than first order did, 1 or more.

    It is not worked into the covariance: widened one by one, two sills would seem to differ
    by part of the ± of the whole wall's scale, which they share.
    """
    factor = np.ones(len(names))
    for i, name in enumerate(names):
        id_, _, part = name.rpartition(".")
        measure = result.measures.get(id_)
        u_first = float(np.sqrt(max(cov[i, i], 0.0)))
        if measure is not None and f"{part}_mm" in measure.u and u_first > 0.0:
            factor[i] = max(measure.u_of(f"{part}_mm") / u_first, 1.0)
    return factor
