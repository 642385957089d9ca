"""A document -> everything the page shows of it, kept under a stamp.

The page asks with a document and gets results with a stamp; pictures, cross-hairs and maps are
then asked for by stamp, so that they always belong to the results on the screen. A face that
cannot be placed keeps its sentence and does not stop the others.
"""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from measure.evaluate import CourseReader, Steps, evaluate_by, measure_face
from measure.partial_solving import SolvedPhoto, solve_what_can_be
from measure.propagate import Effort
from measure.results import FaceResult, Results
from measure.workbench.telling import PhotoLook, facts_of, tell_evaluated
from rectify.solution import PhotoFacts, Solution
from rectify.tie_photos import Tied, tie_photos
from shared.errors import GeometryError, InputError, StoreyrodError, UnderdeterminedError
from shared.survey import Face, Survey, Tie

T = TypeVar("T")

#: Answers kept, the latest used, for pages that show them and pictures still under way; as many
#: more made while a pick was dragged, so that no drag pushes out what another page shows.
MOST_KEPT = 24

#: Of more measures than these the ± is to first order alone while a pick is dragged.
MANY_MEASURES = 200

#: Steps kept, the latest used: an edit concerns one photo, others need not be solved again.
MOST_STEPS = 160


@dataclass(frozen=True, slots=True)
class Latest:
    """Where the answer before came to rest, for the next to start from.

    Parameters
    ----------
    alone : mapping of photo to Solution
        Each photo by itself.
    tied : Tied or None
    rested : mapping of photo to (name, Solution)
        From the last whole answer, each under the name of all that it was solved from.
    """

    alone: Mapping[str, Solution]
    tied: Tied | None
    rested: Mapping[str, tuple[str, Solution]]


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
    reached : Latest
    """

    stamp: str
    survey: Survey
    results: Results
    problems: Mapping[str, StoreyrodError]
    payload: dict[str, Any]
    reached: Latest

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
        self._dragged: OrderedDict[str, Answer] = OrderedDict()
        self._steps: OrderedDict[str, Any] = OrderedDict()
        self._latest = Latest({}, None, {})
        self._lock = threading.Lock()

    def answer(
        self,
        survey: Survey,
        look: PhotoLook,
        read_courses: CourseReader | None = None,
        *,
        quick: bool = False,
        check: Callable[[], None] = lambda: None,
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
            courses read from the photo, and other photos that are tied to this one stay as
            they were.
        check : callable
            Asked between steps; raises to stop the work.
        """
        text = survey.model_dump_json()
        stamp = _name_of(text + "quick" * quick)
        found = self.kept(stamp) or (self.kept(_name_of(text)) if quick else None)
        if found is not None:
            self._latest = found.reached
            return found
        told_photos: dict[str, Any] = {}
        facts: dict[str, PhotoFacts] = {}
        for photo in survey.photos:
            known, told_photos[photo.id] = facts_of(photo, look)
            if known is not None:
                facts[photo.id] = known
        steps = KeptSteps(self._recall, self._latest, read_courses, check, quick=quick)
        evaluated = evaluate_by(steps, survey, facts)
        reached = self._latest = steps.reached()
        payload = tell_evaluated(survey, evaluated, told_photos, stamp, quick=quick)
        made = Answer(stamp, survey, evaluated.results, evaluated.problems, payload, reached)
        self._keep(self._dragged if quick else self._kept, stamp, made, MOST_KEPT)
        return made

    def kept(self, stamp: str) -> Answer | None:
        """The answer of a stamp, None if it has not been used for long."""
        with self._lock:
            for answers in (self._kept, self._dragged):
                if stamp in answers:
                    answers.move_to_end(stamp)
                    return answers[stamp]
        return None

    def _recall(self, name: str, make: Callable[[], T] | None = None) -> T | None:
        """What a step gave before under a name; else what it gives now, kept."""
        with self._lock:
            found: T | None = self._steps.get(name)
            if found is not None:
                self._steps.move_to_end(name)
        if found is None and make is not None:
            found = make()
            self._keep(self._steps, name, found, MOST_STEPS)
        return found

    def _keep(self, store: OrderedDict[str, Any], key: str, value: object, most: int) -> None:
        with self._lock:
            store[key] = value
            store.move_to_end(key)
            while len(store) > most:
                store.popitem(last=False)


