"""How a round tower is rolled from flat card.

Lengths are taken where card neither stretches nor shrinks, at the middle of its
thickness. All sizes are millimetres of the model.

References
----------
Rolled length at the mean diameter: sheet-metal practice, as taught in public trade lessons
(outer diameter 650, thickness 10: 2010.62). Circle segments: Machinery's Handbook, 31st ed.,
p. 83.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shared.errors import FieldError

#: A turn of more than this at one score shows as a facet: 40 scores to the half turn (4.5
#: degrees) show, 50 (3.6) read as round (common practice, no source).
MOST_TURN_DEG = 3.6

#: Scores closer than this part the layers of the card; further apart than the last, they show
#: (judgement and common practice, no source).
LEAST_SPACING_MM, PREFERRED_SPACING_MM, MOST_SPACING_MM = 0.6, 1.0, 1.2

#: Card up to this rolls over a dowel without scores (trade, second-hand).
ROLLS_UNSCORED_MM = 0.25

#: Thin carcass that squashes when a second layer is glued over it before formers are in
#: (common practice, no source).
SQUASHES_MM = 0.5

#: Formers stand no further apart than this (common practice, no source).
FORMER_SPACING_MM = 28.0

#: An opening that takes more than this part of the turn lets the wrap spring outwards when it
#: is cut before rolling (judgement).
SPRINGS_DEG = 25.0

#: Strips can be cut and laid by hand from about this width on; 3 mm is easy (common practice,
#: no source).
LEAST_STRIP_MM = 0.8


def wrap_length_mm(outer_diameter_mm: float, thickness_mm: float, arc_deg: float = 360.0) -> float:
    """Flat length of a sheet rolled to an outer diameter.

    Parameters
    ----------
    outer_diameter_mm, thickness_mm : float
    arc_deg : float
        Part of the turn that the sheet covers.

    Returns
    -------
    float
        ``pi (D - t) arc / 360``.

    Raises
    ------
    FieldError
        If the sheet is thicker than the tower has room for.

    Examples
    --------
    >>> round(wrap_length_mm(650, 10), 2)
    2010.62
    """
    _check_tower(outer_diameter_mm, thickness_mm, arc_deg)
    return math.pi * (outer_diameter_mm - thickness_mm) * arc_deg / 360.0


@dataclass(frozen=True, slots=True)
class ScorePlan:
    """Where a wrap is scored so that it rolls round.

    Attributes
    ----------
    count : int
        Scores, evenly spread; 0 for unscored rolling.
    spacing_mm, turn_deg : float
        Between two scores, on the flat; turn at each.
    sagitta_mm : float
        How far a facet's middle lies inside the true round.
    advice : str
        One or two sentences.
    """

    count: int
    spacing_mm: float
    turn_deg: float
    sagitta_mm: float
    advice: str


def plan_scores(outer_diameter_mm: float, thickness_mm: float, arc_deg: float = 360.0) -> ScorePlan:
    """Choose score lines for a wrap.

    As few as keep the turn at 3.6 degrees and the spacing at 1 mm; where those would lie
    closer than 0.6 mm, spacing up to 1.2 mm; where neither can hold, no scores but thin card.

    Returns
    -------
    ScorePlan
    """
    length = wrap_length_mm(outer_diameter_mm, thickness_mm, arc_deg)
    by_turn = math.ceil(arc_deg / MOST_TURN_DEG - 1e-9)
    by_preferred = math.ceil(length / PREFERRED_SPACING_MM - 1e-9)
    by_most = math.ceil(length / MOST_SPACING_MM - 1e-9)
    most = math.floor(length / LEAST_SPACING_MM + 1e-9)
    count = next((n for n in (max(by_turn, by_preferred), max(by_turn, by_most)) if n <= most), 0)
    radius = outer_diameter_mm / 2.0
    squashes = (
        " Glue the formers in before a second layer goes over it, or it squashes."
        if thickness_mm <= SQUASHES_MM
        else ""
    )
    if count == 0:
        thin = (
            "roll it unscored over a dowel"
            if thickness_mm <= ROLLS_UNSCORED_MM
            else f"roll layers no thicker than {ROLLS_UNSCORED_MM:g} mm over a dowel instead"
        )
        return ScorePlan(
            0,
            0.0,
            0.0,
            0.0,
            f"A tower of {outer_diameter_mm:.1f} mm is too slender to score: lines "
            f"{length / by_turn:.2f} mm apart would part the card, wider ones would show; {thin}."
            f"{squashes}",
        )
    turn = arc_deg / count
    sagitta = radius * (1.0 - math.cos(math.radians(turn) / 2.0))
    advice = (
        f"{count} scores {length / count:.2f} mm apart turn the card {turn:.2f}° each and read "
        f"as round; a facet lies {1000 * sagitta:.0f} µm inside the circle."
    )
    if thickness_mm > length / count:
        advice += (
            f" Card of {round(thickness_mm, 2):g} mm is thicker than its lines are apart, so that "
            "ribs break off: roll thinner card, in more layers."
        )
    return ScorePlan(count, length / count, turn, sagitta, advice + squashes)


def former_diameter_mm(
    outer_diameter_mm: float, thicknesses_mm: Sequence[float], slip_mm: float
) -> float:
    """Diameter of the discs that hold a wrap round: ``D - 2 t - slip``.

    Raises
    ------
    FieldError
        If nothing is left of them.
    """
    diameter = outer_diameter_mm - 2.0 * sum(thicknesses_mm) - slip_mm
    if diameter <= 1.0:
        raise FieldError(
            f"A tower of {outer_diameter_mm:.1f} mm with {sum(thicknesses_mm):.2f} mm of card and "
            f"{slip_mm:g} mm of slip leaves no room for formers.",
            hint="Use thinner card, less slip or a larger scale.",
        )
    return diameter


def former_levels_mm(height_mm: float, spacing_mm: float = FORMER_SPACING_MM) -> list[float]:
    """Heights of formers: at the bottom, at the top, and evenly between, no further apart."""
    gaps = max(1, math.ceil(height_mm / spacing_mm - 1e-9))
    return [height_mm * i / gaps for i in range(gaps + 1)]


def opening_springs(width_mm: float, outer_diameter_mm: float) -> bool:
    """Tell whether an opening is so wide that the wrap springs outwards when it is cut first."""
    return math.degrees(width_mm / (outer_diameter_mm / 2.0)) > SPRINGS_DEG


@dataclass(frozen=True, slots=True)
class StripPlan:
    """Courses laid on a tower as strips.

    Attributes
    ----------
    count : int
    height_mm : float
        Of each strip.
    lengths_mm : tuple of float
        Of each layer of strips, from the wall outwards.
    advice : str
    """

    count: int
    height_mm: float
    lengths_mm: tuple[float, ...]
    advice: str


def plan_strips(
    height_mm: float,
    course_mm: float,
    outer_diameter_mm: float,
    strip_thickness_mm: float,
    layers: int = 1,
    arc_deg: float = 360.0,
) -> StripPlan:
    """Say how many strips of stone courses a tower takes, how high and how long.

    Parameters
    ----------
    height_mm, course_mm : float
        Height to be covered, and of one course.
    outer_diameter_mm : float
        Of the tower without strips.
    strip_thickness_mm : float
    layers : int
        Layers on top of each other; each is longer than the one it covers.
    arc_deg : float

    Returns
    -------
    StripPlan

    Raises
    ------
    FieldError
        For a course of no height, or more layers than none.
    """
    if course_mm <= 0 or height_mm <= 0 or layers < 1:
        raise FieldError("Strips need a course height, a wall height and a layer above 0.")
    count = max(1, round(height_mm / course_mm))
    lengths = tuple(
        wrap_length_mm(
            outer_diameter_mm + 2.0 * strip_thickness_mm * k, strip_thickness_mm, arc_deg
        )
        for k in range(1, layers + 1)
    )
    exact = height_mm / count
    if exact < LEAST_STRIP_MM:
        advice = f"Strips {exact:.2f} mm high cannot be laid by hand: print the courses flat."
    else:
        advice = f"{count} strips {exact:.2f} mm high; begin each at the back, joints apart."
    return StripPlan(count, exact, lengths, advice)


def _check_tower(outer_diameter_mm: float, thickness_mm: float, arc_deg: float) -> None:
    sound = all(math.isfinite(x) for x in (outer_diameter_mm, thickness_mm, arc_deg))
    if not sound or thickness_mm <= 0 or not 0 < arc_deg <= 360 or outer_diameter_mm <= 0:
        raise FieldError("A wrap needs a diameter, a thickness and a part of the turn above 0.")
    if 2.0 * thickness_mm >= outer_diameter_mm:
        raise FieldError(
            f"Card of {round(thickness_mm, 2):g} mm cannot be rolled to {outer_diameter_mm:.1f} mm "
            "across.",
            hint="Use thinner card.",
        )
