"""A survey and what is known of its photos -> every size with its ±.

Opens no files: photos come as facts, and courses that must be read from the
picture through a function that the caller supplies.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from measure.datum import Datum
from measure.doubts import doubts_of_measure, doubts_of_photo
from measure.features.courses import joints_px
from measure.features.registry import Sight, sights_of, sizes_of
from measure.partial_solving import SolvedPhoto
from measure.propagate import Effort, Propagation
from measure.results import FaceResult, MeasureResult, PhotoResult, Results
from measure.space_points import locate_point
from rectify.adjust import solve_photo
from rectify.solution import Charted, PhotoFacts, Solution
from rectify.solving.observations import Role, check_inside_photo
from rectify.solving.unknowns import heights_of, radius_of
from rectify.tie_photos import Tied, tie_photos
from shared.errors import GeometryError, InputError, StoreyrodError, UnderdeterminedError
from shared.jets import Array
from shared.model_scales import parse_model_scale
from shared.number_text import format_number
from shared.survey import (
    CoursesMeasure,
    Face,
    Measure,
    OpeningMeasure,
    RoofSurface,
    RoundSurface,
    Survey,
    Tie,
)

#: No side of an opening leans by more than this share of its diagonal, however it was picked.
MOST_LEAN = 0.5

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
    steps = Steps(read_courses, stop_at_problem=stop_at_problem)
    return evaluate_by(steps, survey, facts).results


class Steps:
    """How each step of evaluating a survey is done: plainly, and the first refusal ends it.

    Another way, such as the page's, replaces the steps that it does otherwise.
    """

    def __init__(
        self, read_courses: CourseReader | None = None, *, stop_at_problem: bool = True
    ) -> None:
        self.read_courses = read_courses
        self.stop_at_problem = stop_at_problem

    def solve(self, facts: PhotoFacts, faces: Sequence[Face]) -> SolvedPhoto:
        """Solve a photo by itself."""
        return SolvedPhoto(solve_photo(facts, faces))

    def tie(
        self, faces: Sequence[Face], ties: Sequence[Tie], solutions: Mapping[str, Solution]
    ) -> Tied:
        """Solve photos together that are tied; see :func:`rectify.tie_photos.tie_photos`."""
        return tie_photos(faces, ties, solutions)

    def doubts(self, solution: Solution, faces: Sequence[Face]) -> tuple[str, ...]:
        """Say what is to be doubted of a photo; see :func:`measure.doubts.doubts_of_photo`."""
        return doubts_of_photo(solution, faces)

    def measure(
        self, survey: Survey, face: Face, solution: Solution, denominator: float
    ) -> FaceResult:
        """Measure everything asked of a face."""
        return measure_face(
            survey, face, solution, denominator, self.read_courses, self.stop_at_problem
        )

    def set_aside(self, problem: StoreyrodError) -> StoreyrodError:
        """Keep why a face is not measured and go on; plainly it is raised."""
        raise problem


@dataclass(frozen=True, slots=True)
class Evaluated:
    """A survey as far as it could be evaluated.

    Parameters
    ----------
    results : Results
    problems : mapping of face id to StoreyrodError
        Faces that are missing from them.
    said_of_ties : mapping of photo id to sequence of str
        What tying the photos came up against; among the photos' warnings too.
    """

    results: Results
    problems: Mapping[str, StoreyrodError]
    said_of_ties: Mapping[str, Sequence[str]]


def evaluate_by(steps: Steps, survey: Survey, facts: Mapping[str, PhotoFacts]) -> Evaluated:
    """Evaluate a survey: each photo by itself, tied ones together, then face by face.

    Parameters
    ----------
    steps : Steps
    survey : Survey
    facts : mapping of photo id to PhotoFacts
        Faces of photos that are not among them are left out.

    Raises
    ------
    InputError, GeometryError
        As the steps have it.
    """
    scale = parse_model_scale(survey.model_scale)
    problems: dict[str, StoreyrodError] = {}
    alone: dict[str, Solution] = {}
    for photo in facts:
        faces = [face for face in survey.faces if face.photo == photo]
        if faces:
            solved = steps.solve(facts[photo], faces)
            problems |= solved.problems
            if solved.solution is not None:
                alone[photo] = solved.solution
    placed = [face for face in survey.faces if face.photo in alone and face.id not in problems]
    tied = steps.tie(placed, survey.ties, alone)
    photos: dict[str, PhotoResult] = {}
    for photo, solution in tied.solutions.items():
        seen = [face for face in placed if face.photo == photo]
        doubts = (*tied.warnings.get(photo, ()), *steps.doubts(solution, seen))
        photos[photo] = PhotoResult(solution, doubts)
    out: dict[str, FaceResult] = {}
    for face in placed:
        solution = photos[face.photo].solution
        try:
            out[face.id] = steps.measure(survey, face, solution, scale.denominator)
        except (InputError, GeometryError) as problem:
            problems[face.id] = steps.set_aside(problem)
    by_id = {face.id: face for face in placed}
    points = {
        name: locate_point(
            survey, name, point, by_id[point.face], photos[by_id[point.face].photo].solution
        )
        for name, point in tied.points.items()
    }
    results = Results(
        survey.title, survey.model_scale, scale.denominator, photos, out, tied.placements, points
    )
    return Evaluated(results, problems, tied.warnings)


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
        if effort != "whole" and isinstance(measure, CoursesMeasure) and measure.told is None:
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
    radius = None
    if isinstance(face.surface, RoundSurface) and sights:
        radius = solution.charted(radius_of(face.id), [sights[0][0]])
    propagation = Propagation(charted, datum, radius=radius, effort=effort)
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
    if isinstance(measure, OpeningMeasure) and measure.head != "round":
        _check_upright(chart[:4], item.name, face.id, measure.id)
    uncounted = isinstance(measure, CoursesMeasure) and measure.told is None
    if isinstance(measure, CoursesMeasure) and uncounted and read_courses is not None:
        read = read_courses(survey, charted.solution, face, measure)
        told = doubts_of_measure(measure, read, charted, item.rows, denominator)
        return replace(read, warnings=(*read.warnings, *told))
    try:
        sizes, u = propagation.sizes_with_u(sizes_of(measure), item.rows, item.name)
    except GeometryError as error:
        error.details.setdefault("measure", measure.id)
        raise
    counted: dict[str, Any] = {}
    if isinstance(measure, CoursesMeasure):
        counted = {"count": measure.told, "sure": not uncounted}
        if measure.joints:
            counted["joints_px"] = joints_px(charted, item.rows)
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


def _check_upright(corners_mm: Array, name: str, face: str, measure: str) -> None:
    """Refuse four corners, TL first and then round, that no opening has."""
    leans = np.abs(corners_mm[[0, 1, 0, 3], [0, 0, 1, 1]] - corners_mm[[3, 2, 1, 2], [0, 0, 1, 1]])
    diagonals = np.linalg.norm(corners_mm[:2] - corners_mm[2:], axis=1)
    if leans.max() > MOST_LEAN * diagonals.min():
        raise GeometryError(
            f"The corners of {name} make no upright rectangle on the wall: its sides are "
            f"{format_number(leans.max())} mm out of true.",
            hint="Pick its four corners again, each where it is.",
            details={"face": face, "measure": measure},
        )
