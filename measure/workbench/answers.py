"""A document -> everything the page shows of it, kept under a stamp.

The page asks with a document and gets results with a stamp; pictures, cross-hairs and maps are
then asked for by stamp, so that they always belong to the results on the screen. A face that
cannot be placed keeps its sentence and does not stop the others.
"""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from measure.doubts import doubts_of_photo
from measure.evaluate import CourseReader, measure_face
from measure.propagate import Effort
from measure.results import FaceResult, PhotoResult, Results, json_from_results
from measure.workbench.telling import (
    PhotoLook,
    clean_json,
    facts_of,
    tell_face,
    tell_suspect,
    tell_trust,
)
from rectify.adjust import solve_photo
from rectify.diagnosis import Suspect, find_suspects
from rectify.solution import PhotoFacts, Solution
from shared.errors import GeometryError, InputError, StoreyrodError, UnderdeterminedError
from shared.model_scales import parse_model_scale
from shared.survey import Face, RoofSurface, RoundSurface, Survey

#: Answers kept for pictures still under way while newer ones arrive.
MOST_KEPT = 24

#: Of more measures than these the ± is to first order alone while a pick is dragged.
MANY_MEASURES = 200

#: Solved photos kept: an edit concerns one photo, the others need not be solved again.
MOST_SOLVED = 12


@dataclass(frozen=True, slots=True)
class Solved:
    """One photo solved as far as it can be: the solution, and the faces that stopped it."""

    solution: Solution | None
    problems: Mapping[str, StoreyrodError]
    suspects: tuple[Suspect, ...]
    doubts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """One document answered.

    Parameters
    ----------
    stamp : str
        Names it; equal documents have equal stamps.
    survey : Survey
    results : Results
    problems : mapping of face id to StoreyrodError
    payload : dict
        What the page gets, plain JSON.
    """

    stamp: str
    survey: Survey
    results: Results
    problems: Mapping[str, StoreyrodError]
    payload: dict[str, Any]

    @property
    def quick(self) -> bool:
        """Whether it was made while a pick was dragged."""
        return bool(self.payload["quick"])

    def solution_of(self, face: str) -> Solution:
        """The solution a face belongs to.

        Raises
        ------
        UnderdeterminedError
            If the face is not placed; with the sentence that says why.
        """
        if face in self.problems:
            raise self.problems[face]
        if face not in self.results.faces:
            raise UnderdeterminedError(f"There is no face '{face}' to look at.")
        return self.results.photos[self.results.faces[face].photo].solution


