"""A facade made longer or higher: bays repeated along the wall, storeys stacked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from measure.elevation.facade import DrawnOpening, Facade
from measure.elevation.mirroring import Completed, Invented
from measure.elevation.outline_shapes import inferred_edges
from shared.errors import FieldError
from shared.number_text import format_number

#: What lies this near the end of the wall belongs to the end.
AT_END_MM = 1.0


def repeat_bay(
    facade: Facade,
    ids: Sequence[str],
    count: int,
    spacing_mm: float | None,
    towards: Literal["left", "right"],
    push: bool,
) -> Completed:
    """Repeat a bay along the wall.

    Parameters
    ----------
    facade : Facade
    ids : sequence of str
        Openings of the bay.
    count : int
        Copies.
    spacing_mm : float or None
        From centre line to centre line; None takes that to the nearest like opening.
    towards : {"left", "right"}
    push : bool
        Move what stands further along; otherwise the copies go where the wall is.

    Raises
    ------
    FieldError
        For a count below 1, a spacing narrower than the bay, or one that is not known.
    """
    if count < 1:
        raise FieldError(f"A bay cannot be repeated {count} times.", hint="Give a count above 0.")
    bay = named_openings(facade, ids)
    spacing = spacing_mm if spacing_mm is not None else spacing_of(facade, bay)
    width = max(each.right_mm for each in bay) - min(each.left_mm for each in bay)
    if spacing < width:
        raise FieldError(
            f"A spacing of {format_number(spacing)} mm is less than the bay is wide, "
            f"{format_number(width)} mm.",
            hint="Give a wider spacing, or name fewer openings.",
        )
    sign = 1.0 if towards == "right" else -1.0
    step = sign * spacing
    made = _pushed_along(facade, bay, count * step) if push else facade
    invented: list[Invented] = []
    notes: list[str] = []
    for number in range(1, count + 1):
        for each in bay:
            image = each.moved(number * step)
            across = [other for other in made.openings if other.box.overlaps(image.box)]
            if across:
                notes.append(
                    f"Bay {number}: '{across[0].id}' stands there already; '{each.id}' is not "
                    "repeated on it."
                )
                continue
            image = image.copied(made.fresh_id(f"{each.id}@bay{number}"))
            made = replace(made, openings=(*made.openings, image))
            how = f"bay repeated {format_number(spacing)} mm to the {towards}"
            invented.append(Invented(image.id, each.id, how))
    return Completed(_lengthened(facade, made), tuple(invented), tuple(notes))


def spacing_of(facade: Facade, bay: Sequence[DrawnOpening]) -> float:
    """Distance from the centre lines of a bay to those of the nearest like openings.

    Raises
    ------
    FieldError
        If no like opening stands on its storey.
    """
    gaps = []
    own = {each.id for each in bay}
    for each in bay:
        for other in facade.openings:
            level = min(each.head_mm, other.head_mm) > max(each.sill_mm, other.sill_mm)
            if other.id not in own and level:
                gap = abs(other.centre_mm - each.centre_mm)
                if gap > each.width_mm / 2.0:
                    gaps.append(gap)
    if not gaps:
        names = ", ".join(each.id for each in bay)
        raise FieldError(
            f"There is no opening beside {names} to take the spacing of the bays from.",
            hint="Give spacing_mm.",
        )
    return min(gaps)


def stack_storeys(
    facade: Facade, ids: Sequence[str], count: int, height_mm: float | None
) -> Completed:
    """Repeat a row of openings upwards; all that stands above it moves up.

    Raises
    ------
    FieldError
        For a count below 1, or a storey height that is not known or too low.
    """
    if count < 1:
        raise FieldError(f"A storey cannot be stacked {count} times.", hint="Give 1 or more.")
    row = named_openings(facade, ids)
    height = height_mm if height_mm is not None else storey_height_of(facade, row)
    high = max(each.head_mm for each in row)
    tall = high - min(each.sill_mm for each in row)
    if height < tall:
        raise FieldError(
            f"A storey of {format_number(height)} mm is lower than its openings, "
            f"{format_number(tall)} mm.",
            hint="Give a greater storey height.",
        )
    lift = count * height

    def up(v_mm: float) -> float:
        return v_mm + lift if v_mm > high + AT_END_MM else v_mm

    lifted = facade.mapped(lambda u: u, up)
    lifted = replace(
        lifted,
        outlines=tuple(
            replace(each, inferred_edges=inferred_edges(each.points_mm, facade.outlines))
            for each in lifted.outlines
        ),
        levels=tuple(
            replace(new, inferred=old.inferred or new.v_mm != old.v_mm, u_mm=old.u_mm)
            for old, new in zip(facade.levels, lifted.levels, strict=True)
        ),
        courses=facade.courses,
    )
    made, invented = lifted, []
    for number in range(1, count + 1):
        for each in row:
            id_ = made.fresh_id(f"{each.id}@storey{number}")
            made = replace(
                made, openings=(*made.openings, each.moved(0.0, number * height).copied(id_))
            )
            how = f"storey repeated {format_number(height)} mm above"
            invented.append(Invented(id_, each.id, how))
    moved = [
        old.id
        for old, new in zip(facade.openings, lifted.openings, strict=True)
        if new.sill_mm != old.sill_mm
    ]
    notes = [f"Moved up by {format_number(lift)} mm: {', '.join(moved)}."] if moved else []
    return Completed(made, tuple(invented), tuple(notes))


def storey_height_of(facade: Facade, row: Sequence[DrawnOpening]) -> float:
    """From the sills of a row to those of the next row above it, else below it.

    Raises
    ------
    FieldError
        If no opening stands above or below.
    """
    own = {each.id for each in row}
    above: list[float] = []
    below: list[float] = []
    for each in row:
        for other in facade.openings:
            over = min(each.right_mm, other.right_mm) > max(each.left_mm, other.left_mm)
            if other.id in own or not over:
                continue
            if other.sill_mm >= each.head_mm:
                above.append(other.sill_mm - each.sill_mm)
            elif other.head_mm <= each.sill_mm:
                below.append(each.sill_mm - other.sill_mm)
    if not above and not below:
        names = ", ".join(each.id for each in row)
        raise FieldError(
            f"There is no opening above or below {names} to take the storey height from.",
            hint="Give height_mm.",
        )
    return min(above) if above else min(below)


def named_openings(facade: Facade, ids: Sequence[str]) -> list[DrawnOpening]:
    """Openings by their ids, each once.

    Raises
    ------
    FieldError
        For a name that no opening bears, or for no name.
    """
    found: list[DrawnOpening] = []
    for id_ in dict.fromkeys(ids):
        opening = facade.opening(id_)
        if opening is None:
            known = ", ".join(each.id for each in facade.openings[:8]) or "none"
            raise FieldError(
                f"There is no opening '{id_}' on this face to complete it with.",
                hint=f"It has: {known}.",
            )
        found.append(opening)
    if not found:
        raise FieldError("No opening is named to complete the face with.", hint="Name one.")
    return found


def _pushed_along(facade: Facade, bay: Sequence[DrawnOpening], by_mm: float) -> Facade:
    """Everything beyond a bay moved further along the wall."""
    right, left = max(each.right_mm for each in bay), min(each.left_mm for each in bay)

    def along(u_mm: float) -> float:
        beyond = u_mm > right + AT_END_MM if by_mm > 0 else u_mm < left - AT_END_MM
        return u_mm + by_mm if beyond else u_mm

    pushed = facade.mapped(along, lambda v: v)
    return replace(
        pushed,
        outlines=tuple(
            replace(each, inferred_edges=inferred_edges(each.points_mm, facade.outlines))
            for each in pushed.outlines
        ),
    )


def _lengthened(before: Facade, after: Facade) -> Facade:
    """Wall lengthened to hold the openings added, with as much wall beyond the last as before."""
    if not after.outlines or not before.openings:
        return after
    wall = after.wall_box
    first = min(each.left_mm for each in before.openings)
    last = max(each.right_mm for each in before.openings)
    before_wall = before.wall_box
    room_left = max(first - before_wall.left_mm, 0.0)
    room_right = max(before_wall.right_mm - last, 0.0)
    low = min(each.left_mm for each in after.openings)
    high = max(each.right_mm for each in after.openings)
    more_left = wall.left_mm - (low - room_left) if low < wall.left_mm + AT_END_MM else 0.0
    more_right = high + room_right - wall.right_mm if high > wall.right_mm - AT_END_MM else 0.0
    if more_left <= 0.0 and more_right <= 0.0:
        return after

    def out(u_mm: float) -> float:
        if more_right > 0.0 and u_mm >= wall.right_mm - AT_END_MM:
            return u_mm + more_right
        if more_left > 0.0 and u_mm <= wall.left_mm + AT_END_MM:
            return u_mm - more_left
        return u_mm

    outline = after.outlines[0]
    points = tuple((out(u), v) for u, v in outline.points_mm)
    longer = replace(outline, points_mm=points)
    longer = replace(longer, inferred_edges=inferred_edges(points, before.outlines))
    return replace(after, outlines=(longer, *after.outlines[1:]))
