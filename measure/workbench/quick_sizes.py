"""Sizes while a pick is being dragged: the same formulas, their ± to first order only.

As soon as the hand rests the whole measuring of :mod:`measure.evaluate` takes over, with
sampling where first order is poor and with courses read from the photo.
"""

from __future__ import annotations

import numpy as np

from measure.datum import Datum
from measure.features.chart_points import ChartPoints
from measure.features.registry import Sight, sights_of, sizes_of
from measure.results import FaceResult, MeasureResult, SizeValue
from rectify.solution import Charted, Solution
from shared.errors import GeometryError, InputError
from shared.jets import Array, Jet, Number, gradient_of, value_of
from shared.survey import CoursesMeasure, Face, Measure, Survey


def measure_face_quickly(survey: Survey, face: Face, solution: Solution) -> FaceResult:
    """Measure what can be measured without sampling and without the photo.

    Parameters
    ----------
    survey : Survey
    face : Face
    solution : Solution

    Returns
    -------
    FaceResult
        Measures that the picture cannot give are among its problems; courses that must be
        read from the photo are left out.
    """
    sights: list[Sight] = []
    asked: list[tuple[Measure, list[int]]] = []
    problems: dict[str, Exception] = {}
    for measure in face.measures:
        if isinstance(measure, CoursesMeasure) and measure.count is None:
            continue
        try:
            mine = sights_of(measure, f"{measure.kind} '{measure.id}' of face '{face.id}'")
        except (InputError, GeometryError) as problem:
            problems[measure.id] = problem
            continue
        asked.append((measure, list(range(len(sights), len(sights) + len(mine)))))
        sights += mine
    charted = solution.charted(face.id, [pick for pick, _ in sights], [back for _, back in sights])
    datum = Datum(survey, face, solution)
    results: dict[str, MeasureResult] = {}
    for measure, rows in asked:
        try:
            results[measure.id] = _measure(measure, charted, rows, datum)
        except (InputError, GeometryError) as problem:
            problems[measure.id] = problem
    return FaceResult(face.id, face.photo, datum.v_mm, results, problems)


def _measure(measure: Measure, charted: Charted, rows: list[int], datum: Datum) -> MeasureResult:
    chart = charted.chart_mm[rows]
    if not np.isfinite(chart).all():
        raise GeometryError(
            f"A pick of {measure.kind} '{measure.id}' looks past the face: at or beyond its "
            "horizon, or beside it.",
            hint="Pick it on the face, or measure it on another face.",
            details={"measure": measure.id},
        )
    joined, every = datum.joined(charted, tuple(rows))
    cov = joined.cov_chart(every)
    flat = joined.chart_mm[every].ravel()
    unit = np.eye(len(flat))
    jets: list[Number] = [Jet(flat[i], unit[i]) for i in range(len(flat))]
    u, v = jets[0::2], jets[1::2]
    count = len(rows)
    level: Number = v[count] if datum.charted is not None else 0.0
    made = sizes_of(measure)(
        ChartPoints(u[:count], v[:count], level, cov[: 2 * count, : 2 * count])
    )
    values: dict[str, SizeValue] = {}
    spreads: dict[str, SizeValue] = {}
    for key, size in made.items():
        if isinstance(size, list):
            values[key] = [float(value_of(part)) for part in size]
            spreads[key] = [_u(part, cov) for part in size]
        else:
            values[key], spreads[key] = float(value_of(size)), _u(size, cov)
    facts = {"count": measure.count, "sure": True} if isinstance(measure, CoursesMeasure) else {}
    return MeasureResult(measure.id, measure.kind, measure.label, values, spreads, chart, (), facts)


def _u(size: Number, cov: Array) -> float:
    gradient = gradient_of(size, len(cov))
    return float(np.sqrt(max(float(gradient @ cov @ gradient), 0.0)))
