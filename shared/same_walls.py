"""Which faces of several photos are the same wall, and under which name that wall is kept."""

from __future__ import annotations

from collections.abc import Iterable

from shared.survey import Face


def same_walls(faces: Iterable[Face]) -> dict[str, tuple[str, ...]]:
    """All names of each wall.

    Parameters
    ----------
    faces : iterable of Face
        Those that count, in the order of the survey. One that is the same as a face that is
        not among them is taken by itself.

    Returns
    -------
    dict of face to tuple of faces
        Every face, and the faces that are the same wall, itself among them. The first is the
        one that the wall is kept under: the one that the others are said to be the same as;
        where they say it of each other, the first of these in the survey.
    """
    said = {face.id: face.same_as for face in faces}
    kept: dict[str, str] = {}
    for name in said:
        way = [name]
        other = said[name]
        while other in said and other not in way:
            way.append(other)
            other = said[other]
        # those that say it of each other go round, and any of them leads to all of them
        last = way[way.index(other) :] if other in way else way[-1:]
        kept[name] = next(each for each in said if each in last)
    return {
        name: (first, *(each for each in said if kept[each] == first and each != first))
        for name, first in kept.items()
    }
