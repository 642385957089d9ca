"""What is wrong with a facade as a wall: openings off it, across each other, piers too thin."""

from __future__ import annotations

import numpy as np
import shapely

from measure.elevation.areas import area_of_item
from measure.elevation.facade import DrawnOpening, Facade
from measure.elevation.fit import LEAST_PIER_MODEL_MM
from measure.elevation.outline_shapes import area_of_points
from shared.number_text import format_number

#: Less than this over an edge is rounding of picks.
OVER_MM = 2.0

#: More sentences than this of one kind are summed up.
MOST_SAID = 6


def check_facade(facade: Facade, denominator: float) -> tuple[str, ...]:
    """Look a facade over before it is cut.

    Parameters
    ----------
    facade : Facade
    denominator : float
        Of the model's scale, for what a knife can cut.

    Returns
    -------
    tuple of str
        One sentence for each thing found.
    """
    return check_places(facade) + tuple(_some(_thin_piers(facade, denominator)))


def check_places(facade: Facade) -> tuple[str, ...]:
    """Openings off the wall, and those across each other: one sentence for each."""
    if not facade.openings:
        return ()
    shapes = np.array([area_of_item(each.path()) for each in facade.openings], dtype=object)
    return tuple(_some(_off_the_wall(facade, shapes)) + _some(_across_each_other(facade, shapes)))


def _some(found: list[str]) -> list[str]:
    if len(found) <= MOST_SAID:
        return found
    return [*found[:MOST_SAID], f"... and {len(found) - MOST_SAID} more of the same kind."]


def _off_the_wall(facade: Facade, shapes: np.ndarray) -> list[str]:
    """Openings that reach past the outline; below its foot a door may."""
    if not facade.outlines:
        return []
    wall = area_of_points(facade.outlines[0].points_mm)
    low_u, low_v, high_u, _ = wall.bounds
    lowest = min(each.sill_mm for each in facade.openings)
    # a door goes down through a plinth that the outline leaves out
    down = wall.union(shapely.box(low_u, min(lowest, low_v) - 1.0, high_u, low_v + OVER_MM))
    inside = shapely.covers(down.buffer(OVER_MM), shapes)
    return [
        f"Opening '{each.id}' reaches past the outline of the wall."
        for each, fine in zip(facade.openings, inside, strict=True)
        if not fine
    ]


def _across_each_other(facade: Facade, shapes: np.ndarray) -> list[str]:
    """Openings that share wall, unless one stands whole inside the other, as a light does."""
    tree = shapely.STRtree(shapes)
    found = []
    for one, other in zip(*tree.query(shapes, predicate="intersects"), strict=True):
        if one >= other:
            continue
        a, b = shapes[one], shapes[other]
        shared = a.intersection(b)
        nested = min(a.area, b.area) - shared.area < OVER_MM * max(a.length, b.length)
        if shared.area > OVER_MM**2 and not nested:
            names = facade.openings[one].id, facade.openings[other].id
            found.append(f"Openings '{names[0]}' and '{names[1]}' stand across each other.")
    return found


def _thin_piers(facade: Facade, denominator: float) -> list[str]:
    """Wall between openings, or at its ends, that is too thin to cut at the model's scale."""
    least = LEAST_PIER_MODEL_MM * denominator
    found = []
    wall = facade.wall_box if facade.outlines else None
    openings = sorted(facade.openings, key=lambda each: each.left_mm)
    for number, each in enumerate(openings):
        following = [other for other in openings[number + 1 :] if _level(each, other)]
        right = min((other.left_mm for other in following), default=None)
        if right is not None and 0.0 <= right - each.right_mm < least:
            other = next(one for one in following if one.left_mm == right)
            found.append(_thin(f"between '{each.id}' and '{other.id}'", right - each.right_mm,
                               denominator))  # fmt: skip
        if wall is not None:
            for gap, side in (
                (each.left_mm - wall.left_mm, "left"),
                (wall.right_mm - each.right_mm, "right"),
            ):
                if 0.0 <= gap < least:
                    found.append(_thin(f"{side} of '{each.id}'", gap, denominator))
    return found


def _level(one: DrawnOpening, other: DrawnOpening) -> bool:
    beside = other.left_mm >= one.right_mm - 1e-6
    return beside and min(one.head_mm, other.head_mm) > max(one.sill_mm, other.sill_mm)


def _thin(where: str, gap_mm: float, denominator: float) -> str:
    return (
        f"The pier {where} is {format_number(gap_mm)} mm, {gap_mm / denominator:.1f} mm on the "
        f"model: less than {LEAST_PIER_MODEL_MM:g} mm breaks in the cutting."
    )
