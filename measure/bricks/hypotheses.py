"""Which brick a wall is laid of: each format of the catalogue weighed against the other evidence.

A format is a hypothesis, true or not; two formats are never blended into one gauge with a fat ±.
Two things on the wall can speak for or against it:

* the gauge, where another known size gives the wall its scale;
* how long the bricks are beside their courses' height, which needs no scale at all.

Both come from one solution of the photo that has never heard of the courses' gauge, with their
joint covariance.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from scipy.special import chdtrc

from measure.bricks.evidence import BrickEvidence, Stretchers, read_evidence
from measure.evaluate import measure_face
from measure.results import MeasureResult
from rectify.adjust import solve_photo
from rectify.solution import PhotoFacts
from shared.jets import Array
from shared.model_scales import parse_model_scale
from shared.reference_sizes import ReferenceSize, read_reference_sizes
from shared.survey import CoursesMeasure, CoursesReference, Face, OpeningMeasure, Survey

Verdict = Literal["agrees", "doubtful", "contradicted", "untested"]

#: Chance below which the evidence makes a format doubtful, and below which it rules it out.
#: The second is that of a w-test at 3.29.
DOUBTFUL, CONTRADICTED = 0.05, 0.001

#: Joint between two bricks of a course: 10 mm unless the bed joint is thinner, with the ± of a
#: joint that bricklayers keep to by eye (common practice, no source).
PERPEND_MM, U_PERPEND_MM = 10.0, 1.5

#: Two gauges between which, or a little beyond, all others lie on a straight line.
GAUGES_MM = (60.0, 100.0)


@dataclass(frozen=True, slots=True)
class OpeningSize:
    """Width and height of an opening under one format, each with its standard uncertainty."""

    id: str
    label: str
    width_mm: float
    u_width_mm: float
    height_mm: float
    u_height_mm: float


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One format, and how it stands.

    Attributes
    ----------
    size : ReferenceSize
    module_mm : float or None
        A stretcher with one joint; None where the catalogue gives no length.
    chi_square, tests : float, int
        Misfit with the evidence, and the number of independent things tested.
    chance : float
        How often so large a misfit arises where the format is the true one; 1 where untested.
    w : float or None
        Gauge on the wall minus the format's, over its ±; None without another known size.
    verdict : {"agrees", "doubtful", "contradicted", "untested"}
    share : float or None
        Part of the probability among all formats tested by the same evidence, were each as
        likely beforehand. None where less was tested.
    openings : tuple of OpeningSize
        What the courses alone would make the openings if the wall were of this format.
    """

    size: ReferenceSize
    module_mm: float | None
    chi_square: float
    tests: int
    chance: float
    w: float | None
    verdict: Verdict
    share: float | None = None
    openings: tuple[OpeningSize, ...] = ()


@dataclass(frozen=True, slots=True)
class BrickChoice:
    """All formats weighed, the likeliest first.

    Attributes
    ----------
    evidence : BrickEvidence
    hypotheses : tuple of Hypothesis
    sentence : str
        What the evidence comes to, in one or two sentences.
    """

    evidence: BrickEvidence
    hypotheses: tuple[Hypothesis, ...]
    sentence: str


def weigh_brick_formats(
    survey: Survey,
    facts: PhotoFacts,
    face_id: str,
    *,
    stretchers: Sequence[Stretchers] = (),
    openings: Sequence[str] | None = None,
) -> BrickChoice:
    """Weigh every brick format of known gauge against what else is known of a wall.

    Parameters
    ----------
    survey : Survey
    facts : PhotoFacts
        Of the face's photo.
    face_id : str
        Its counted courses are what is to be explained: references, else measures.
    stretchers : sequence of Stretchers
        Distances measured along a course that span a known number of bricks laid lengthwise.
    openings : sequence of str, optional
        Ids of openings to be told under each format; by default all of the face, at most six.

    Returns
    -------
    BrickChoice

    Raises
    ------
    InputError
        If the face has no counted courses, or a named measure is not there or cannot serve.
    GeometryError
        If the photo cannot be solved.
    """
    face = next(one for one in survey.faces if one.id == face_id)
    evidence = read_evidence(survey, facts, face, stretchers)
    formats = [
        size
        for size in read_reference_sizes()
        if size.group == "brick" and size.usable and size.gauge_mm is not None
    ]
    weighed = with_shares([weigh_format(size, evidence) for size in formats], evidence)
    weighed.sort(key=lambda one: (one.verdict == "untested", -(one.share or 0.0), one.chi_square))
    wanted = _openings_of(face, openings)
    table = _OpeningTable(survey, facts, face, wanted)
    told = [replace(one, openings=table.under(one.size)) for one in weighed]
    return BrickChoice(evidence, tuple(told), _sum_up(told, evidence))


