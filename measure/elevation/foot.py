"""The foot of a wall: an outline picked to the plinth or to a pavement that hides the rest.

Where a plinth or the foot of a door stands below the foot of the outline, the wall goes on down
to it. That part was not measured, so it is inferred.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import shapely

from measure.elevation.facade import DrawnOutline, Facade
from measure.elevation.outline_shapes import inferred_edges
from measure.elevation.path_geometry import Point
from shared.number_text import format_number
from shared.survey_details import BandDetail, Detail

#: Less than this below the foot of the outline is rounding of picks.
LEAST_MM = 2.0


@dataclass(frozen=True, slots=True)
class Continued:
    """A wall continued down to what stands below its outline.

    Attributes
    ----------
    outline : str
        Its id.
    by_mm : float
        How far down.
    to : str
        What it was continued to, such as "the plinth".
    """

    outline: str
    by_mm: float
    to: str

    @property
    def how(self) -> str:
        """In words."""
        return f"continued {format_number(self.by_mm)} mm down to the foot of {self.to}"


def continue_down(
    facade: Facade, details: Iterable[Detail] = ()
) -> tuple[Facade, Continued | None]:
    """Continue the wall down to its plinth and the feet of its doors.

    Parameters
    ----------
    facade : Facade
    details : iterable of Detail
        Its plinths count.

    Returns
    -------
    facade, continued : Facade, Continued or None
        The same facade and None where nothing stands below its outline.
    """
    if not facade.outlines:
        return facade, None
    outline = facade.outlines[0]
    points = _foot_first(outline.points_mm)
    if not points:
        return facade, None
    (left, _), (right, _) = points[0], points[1]
    at = min(v for _, v in outline.points_mm)
    lowest, what = min(_standing(facade, details, left, right), default=(at, ""))
    if at - lowest < LEAST_MM:
        return facade, None
    longer = (points[0], (left, lowest), (right, lowest), *points[1:])
    made = DrawnOutline(outline.id, longer, inferred_edges(longer, [outline]))
    continued = Continued(outline.id, at - lowest, what)
    return replace(facade, outlines=(made, *facade.outlines[1:])), continued


def _standing(
    facade: Facade, details: Iterable[Detail], left_mm: float, right_mm: float
) -> list[tuple[float, str]]:
    """Feet of plinths, and of openings between two places along the wall, with their names."""
    found = [
        (each.sill_mm, f"'{each.id}'")
        for each in facade.openings
        if each.left_mm < right_mm and each.right_mm > left_mm
    ]
    for detail in details:
        if isinstance(detail, BandDetail) and detail.kind == "plinth":
            foot = facade.level_of(detail.foot)
            if foot is not None:
                found.append((foot, "the plinth"))
    return found


def _foot_first(points_mm: Sequence[Point]) -> list[Point]:
    """Corners counter-clockwise: both ends of the foot, then the rest; none without a foot.

    The foot is what runs rather level than plumb on both sides of the lowest corner.
    """
    if not shapely.LinearRing(points_mm).is_simple:
        return []
    points = list(points_mm)
    if not shapely.LinearRing(points).is_ccw:
        points.reverse()
    count = len(points)
    first = last = min(range(count), key=lambda at: points[at][1])
    while _runs_level(points[(first - 1) % count], points[first % count]):
        first -= 1
    while _runs_level(points[last % count], points[(last + 1) % count]):
        last += 1
    if first == last:
        return []
    return [points[at % count] for at in (first, *range(last, first + count))]


def _runs_level(one: Point, other: Point) -> bool:
    """Whether the wall's foot goes on from one corner to the other, to the right."""
    along, up = other[0] - one[0], other[1] - one[1]
    return along > abs(up)
