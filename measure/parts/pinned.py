"""Parts that lie where the user put them: checked before the others are laid around them.

Frame: that of `measure.parts.blanks`, millimetres of the sheet's free area.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from measure.parts.blanks import TURNS, Blank, Placement
from measure.parts.part import Part
from shared.card_wishes import PinnedPart
from shared.errors import FieldError

#: A pin may be out by so much and still count as within the margins and clear of its
#: neighbours: places are kept to a thousandth.
SLACK_MM = 0.002


def turns_of(part: Part) -> tuple[int, ...]:
    """Quarter turns at which a part may be pinned: along its grain; printed ones as they are."""
    if part.pictures:
        return (0,)
    turns = TURNS[part.grain]
    return (*turns, *(quarters + 2 for quarters in turns))


def find_pinned(
    pins: Sequence[PinnedPart],
    blanks: Sequence[Blank],
    owners: Sequence[Part],
    width_mm: float,
    height_mm: float,
    spacing_mm: float,
) -> tuple[list[Placement], list[PinnedPart]]:
    """Places of the blanks of one material that are pinned.

    Parameters
    ----------
    pins : sequence of PinnedPart
        Of any material.
    blanks, owners
        As from :func:`measure.parts.blanks.blanks_of`.
    width_mm, height_mm : float
        Free area of a sheet.
    spacing_mm : float
        Wanted between two parts.

    Returns
    -------
    places : list of Placement
    used : list of PinnedPart
        The pins that they come from.

    Raises
    ------
    FieldError
        For a place beyond the margins, on another part, or turned across the grain.
    """
    by_name = {
        (part.mark, blank.copy_number): (blank, part)
        for blank, part in zip(blanks, owners, strict=True)
    }
    places: list[Placement] = []
    used: list[PinnedPart] = []
    lying: list[tuple[int, str, shapely.Geometry]] = []
    for pin in pins:
        if (pin.mark, pin.copy_number) not in by_name:
            continue
        blank, part = by_name[pin.mark, pin.copy_number]
        _check_turn(pin, part)
        place = Placement(blank.number, pin.sheet - 1, pin.quarters, pin.left_mm, pin.bottom_mm)
        shape = blank.placed(place)
        _check_within(pin, shape, width_mm, height_mm)
        for sheet, mark, other in lying:
            if sheet == pin.sheet and shape.distance(other) < spacing_mm - SLACK_MM:
                raise FieldError(
                    f"Parts {mark} and {pin.mark} would lie less than {spacing_mm:g} mm apart on "
                    f"sheet {pin.sheet} of {part.material.name}.",
                    hint="Move one of them, or unpin it.",
                    details={"mark": pin.mark},
                )
        lying.append((pin.sheet, pin.mark, shape))
        places.append(place)
        used.append(pin)
    return places, used


def _check_turn(pin: PinnedPart, part: Part) -> None:
    if pin.quarters in turns_of(part):
        return
    why = "its photo would not be printed" if part.pictures else "it would lie across the grain"
    raise FieldError(
        f"Part {pin.mark} cannot be turned by {90 * pin.quarters} degrees: {why}.",
        hint="Turn it back, or unpin it.",
        details={"mark": pin.mark},
    )


def _check_within(
    pin: PinnedPart, shape: shapely.Geometry, width_mm: float, height_mm: float
) -> None:
    left, low, right, high = shape.bounds
    over = max(-left, -low, right - width_mm, high - height_mm)
    if over > SLACK_MM:
        raise FieldError(
            f"Part {pin.mark} lies {over:.1f} mm beyond the margin of sheet {pin.sheet}.",
            hint="Move it inwards, use larger paper, or unpin it.",
            details={"mark": pin.mark},
        )