def weigh_format(size: ReferenceSize, evidence: BrickEvidence) -> Hypothesis:
    """Test one format against the evidence.

    Notes
    -----
    With ``y`` the logarithms of gauge and stretcher module on the wall, covariance ``S``, and
    ``h`` those of the format, covariance ``C``: ``d = A (y - h)`` and chi-square is
    ``d.T (A (S + C) A.T)^-1 d``. Where nothing else gives the wall its scale, ``A`` keeps the
    ratio of the two only. The gauge's ± enters ``C`` whole, however many courses are counted:
    it is the same mistake in each.
    """
    module, u_module = stretcher_module_mm(size)
    difference, cov, keep = _difference(size, evidence)
    tests = len(keep)
    misfit = float(difference @ np.linalg.solve(cov, difference)) if tests else 0.0
    chance = float(chdtrc(float(tests), misfit)) if tests else 1.0
    verdict: Verdict = "untested"
    if tests:
        verdict = "agrees" if chance >= DOUBTFUL else "doubtful"
        verdict = "contradicted" if chance < CONTRADICTED else verdict
    w = None
    if evidence.scaled and size.gauge_mm and size.u_gauge_mm:
        spread = math.hypot(evidence.u_log_gauge, size.u_gauge_mm / size.gauge_mm)
        w = (evidence.log_gauge - math.log(size.gauge_mm)) / spread
    return Hypothesis(size, module if u_module else None, misfit, tests, chance, w, verdict)


def _difference(size: ReferenceSize, evidence: BrickEvidence) -> tuple[Array, Array, list[int]]:
    """``d``, its covariance, and which rows of gauge and module (or their ratio) it holds."""
    if size.gauge_mm is None or size.u_gauge_mm is None:
        raise ValueError(f"{size.key}: a format without gauge cannot be weighed")
    module, u_module = stretcher_module_mm(size)
    length_known = evidence.log_module is not None and u_module > 0.0
    y = np.array([evidence.log_gauge, evidence.log_module or 0.0])
    h = np.array([math.log(size.gauge_mm), math.log(module) if length_known else 0.0])
    own = np.diag([(size.u_gauge_mm / size.gauge_mm) ** 2, (u_module / module) ** 2])
    if evidence.scaled:
        take = np.eye(2)[: 2 if length_known else 1]
    else:
        take = np.array([[-1.0, 1.0]])[: 1 if length_known else 0]
    return take @ (y - h), take @ (evidence.cov_logs + own) @ take.T, list(range(len(take)))


def stretcher_module_mm(size: ReferenceSize) -> tuple[float, float]:
    """Length of a stretcher with one joint, and its standard uncertainty; (1, 0) if unknown.

    Examples
    --------
    German NF is laid four to the metre (DIN 4172).

    >>> from shared.reference_sizes import find_reference_size
    >>> stretcher_module_mm(find_reference_size("de-brick-nf"))
    (250.0, 2.5)
    """
    if size.length_mm is None or size.u_length_mm is None:
        return 1.0, 0.0
    joint = min(PERPEND_MM, size.joint_mm or PERPEND_MM)
    return size.length_mm + joint, math.hypot(size.u_length_mm, U_PERPEND_MM)


def with_shares(weighed: list[Hypothesis], evidence: BrickEvidence) -> list[Hypothesis]:
    """Add each format's share of the probability among those tested by all the evidence."""
    most = max((one.tests for one in weighed), default=0)
    if most == 0:
        return weighed
    logs = {}
    for i, one in enumerate(weighed):
        if one.tests == most:
            _, cov, _ = _difference(one.size, evidence)
            logs[i] = -0.5 * one.chi_square - 0.5 * float(np.linalg.slogdet(cov)[1])
    top = max(logs.values())
    total = sum(math.exp(log - top) for log in logs.values())
    return [
        replace(one, share=math.exp(logs[i] - top) / total) if i in logs else one
        for i, one in enumerate(weighed)
    ]


