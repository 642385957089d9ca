"""The liberties taken with what was measured: what was moved, invented or fitted, by how much.

Frame: that of the drawing, u from its left edge and v from the datum, millimetres of the
building.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from measure.elevation.facade import Facade
from measure.elevation.face_facade import LeftEdge
from measure.elevation.fit import Choice
from measure.elevation.foot import Continued
from measure.elevation.groups import Group
from measure.elevation.mirroring import Invented
from measure.elevation.quantities import PARTS, OpeningColumns, Quantities
from measure.elevation.tidy import Tidied
from shared.number_text import format_number

#: What moved by less than this at full size did not move.
LEAST_MOVE_MM = 0.05

MOVED_ON = "moved on to complete or fit the elevation"


@dataclass(frozen=True, slots=True)
class Liberty:
    """One size that is not drawn as it was measured.

    Attributes
    ----------
    id, part : str
        Such as "w1" and "sill"; the part "all" is a whole opening.
        "left" and "right" count from the left edge of the drawing, heights from the datum.
    measured_mm, u_measured_mm : float or None
        None for what was never measured.
    drawn_mm, u_drawn_mm : float or None
        The new value and its new ±; None for a whole opening.
    moved_mm, moved_model_mm : float or None
    reason : str
        Such as "sill of w1, w2, w3" or "mirrored about 6 450 mm".
    """

    id: str
    part: str
    measured_mm: float | None
    u_measured_mm: float | None
    drawn_mm: float | None
    u_drawn_mm: float | None
    moved_mm: float | None
    moved_model_mm: float | None
    reason: str


def lined_up(tidied: Tidied, edges: tuple[LeftEdge, LeftEdge], denominator: float) -> list[Liberty]:
    """What tidying moved.

    Parameters
    ----------
    tidied : Tidied
    edges : pair of LeftEdge
        Of the face as measured and as drawn: places along the wall count from them, and
        so do their ±.
    denominator : float
        Of the model's scale.

    Returns
    -------
    list of Liberty
        Openings first, then levels, then the corners of outlines.
    """
    reasons: dict[str, list[str]] = {}
    for group in tidied.groups:
        for member in group.members:
            reasons.setdefault(member, []).append(_reason(group))
    for here, there in tidied.twins:
        for part in (*PARTS, "width", "height"):
            why = f"as photo '{there.photo}' shows it too"
            reasons.setdefault(f"{here.id}.{part}", []).append(why)
    before, after = tidied.measured, tidied.numbers
    found: list[Liberty] = []

    def add(
        id_: str, part: str, columns: tuple[int, ...], names: Iterable[str], across: bool = False
    ) -> None:
        """Add a number, or the difference of two, if it moved."""
        pairs = list(zip((before, after), edges, strict=True))
        values = [_value(numbers, columns, edge if across else None) for numbers, edge in pairs]
        moved = values[1] - values[0]
        if abs(moved) < LEAST_MOVE_MM:
            return
        u = [_u(numbers, columns, edge if across else None) for numbers, edge in pairs]
        named = [tidied.moved[name] for at in columns if (name := before.names[at]) in tidied.moved]
        why = named or [reason for name in names for reason in reasons.get(name, [])]
        found.append(
            Liberty(
                id_,
                part,
                values[0],
                u[0],
                values[1],
                u[1],
                moved,
                moved / denominator,
                "; ".join(dict.fromkeys(why)) or "moved along with lines that its picks hang on",
            )
        )

    for each in before.openings:
        for part, columns, names in _sizes_of(each):
            add(each.id, part, columns, names, across=part in ("left", "right"))
    for level in before.levels:
        add(level.id, "level", (level.v,), [f"{level.id}.level"])
    for points in before.points:
        if points.kind == "outline":
            for number, (u, v) in enumerate(zip(points.u, points.v, strict=True), start=1):
                add(points.id, f"corner {number} across", (u,), [before.names[u]], across=True)
                add(points.id, f"corner {number} up", (v,), [before.names[v]])
    return found


def _sizes_of(each: OpeningColumns) -> list[tuple[str, tuple[int, ...], list[str]]]:
    def names(*parts: str) -> list[str]:
        return [f"{each.id}.{part}" for part in parts]

    found = [
        ("left", (each.left,), names("left", "centre", "width")),
        ("right", (each.right,), names("right", "centre", "width")),
        ("sill", (each.sill,), names("sill", "height")),
        ("head", (each.head,), names("head", "height", "rise")),
        ("width", (each.right, each.left), names("width")),
        ("height", (each.head, each.sill), names("height", "sill", "head")),
    ]
    if each.arched:
        springing = ("springing", (each.springing,), names("springing", "rise"))
        found.insert(3, springing)
    return found


def _value(numbers: Quantities, columns: tuple[int, ...], edge: LeftEdge | None) -> float:
    value = float(numbers.values[columns[0]])
    if edge is not None:
        return value - edge.u_mm
    return value - float(numbers.values[columns[1]]) if len(columns) > 1 else value


def _u(numbers: Quantities, columns: tuple[int, ...], edge: LeftEdge | None) -> float:
    if edge is not None and edge.column is not None:
        return numbers.u_of_difference(columns[0], edge.column)
    if len(columns) > 1:
        return numbers.u_of_difference(columns[0], columns[1])
    return numbers.u(numbers.names[columns[0]])


def _reason(group: Group) -> str:
    return f"{group.name}, as asked" if group.forced else group.name


def moved_on(before: Facade, after: Facade, denominator: float) -> list[Liberty]:
    """What completing and fitting moved or left out of what was measured.

    Parameters
    ----------
    before, after : Facade
        As lined up, and as drawn.
    denominator : float
        Of the model's scale.
    """
    found: list[Liberty] = []

    def add(id_: str, part: str, u_mm: float | None, old: float, new: float) -> None:
        by = new - old
        if abs(by) >= LEAST_MOVE_MM:
            row = Liberty(id_, part, old, u_mm, new, None, by, by / denominator, MOVED_ON)
            found.append(row)

    for each in before.openings:
        other = after.opening(each.id)
        if other is None:
            found.append(_whole(each.id, "left out to complete or fit the elevation"))
            continue
        for part in PARTS:
            if part == "springing" and each.springing_mm == each.head_mm:
                continue
            u_mm = {"sill": each.u_sill_mm, "head": each.u_head_mm}.get(part)
            old, new = getattr(each, f"{part}_mm"), getattr(other, f"{part}_mm")
            add(each.id, part, u_mm, old, new)
    levels = {level.id: level.v_mm for level in after.levels}
    for level in before.levels:
        add(level.id, "level", level.u_mm, level.v_mm, levels.get(level.id, level.v_mm))
    return found


def grown(measured: Facade, completed: Facade, denominator: float) -> list[Liberty]:
    """How much wider and higher than measured the wall is, to hold what was completed."""
    if not measured.outlines or not completed.outlines:
        return []
    old, new, found = measured.wall_box, completed.wall_box, []
    for part, was, now in (
        ("width", old.width_mm, new.width_mm),
        ("height", old.height_mm, new.height_mm),
    ):
        by = now - was
        if abs(by) >= LEAST_MOVE_MM:
            id_, how = measured.outlines[0].id, "to hold what is mirrored or repeated"
            found.append(Liberty(id_, part, was, None, now, None, by, by / denominator, how))
    return found


def _whole(id_: str, reason: str) -> Liberty:
    return Liberty(id_, "all", None, None, None, None, None, None, reason)


def invented(made: Sequence[Invented]) -> list[Liberty]:
    """What completing invented."""
    return [_whole(each.id, f"{each.made_from} {each.how}") for each in made]


def continued_down(continued: Continued | None) -> list[Liberty]:
    """How far the wall was continued below its outline."""
    return [] if continued is None else [_whole(continued.outline, continued.how)]


def fitted(choice: Choice | None) -> list[Liberty]:
    """What fitting the plot cost."""
    if choice is None:
        return []
    return [_whole("elevation", cost) for cost in choice.costs]


COLUMNS = (
    "id",
    "part",
    "measured_mm",
    "u_measured_mm",
    "drawn_mm",
    "u_drawn_mm",
    "moved_mm",
    "moved_model_mm",
    "reason",
)
"""Columns of the table, in order."""


def rows_of_table(liberties: Iterable[Liberty]) -> list[list[str]]:
    """The table as text cells, the header first; numbers plain, for other programs."""
    rows = [list(COLUMNS)]
    for each in liberties:
        numbers = (
            (each.measured_mm, 2),
            (each.u_measured_mm, 2),
            (each.drawn_mm, 2),
            (each.u_drawn_mm, 2),
            (each.moved_mm, 2),
            (each.moved_model_mm, 4),
        )
        cells = ["" if value is None else f"{value:.{decimals}f}" for value, decimals in numbers]
        rows.append([each.id, each.part, *cells, each.reason])
    return rows


def _value_and_u(value_mm: float | None, u_mm: float | None) -> str:
    text = format_number(value_mm or 0.0, 1)
    return text if u_mm is None else f"{text} ± {format_number(u_mm, 1)}"


def _signed(value_mm: float | None, decimals: int) -> str:
    return f"{value_mm or 0.0:+.{decimals}f}".replace("-", "\N{MINUS SIGN}")


def _names(text: str, id_: str) -> bool:
    return re.search(rf"(?<![\w-]){re.escape(id_)}(?![\w-])", text) is not None


def text_of_liberties(
    liberties: Sequence[Liberty],
    notes: Sequence[str] = (),
    labels: Mapping[str, str] | None = None,
) -> str:
    """What was done, for people: the largest moves first, then what was invented, then notes.

    Parameters
    ----------
    liberties : sequence of Liberty
    notes : sequence of str
    labels : mapping of id to label, optional
        What is named by its id above is told apart at the end.
    """
    moved = [each for each in liberties if each.moved_mm is not None]
    other = [each for each in liberties if each.moved_mm is None]
    lines = []
    if moved:
        largest = max(abs(each.moved_model_mm or 0.0) for each in moved)
        lines.append(
            f"{len(moved)} sizes are drawn other than measured, by {largest:.2f} mm of the model "
            "at most:"
        )
        for each in sorted(moved, key=lambda each: -abs(each.moved_mm or 0.0)):
            lines.append(
                f"  {each.id} {each.part}: {_value_and_u(each.measured_mm, each.u_measured_mm)} mm "
                f"is drawn {_value_and_u(each.drawn_mm, each.u_drawn_mm)} mm "
                f"({_signed(each.moved_mm, 1)} mm, {_signed(each.moved_model_mm, 3)} mm on the "
                "model): "
                f"{each.reason}"
            )
    else:
        lines.append("Everything measured is drawn as it was measured.")
    for each in other:
        lines.append(f"  {each.id}: {each.reason}")
    lines += [f"  Note: {note}" for note in notes]
    told = " ".join(f"{each.id} {each.reason}" for each in liberties)
    words = {id_: label for id_, label in (labels or {}).items() if label}
    named = [f"  {id_}: {word}" for id_, word in words.items() if _names(told, id_)]
    lines += ["What the short names stand for:", *named] if named else []
    return "\n".join(lines) + "\n"
