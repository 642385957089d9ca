"""Where the names of openings stand: in them, else beside them, else left to the schedule."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from measure.elevation.drawing import Text
from measure.elevation.facade import DrawnMark, DrawnOpening
from measure.elevation.labels import (
    Label,
    Place,
    Room,
    first_free,
    height_of_label_mm,
    width_of_label_mm,
)
from measure.elevation.path_geometry import Point
from shared.number_text import format_number

#: An opening narrower than this on paper carries its id alone.
ROOM_FOR_WORDS_PAPER_MM = 22.0

#: Heights of capitals of a name, the best first; below the last nobody could read it.
NAME_SIZES_MM = (1.8, 1.5, 1.2)

#: Parts of an opening's width and height that a name in it may take.
PART_OF_WIDTH, PART_OF_HEIGHT = 0.92, 0.8

#: Steps on paper away from an opening, or from the place of a mark, that are tried.
STEPS_AWAY_MM = (0.9, 2.2, 3.6, 5.2, 7.5)


def name_opening(
    opening: DrawnOpening,
    rooms: tuple[Room, ...],
    *,
    filled: bool,
    stone_mm: float,
    only_inside: bool = False,
) -> list[Text]:
    """Lettering of an opening: its name and size where there is room, else its id.

    One that was invented says in brackets what it is a copy of.

    Parameters
    ----------
    opening : DrawnOpening
    rooms : tuple of Room
        The first is asked what is free.
    filled : bool
        Bars or panels stand in it: the name goes beside it.
    stone_mm : float
        Height of the sill stone under it, at full size.
    only_inside : bool
        No name beside it.

    Returns
    -------
    list of Text
        Empty where no place is free.
    """
    denominator = rooms[0].denominator
    size = f"{format_number(opening.width_mm, 0)} × {format_number(opening.height_mm, 0)}"
    if opening.inferred:
        size = f"({size})"
    if opening.width_mm / denominator >= ROOM_FOR_WORDS_PAPER_MM:
        words = ((opening.label or opening.id, 2.5), (size, 1.8))
        label = Label(words, opening.id, inferred=opening.inferred)
        largest = 2.5 if _fits(opening, label, 2.5, denominator) else 1.8
        made = first_free(
            label,
            _places(opening, label, denominator, filled, stone_mm, (largest,), only_inside),
            rooms,
        )
        if made:
            return made
    name = f"({opening.made_from or opening.id})" if opening.inferred else opening.id
    label = Label(((name, 1.8),), opening.id, inferred=opening.inferred)
    return first_free(
        label,
        _places(opening, label, denominator, filled, stone_mm, NAME_SIZES_MM, only_inside),
        rooms,
    )


def _fits(opening: DrawnOpening, label: Label, size_mm: float, denominator: float) -> bool:
    """Whether a label finds its width and height in an opening."""
    width, height = opening.width_mm / denominator, opening.height_mm / denominator
    return (
        width_of_label_mm(label, size_mm) <= PART_OF_WIDTH * width
        and height_of_label_mm(label, size_mm) <= PART_OF_HEIGHT * height
    )


def _places(
    opening: DrawnOpening,
    label: Label,
    denominator: float,
    filled: bool,
    stone_mm: float,
    sizes_mm: tuple[float, ...],
    only_inside: bool,
) -> Iterator[Place]:
    easy, last = sizes_mm[:2], sizes_mm[2:]
    for sizes in (easy, last):
        if not filled:
            for size in sizes:
                yield from _inside(opening, label, size, denominator)
        for size in () if only_inside else sizes:
            yield from _beside(opening, label, size, stone_mm)


def _inside(
    opening: DrawnOpening, label: Label, size_mm: float, denominator: float
) -> Iterator[Place]:
    """In the opening, level; else upright in a narrow one."""
    at = (opening.centre_mm, opening.sill_mm + 0.45 * opening.height_mm)
    if opening.form == "round":
        at = opening.box.centre_mm
    if _fits(opening, label, size_mm, denominator):
        yield Place(at, (0.0, 0.0), size_mm)
    width, height = opening.width_mm / denominator, opening.height_mm / denominator
    upright = width_of_label_mm(label, size_mm) <= PART_OF_HEIGHT * height
    if upright and height_of_label_mm(label, size_mm) <= PART_OF_HEIGHT * width:
        yield Place(at, (0.0, 0.0), size_mm, angle_rad=math.pi / 2.0)


def _beside(
    opening: DrawnOpening, label: Label, size_mm: float, stone_mm: float
) -> Iterator[Place]:
    """Under its sill, over its head, to the right and left of it."""
    half = height_of_label_mm(label, size_mm) / 2.0
    centre = opening.centre_mm
    for away in STEPS_AWAY_MM[:2]:
        yield Place((centre, opening.sill_mm - stone_mm), (0.0, -away - half), size_mm)
    for away in STEPS_AWAY_MM[:4]:
        yield Place((centre, opening.head_mm), (0.0, away + half), size_mm)
    middle = (opening.sill_mm + opening.springing_mm) / 2.0
    for away in STEPS_AWAY_MM[:2]:
        yield Place((opening.right_mm, middle), (away, 0.0), size_mm, "left")
        yield Place((opening.left_mm, middle), (-away, 0.0), size_mm, "right")


def set_mark(mark: DrawnMark, rooms: tuple[Room, ...]) -> list[Text]:
    """Words of a mark beside its place, on the side it asks for where that is free."""
    size = 2.5 if mark.kind == "slope" else 1.8
    label = Label(((mark.text, size),), id=mark.id if mark.kind == "arc" else None)
    places = [
        place
        for smaller in (size, NAME_SIZES_MM[1])
        for place in _around(mark.at_mm, smaller, mark.side)
    ]
    return first_free(label, places, rooms, always=True)


def _around(at_mm: Point, size_mm: float, side: str) -> Iterable[Place]:
    half = size_mm / 2.0
    for away in STEPS_AWAY_MM:
        found = {
            "above": Place(at_mm, (0.0, away + half + 0.4), size_mm),
            "right": Place(at_mm, (away + 0.3, half + 1.4), size_mm, "left"),
            "left": Place(at_mm, (-away - 0.3, half + 1.4), size_mm, "right"),
            "below": Place(at_mm, (0.0, -away - half), size_mm),
        }
        yield found.pop(side)
        yield from found.values()
        for drop in (0.0, -half - 1.4):
            yield Place(at_mm, (away + 0.3, drop), size_mm, "left")
            yield Place(at_mm, (-away - 0.3, drop), size_mm, "right")
