"""Bed joints over a wall, and perpends in a bond.

References
----------
How stretchers and headers lie in stretcher, English, Flemish and English garden wall bond,
with a queen closer beside the quoin header: common practice, no source.
"""

from __future__ import annotations

from itertools import chain, cycle, pairwise

from measure.elevation.details.ground import Ground, Line, line_items
from measure.elevation.drawing import Item
from shared.errors import FieldError
from shared.number_text import format_number
from shared.survey_details import Bond, CourseLinesDetail

LAYER = "courses"

#: Courses closer than this on paper cannot be told from a tone.
CLOSEST_PAPER_MM = 0.25

#: More joints than this are a mistake in the gauge.
MOST_JOINTS = 20_000

#: Fewer millimetres of the model than this between perpends are not drawn.
CLOSEST_PERPENDS_PAPER_MM = 0.35


def course_levels(wish: CourseLinesDetail, ground: Ground) -> list[float]:
    """Levels of the bed joints, from the foot of the wall to its head.

    Raises
    ------
    FieldError
        If the measure is no courses of this face, or the gauge cannot be drawn.
    """
    box = ground.box
    foot = ground.level(wish.foot, box.bottom_mm, "course lines")
    head = ground.level(wish.head, box.top_mm, "course lines")
    read: list[float] = []
    gauge = wish.gauge_mm
    if wish.measure is not None:
        found = next((each for each in ground.facade.courses if each.id == wish.measure), None)
        if found is None:
            known = ", ".join(each.id for each in ground.facade.courses) or "none"
            raise FieldError(
                f"There are no measured courses '{wish.measure}' on this face.",
                hint=f"It has: {known}.",
            )
        read, gauge = sorted(found.joints_mm), found.gauge_mm
    if gauge is None:
        raise FieldError("The course lines have no gauge.", hint="Give 'measure' or 'gauge_mm'.")
    if gauge / ground.denominator < CLOSEST_PAPER_MM or (head - foot) / gauge > MOST_JOINTS:
        raise FieldError(
            f"Courses of {format_number(gauge, 1)} mm lie {gauge / ground.denominator:.2f} mm "
            "apart on this drawing, too close to be told apart.",
            hint="Draw them at a larger scale, or leave them out.",
        )
    if not read:
        read = [foot]
    levels = list(read)
    while levels[0] - gauge > foot - 1e-6:
        levels.insert(0, levels[0] - gauge)
    while levels[-1] + gauge < head + 1e-6:
        levels.append(levels[-1] + gauge)
    return [level for level in levels if foot - 1e-6 <= level <= head + 1e-6]


def course_items(wish: CourseLinesDetail, ground: Ground) -> list[Item]:
    """Bed joints and perpends, cut at openings and behind what is nearer."""
    levels = course_levels(wish, ground)
    box = ground.box
    free = ground.free
    beds: list[Line] = [
        ((box.left_mm, level), (box.right_mm, level))
        for level in levels
        if box.bottom_mm < level < box.top_mm
    ]
    made = line_items(LAYER, beds, free)
    if wish.bond is None:
        return made
    header = wish.brick_mm / 2.0
    if header / ground.denominator < CLOSEST_PERPENDS_PAPER_MM:
        raise FieldError(
            f"Headers of {format_number(header, 1)} mm lie {header / ground.denominator:.2f} mm "
            "apart on this drawing, too close to be told apart.",
            hint="Draw them at a larger scale, or leave the bond out.",
        )
    perpends: list[Line] = []
    for number, (low, high) in enumerate(pairwise(levels)):
        places = perpend_places(
            wish.bond, number, wish.brick_mm, wish.stretcher_courses, box.width_mm
        )
        perpends += [((box.left_mm + u, low), (box.left_mm + u, high)) for u in places]
    return made + line_items(LAYER, perpends, free)


def perpend_places(
    bond: Bond, course: int, brick_mm: float, stretchers: int, length_mm: float
) -> list[float]:
    """Places of the perpends of a course, from the end of the wall.

    Parameters
    ----------
    bond : str
    course : int
        From 0 at the foot.
    brick_mm : float
        A stretcher with its joint.
    stretchers : int
        Stretcher courses between headers, in English garden wall bond.
    length_mm : float
        Of the wall.

    Examples
    --------
    In English bond the quoin header is followed by a closer, half a header wide, so that
    no perpend stands over another.

    >>> perpend_places("english", 0, 225.0, 3, 800.0)
    [225.0, 450.0, 675.0]
    >>> perpend_places("english", 1, 225.0, 3, 500.0)
    [112.5, 168.75, 281.25, 393.75]
    """
    header = brick_mm / 2.0
    closer = header / 2.0
    begin: list[float] = []
    repeat = [brick_mm]
    if bond == "flemish":
        begin, repeat = ([] if course % 2 == 0 else [header, closer]), [brick_mm, header]
    elif _is_header_course(bond, course, stretchers):
        begin, repeat = [header, closer], [header]
    elif bond in ("stretcher", "english-garden-wall"):
        in_turn = course if bond == "stretcher" else course % (stretchers + 1)
        begin = [] if in_turn % 2 == 0 else [header]
    places: list[float] = []
    at = 0.0
    for width in chain(begin, cycle(repeat)):
        at += width
        if at >= length_mm - 1e-6:
            return places
        places.append(at)
    return places


def _is_header_course(bond: Bond, course: int, stretchers: int) -> bool:
    if bond == "english":
        return course % 2 == 1
    return bond == "english-garden-wall" and course % (stretchers + 1) == stretchers
