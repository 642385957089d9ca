"""Four picks as the corners of an upright rectangle: put in order, or refused.

The picks may start at any corner and run either way round. What cannot be a
rectangle in any photograph is refused with the reason.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from shared.errors import DegenerateError
from shared.survey import Pick

CORNERS = ("top left", "top right", "bottom right", "bottom left")

#: Picks nearer than this are one spot clicked twice.
SAME_PICK_PX = 0.5

#: Below this side a one-pixel click turns the side by more than 7 degrees.
SHORTEST_SIDE_PX = 8.0

#: Sine of the flattest corner: about 3 degrees from straight.
FLATTEST_SINE = 0.05


Point = tuple[float, float]


def _turn(p: Point, q: Point, r: Point) -> float:
    """Twice the signed area of a triangle: positive when p, q, r go clockwise (y down)."""
    return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])


def _sides_cross(p: Point, q: Point, r: Point, s: Point) -> bool:
    """Tell whether segment pq properly crosses segment rs."""
    return _turn(p, q, r) * _turn(p, q, s) < 0 and _turn(r, s, p) * _turn(r, s, q) < 0


def rectangle_order(picks: Sequence[Pick], name: str) -> tuple[int, int, int, int]:
    """Find which pick is which corner.

    Parameters
    ----------
    picks : sequence of four Pick
        Going round the rectangle, from any corner, either way.
    name : str
        What the picks are called in a refusal, such as "the frame of face 'front'".

    Returns
    -------
    tuple of four int
        Indices of the top left, top right, bottom right and bottom left pick.

    Raises
    ------
    DegenerateError
        Repeated, tiny, crossed, non-convex or nearly straight picks.

    Examples
    --------
    >>> corners = [Pick(x=90, y=10), Pick(x=10, y=12), Pick(x=8, y=70), Pick(x=92, y=75)]
    >>> rectangle_order(corners, "the frame")
    (1, 0, 3, 2)
    """
    p = [(pick.x, pick.y) for pick in picks]
    details = {"picks": [list(point) for point in p]}
    if min(math.dist(*pair) for pair in combinations(p, 2)) < SAME_PICK_PX:
        raise DegenerateError(
            f"Two corners of {name} are the same pick.",
            hint="Pick four different corners.",
            details=details,
        )
    for first, second in ((0, 1), (1, 2)):
        if _sides_cross(p[first], p[first + 1], p[second + 1], p[(second + 2) % 4]):
            raise DegenerateError(
                f"The picks of {name} cross over, like a bow tie.",
                hint="Pick the corners in turn, going round the rectangle.",
                details=details,
            )
    lengths = [math.dist(p[i], p[(i + 1) % 4]) for i in range(4)]
    sines = [
        _turn(p[i - 1], p[i], p[(i + 1) % 4]) / (lengths[i - 1] * lengths[i]) for i in range(4)
    ]
    if min(abs(sine) for sine in sines) < FLATTEST_SINE:
        raise DegenerateError(
            f"Three corners of {name} lie nearly in a straight line.",
            hint="Pick the four corners of one upright rectangle on the wall.",
            details=details,
        )
    if not (all(sine > 0 for sine in sines) or all(sine < 0 for sine in sines)):
        raise DegenerateError(
            f"One corner of {name} lies inside the other three.",
            hint="Pick the four corners of one upright rectangle on the wall.",
            details=details,
        )
    if min(lengths) < SHORTEST_SIDE_PX:
        raise DegenerateError(
            f"The {name.removeprefix('the ')} is tiny: its shortest side is "
            f"{min(lengths):.1f} px and {SHORTEST_SIDE_PX:g} px are needed.",
            hint="Pick a larger rectangle, or use a photo with more pixels.",
            details=details,
        )
    clockwise = [0, 1, 2, 3] if sines[0] > 0 else [3, 2, 1, 0]

    def lean(start: int) -> float:
        """How far right of plumb the rectangle leans when this pick is its top left."""
        tl, tr, br, bl = (p[clockwise[(start + k) % 4]] for k in range(4))
        across = tl[0] + tr[0] - bl[0] - br[0]
        down = bl[1] + br[1] - tl[1] - tr[1]
        return abs(math.atan2(across, down))

    start = min(range(4), key=lean)
    a, b, c, d = (clockwise[(start + k) % 4] for k in range(4))
    return a, b, c, d
