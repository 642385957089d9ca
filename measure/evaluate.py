"""A survey and what is known of its photos -> every size with its ±.

Opens no files: photos come as facts, and courses that must be read from the
picture through a function that the caller supplies.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from measure.datum import Datum
from measure.doubts import doubts_of_measure, doubts_of_photo
from measure.features.registry import Sight, sights_of, sizes_of
from measure.propagate import Effort, Propagation
from measure.results import FaceResult, MeasureResult, PhotoResult, Results
from measure.space_points import locate_point
from rectify.adjust import solve_photo
from rectify.observations import Role, check_inside_photo
from rectify.solution import Charted, PhotoFacts, Solution
from rectify.tie_photos import tie_photos
from rectify.unknowns import heights_of
from shared.errors import GeometryError, InputError, UnderdeterminedError
from shared.model_scales import parse_model_scale
from shared.survey import CoursesMeasure, Face, Measure, RoofSurface, Survey

CourseReader = Callable[[Survey, Solution, Face, CoursesMeasure], MeasureResult]


def evaluate(
    survey: Survey,
    facts: Mapping[str, PhotoFacts],
    *,
    read_courses: CourseReader | None = None,
    stop_at_problem: bool = True,
) -> Results:
    """Solve every photo of a survey and measure every face.

    Parameters
    ----------
    survey : Survey
    facts : mapping of photo id to PhotoFacts
    read_courses : callable, optional
        Counts the courses of a measure whose count is not given
        (:func:`measure.course_strip.read_courses_from_photo`); without it they get their
        height alone.
    stop_at_problem : bool
        Raise for the first measure that the picture cannot give; otherwise keep the reason
        beside the measures that it can.

    Returns
    -------
    Results

    Raises
    ------
    InputError
        For a model scale, a pick or a size that is impossible.
    GeometryError
        For a photo that cannot be solved, or (with `stop_at_problem`) a measure past the
        horizon of its face.
    """
    scale = parse_model_scale(survey.model_scale)
    by_photo = {
        photo.id: [face for face in survey.faces if face.photo == photo.id]
        for photo in survey.photos
    }
    tied = tie_photos(
        survey.faces,
        survey.ties,
        {photo: solve_photo(facts[photo], faces) for photo, faces in by_photo.items() if faces},
    )
    photos: dict[str, PhotoResult] = {}
    for photo, solution in tied.solutions.items():
        doubts = (*tied.warnings.get(photo, ()), *doubts_of_photo(solution, by_photo[photo]))
        photos[photo] = PhotoResult(solution, doubts)
    out: dict[str, FaceResult] = {}
    for face in survey.faces:
        solution = photos[face.photo].solution
        out[face.id] = measure_face(
            survey, face, solution, scale.denominator, read_courses, stop_at_problem
        )
    by_id = {face.id: face for face in survey.faces}
    points = {
        name: locate_point(
            survey, name, point, by_id[point.face], photos[by_id[point.face].photo].solution
        )
        for name, point in tied.points.items()
    }
    return Results(
        survey.title, survey.model_scale, scale.denominator, photos, out, tied.placements, points
    )


@dataclass(frozen=True, slots=True)
class _Asked:
    """A measure with the rows of its picks among all charted picks of the face."""

    measure: Measure
    name: str
    rows: tuple[int, ...]


def measure_face(
    survey: Survey,
    face: Face,
    solution: Solution,
    denominator: float,
    read_courses: CourseReader | None = None,
    stop_at_problem: bool = True,
    *,
    effort: Effort = "whole",
) -> FaceResult:
    """Measure everything asked of one face; see `evaluate`.

    With less effort, while a pick is being dragged, courses without a count are left out
    and no ± is taken from many draws; see `measure.propagate`.
    """
    sights: list[Sight] = []
    asked: list[_Asked] = []
    results: dict[str, MeasureResult] = {}
    problems: dict[str, Exception] = {}
    for measure in face.measures:
        if effort != "whole" and isinstance(measure, CoursesMeasure) and measure.count is None:
            continue
        name = f"{measure.kind} '{measure.id}' of face '{face.id}'"
        try:
            mine = sights_of(measure, name)
            for pick, _ in mine:
                role = Role(face.id, f"{measure.kind} '{measure.id}'", "")
                check_inside_photo(pick, solution.photo.width_px, solution.photo.height_px, role)
        except (InputError, GeometryError) as problem:
            if stop_at_problem:
                raise
            problems[measure.id] = problem
            continue
        start = len(sights)
        sights += mine
        asked.append(_Asked(measure, name, tuple(range(start, start + len(mine)))))
    if asked and not solution.scaled:
        raise UnderdeterminedError(
            f"Nothing on face '{face.id}' has a known size, so nothing can be measured.",
            hint="Add a reference: a length between two picks, or courses of known gauge.",
            details={"face": face.id},
            unobservable=("scale",),
        )
    charted = solution.charted(
        face.id, [*(pick for pick, _ in sights)], [back for _, back in sights]
    )
    slopes = isinstance(face.surface, RoofSurface)
    datum = Datum(survey, face, solution)
    propagation = Propagation(charted, datum, effort=effort)
    upright = propagation
    if slopes and any(item.measure.kind == "level" for item in asked):
        # levels are plumb heights, and a slope's own chart counts along it
        heights = solution.charted(
            heights_of(face.id), [*(pick for pick, _ in sights)], [back for _, back in sights]
        )
        upright = Propagation(heights, Datum(survey, face, solution, plumb=True), effort=effort)
    for item in asked:
        by = upright if item.measure.kind == "level" else propagation
        try:
            results[item.measure.id] = _measure(
                item, survey, face, charted, by, denominator, read_courses
            )
        except (InputError, GeometryError) as problem:
            if stop_at_problem:
                raise
            problems[item.measure.id] = problem
    return FaceResult(face.id, face.photo, datum.v_mm, results, problems)


def _measure(
    item: _Asked,
    survey: Survey,
    face: Face,
    charted: Charted,
    propagation: Propagation,
    denominator: float,
    read_courses: CourseReader | None,
) -> MeasureResult:
    measure = item.measure
    chart = charted.chart_mm[list(item.rows)]
    if not np.isfinite(chart).all():
        raise GeometryError(
            f"A pick of {item.name} looks past the face: at or beyond its horizon, or beside it.",
            hint="Pick it on the face, or measure it on another face.",
            details={"face": face.id, "measure": measure.id},
        )
    uncounted = isinstance(measure, CoursesMeasure) and measure.count is None
    if isinstance(measure, CoursesMeasure) and uncounted and read_courses is not None:
        read = read_courses(survey, charted.solution, face, measure)
        told = doubts_of_measure(measure, read, charted, item.rows, denominator)
        return replace(read, warnings=(*read.warnings, *told))
    try:
        sizes, u = propagation.sizes_with_u(sizes_of(measure), item.rows, item.name)
    except GeometryError as error:
        error.details.setdefault("measure", measure.id)
        raise
    counted = {}
    if isinstance(measure, CoursesMeasure):
        counted = {"count": measure.count, "sure": not uncounted}
    result = MeasureResult(
        id=measure.id,
        kind=measure.kind,
        label=measure.label,
        sizes=sizes,
        u=u,
        points_mm=chart,
        facts=counted,
    )
    doubts = doubts_of_measure(measure, result, charted, item.rows, denominator)
    if uncounted:
        doubts.append("No count: count the courses between its two picks and give the count.")
    return replace(result, warnings=tuple(doubts))
