"""A wall that several photos show: its openings in the others, and the face it is kept under.

A wall that is picked in several photos solved together has one elevation. An opening that two of
them show is one opening, known by its place: its numbers are conditions between the photos. One
that only another photo shows belongs to the elevation too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from measure.elevation.path_geometry import Box, box_around_points
from measure.results import FaceResult, MeasureResult, Results
from rectify.one_chart import ChartShift, chart_shift, solved_together
from rectify.solution import Solution
from shared.same_walls import same_walls
from shared.survey import Face, OpeningMeasure, Survey

#: An opening that reaches into another by more than this part of its size stands across it.
ACROSS = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class SeenOpening:
    """An opening as another photo shows it.

    Attributes
    ----------
    measure : OpeningMeasure
        Under the name it bears here.
    result : MeasureResult
    twin_of : str
        The opening of this elevation that it is; "" where no other photo shows it.
    """

    measure: OpeningMeasure
    result: MeasureResult
    twin_of: str


@dataclass(frozen=True, slots=True, eq=False)
class Elsewhere:
    """The wall in one other photo.

    Attributes
    ----------
    face : Face
    solution : Solution
    shift : ChartShift
        From its chart to that of the elevation.
    openings : tuple of SeenOpening
    notes : tuple of str
        What does not fit, in sentences.
    """

    face: Face
    solution: Solution
    shift: ChartShift
    openings: tuple[SeenOpening, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class KeptFace:
    """The face that a wall is kept under, seen from another face of the same wall.

    Attributes
    ----------
    face : Face
    result : FaceResult
    solution : Solution
    elsewhere : tuple of Elsewhere
        What other photos show of the wall, the other face's among them.
    """

    face: Face
    result: FaceResult
    solution: Solution
    elsewhere: tuple[Elsewhere, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Wall:
    """The wall of a face, in all photos that were solved together.

    Attributes
    ----------
    elsewhere : tuple of Elsewhere
    kept : KeptFace or None
        None where the face is itself the one that the wall is kept under.
    """

    elsewhere: tuple[Elsewhere, ...] = ()
    kept: KeptFace | None = None

    @property
    def notes(self) -> tuple[str, ...]:
        """What is drawn as another photo shows it, and what does not fit, in sentences."""
        said: list[str] = []
        for each in self.elsewhere:
            alone = [one.measure.id for one in each.openings if not one.twin_of]
            if alone:
                said.append(
                    f"Drawn as photo '{each.face.photo}' alone shows "
                    f"{'it' if len(alone) == 1 else 'them'}: {', '.join(alone)}."
                )
            said += each.notes
        return tuple(said)


#: A wall of one photo.
ALONE = Wall()


def wall_of(survey: Survey, results: Results, face_id: str) -> Wall:
    """Find the wall of a face in all photos."""
    elsewhere = seen_elsewhere(survey, results, face_id)
    name = kept_under(survey, results).get(face_id)
    if name is None:
        return Wall(elsewhere)
    face = next(face for face in survey.faces if face.id == name)
    solution = results.photos[face.photo].solution
    also = seen_elsewhere(survey, results, name)
    return Wall(elsewhere, KeptFace(face, results.faces[name], solution, also))


def kept_under(survey: Survey, results: Results) -> dict[str, str]:
    """Faces whose wall is drawn under the name of another, with that name.

    Only of photos that were solved together; others stay by themselves.
    """
    walls = same_walls(face for face in survey.faces if face.id in results.faces)
    solution = {
        name: results.photos[result.photo].solution for name, result in results.faces.items()
    }
    return {
        name: wall[0]
        for name, wall in walls.items()
        if name != wall[0] and solved_together(solution[wall[0]], solution[name])
    }


def seen_elsewhere(survey: Survey, results: Results, face_id: str) -> tuple[Elsewhere, ...]:
    """Find what other photos show of a wall.

    Parameters
    ----------
    survey : Survey
    results : Results
    face_id : str

    Returns
    -------
    tuple of Elsewhere
        One for each photo that was solved together with this face's and shows openings of the
        same wall, in the order of the survey; none for a wall of one photo.
    """
    by_id = {face.id: face for face in survey.faces}
    own = results.faces[face_id]
    solution = results.photos[own.photo].solution
    here = {
        id_: box_around_points(measure.points_mm.tolist())
        for id_, measure in own.measures.items()
        if measure.kind == "opening"
    }
    taken = {measure.id for measure in by_id[face_id].measures}
    found = []
    walls = same_walls(face for face in survey.faces if face.id in results.faces)
    for name in (face.id for face in survey.faces if face.id in walls[face_id]):
        face, other = by_id[name], results.photos[by_id[name].photo].solution
        if name == face_id or not solved_together(solution, other):
            continue
        shift = chart_shift(solution, face_id, other, name)
        seen = {
            id_: box_around_points(measure.points_mm.tolist()).moved(*shift.mm)
            for id_, measure in results.faces[name].measures.items()
            if measure.kind == "opening"
        }
        twins = _pairs(here, seen)
        openings, notes = [], []
        for measure in face.measures:
            if not isinstance(measure, OpeningMeasure) or measure.id not in seen:
                continue
            twin, box = twins.get(measure.id, ""), seen[measure.id]
            across = [id_ for id_, one in here.items() if _stands_across(box, one)]
            if across and not twin:
                notes.append(
                    f"Opening '{measure.id}' of face '{name}' stands across '{across[0]}', so it "
                    "is left out here: pick both alike, or check the ties."
                )
                continue
            called = f"{measure.id}@{face.photo}" if twin or measure.id in taken else measure.id
            if not twin:
                here[called] = box
                taken.add(called)
            renamed = measure.model_copy(update={"id": called})
            result = results.faces[name].measures[measure.id]
            openings.append(SeenOpening(renamed, result, twin))
        if openings or notes:
            found.append(Elsewhere(face, other, shift, tuple(openings), tuple(notes)))
    return tuple(found)


def _pairs(here: Mapping[str, Box], seen: Mapping[str, Box]) -> dict[str, str]:
    """Which of the openings seen is which of those here: each holds the other's middle."""
    near = sorted(
        (float(np.hypot(*np.subtract(one.centre_mm, other.centre_mm))), id_, name)
        for id_, one in here.items()
        for name, other in seen.items()
        if _holds(one, other) and _holds(other, one)
    )
    out: dict[str, str] = {}
    for _, id_, name in near:
        if name not in out and id_ not in out.values():
            out[name] = id_
    return out


def _holds(one: Box, other: Box) -> bool:
    (u, v) = other.centre_mm
    return one.left_mm <= u <= one.right_mm and one.bottom_mm <= v <= one.top_mm


def _stands_across(one: Box, other: Box) -> bool:
    across = min(one.right_mm, other.right_mm) - max(one.left_mm, other.left_mm)
    up = min(one.top_mm, other.top_mm) - max(one.bottom_mm, other.bottom_mm)
    wide = min(one.width_mm, other.width_mm)
    high = min(one.height_mm, other.height_mm)
    return across > ACROSS * wide and up > ACROSS * high
