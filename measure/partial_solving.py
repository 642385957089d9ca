"""A photo solved as far as it can be: a face that stops it is set aside with its sentence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from rectify.adjust import solve_photo
from rectify.solution import PhotoFacts, Solution
from shared.errors import StoreyrodError, UnderdeterminedError
from shared.survey import Face, RoofSurface, RoundSurface


@dataclass(frozen=True, slots=True)
class SolvedPhoto:
    """One photo by itself.

    Parameters
    ----------
    solution : Solution or None
        None where no face can be placed.
    problems : mapping of face id to StoreyrodError
        Faces that it is without.
    """

    solution: Solution | None
    problems: Mapping[str, StoreyrodError] = field(default_factory=dict)


def solve_what_can_be(
    facts: PhotoFacts, faces: Sequence[Face], near: Solution | None = None
) -> SolvedPhoto:
    """Solve a photo; a face that stops it is set aside, and the rest tried.

    Parameters
    ----------
    facts : PhotoFacts
    faces : sequence of Face
        Those of this photo.
    near : Solution, optional
        See :func:`rectify.adjust.solve_photo`.
    """
    problems = {face.id: _not_begun(face) for face in faces if not _is_begun(face)}
    left = [face for face in faces if face.id not in problems]
    while left:
        try:
            return SolvedPhoto(solve_photo(facts, left, near=near), problems)
        except StoreyrodError as problem:
            culprit = _culprit(facts, left, problem)
            if culprit is None:
                problems |= {face.id: problem for face in left}
                break
            problems[culprit.id] = problem
            left = [face for face in left if face is not culprit]
    return SolvedPhoto(None, problems)


def _is_begun(face: Face) -> bool:
    """Whether enough is picked to try and place a face."""
    if isinstance(face.surface, RoundSurface):
        edges = (face.surface.left_edge, face.surface.right_edge, face.surface.meets_wall)
        return any(edges)
    if isinstance(face.surface, RoofSurface):
        return True
    return face.frame is not None or bool(face.surface.hinge) or len(face.guides) >= 2


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
        "The wall appears here, straightened, as soon as its frame is picked.",
        hint="Pick four corners of something upright and square.",
    )
