"""How a tower is rolled: its arc, its scores, where its formers stand.

Angles are degrees to the right of the line that faces the way the main wall does.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from measure.parts.face_shape import FaceShape, RoundPlan
from measure.parts.opening_shapes import OpeningShape
from measure.parts.shell import Shell
from measure.parts.tower_wrap import (
    ScorePlan,
    former_diameter_mm,
    former_levels_mm,
    opening_springs,
    plan_scores,
)
from measure.parts.walls import cut_openings
from shared.errors import FieldError

#: A wrap that ends at a wall reaches this far behind the wall's back.
TUCK_MM = 3.0
#: A former stays this clear of an opening.
CLEAR_MM = 1.5


@dataclass(frozen=True, slots=True)
class TowerPlan:
    """How a tower is rolled.

    Attributes
    ----------
    face : FaceShape
    from_deg, to_deg : float
        Arc that is wrapped.
    outer_mm : float
        Outer diameter of the finished tower.
    height_mm : float
    scores : ScorePlan
        Of the carcass.
    former_mm : float
        Diameter of the discs.
    former_levels_mm : tuple of float
        Underside of each disc above the tower's foot.
    cautions : tuple of str
    """

    face: FaceShape
    from_deg: float
    to_deg: float
    outer_mm: float
    height_mm: float
    scores: ScorePlan
    former_mm: float
    former_levels_mm: tuple[float, ...]
    cautions: tuple[str, ...] = ()

    @property
    def arc_deg(self) -> float:
        """Part of the turn that is wrapped."""
        return self.to_deg - self.from_deg

    @property
    def is_full(self) -> bool:
        """Whether the wrap goes all the way round and has a seam."""
        return self.arc_deg >= 360.0 - 1e-9


def plan_tower(shell: Shell, face: FaceShape) -> TowerPlan:
    """Plan one tower.

    Raises
    ------
    FieldError
        For card too thick to leave a former, or an opening outside of the arc.
    """
    plan = face.plan
    if not isinstance(plan, RoundPlan):
        raise TypeError(f"face {face.id} is not round")
    shop = shell.workshop
    outer = 2.0 * plan.radius_mm
    inner_layers = [layer.thickness_mm + shop.glue_gap_mm for layer in shop.layers[:-1]]
    thicknesses = [*inner_layers, shop.layers[-1].thickness_mm]
    wish = shell.wishes.of_face(face.id).tower
    try:
        disc = former_diameter_mm(outer, thicknesses, wish.slip_mm)
    except FieldError as error:
        raise FieldError(
            f"Tower {face.id}: {error.message[0].lower()}{error.message[1:]}", hint=error.hint
        ) from None
    first, last = arc_of(shell, face)
    height = face.box.height_mm
    carcass = shop.layer("carcass")
    scores = plan_scores(outer - 2.0 * carcass.outer_mm, carcass.thickness_mm, last - first)
    openings = [o.moved(0.0, -face.box.bottom_mm) for o in cut_openings(shell, face)]
    for opening in openings:
        low = math.degrees(opening.left_mm / plan.radius_mm)
        high = math.degrees(opening.right_mm / plan.radius_mm)
        if low < first - 1e-6 or high > last + 1e-6:
            raise FieldError(
                f"Opening {opening.id} of tower {face.id} lies at {low:.0f} to {high:.0f}°, but "
                f"the wrap covers {first:.0f} to {last:.0f}° only.",
                hint="Give the tower a larger arc, or call it full.",
            )
    springing = [o for o in openings if opening_springs(o.width_mm, outer)]
    levels = former_heights(height, shop.former.thickness_mm, openings, springing)
    cautions = [f"Tower {face.id}: {scores.advice}"]
    for opening in springing:
        cautions.append(
            f"Opening {opening.id} takes {math.degrees(opening.width_mm / plan.radius_mm):.0f}° of "
            f"tower {face.id}: cut before rolling it springs outwards, so roll first, glue the "
            "formers in just below and above it, and cut it after."
        )
    return TowerPlan(face, first, last, outer, height, scores, disc, tuple(levels), tuple(cautions))


def arc_of(shell: Shell, face: FaceShape) -> tuple[float, float]:
    """Arc of a tower that is wrapped, in degrees: as wished, or what shows."""
    wish = shell.wishes.of_face(face.id).tower
    place = shell.towers[face.id]
    if isinstance(wish.arc, tuple):
        first, last = wish.arc
        if not 5.0 <= last - first <= 360.0:
            raise FieldError(
                f"The arc of tower {face.id} runs from {first:g} to {last:g}°: it needs at least "
                "5 and at most 360."
            )
        return first, last
    plan = face.plan
    if not isinstance(plan, RoundPlan):
        raise TypeError(f"face {face.id} is not round")
    first, last = -180.0, 180.0
    for meet in place.meets if wish.arc == "shows" else ():
        # behind the wall's back it is hidden; the wrap goes a little further still
        hidden = math.degrees(meet.angle_rad(plan.radius_mm, shell.workshop.thickness_mm))
        tuck = math.degrees(TUCK_MM / plan.radius_mm)
        if meet.at == "left":
            first = hidden - tuck
        else:
            last = hidden + tuck
    if last - first > 360.0 or last <= first:
        return -180.0, 180.0
    return first, last


def former_heights(
    height_mm: float,
    thickness_mm: float,
    openings: Sequence[OpeningShape],
    springing: Sequence[OpeningShape] = (),
) -> list[float]:
    """Undersides of the formers: at both ends and evenly between, none across an opening.

    A former that would stand in an opening moves below its foot or above its head, whichever
    is nearer, save at the ends; one stands just below and above each opening that would spring.
    """
    top = height_mm - thickness_mm
    if top <= thickness_mm:
        return [0.0]
    wanted = [min(level, top) for level in former_levels_mm(height_mm)]
    wanted = sorted({0.0, top, *wanted[1:-1]})
    for opening in springing:
        wanted += [opening.sill_mm - CLEAR_MM - thickness_mm, opening.head_mm + CLEAR_MM]
    placed: list[float] = []
    for level in sorted(wanted):
        at_end = level in (0.0, top)
        moved = level if at_end else _clear_of(level, thickness_mm, openings)
        if not 0.0 <= moved <= top:
            continue
        if all(abs(moved - other) > thickness_mm + 0.5 for other in placed):
            placed.append(moved)
    return sorted(placed)


def _clear_of(level: float, thickness_mm: float, openings: Sequence[OpeningShape]) -> float:
    """Nearest level at which a former of that thickness crosses no opening."""
    for _ in range(len(openings) + 1):
        hit = next(
            (
                o
                for o in openings
                if level + thickness_mm + CLEAR_MM > o.sill_mm + 1e-9
                and level - CLEAR_MM < o.head_mm - 1e-9
            ),
            None,
        )
        if hit is None:
            return level
        below, above = hit.sill_mm - CLEAR_MM - thickness_mm, hit.head_mm + CLEAR_MM
        level = below if level - below <= above - level and below >= 0 else above
    return level