def _openings_of(face: Face, names: Sequence[str] | None) -> tuple[OpeningMeasure, ...]:
    found = [measure for measure in face.measures if isinstance(measure, OpeningMeasure)]
    if names is None:
        return tuple(found[:6])
    return tuple(measure for measure in found if measure.id in names)


class _OpeningTable:
    """Openings as the courses alone make them, under any gauge.

    A size grows as the gauge does, but for set-backs, which stay as many millimetres: it is a
    straight line in the gauge, and two solutions of the photo give it.
    """

    def __init__(
        self, survey: Survey, facts: PhotoFacts, face: Face, wanted: Sequence[OpeningMeasure]
    ) -> None:
        self._ends: list[Mapping[str, MeasureResult]] = []
        if wanted:
            self._ends = [_openings_at(survey, facts, face, wanted, g) for g in GAUGES_MM]

    def under(self, size: ReferenceSize) -> tuple[OpeningSize, ...]:
        """All openings under one format, with the ± of its gauge."""
        if not self._ends or not size.gauge_mm or not size.u_gauge_mm:
            return ()
        share = (size.gauge_mm - GAUGES_MM[0]) / (GAUGES_MM[1] - GAUGES_MM[0])
        u_gauge = size.u_gauge_mm / size.gauge_mm
        told = []
        for name, low in self._ends[0].items():
            high = self._ends[1].get(name)
            if high is None:
                continue
            numbers = []
            for key in ("width_mm", "height_mm"):
                a, b = low.size(key), high.size(key)
                value = a + share * (b - a)
                u_rest = (low.u_of(key) / a) + share * (high.u_of(key) / b - low.u_of(key) / a)
                numbers += [value, value * math.hypot(u_rest, u_gauge)]
            told.append(OpeningSize(name, low.label, *numbers))
        return tuple(told)


def _openings_at(
    survey: Survey,
    facts: PhotoFacts,
    face: Face,
    wanted: Sequence[OpeningMeasure],
    gauge_mm: float,
) -> Mapping[str, MeasureResult]:
    """Openings where the courses have a gauge known exactly, and nothing else has a size."""
    faces = [
        one.model_copy(
            update={"references": _courses_at(one, gauge_mm) if one.id == face.id else ()}
        )
        for one in survey.faces
        if one.photo == face.photo
    ]
    solution = solve_photo(facts, faces)
    mine = next(one for one in faces if one.id == face.id)
    told = measure_face(
        survey,
        mine.model_copy(update={"measures": tuple(wanted)}),
        solution,
        parse_model_scale(survey.model_scale).denominator,
        stop_at_problem=False,
    )
    return told.measures


def _courses_at(face: Face, gauge_mm: float) -> tuple[CoursesReference, ...]:
    """Counted courses of a face as its only known sizes."""
    gauge = {"gauge_mm": gauge_mm, "u_gauge_mm": 0.0}
    counted = tuple(
        reference.model_copy(update=gauge)
        for reference in face.references
        if isinstance(reference, CoursesReference)
    )
    return counted or tuple(
        CoursesReference(
            kind="courses",
            at=measure.ends,
            count=measure.told,
            set_back_mm=measure.set_back_mm,
            gauge_mm=gauge_mm,
        )
        for measure in face.measures
        if isinstance(measure, CoursesMeasure) and measure.told is not None
    )


def _sum_up(weighed: Sequence[Hypothesis], evidence: BrickEvidence) -> str:
    if not any(one.tests for one in weighed):
        return (
            "Nothing but the courses speaks here: add another known size, or say how many "
            "stretchers a distance along one course spans."
        )
    agreeing = [one for one in weighed if one.verdict == "agrees"]
    lacking = []
    if not evidence.scaled:
        lacking.append("another known size")
    if evidence.log_module is None:
        lacking.append("stretchers counted along a course")
    rest = f" What would tell them apart: {', or '.join(lacking)}." if lacking else ""
    if not agreeing:
        return (
            "No format of the catalogue agrees with the other known sizes: look at those, at the "
            "count and at the two picks."
        )
    if len(agreeing) == 1:
        return f"Only {agreeing[0].size.name} agrees with the evidence."
    return f"{len(agreeing)} formats agree with the evidence: it is one of them, not a mean." + rest
