"""A facade made whole about a plumb axis: openings mirrored, or a whole half."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal

from measure.elevation.facade import DrawnOpening, Facade
from measure.elevation.outline_shapes import (
    area_of_points,
    half_of,
    mirrored_about,
    outline_from_area,
)
from shared.errors import FieldError
from shared.number_text import format_number

#: Two openings are one another's mirror image within this, or three of their ± if that is more.
ALIKE_MM = 30.0

#: Axes looked at closely, those that most pairs of openings speak for.
AXES_TRIED = 20

#: An axis may lie outside the wall by this part of its width: a pick on the last jamb.
BEYOND_WALL = 0.02


@dataclass(frozen=True, slots=True)
class Invented:
    """One opening that was not measured.

    Attributes
    ----------
    id, made_from : str
    how : str
        Such as "mirrored about 6 450 mm".
    """

    id: str
    made_from: str
    how: str


@dataclass(frozen=True, slots=True)
class Completed:
    """A facade completed: what it is now, what was invented, what should be known."""

    facade: Facade
    invented: tuple[Invented, ...] = ()
    notes: tuple[str, ...] = ()


def check_axis(facade: Facade, axis_mm: float) -> None:
    """Refuse an axis that does not lie on the wall."""
    wall = facade.wall_box
    slack = BEYOND_WALL * wall.width_mm
    if not (math.isfinite(axis_mm) and wall.left_mm - slack <= axis_mm <= wall.right_mm + slack):
        raise FieldError(
            f"The axis at {format_number(axis_mm)} mm lies outside the wall, which runs from "
            f"{format_number(wall.left_mm)} to {format_number(wall.right_mm)} mm.",
            hint="Pick it on the wall, or leave it out to have it found.",
        )


def find_axis(facade: Facade) -> float:
    """Find the plumb axis about which most openings are one another's image.

    Raises
    ------
    FieldError
        If fewer than two pairs, or one pair and one opening on the axis, agree on one.
    """
    openings = [each for each in facade.openings if not each.inferred]
    votes: Counter[int] = Counter()
    places: dict[int, float] = {}
    for one, other in combinations(openings, 2):
        if _alike(one, other):
            axis = (one.centre_mm + other.centre_mm) / 2.0
            votes[round(axis / ALIKE_MM)] += 1
            places.setdefault(round(axis / ALIKE_MM), axis)
    best: tuple[int, float, float] | None = None
    middle = facade.wall_box.centre_mm[0] if openings else 0.0
    for bin_, _ in votes.most_common(AXES_TRIED):
        pairs = _pairs_about(openings, places[bin_])
        if len(pairs) < 2:
            continue
        mean = sum((a.centre_mm + b.centre_mm) / 2.0 for a, b in pairs) / len(pairs)
        rank = (len(pairs), -abs(mean - middle), mean)
        if best is None or rank > best:
            best = rank
    if best is None:
        raise FieldError(
            "No axis is found about which the openings repeat.",
            hint="Pick it in the photo, or name the opening that stands on it.",
        )
    return best[2]


def _pairs_about(
    openings: Sequence[DrawnOpening], axis_mm: float
) -> list[tuple[DrawnOpening, DrawnOpening]]:
    """Openings with their images; one on the axis is its own."""
    pairs = []
    for at, one in enumerate(openings):
        if abs(one.centre_mm - axis_mm) <= _slack(one, one):
            pairs.append((one, one))
            continue
        image = one.mirrored(axis_mm)
        for other in openings[at + 1 :]:
            near = abs(image.centre_mm - other.centre_mm) <= 2.0 * _slack(one, other)
            if near and _alike(one, other):
                pairs.append((one, other))
                break
    if all(one is other for one, other in pairs):
        return []
    return pairs


def _alike(one: DrawnOpening, other: DrawnOpening) -> bool:
    slack = _slack(one, other)
    return (
        one.form == other.form
        and abs(one.width_mm - other.width_mm) <= slack
        and abs(one.sill_mm - other.sill_mm) <= slack
        and abs(one.head_mm - other.head_mm) <= slack
    )


def _slack(one: DrawnOpening, other: DrawnOpening) -> float:
    return max(ALIKE_MM, 3.0 * math.hypot(one.u_width_mm or 0.0, other.u_width_mm or 0.0))


def mirror(facade: Facade, axis_mm: float, ids: Sequence[str]) -> Completed:
    """Add the mirror images of openings; where one stands already, nothing is added.

    Parameters
    ----------
    facade : Facade
    axis_mm : float
    ids : sequence of str
        Without names, all openings of the side that has more of them.

    Raises
    ------
    FieldError
        For an axis off the wall, or when nothing is to be mirrored.
    """
    check_axis(facade, axis_mm)
    sources = (
        [each for each in facade.openings if each.id in ids] if ids else _fuller(facade, axis_mm)
    )
    made = facade
    invented: list[Invented] = []
    notes: list[str] = []
    boxes = [(other, other.box) for other in facade.openings]
    for each in sources:
        image = each.mirrored(axis_mm)
        place = image.box
        there = [other for other, box in boxes if box.overlaps(place)]
        if there:
            if not any(_alike(other, image) for other in there):
                notes.append(
                    f"The image of '{each.id}' would stand across '{there[0].id}': left out."
                )
            continue
        image = image.copied(made.fresh_id(f"{each.id}@mirrored"))
        made = replace(made, openings=(*made.openings, image))
        how = f"mirrored about {format_number(axis_mm)} mm"
        invented.append(Invented(image.id, each.id, how))
    if not invented and not notes:
        notes.append("Every opening has its image already: nothing is mirrored.")
    if made.outlines and invented:
        made = _with_outline_mirrored(made, axis_mm)
    return Completed(made, tuple(invented), tuple(notes))


def _fuller(facade: Facade, axis_mm: float) -> list[DrawnOpening]:
    left = [each for each in facade.openings if each.right_mm <= axis_mm]
    right = [each for each in facade.openings if each.left_mm >= axis_mm]
    if not left and not right:
        raise FieldError(
            "No opening stands beside the axis, so there is nothing to mirror.",
            hint="Move the axis, or measure an opening.",
        )
    return left if len(left) >= len(right) else right


def _with_outline_mirrored(facade: Facade, axis_mm: float) -> Facade:
    """Lengthen the wall by its mirror image where an invented opening stands outside of it."""
    outline = facade.outlines[0]
    area = area_of_points(outline.points_mm)
    low_u, _, high_u, _ = area.bounds
    outside = [each for each in facade.openings if each.inferred]
    if all(low_u <= each.left_mm and each.right_mm <= high_u for each in outside):
        return facade
    joined = area.union(mirrored_about(area, axis_mm))
    made = outline_from_area(joined, outline.id, [outline])
    return replace(facade, outlines=(made, *facade.outlines[1:]))


def restore_half(facade: Facade, axis_mm: float, keep: Literal["left", "right"]) -> Completed:
    """Replace one side by the mirror image of the other.

    Raises
    ------
    FieldError
        For an axis off the wall, one that cuts an opening unevenly, or a side without wall.
    """
    check_axis(facade, axis_mm)
    kept: list[DrawnOpening] = []
    invented: list[Invented] = []
    how = f"mirrored from the {keep} about {format_number(axis_mm)} mm"
    sign = 1.0 if keep == "left" else -1.0
    for each in facade.openings:
        if (each.left_mm - axis_mm) * (each.right_mm - axis_mm) < 0.0:
            if abs(each.centre_mm - axis_mm) > _slack(each, each):
                raise FieldError(
                    f"The axis at {format_number(axis_mm)} mm cuts opening '{each.id}' unevenly.",
                    hint="Put it on the opening's centre line or on the wall between two.",
                )
            kept.append(each.moved(axis_mm - each.centre_mm))
        elif (each.centre_mm - axis_mm) * sign < 0.0:
            kept.append(each)
    if not kept:
        raise FieldError(
            f"Nothing stands to the {keep} of the axis at {format_number(axis_mm)} mm.",
            hint="Keep the other side, or move the axis.",
        )
    made = replace(facade, openings=tuple(kept))
    for each in kept:
        if abs(each.centre_mm - axis_mm) > 1e-6:
            image = each.mirrored(axis_mm).copied(made.fresh_id(f"{each.id}@mirrored"))
            made = replace(made, openings=(*made.openings, image))
            invented.append(Invented(image.id, each.id, how))

    def stays(u_mm: float) -> bool:
        return (u_mm - axis_mm) * sign <= 0.0

    outlines = []
    for outline in facade.outlines:
        half = half_of(area_of_points(outline.points_mm), axis_mm, keep)
        if half.area > 0.0:
            whole = half.union(mirrored_about(half, axis_mm))
            kept_part = outline_from_area(half, outline.id, [outline])
            outlines.append(outline_from_area(whole, outline.id, [kept_part]))
    made = replace(
        made,
        outlines=tuple(outlines),
        spans=tuple(span for span in made.spans if all(stays(u) for u, _ in span.points_mm)),
        marks=tuple(mark for mark in made.marks if stays(mark.at_mm[0])),
    )
    return Completed(made, tuple(invented))
