"""What the photo does not show, completed from what it does, as the user asks.

Everything invented is marked as inferred, so that it is drawn dashed and stands in the
schedule without a ±.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from measure.elevation.facade import DrawnOpening, Facade
from measure.elevation.mirroring import Completed, Invented, find_axis, mirror, restore_half
from measure.elevation.outline_shapes import area_of_points
from measure.elevation.path_geometry import Point
from measure.elevation.repeating import named_openings, repeat_bay, stack_storeys
from shared.errors import FieldError
from shared.number_text import format_number
from shared.survey_drawing import (
    AboutAxis,
    Completion,
    CopyCompletion,
    HalfCompletion,
    MirrorCompletion,
    RepeatCompletion,
)
from shared.survey_part import Pick

#: Lays a pick of the photo on the drawing.
PlaceOfPick = Callable[[Pick], Point]


def complete(facade: Facade, wishes: Iterable[Completion], place_of_pick: PlaceOfPick) -> Completed:
    """Complete a facade, one wish after the other.

    Parameters
    ----------
    facade : Facade
    wishes : iterable of Completion
    place_of_pick : callable
        For axes and places picked in the photo.

    Returns
    -------
    Completed

    Raises
    ------
    FieldError
        For a wish that cannot be met; one sentence that says which.
    """
    invented: list[Invented] = []
    notes: list[str] = []
    for number, wish in enumerate(wishes, start=1):
        try:
            done = _meet(facade, wish, place_of_pick)
        except FieldError as error:
            raise FieldError(
                f"Completion {number} ({wish.kind}): {error.message}",
                hint=error.hint,
                details={**error.details, "sentence": error.message},
            ) from error
        facade = done.facade
        invented += done.invented
        notes += done.notes
    return Completed(facade, tuple(invented), tuple(notes))


def _meet(facade: Facade, wish: Completion, place_of_pick: PlaceOfPick) -> Completed:
    if isinstance(wish, MirrorCompletion):
        if wish.of:
            named_openings(facade, wish.of)
        return mirror(facade, axis_of(facade, wish, place_of_pick), wish.of)
    if isinstance(wish, HalfCompletion):
        return restore_half(facade, axis_of(facade, wish, place_of_pick), wish.keep)
    if isinstance(wish, RepeatCompletion):
        return repeat_bay(facade, wish.of, wish.count, wish.spacing_mm, wish.towards, wish.push)
    if isinstance(wish, CopyCompletion):
        return _copy(facade, wish, place_of_pick)
    return stack_storeys(facade, wish.of, wish.count, wish.height_mm)


def axis_of(facade: Facade, wish: AboutAxis, place_of_pick: PlaceOfPick) -> float:
    """Where the axis of a wish stands on the drawing."""
    if wish.axis_at is not None:
        return place_of_pick(wish.axis_at)[0]
    if wish.axis_mm is not None:
        return wish.axis_mm
    if wish.axis_of:
        named = named_openings(facade, wish.axis_of)
        return sum(each.centre_mm for each in named) / len(named)
    return find_axis(facade)


def _copy(facade: Facade, wish: CopyCompletion, place_of_pick: PlaceOfPick) -> Completed:
    (source,) = named_openings(facade, [wish.of])
    if wish.at is not None:
        centre, sill = place_of_pick(wish.at)
        sill = wish.sill_mm if wish.sill_mm is not None else sill
    else:
        centre = wish.centre_mm if wish.centre_mm is not None else source.centre_mm
        sill = wish.sill_mm if wish.sill_mm is not None else source.sill_mm
    made = source.moved(centre - source.centre_mm, sill - source.sill_mm)
    for each in facade.openings:
        if each.photo and not each.inferred and each.box.overlaps(made.box):
            said = f"'{each.id}' stands there in photo '{each.photo}': '{source.id}' is not copied."
            return Completed(facade, (), (said,))
    _check_free(facade, made)
    made = made.copied(facade.fresh_id(f"{source.id}@copy"))
    how = f"copied to {format_number(centre)} mm, sill {format_number(sill)} mm"
    whole = replace(facade, openings=(*facade.openings, made))
    return Completed(whole, (Invented(made.id, source.id, how),))


def _check_free(facade: Facade, made: DrawnOpening) -> None:
    across = [each.id for each in facade.openings if each.box.overlaps(made.box)]
    if across:
        raise FieldError(
            f"a copy of '{made.id}' there would stand across '{across[0]}'.",
            hint="Put it where the wall is free.",
        )
    if facade.outlines:
        area = area_of_points(facade.outlines[0].points_mm)
        low_u, _, high_u, high_v = area.bounds
        box = made.box
        if box.left_mm < low_u or box.right_mm > high_u or box.top_mm > high_v:
            raise FieldError(
                f"a copy of '{made.id}' there would stand outside the wall.",
                hint="Put it inside the outline.",
            )
