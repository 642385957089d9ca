"""A face lined up together with what other photos show of its wall.

The wall is lined up once, under the face it is kept under. Its other faces take the values from
there, so an opening has one size on all of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import pinvh

from measure.elevation.constraints import MET_MM, SETTLED
from measure.elevation.elsewhere import KeptFace, Wall
from measure.elevation.face_numbers import make_quantities
from measure.elevation.groups import Group
from measure.elevation.pools import owners_of
from measure.elevation.quantities import PARTS, OpeningColumns, Quantities
from measure.elevation.tidy import Tidied, tidy_face
from measure.results import FaceResult
from rectify.solution import Solution
from shared.jets import Array
from shared.survey import Face, Survey
from shared.survey_drawing import FaceDrawing


def tidy_wall(
    survey: Survey,
    face: Face,
    solution: Solution,
    result: FaceResult,
    wishes: FaceDrawing,
    wall: Wall,
) -> Tidied:
    """Line a face up with what other photos show of its wall.

    Parameters
    ----------
    survey, face, solution, result, wishes
        As for :func:`measure.elevation.tidy.tidy_face`.
    wall : Wall

    Returns
    -------
    Tidied
        Of a face that has groups of its own wished, or whose wall is to stay as measured, by all
        photos but with its own groups.
    """
    kept = wall.kept
    own_groups = wishes.together or wishes.apart or wishes.out_of_true_mm
    drawn = kept.face.drawing if kept is not None else None
    if kept is None or own_groups or (drawn is not None and not drawn.tidy):
        return tidy_face(survey, face, solution, result, wishes, wall.elsewhere)
    lined = tidy_face(survey, kept.face, kept.solution, kept.result, None, kept.elsewhere)
    measured = make_quantities(survey, face, solution, result, None, wall.elsewhere)
    return _taken_over(measured, lined, kept, face)


def _taken_over(measured: Quantities, lined: Tidied, kept: KeptFace, face: Face) -> Tidied:
    """Give the openings of a face the sizes and distances of the wall; all else follows."""
    there = [other for _, other in lined.numbers.twins]
    of_wall = _by_key((*lined.numbers.openings, *there), kept.face.photo)
    own = _by_key(measured.openings, face.photo)
    shared = [key for key in own if key in of_wall]
    columns: dict[int, int] = {}
    heights: set[int] = set()
    for one, other in ((own[key], of_wall[key]) for key in shared):
        for part in PARTS:
            if part != "springing" or (one.arched and other.arched):
                columns[getattr(one, part)] = getattr(other, part)
        heights |= {one.sill, one.springing, one.head}
    if not columns:
        return Tidied(measured, measured, (), 0.0, 0, lined.notes)
    at = list(columns.values())
    is_height = np.array([column in heights for column in columns])
    told = lined.numbers.values[at], lined.numbers.cov[np.ix_(at, at)]
    numbers, aside_mm, up_mm = _laid_on(measured, list(columns), is_height, *told)
    names = {of_wall[key].id: own[key].id for key in shared}
    groups = (_renamed(group, names, aside_mm, up_mm) for group in lined.groups)
    joined = _by_key([each for pair in lined.twins for each in pair], kept.face.photo)
    return Tidied(
        measured,
        numbers,
        tuple(group for group in groups if len(group.members) > 1),
        lined.chi_square,
        lined.degrees,
        lined.notes,
        twins=tuple(pair for pair in measured.twins if _key(pair[0], face.photo) in joined),
    )


def _key(opening: OpeningColumns, photo: str) -> tuple[str, str]:
    """The photo that shows an opening, and its name there."""
    photo = opening.photo or photo
    return photo, opening.id.removesuffix(f"@{photo}")


def _by_key(
    openings: Iterable[OpeningColumns], photo: str
) -> dict[tuple[str, str], OpeningColumns]:
    return {_key(each, photo): each for each in openings}


def _laid_on(
    numbers: Quantities,
    columns: list[int],
    is_height: NDArray[np.bool_],
    told_mm: Array,
    cov_told: Array,
) -> tuple[Quantities, float, float]:
    """Lay what is told of some numbers on the chart and the datum of the face.

    Parameters
    ----------
    numbers : Quantities
        As measured.
    columns : list of int, length m
    is_height : ndarray of bool, shape (m,)
        Which of them are heights; the others are places along the wall.
    told_mm, cov_told : ndarray, shape (m,) and (m, m)
        On another chart and from another datum.

    Returns
    -------
    numbers : Quantities
        Those of `columns` as told, the others moved along by their correlations.
    aside_mm, up_mm : float
        What was added to places along the wall and to heights: where all together lie nearest
        to what was measured.
    """
    given = numbers.cov[np.ix_(columns, columns)] + MET_MM**2 * np.eye(len(columns))
    scale = np.sqrt(np.diagonal(given))
    weight = pinvh(given / np.outer(scale, scale), rtol=SETTLED) / np.outer(scale, scale)
    sides = np.stack([~is_height, is_height], axis=1).astype(float)
    shift = np.linalg.solve(sides.T @ weight @ sides, sides.T @ weight)
    measured = numbers.values[columns]
    moves = shift @ (measured - told_mm)
    wanted = told_mm + sides @ moves
    # by its place the told is good for what it is beside the others, and the place as measured
    beside = np.eye(len(columns)) - sides @ shift
    cov = beside @ cov_told @ beside.T + sides @ shift @ given @ shift.T @ sides.T
    gain = numbers.cov[:, columns] @ weight
    values = numbers.values + gain @ (wanted - measured)
    cov_all = numbers.cov - gain @ (given - cov) @ gain.T
    values[columns] = wanted
    cov_all[np.ix_(columns, columns)] = cov
    return replace(numbers, values=values, cov=cov_all), float(moves[0]), float(moves[1])


def _renamed(group: Group, names: dict[str, str], aside_mm: float, up_mm: float) -> Group:
    """A group of the wall as the face calls its openings; without what the face does not have."""
    members = []
    for member in group.members:
        parts = owners_of(member)
        if all(part in names for part in parts):
            new = [names[part] for part in parts]
            ending = "" if len(new) > 1 else member[len(parts[0]) :]
            members.append(" to ".join(new) + ending)
    value = group.value_mm
    if group.what in ("plumb", "centre"):
        value += aside_mm
    elif group.what == "level":
        value += up_mm
    return replace(group, members=tuple(members), value_mm=value)