class Answerer:
    """Answers documents of one survey and keeps the latest answers. Safe between threads."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Answer] = OrderedDict()
        self._solved: OrderedDict[str, Solved] = OrderedDict()
        self._measured: OrderedDict[str, FaceResult] = OrderedDict()
        self._latest: dict[str, Solution] = {}
        self._lock = threading.Lock()

    def answer(
        self,
        survey: Survey,
        look: PhotoLook,
        read_courses: CourseReader | None = None,
        *,
        quick: bool = False,
    ) -> Answer:
        """Solve, measure and place everything that can be.

        Parameters
        ----------
        survey : Survey
        look : callable
            Header of a photo of the survey; raises `PhotoError`.
        read_courses : callable, optional
            See :func:`measure.evaluate.evaluate`.
        quick : bool
            A pick is being dragged: solved from the answer before, no ± from many draws, no
            courses read from the photo.
        """
        text = survey.model_dump_json()
        stamp = _name_of(text + "quick" * quick)
        with self._lock:
            found = self._kept.get(stamp) or (quick and self._kept.get(_name_of(text))) or None
            if found is not None:
                return found
        made = self._make(stamp, survey, look, read_courses, quick)
        self._keep(self._kept, stamp, made, MOST_KEPT)
        return made

    def kept(self, stamp: str) -> Answer | None:
        """The answer of a stamp, None if it is too old."""
        with self._lock:
            return self._kept.get(stamp)

    def _keep(self, store: OrderedDict[str, Any], key: str, value: object, most: int) -> None:
        with self._lock:
            store[key] = value
            store.move_to_end(key)
            while len(store) > most:
                store.popitem(last=False)

    def _make(
        self,
        stamp: str,
        survey: Survey,
        look: PhotoLook,
        read_courses: CourseReader | None,
        quick: bool,
    ) -> Answer:
        scale = parse_model_scale(survey.model_scale)
        problems: dict[str, StoreyrodError] = {}
        photos: dict[str, PhotoResult] = {}
        suspects: dict[str, tuple[Suspect, ...]] = {}
        told_photos: dict[str, Any] = {}
        faces_out: dict[str, FaceResult] = {}
        for photo in survey.photos:
            facts, told_photos[photo.id] = facts_of(photo, look)
            faces = [face for face in survey.faces if face.photo == photo.id]
            if facts is None or not faces:
                continue
            name = _name_of(repr(facts) + "".join(face.model_dump_json() for face in faces))
            solved = self._solve(name, facts, faces, quick)
            problems |= solved.problems
            suspects[photo.id] = solved.suspects
            if solved.solution is None:
                continue
            photos[photo.id] = PhotoResult(solved.solution, solved.doubts)
            for face in faces:
                if face.id in problems:
                    continue
                try:
                    faces_out[face.id] = self._measure(
                        name, survey, face, solved.solution, scale.denominator, read_courses, quick
                    )
                except (InputError, GeometryError) as problem:
                    problems[face.id] = problem
        results = Results(survey.title, survey.model_scale, scale.denominator, photos, faces_out)
        payload = {
            "stamp": stamp,
            "quick": quick,
            "results": json_from_results(results),
            "page": {
                "scale_denominator": scale.denominator,
                "photos": told_photos,
                "faces": {
                    face.id: tell_face(face, results, problems.get(face.id))
                    for face in survey.faces
                },
                "suspects": [
                    tell_suspect(survey, one) for found in suspects.values() for one in found
                ],
                "trust": {
                    face.id: tell_trust(face, results, suspects.get(face.photo, ()))
                    for face in survey.faces
                },
            },
        }
        return Answer(stamp, survey, results, problems, clean_json(payload))

    def _solve(self, name: str, facts: PhotoFacts, faces: list[Face], quick: bool) -> Solved:
        own = name + "quick" * quick
        with self._lock:
            found = self._solved.get(name) or self._solved.get(own)
            near = self._latest.get(facts.id) if quick else None
        if found is not None:
            return found
        problems: dict[str, StoreyrodError] = {}
        solution = _solve_what_can_be(facts, faces, problems, near)
        if solution is not None:
            with self._lock:
                self._latest[facts.id] = solution
        if solution is None:
            made = Solved(None, problems, (), ())
        else:
            made = Solved(
                solution,
                problems,
                tuple(find_suspects(solution)),
                doubts_of_photo(solution, faces),
            )
        self._keep(self._solved, own, made, MOST_SOLVED)
        return made

    def _measure(
        self,
        solved: str,
        survey: Survey,
        face: Face,
        solution: Solution,
        denominator: float,
        read_courses: CourseReader | None,
        quick: bool,
    ) -> FaceResult:
        if not solution.scaled:
            face = face.model_copy(update={"measures": ()})
        name = f"{solved}/{face.id}/{denominator!r}"
        with self._lock:
            found = self._measured.get(name)
        if found is not None:
            return found
        made = measure_face(
            survey,
            face,
            solution,
            denominator,
            read_courses,
            stop_at_problem=False,
            effort=_effort(face, quick),
        )
        if quick:
            return made
        self._keep(self._measured, name, made, MOST_SOLVED)
        return made


def _effort(face: Face, quick: bool) -> Effort:
    """How much to do for the ± of a face's measures."""
    if not quick:
        return "whole"
    return "quick" if len(face.measures) <= MANY_MEASURES else "straight"


def _name_of(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:20]


def _is_begun(face: Face) -> bool:
    """Whether enough is picked to try and place a face."""
    if isinstance(face.surface, RoundSurface):
        edges = (face.surface.left_edge, face.surface.right_edge, face.surface.meets_wall)
        return any(edges)
    if isinstance(face.surface, RoofSurface):
        return True
    return face.frame is not None or bool(face.surface.hinge) or len(face.guides) >= 2


def _solve_what_can_be(
    facts: PhotoFacts,
    faces: list[Face],
    problems: dict[str, StoreyrodError],
    near: Solution | None = None,
) -> Solution | None:
    """Solve a photo; a face that stops it is set aside with its sentence, and the rest tried."""
    left = []
    for face in faces:
        if _is_begun(face):
            left.append(face)
        else:
            problems[face.id] = _not_begun(face)
    while left:
        try:
            return solve_photo(facts, left, near=near)
        except StoreyrodError as problem:
            culprit = _culprit(facts, left, problem)
            if culprit is None:
                for face in left:
                    problems[face.id] = problem
                return None
            problems[culprit.id] = problem
            left = [face for face in left if face is not culprit]
    return None


def _culprit(facts: PhotoFacts, left: list[Face], problem: StoreyrodError) -> Face | None:
    """The face that stops the others: the one that is named, else one without which it goes."""
    if len(left) == 1:
        return None
    named = problem.details.get("face")
    for face in left:
        if face.id == named:
            return face
    for face in reversed(left):
        try:
            solve_photo(facts, [other for other in left if other is not face])
        except StoreyrodError:
            continue
        return face
    return None


def _not_begun(face: Face) -> StoreyrodError:
    if isinstance(face.surface, RoundSurface):
        return UnderdeterminedError(
            "The tower has no outline yet.", hint="Pick its outlines, or where it meets the wall."
        )
    return UnderdeterminedError(
        "The wall appears here, made square, as soon as its frame is picked.",
        hint="Pick four corners of something upright and square.",
    )
