"""A face lined up together with what other photos show of its wall.

The wall is lined up once, under the face it is kept under. Its other faces take the values from
there, so an opening has one size on all of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from scipy.linalg import pinvh

from measure.elevation.constraints import MET_MM, SETTLED
from measure.elevation.elsewhere import KeptFace, Wall
from measure.elevation.face_numbers import make_quantities
from measure.elevation.groups import Group
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
    return _taken_over(measured, lined, kept, face, result)


def _taken_over(
    measured: Quantities, lined: Tidied, kept: KeptFace, face: Face, result: FaceResult
) -> Tidied:
    """Give the openings of a face the values of the wall; all else follows by its correlations."""
    there = [other for _, other in lined.numbers.twins]
    of_wall = _by_key((*lined.numbers.openings, *there), kept.face.photo)
    own = _by_key(measured.openings, face.photo)
    aside, up = kept.shift.mm
    lower = kept.result.datum_v_mm - up - result.datum_v_mm
    columns: dict[int, tuple[int, float]] = {}
    for key in own.keys() & of_wall.keys():
        one, other = own[key], of_wall[key]
        for part in PARTS:
            if part != "springing" or (one.arched and other.arched):
                offset = -aside if part in ("left", "right") else lower
                columns[getattr(one, part)] = getattr(other, part), offset
    at = [column for column, _ in columns.values()]
    wanted = lined.numbers.values[at] + np.array([offset for _, offset in columns.values()])
    cov = lined.numbers.cov[np.ix_(at, at)]
    joined = _by_key([each for pair in lined.twins for each in pair], kept.face.photo)
    names = {of_wall[key].id: own[key].id for key in own.keys() & of_wall.keys()}
    groups = (_renamed(group, names, aside, lower) for group in lined.groups)
    return Tidied(
        measured,
        _conditioned(measured, list(columns), wanted, cov),
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


def _conditioned(
    numbers: Quantities, columns: list[int], wanted: Array, cov_wanted: Array
) -> Quantities:
    """Numbers, some of which are told from elsewhere with a covariance of their own."""
    given = numbers.cov[np.ix_(columns, columns)]
    scale = np.sqrt(np.maximum(np.diagonal(given), MET_MM**2))
    inverse = pinvh(given / np.outer(scale, scale), rtol=SETTLED) / np.outer(scale, scale)
    gain = numbers.cov[:, columns] @ inverse
    values = numbers.values + gain @ (wanted - numbers.values[columns])
    cov = numbers.cov - gain @ (given - cov_wanted) @ gain.T
    values[columns] = wanted
    cov[np.ix_(columns, columns)] = cov_wanted
    return replace(numbers, values=values, cov=cov)


def _renamed(group: Group, names: dict[str, str], aside_mm: float, lower_mm: float) -> Group:
    """A group of the wall as the face calls its openings; without what the face does not have."""
    members = []
    for member in group.members:
        parts = member.split(" to ") if group.what == "spacing" else [member.rpartition(".")[0]]
        if all(part in names for part in parts):
            new = [names[part] for part in parts]
            ending = "" if len(new) > 1 else member[len(parts[0]) :]
            members.append(" to ".join(new) + ending)
    value = group.value_mm
    if group.what in ("plumb", "centre"):
        value -= aside_mm
    elif group.what == "level":
        value += lower_mm
    return replace(group, members=tuple(members), value_mm=value)
