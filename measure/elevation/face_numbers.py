"""The numbers of a measured face with their joint covariance.

Two windows share a camera, and a pick may serve a frame, a size and an opening at once;
the covariance knows it. It is put together in one piece, without looking at pairs of
measures one after the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
from scipy.sparse import csr_array

from measure.datum import Datum
from measure.elevation.elsewhere import Elsewhere
from measure.elevation.pick_spread import PickSpread, moved_picks
from measure.elevation.quantities import (
    PARTS,
    LevelColumn,
    OpeningColumns,
    PointColumns,
    Quantities,
)
from measure.features import opening
from measure.features.chart_points import ChartPoints
from measure.features.registry import Sight, sights_of
from measure.results import FaceResult, MeasureResult
from rectify.one_chart import laid, laid_together
from rectify.solution import Charted, Solution
from shared.jets import Array, Jet, gradient_of, value_of
from shared.survey import Face, Measure, OpeningMeasure, Pick, RoofSurface, Survey

_POINT_KINDS = ("outline", "spacing", "distance")


def make_quantities(
    survey: Survey,
    face: Face,
    solution: Solution,
    result: FaceResult,
    near: Quantities | None = None,
    elsewhere: Sequence[Elsewhere] = (),
) -> Quantities:
    """Gather the numbers of a measured face.

    Parameters
    ----------
    survey : Survey
    face : Face
    solution : Solution
    result : FaceResult
        Its measures; those that the picture could not give are left out.
    near : Quantities, optional
        The same numbers as they are once lined up: where the derivatives are to be taken.
    elsewhere : sequence of Elsewhere, optional
        Openings of the same wall in other photos.

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

    Derivatives taken at the picks carry their noise, and hundreds of sills that are to be
    one then seem to tell that the whole wall is smaller: shrinking it shrinks every
    misfit. Taken where the sills are one, they tell nothing of the kind.
    """
    wanted = [m for m in face.measures if m.id in result.measures and _is_wanted(m)]
    if isinstance(face.surface, RoofSurface):
        # the drawing shows a slope at its true length, on which plumb heights have no place
        wanted = [measure for measure in wanted if measure.kind != "level"]
    marks = [*_frame_sights(face), *_reference_sights(face)]
    sights = [sights_of(measure, measure.id) for measure in wanted]
    sights += [some for _, _, some in marks]
    picks = [pick for some in sights for pick, _ in some]
    charted = solution.charted(face.id, picks, [back for some in sights for _, back in some])
    datum = Datum(survey, face, solution)
    if near is not None:
        ids = [*(measure.id for measure in wanted), *(name for name, _, _ in marks)]
        counts = [len(some) for some in sights]
        charted = moved_picks(charted, near, ids, counts, datum.v_mm, _tied(face, picks))
    datum_row: int | None = None
    if datum.charted is not None:
        charted = charted.joined(range(len(picks)), datum.charted)
        datum_row = len(picks)
    others = [_charted_there(each, near, datum.v_mm) for each in elsewhere]
    if elsewhere:
        shifts = [each.shift for each in elsewhere]
        every = laid_together(charted, list(zip(others, shifts, strict=True)))
    else:
        every = laid(charted)
    spread = PickSpread(every)
    rows = _Rows(every.chart_mm, spread, datum_row)
    start = 0
    for measure, some in zip(wanted, sights, strict=False):
        rows.add(measure, range(start, start + len(some)))
        start += len(some)
    for name, kind, some in marks:
        rows.add_points(name, "", kind, range(start, start + len(some)))
        start += len(some)
    if datum_row is not None:
        rows.add_datum()
        start += 1
    for seen in elsewhere:
        for one in seen.openings:
            count = len(sights_of(one.measure, one.measure.id))
            rows.add_opening(one.measure, range(start, start + count), seen.face.photo)
            start += count
    cov = spread.cov_of(rows.jacobian())
    values = np.array(rows.values, dtype=float)
    twin_of = {one.measure.id: one.twin_of for seen in elsewhere for one in seen.openings}
    by_id = {each.id: each for each in rows.openings}
    widening = _widening(rows.names, cov, result)
    for seen in elsewhere:
        for one in seen.openings:
            _widen_opening(widening, by_id[one.measure.id], cov, one.result)
    return Quantities(
        tuple(rows.names),
        values,
        cov,
        tuple(each for each in rows.openings if not twin_of.get(each.id)),
        tuple(rows.levels),
        tuple(rows.points),
        tuple((by_id[one], by_id[other]) for other, one in twin_of.items() if one),
        widening,
    )


def _charted_there(seen: Elsewhere, near: Quantities | None, datum_v_mm: float) -> Charted:
    """Openings in another photo, on its own chart; derivatives taken near where they are."""
    sights = [sights_of(one.measure, one.measure.id) for one in seen.openings]
    picks = [pick for some in sights for pick, _ in some]
    backs = [back for some in sights for _, back in some]
    charted = seen.solution.charted(seen.face.id, picks, backs)
    if near is None:
        return charted
    every = (*near.openings, *(there for _, there in near.twins))
    aside, up = seen.shift.mm
    values = near.values.copy()
    values[[at for each in every for at in (each.left, each.right)]] -= aside
    there = replace(near, values=values, openings=every)
    ids, counts = [one.measure.id for one in seen.openings], [len(some) for some in sights]
    return moved_picks(charted, there, ids, counts, datum_v_mm - up, _tied(seen.face, picks))


def _is_wanted(measure: Measure) -> bool:
    return measure.kind in ("opening", "level", *_POINT_KINDS)


def _tied(face: Face, picks: Sequence[Pick]) -> list[bool]:
    """Which picks are corners of the frame or of rectangle guides."""
    corners = [*(face.frame or ())]
    corners += [pick for guide in face.guides if guide.kind == "rectangle" for pick in guide.at]
    spots = {(pick.x, pick.y) for pick in corners}
    return [(pick.x, pick.y) in spots for pick in picks]


def _frame_sights(face: Face) -> Iterator[tuple[str, str, list[Sight]]]:
    if face.frame is not None:
        yield "frame", "frame", [(pick, 0.0) for pick in face.frame]


def _reference_sights(face: Face) -> Iterator[tuple[str, str, list[Sight]]]:
    for number, known in enumerate(face.references, start=1):
        back = known.set_back_mm
        yield f"reference-{number}", "reference", [(pick, back) for pick in known.at]


class _Rows:
    """Gathers values and their derivatives by the chart points."""

    def __init__(self, chart_mm: Array, spread: PickSpread, datum: int | None) -> None:
        self.chart = chart_mm
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
            self.add_opening(measure, rows)
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

    def add_opening(self, measure: OpeningMeasure, rows: range, photo: str = "") -> None:
        """Add the numbers of an opening, in another photo where one is named."""
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
        self.openings.append(
            OpeningColumns(measure.id, measure.label, measure.head, **at, photo=photo)
        )


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


def _widen_opening(
    widening: Array, at: OpeningColumns, cov: Array, measured: MeasureResult
) -> None:
    """Widen an opening of another photo, in place: by its sizes, since its chart is another."""
    for key, high, low in (("width_mm", at.right, at.left), ("height_mm", at.head, at.sill)):
        variance = cov[high, high] + cov[low, low] - 2.0 * cov[high, low]
        if variance > 0.0:
            factor = max(measured.u_of(key) / float(np.sqrt(variance)), 1.0)
            widening[[high, low]] = factor
            if key == "height_mm":
                widening[at.springing] = factor
