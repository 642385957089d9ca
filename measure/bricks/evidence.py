"""What a wall says of its bricks: gauge and length of a stretcher, from picks, with covariance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rectify.adjust import solve_photo
from rectify.sampled_chart import sampled_chart
from rectify.solution import Charted, PhotoFacts, Solution
from shared.errors import FieldError, GeometryError, InputError
from shared.jets import Array
from shared.survey import (
    CoursesMeasure,
    CoursesReference,
    DistanceMeasure,
    Face,
    Pick,
    Survey,
)

#: Draws of the sampled route where the focal length is open, and its seed.
DRAWS, SEED = 2000, 20260102


@dataclass(frozen=True, slots=True)
class Stretchers:
    """A distance measured along one course, and the bricks laid lengthwise that it spans.

    Parameters
    ----------
    measure : str
        Id of the distance, from a joint to a joint.
    count : int
    """

    measure: str
    count: int

    def __post_init__(self) -> None:
        if not 1 <= self.count <= 1000:
            raise FieldError(
                f"{self.count} stretchers cannot be spanned by '{self.measure}': "
                "give a count from 1 to 1000."
            )


@dataclass(frozen=True, slots=True)
class BrickEvidence:
    """Gauge and stretcher module of a wall.

    Attributes
    ----------
    scaled : bool
        Whether a known size other than the courses gives the photo its scale. If not, both
        logarithms are off by one unknown amount, and only their difference means anything.
    log_gauge : float
        Natural logarithm of the height of a course in mm.
    log_module : float or None
        Of a stretcher with one joint; None where no bricks were counted along a course.
    cov_logs : ndarray, shape (2, 2)
        Of the two; zero for a module that is not known.
    courses, stretchers : int
        How many were counted in all.
    """

    scaled: bool
    log_gauge: float
    log_module: float | None
    cov_logs: Array
    courses: int
    stretchers: int

    @property
    def u_log_gauge(self) -> float:
        """Relative standard uncertainty of the gauge."""
        return math.sqrt(float(self.cov_logs[0, 0]))

    @property
    def gauge_mm(self) -> tuple[float, float]:
        """Height of a course and its standard uncertainty; meaningless unless `scaled`."""
        gauge_mm = math.exp(self.log_gauge)
        return gauge_mm, gauge_mm * self.u_log_gauge

    @property
    def ratio(self) -> tuple[float, float] | None:
        """Stretcher module over gauge, and its standard uncertainty."""
        if self.log_module is None:
            return None
        ratio = math.exp(self.log_module - self.log_gauge)
        cov = self.cov_logs
        return ratio, ratio * math.sqrt(float(cov[0, 0] + cov[1, 1] - 2.0 * cov[0, 1]))


@dataclass(frozen=True, slots=True)
class _Span:
    """Two picks and how many courses or stretchers lie between them."""

    ends: tuple[Pick, Pick]
    set_back_mm: float
    count: int
    upright: bool


def read_evidence(
    survey: Survey, facts: PhotoFacts, face: Face, stretchers: Sequence[Stretchers]
) -> BrickEvidence:
    """Measure gauge and stretcher module without believing any gauge.

    Parameters
    ----------
    survey : Survey
    facts : PhotoFacts
    face : Face
    stretchers : sequence of Stretchers

    Raises
    ------
    InputError, GeometryError
    """
    spans = [*_courses_of(face), *(_stretchers_of(face, one) for one in stretchers)]
    without = [
        one.model_copy(
            update={
                "references": tuple(
                    r for r in one.references if not isinstance(r, CoursesReference)
                )
            }
        )
        for one in survey.faces
        if one.photo == face.photo
    ]
    solution = solve_photo(facts, without)
    charted = solution.charted(
        face.id,
        [pick for span in spans for pick in span.ends],
        [span.set_back_mm for span in spans for _ in span.ends],
    )
    if not np.isfinite(charted.chart_mm).all():
        raise GeometryError(
            f"A pick of the courses or stretchers of face '{face.id}' looks past the face.",
            hint="Pick it on the face.",
            details={"face": face.id},
        )
    logs, cov = _logs(spans, charted)
    upright = np.array([span.upright for span in spans])
    design = np.column_stack([upright, ~upright]).astype(float)[:, : 2 if stretchers else 1]
    # a millionth more keeps one span picked twice from making the covariance singular
    weight = np.linalg.inv(cov + 1e-6 * np.diag(np.diag(cov)) + 1e-14 * np.eye(len(cov)))
    cov_means = np.linalg.inv(design.T @ weight @ design)
    means = cov_means @ design.T @ weight @ logs
    wide = np.zeros((2, 2))
    wide[: len(means), : len(means)] = cov_means
    return BrickEvidence(
        scaled=solution.scaled,
        log_gauge=float(means[0]),
        log_module=float(means[1]) if stretchers else None,
        cov_logs=wide,
        courses=sum(span.count for span in spans if span.upright),
        stretchers=sum(span.count for span in spans if not span.upright),
    )


def gauge_on_chart(solution: Solution, face: Face) -> float:
    """Mean height of the counted courses of a face in the chart of a solution, in mm.

    Raises
    ------
    InputError
        If no courses are counted on the face.
    """
    spans = _courses_of(face)
    picks = [pick for span in spans for pick in span.ends]
    backs = [span.set_back_mm for span in spans for _ in span.ends]
    v_mm = solution.charted(face.id, picks, backs).chart_mm[:, 1].reshape(-1, 2)
    return float(
        np.mean([abs(v[1] - v[0]) / span.count for v, span in zip(v_mm, spans, strict=True)])
    )


def distance_along_course(face: Face, measure_id: str) -> DistanceMeasure:
    """Find the distance along which stretchers are to be counted.

    Raises
    ------
    FieldError
        If the face has no such distance.
    """
    for measure in face.measures:
        if measure.id == measure_id and isinstance(measure, DistanceMeasure):
            return measure
    raise FieldError(
        f"Face '{face.id}' has no distance '{measure_id}' to count stretchers along.",
        hint="Measure a distance along one course, from joint to joint, and name it.",
        details={"face": face.id, "measure": measure_id},
    )


def _logs(spans: Sequence[_Span], charted: Charted) -> tuple[Array, Array]:
    """Logarithms of one course or stretcher in each span, and their joint covariance."""
    rows = list(range(2 * len(spans)))
    chart = charted.chart_mm.reshape(-1, 2, 2)
    gap = chart[:, 1] - chart[:, 0]
    gap[[span.upright for span in spans], 0] = 0.0
    size = np.hypot(gap[:, 0], gap[:, 1])
    if not (size > 0.0).all():
        raise InputError(
            "Courses or stretchers begin and end at one place.", hint="Pick their two ends apart."
        )
    push = np.zeros((len(spans), 4 * len(spans)))
    for i in range(len(spans)):
        along = gap[i] / size[i] ** 2
        push[i, 4 * i : 4 * i + 4] = [*-along, *along]
    cov = push @ charted.cov_chart(rows) @ push.T
    counts = np.array([span.count for span in spans], dtype=float)
    logs = np.log(size / counts)
    if charted.solution.focal_is_open:
        u_mm, v_mm = sampled_chart(charted, rows, DRAWS, SEED)
        upright = np.array([span.upright for span in spans])[:, None]
        across = np.where(upright, 0.0, u_mm[1::2] - u_mm[::2])
        drawn = np.log(np.hypot(across, v_mm[1::2] - v_mm[::2]))
        drawn = np.atleast_2d(np.cov(drawn[:, np.isfinite(drawn).all(axis=0)]))
        cov = drawn if np.trace(drawn) > np.trace(cov) else cov
    return logs, cov


def _courses_of(face: Face) -> list[_Span]:
    """Counted courses of a face: those that stand as known sizes, else those to be measured."""
    found = [
        _Span((one.at[0], one.at[1]), one.set_back_mm, one.count, upright=True)
        for one in face.references
        if isinstance(one, CoursesReference)
    ] or [
        _Span(one.ends, one.set_back_mm, one.told, upright=True)
        for one in face.measures
        if isinstance(one, CoursesMeasure) and one.told is not None
    ]
    if not found:
        raise InputError(
            f"Face '{face.id}' has no counted courses, so no brick can be told from them.",
            hint="Pick two bed joints and give the number of courses between them.",
            details={"face": face.id},
        )
    return found


def _stretchers_of(face: Face, wish: Stretchers) -> _Span:
    measure = distance_along_course(face, wish.measure)
    return _Span((measure.at[0], measure.at[1]), measure.set_back_mm, wish.count, upright=False)
