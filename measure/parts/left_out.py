"""Parts that the user leaves out: not laid, so on no sheet, but still told of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from measure.parts.part import Part
from shared.card_wishes import LeftOutPart
from shared.errors import FieldError


def without_left_out(
    parts: Sequence[Part], left_out: Sequence[LeftOutPart]
) -> tuple[list[Part], tuple[str, ...]]:
    """Take what is left out from the counts of parts.

    Parameters
    ----------
    parts : sequence of Part
        As a sheet can hold them.
    left_out : sequence of LeftOutPart

    Returns
    -------
    parts : list of Part
        All of them; one that is wholly left out has the count 0.
    cautions : tuple of str
        What is left out, and which marks no part bears.

    Raises
    ------
    FieldError
        If nothing is left to cut.
    """
    wishes = {each.mark: each for each in left_out}
    counted: list[Part] = []
    missing: list[str] = []
    for part in parts:
        wish = wishes.get(part.mark)
        if wish is None:
            counted.append(part)
            continue
        copies = part.count if wish.copies is None else min(wish.copies, part.count)
        missing.append(part.mark if copies == part.count else f"{part.mark} ({copies})")
        note = "; ".join(filter(None, (part.note, f"{copies} of {part.count} left out")))
        counted.append(replace(part, count=part.count - copies, note=note))
    if parts and not any(part.count for part in counted):
        raise FieldError("Every part is left out.", hint="Put one of them back.")
    cautions: list[str] = []
    if missing:
        cautions.append(
            f"Left out at your wish, so on no sheet: {', '.join(missing)}. The key and the picture "
            "show the whole model; pass over the steps that name these parts."
        )
    marks = {part.mark for part in parts}
    idle = [mark for mark in wishes if mark not in marks]
    if idle:
        cautions.append(f"{', '.join(idle)} is to be left out, but no part bears that mark now.")
    return counted, tuple(cautions)
