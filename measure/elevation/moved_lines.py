"""Lines that the user drew somewhere else: levels and jambs moved, and nothing else with them.

A value put together at a place (`shared.survey_drawing.Together`) is taken as known, and all
that is correlated with it follows. A moved line is a liberty of the drawing: it says nothing
about the building, so no other number learns from it. Only the form of an opening holds: a
head keeps its rise, a semicircle stays one, what is round stays round.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from measure.elevation.face_facade import LeftEdge
from measure.elevation.quantities import PARTS, OpeningColumns, Quantities
from measure.elevation.tidy import LEAST_OPENING_MM, Tidied
from shared.errors import FieldError
from shared.jets import Array
from shared.number_text import format_number
from shared.survey_drawing import MovedLine

#: What every number of a kind of line is named by.
ENDINGS = {"level": ("sill", "springing", "head", "level", "v"), "plumb": ("left", "right", "u")}

#: A form is kept to so much.
SAME_MM = 0.01


def move_lines(tidied: Tidied, wishes: Iterable[MovedLine], edge: LeftEdge) -> Tidied:
    """Put lines where they were drawn.

    Parameters
    ----------
    tidied : Tidied
    wishes : iterable of MovedLine
        Those with a place of their own come first, then those put onto a line.
    edge : LeftEdge
        Of the face as lined up: plumb lines count from it.

    Returns
    -------
    Tidied
        With what was moved, and why, in `moved`; moved numbers are exact.

    Raises
    ------
    FieldError
        For a name that no line bears, the datum, or an opening without size or form.
    """
    wishes = sorted(wishes, key=lambda wish: wish.to_mm is None)
    if not wishes:
        return tidied
    numbers = tidied.numbers
    values, cov = numbers.values.copy(), numbers.cov.copy()
    why: dict[str, str] = {}

    def put(column: int, value_mm: float, reason: str, *, plumb: bool) -> None:
        values[column] = value_mm
        cov[column, :] = cov[:, column] = 0.0
        if plumb and edge.column is not None and column != edge.column:
            # exact from the edge that it counts from
            cov[column, :] = cov[edge.column, :]
            cov[:, column] = cov[:, edge.column]
            cov[column, column] = cov[edge.column, edge.column]
        why[numbers.names[column]] = reason

    for wish in wishes:
        columns = [_column(numbers, name, wish) for name in wish.of]
        if wish.to_mm is not None:
            to = wish.to_mm + (edge.u_mm if wish.what == "plumb" else 0.0)
            reason = f"moved to {format_number(wish.to_mm, 1)} mm, as asked"
        else:
            name = wish.onto or ""
            to = float(values[_column(numbers, name, wish, standing=True)])
            reason = f"put onto the line of {name}, as asked"
        for column in columns:
            put(column, to, reason, plumb=wish.what == "plumb")
    for each in numbers.openings:
        for part, value in _kept_form(each, numbers, values, why).items():
            column = getattr(each, part)
            if abs(values[column] - value) > 1e-9:
                put(column, value, f"keeps the {each.form} form", plumb=part in ENDINGS["plumb"])
        _check(each, values)
    return replace(tidied, numbers=replace(numbers, values=values, cov=cov), moved=why)


def _column(numbers: Quantities, name: str, wish: MovedLine, *, standing: bool = False) -> int:
    ending = name.rpartition(".")[2]
    if not numbers.has(name) or ending not in ENDINGS[wish.what]:
        ids = [each.id for each in numbers.openings][:6]
        shown = ", ".join(f"{id_}.{ENDINGS[wish.what][0]}" for id_ in ids) or "one of its openings"
        raise FieldError(
            f"There is no {wish.what} line '{name}' on this face to move.",
            hint=f"Take the move out, or name one such as {shown}.",
        )
    if name == "datum.level" and not standing:
        raise FieldError(
            "The datum cannot be moved: heights count from it.", hint="Pick it elsewhere instead."
        )
    return numbers.place(name)


def _kept_form(
    each: OpeningColumns, numbers: Quantities, values: Array, why: dict[str, str]
) -> dict[str, float]:
    """Where the other edges of an opening go, so that it keeps its form."""
    named = {part for part in PARTS if f"{each.id}.{part}" in why}
    if not named or each.form == "flat":
        return {}
    now = {part: float(values[getattr(each, part)]) for part in PARTS}
    by = {part: now[part] - float(numbers.values[getattr(each, part)]) for part in named}
    out: dict[str, float] = {}
    if each.form == "round":
        for one, other in (("left", "right"), ("sill", "head")):
            for part, follows in ((one, other), (other, one)):
                if part in named and follows not in named:
                    out[follows] = now[follows] + by[part]
        now |= out
        if abs((now["right"] - now["left"]) - (now["head"] - now["sill"])) > SAME_MM:
            raise _lost_form(each)
        return out
    if not each.arched:
        return {}
    if "head" in named and "springing" not in named:
        out["springing"] = now["springing"] + by["head"]
    elif "springing" in named and "head" not in named:
        out["head"] = now["head"] + by["springing"]
    if each.form == "semicircular" and named & {"left", "right", "springing", "head"}:
        half = (now["right"] - now["left"]) / 2.0
        if {"springing", "head"} <= named:
            if abs(now["head"] - now["springing"] - half) > SAME_MM:
                raise _lost_form(each)
        elif named & {"left", "right"} and "head" in named:
            out["springing"] = now["head"] - half
        elif named & {"left", "right"}:
            out["head"] = now["springing"] + half
    return out


def _lost_form(each: OpeningColumns) -> FieldError:
    return FieldError(
        f"Moved so, opening '{each.id}' is no longer {each.form}.",
        hint="Move one of its lines less, or give it another form.",
    )


def _check(each: OpeningColumns, values: Array) -> None:
    width = values[each.right] - values[each.left]
    jamb = values[each.springing] - values[each.sill]
    if width < LEAST_OPENING_MM or jamb < (0.0 if each.arched else LEAST_OPENING_MM):
        lost = "width" if width < LEAST_OPENING_MM else "height"
        raise FieldError(
            f"Moved so, opening '{each.id}' has no {lost} left.", hint="Move its lines less."
        )
