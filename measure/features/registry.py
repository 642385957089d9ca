"""Which picks each kind of measure is made of, and which file makes its sizes.

To add a kind: its class in shared/survey.py, a file beside this one, a branch here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from measure.features import (
    arc,
    courses,
    distance,
    level,
    opening,
    outline,
    set_back,
    slope,
    spacing,
)
from measure.features.chart_points import ChartPoints, Sizes
from rectify.rectangle import rectangle_order
from rectify.solving.observations import OUT_OF_TRUE, U_HAND_PX, diagonal_px
from shared.errors import FieldError
from shared.survey import CoursesMeasure, Measure, OpeningMeasure, Pick, SetBackMeasure

Sight = tuple[Pick, float]

#: Depth of the second plane that a far pick is laid on (any depth gives the same answer).
BEHIND_MM = 100.0

_PLAIN: dict[str, Callable[[ChartPoints], Sizes]] = {
    "distance": distance.sizes,
    "level": level.sizes,
    "arc": arc.sizes,
    "spacing": spacing.sizes,
    "slope": slope.sizes,
    "outline": outline.sizes,
}


def sights_of(measure: Measure, name: str) -> list[Sight]:
    """Picks of a measure with the depth behind the face at which each is met.

    Raises
    ------
    DegenerateError
        For four corners that cannot be a rectangle.
    FieldError
        For two picks on one spot.
    """
    back = measure.set_back_mm
    if isinstance(measure, SetBackMeasure):
        near, far = measure.at
        _check_apart(measure.at, name)
        return [(near, back), (far, back), (far, back + BEHIND_MM)]
    if isinstance(measure, OpeningMeasure):
        order = rectangle_order(measure.at, name)
        picks = [measure.at[i] for i in order]
        return [(pick, back) for pick in (*picks, *_head_picks(measure))]
    if isinstance(measure, CoursesMeasure) and measure.joints:
        return [(pick, back) for pick in measure.joints]
    if measure.kind in ("distance", "slope", "courses"):
        _check_apart(measure.at, name)
    return [(pick, back) for pick in measure.at]


def sizes_of(measure: Measure) -> Callable[[ChartPoints], Sizes]:
    """Function that makes the sizes of a measure; of uncounted courses, their height alone."""
    if isinstance(measure, OpeningMeasure):
        return partial(opening.sizes, head=measure.head)
    if isinstance(measure, SetBackMeasure):
        return partial(set_back.sizes, behind_mm=BEHIND_MM)
    if isinstance(measure, CoursesMeasure):
        if measure.joints:
            return courses.sizes_of_joints
        if measure.count is None:
            return courses.height
        return partial(courses.sizes, count=measure.count)
    return _PLAIN[measure.kind]


def _head_picks(measure: OpeningMeasure) -> list[Pick]:
    """Picks of a head, as far out of true as the corners are believed to be when entered."""
    u_extra_px = OUT_OF_TRUE * diagonal_px(measure.at)
    return [
        pick.model_copy(update={"u_px": math.hypot(pick.u_px or U_HAND_PX, u_extra_px)})
        for pick in measure.head_at
    ]


def _check_apart(picks: tuple[Pick, ...], name: str) -> None:
    if picks[0].x == picks[1].x and picks[0].y == picks[1].y:
        raise FieldError(f"Both picks of {name} are on the same spot.", hint="Pick its two ends.")
