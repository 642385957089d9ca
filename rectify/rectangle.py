"""Four picks as the corners of an upright rectangle: put in order, or refused.

The picks may start at any corner and run either way round. What cannot be a
rectangle in any photograph is refused with the reason.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from shared.errors import DegenerateError
from shared.jets import Array
from shared.survey import Pick

CORNERS = ("top left", "top right", "bottom right", "bottom left")

#: Below this side a one-pixel click turns the side by more than 7 degrees.
SHORTEST_SIDE_PX = 8.0

#: Sine of the flattest corner: about 3 degrees from straight.
FLATTEST_SINE = 0.05


def _cross(a: Array, b: Array) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


def _sides_cross(p: Array, q: Array, r: Array, s: Array) -> bool:
    """Tell whether segment pq properly crosses segment rs."""
    d1, d2 = _cross(q - p, r - p), _cross(q - p, s - p)
    d3, d4 = _cross(s - r, p - r), _cross(s - r, q - r)
    return d1 * d2 < 0 and d3 * d4 < 0


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
    p = np.array([[pick.x, pick.y] for pick in picks])
    details = {"picks": p.tolist()}
    gaps = np.linalg.norm(p[:, None] - p[None], axis=-1)[np.triu_indices(4, 1)]
    if gaps.min() < 0.5:
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
    sides = np.roll(p, -1, axis=0) - p
    lengths = np.linalg.norm(sides, axis=1)
    sines = np.array(
        [_cross(sides[i - 1], sides[i]) / (lengths[i - 1] * lengths[i]) for i in range(4)]
    )
    if np.abs(sines).min() < FLATTEST_SINE:
        raise DegenerateError(
            f"Three corners of {name} lie nearly in a straight line.",
            hint="Pick the four corners of one upright rectangle on the wall.",
            details=details,
        )
    if not (np.all(sines > 0) or np.all(sines < 0)):
        raise DegenerateError(
            f"One corner of {name} lies inside the other three.",
            hint="Pick the four corners of one upright rectangle on the wall.",
            details=details,
        )
    if lengths.min() < SHORTEST_SIDE_PX:
        raise DegenerateError(
            f"The {name.removeprefix('the ')} is tiny: its shortest side is "
            f"{lengths.min():.1f} px and {SHORTEST_SIDE_PX:g} px are needed.",
            hint="Pick a larger rectangle, or use a photo with more pixels.",
            details=details,
        )
    clockwise = [0, 1, 2, 3] if sines[0] > 0 else [3, 2, 1, 0]

    def lean(start: int) -> float:
        """How far right of plumb the rectangle leans when this pick is its top left."""
        tl, tr, br, bl = (p[clockwise[(start + k) % 4]] for k in range(4))
        rise = (tl + tr) - (bl + br)
        return float(abs(np.arctan2(rise[0], -rise[1])))

    start = min(range(4), key=lean)
    a, b, c, d = (clockwise[(start + k) % 4] for k in range(4))
    return a, b, c, d
