"""A document -> everything the page shows of it, kept under a stamp.

The page asks with a document and gets results with a stamp; pictures, cross-hairs and maps are
then asked for by stamp, so that they always belong to the results on the screen. A face that
cannot be placed keeps its sentence and does not stop the others.
"""

from __future__ import annotations

import hashlib
import math
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from measure.doubts import doubts_of_photo
from measure.evaluate import CourseReader, measure_face
from measure.results import FaceResult, PhotoResult, Results, json_from_results
from measure.trust import advice, u_across_mm
from measure.workbench.placing import (
    curves_of,
    extent_of,
    limits_of,
    picks_on_wall,
    suspect_path,
)
from measure.workbench.quick_sizes import measure_face_quickly
from rectify.adjust import solve_photo
from rectify.diagnosis import Suspect, find_suspects
from rectify.photo import PhotoHeader
from rectify.solution import PhotoFacts, Solution
from shared.errors import GeometryError, InputError, StoreyrodError, UnderdeterminedError
from shared.model_scales import parse_model_scale
from shared.survey import Face, Photo, RoundSurface, Survey

#: Answers kept for pictures still under way while newer ones arrive.
MOST_KEPT = 24

#: Solved photos kept: an edit concerns one photo, the others need not be solved again.
MOST_SOLVED = 12

PhotoLook = Callable[[Photo], PhotoHeader]


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
            A pick is being dragged: ± to first order, no courses read from the photo.
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
            facts, told_photos[photo.id] = _facts_of(photo, look)
            faces = [face for face in survey.faces if face.photo == photo.id]
            if facts is None or not faces:
                continue
            name = _name_of(repr(facts) + "".join(face.model_dump_json() for face in faces))
            solved = self._solve(name, facts, faces)
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
                    face.id: _tell_face(face, results, problems.get(face.id))
                    for face in survey.faces
                },
                "suspects": [
                    {"path": suspect_path(survey, one), "sentence": one.sentence, "w": one.w}
                    for found in suspects.values()
                    for one in found
                ],
                "trust": {
                    face.id: _tell_trust(face, results, suspects.get(face.photo, ()))
                    for face in survey.faces
                },
            },
        }
        return Answer(stamp, survey, results, problems, clean_json(payload))

    def _solve(self, name: str, facts: PhotoFacts, faces: list[Face]) -> Solved:
        with self._lock:
            found = self._solved.get(name)
        if found is not None:
            return found
        problems: dict[str, StoreyrodError] = {}
        solution = _solve_what_can_be(facts, faces, problems)
        if solution is None:
            made = Solved(None, problems, (), ())
        else:
            made = Solved(
                solution,
                problems,
                tuple(find_suspects(solution)),
                doubts_of_photo(solution, faces),
            )
        self._keep(self._solved, name, made, MOST_SOLVED)
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
        if quick:
            return measure_face_quickly(survey, face, solution)
        made = measure_face(
            survey, face, solution, denominator, read_courses, stop_at_problem=False
        )
        self._keep(self._measured, name, made, MOST_SOLVED)
        return made


def _name_of(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:20]


def _facts_of(photo: Photo, look: PhotoLook) -> tuple[PhotoFacts | None, dict[str, Any]]:
    try:
        header = look(photo)
    except StoreyrodError as problem:
        return None, {"problem": tell_problem(problem)}
    focal = photo.focal_35mm if photo.focal_35mm is not None else header.focal_35mm
    facts = PhotoFacts(photo.id, header.width_px, header.height_px, focal, photo.cropped)
    if photo.focal_35mm is not None:
        says = f"A {photo.focal_35mm:g} mm lens, as you typed."
    elif header.focal_35mm is not None:
        says = f"A {header.focal_35mm:g} mm lens, read from the photo."
    else:
        says = (
            "The photo does not say its lens. Sizes along the known size stay good; across it "
            "they are less sure until a second known size crosses the first."
        )
    told = {
        "width_px": header.width_px,
        "height_px": header.height_px,
        "focal_35mm": focal,
        "camera": f"{header.camera_make} {header.camera_model}".strip(),
        "lens_says": says,
        "doubts": list(header.warnings),
        "problem": None,
    }
    return facts, told


def _is_begun(face: Face) -> bool:
    """Whether enough is picked to try and place a face."""
    if isinstance(face.surface, RoundSurface):
        edges = (face.surface.left_edge, face.surface.right_edge, face.surface.meets_wall)
        return any(edges)
    return face.frame is not None or bool(face.surface.hinge) or len(face.guides) >= 2


def _solve_what_can_be(
    facts: PhotoFacts, faces: list[Face], problems: dict[str, StoreyrodError]
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
            return solve_photo(facts, left)
        except StoreyrodError as problem:
            culprit = _culprit(facts, left, problem)
            if culprit is None:
                for face in left:
                    problems[face.id] = problem
                return None
            problems[culprit.id] = problem
            left = [face for face in left if face is not culprit]
        except StopIteration:
            for face in left:
                problems[face.id] = UnderdeterminedError(
                    "No wall of this photo has a frame yet.",
                    hint="Pick the frame of one wall first; other faces join on to it.",
                )
            return None
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
        except (StoreyrodError, StopIteration):
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


def _tell_face(face: Face, results: Results, problem: StoreyrodError | None) -> dict[str, Any]:
    told: dict[str, Any] = {
        "solved": False,
        "sized": False,
        "problem": None if problem is None else tell_problem(problem),
    }
    if face.id not in results.faces:
        return told
    solution = results.photos[face.photo].solution
    view = solution.view(face.id)
    picks = picks_on_wall(face, view)
    extent = extent_of(picks)
    if extent is None:
        return told
    result = results.faces[face.id]
    return {
        **told,
        "solved": True,
        "sized": solution.scaled,
        "datum_mm": result.datum_v_mm,
        "picks_mm": {path: [round(n, 2) for n in point] for path, point in picks.items()},
        "curves": curves_of(face, result, view),
        "extent_mm": extent,
        "limits_mm": limits_of(extent, view, solution.photo.width_px, solution.photo.height_px),
        "measure_problems": {
            id_: tell_problem(why)
            for id_, why in result.problems.items()
            if isinstance(why, StoreyrodError)
        },
    }


def _tell_trust(face: Face, results: Results, suspects: Sequence[Suspect]) -> dict[str, Any]:
    """How far to trust a face, in numbers, and the sentence on what would help most."""
    if face.id not in results.faces:
        begin = "Pick the four corners of something upright and square, and the wall is made so."
        return {"state": "none", "u_across_mm": None, "advice": begin}
    solution = results.photos[face.photo].solution
    if not solution.scaled:
        say = "The shape is true, its size is not yet: give it one known size."
        return {"state": "shape", "u_across_mm": None, "advice": say}
    u_mm = u_across_mm(results, face.id)
    if suspects:
        return {"state": "doubtful", "u_across_mm": u_mm, "advice": suspects[0].sentence}
    help_most = advice(solution)
    state = "checked" if solution.redundancy > 0 and len(solution.sheet.sizes) > 1 else "sized"
    return {"state": state, "u_across_mm": u_mm, "advice": help_most}


def tell_problem(problem: StoreyrodError) -> dict[str, Any]:
    """A refusal as the page gets it."""
    return {
        "code": problem.code,
        "message": problem.message,
        "hint": problem.hint,
        "details": problem.details,
    }


def clean_json(value: Any) -> Any:
    """The same data with None where a number is not finite: JSON has no such numbers."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): clean_json(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [clean_json(item) for item in value]
    return value