class KeptSteps(Steps):
    """Steps of one answer, each taken from what is kept where nothing that it needs changed.

    Parameters
    ----------
    recall : callable
        Gives what is kept under a name, or makes and keeps it.
    latest : Latest
    read_courses : callable, optional
    check : callable
    quick : bool
    """

    def __init__(
        self,
        recall: Callable[..., Any],
        latest: Latest,
        read_courses: CourseReader | None,
        check: Callable[[], None],
        *,
        quick: bool,
    ) -> None:
        super().__init__(read_courses, stop_at_problem=False)
        self._recall, self._latest, self._check, self._quick = recall, latest, check, quick
        self._alone: dict[str, Solution] = {}
        self._tied: Tied | None = None
        #: What each photo was solved from, by itself, and then with those it is tied to.
        self._own: dict[str, str] = {}
        self._names: dict[str, str] = {}

    def solve(self, facts: PhotoFacts, faces: Sequence[Face]) -> SolvedPhoto:
        """Solve what can be of a photo, from the answer before while a pick is dragged."""
        self._check()
        name = _name_of(repr(facts) + "".join(face.model_dump_json() for face in faces))
        near = self._latest.alone.get(facts.id) if self._quick else None
        solved: SolvedPhoto = self._either(name, lambda: solve_what_can_be(facts, faces, near))
        self._own[facts.id] = self._names[facts.id] = name
        if solved.solution is not None:
            self._alone[facts.id] = solved.solution
        return solved

    def tie(
        self, faces: Sequence[Face], ties: Sequence[Tie], solutions: Mapping[str, Solution]
    ) -> Tied:
        """Solve tied photos together; while a pick is dragged the others stay as they were."""
        self._check()
        photo_of = {face.id: face.photo for face in faces}
        joined = {photo_of[end.face] for tie in ties for end in tie.at if end.face in photo_of}
        mine = {photo: solution for photo, solution in solutions.items() if photo in joined}
        if len(mine) < 2:
            return Tied(dict(solutions))
        said = [*(self._own[photo] for photo in mine), *(tie.model_dump_json() for tie in ties)]
        name = _name_of("".join(said))
        near = self._latest.tied if self._quick else None
        tied = self._either(name, lambda: _tied_or_told(faces, ties, mine, near))
        self._names |= {photo: f"{self._own[photo]}/{name}" for photo in mine}
        self._tied = replace(tied, solutions={**solutions, **tied.solutions, **self._unmoved(mine)})
        return self._tied

    def _unmoved(self, mine: Mapping[str, Solution]) -> dict[str, Solution]:
        """Solutions of photos in which nothing is being dragged, as they were at rest."""
        out: dict[str, Solution] = {}
        for photo in mine if self._quick else ():
            name, solution = self._latest.rested.get(photo, ("", None))
            if solution is not None and name.startswith(self._own[photo]):
                out[photo] = solution
                self._names[photo] = name
        return out

    def _either(self, name: str, make: Callable[[], T]) -> T:
        """What is kept of the whole work; while a pick is dragged the quick work's will do."""
        found: T | None = self._recall(name) if self._quick else None
        made: T = self._recall(name + "quick" * self._quick, make) if found is None else found
        return made

    def doubts(self, solution: Solution, faces: Sequence[Face]) -> tuple[str, ...]:
        """Say what is to be doubted of a photo, once for all answers that share its solution."""
        name = f"{self._names[solution.photo.id]}/doubts"
        return self._either(name, lambda: super(KeptSteps, self).doubts(solution, faces))

    def measure(
        self, survey: Survey, face: Face, solution: Solution, denominator: float
    ) -> FaceResult:
        """Measure a face, with less effort while a pick is dragged."""
        self._check()
        if not solution.scaled:
            face = face.model_copy(update={"measures": ()})

        def make(effort: Effort) -> FaceResult:
            return measure_face(
                survey,
                face,
                solution,
                denominator,
                self.read_courses,
                self.stop_at_problem,
                effort=effort,
            )

        name = f"{self._names[face.photo]}/{face.id}/{denominator!r}"
        if self._quick:
            found: FaceResult | None = self._recall(name)
            return found or make("quick" if len(face.measures) <= MANY_MEASURES else "straight")
        whole: FaceResult = self._recall(name, lambda: make("whole"))
        return whole

    def set_aside(self, problem: StoreyrodError) -> StoreyrodError:
        """Keep why a face is not measured."""
        return problem

    def reached(self) -> Latest:
        """Where this answer came to rest."""
        tied = self._tied or self._latest.tied
        if self._quick:
            return Latest({**self._latest.alone, **self._alone}, tied, self._latest.rested)
        rested = self._tied.solutions if self._tied else self._alone
        named = {photo: (self._names[photo], solution) for photo, solution in rested.items()}
        return Latest(self._alone, tied, named)


def _tied_or_told(
    faces: Sequence[Face], ties: Sequence[Tie], solutions: Mapping[str, Solution], near: Tied | None
) -> Tied:
    """Photos tied, or as they are with the sentence why they cannot be."""
    try:
        return tie_photos(faces, ties, solutions, near=near)
    except (InputError, GeometryError) as problem:
        says = f"{problem.message} {problem.hint or ''}".strip()
        return Tied(dict(solutions), warnings={photo: [says] for photo in solutions})


def _name_of(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:20]
