"""Where each layer of a wall ends: free, at a corner with another wall, at a tower.

In plan a wall runs along its u with its depth behind it. Two walls meet with their finished
faces on one plumb line; the turn from the left wall to the right one is positive where the
corner stands out towards the viewer (a plain building corner: 90 degrees) and negative where
it stands in. A shift says how much further than that line a face of a layer runs: positive
is longer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import shapely

from measure.parts.workshop import WallLayer
from shared.card_wishes import CornerKind

Side = Literal["left", "right"]

SIDES: tuple[Side, Side] = ("left", "right")


def opposite(side: Side) -> Side:
    """The other side."""
    return "left" if side == "right" else "right"


def outward(side: Side) -> float:
    """Sign of u that leads out of a wall at one side."""
    return -1.0 if side == "left" else 1.0


#: Walls that turn by less than this are mitred whatever was wished for: the end of a butt
#: joint would be a blade (judgement).
FLAT_RAD = math.radians(25.0)

#: Ends of two walls further apart than this on the model were not meant to meet (judgement).
MEANT_TO_MEET_MM = 5.0

#: Less wall than this above a tower is not worth leaving (judgement).
LEAST_ABOVE_MM = 2.0

#: A bevel that changes a length by less than this is not worth cutting (half a knife's width).
LEAST_BEVEL_MM = 0.03


def shift_at_plane_mm(depth_mm: float, other_depth_mm: float, turn_rad: float) -> float:
    """How far a face `depth_mm` deep runs until it meets a plane of the other wall.

    Parameters
    ----------
    depth_mm : float
        Of the face that ends.
    other_depth_mm : float
        Of the plane of the other wall that it ends at.
    turn_rad : float

    Returns
    -------
    float
        ``(d cos b - e) / sin b`` past the corner line; negative is shorter.

    Examples
    --------
    A right angle: the wall stops short by what the other one is thick.

    >>> round(shift_at_plane_mm(0.0, 1.4, math.pi / 2), 12)
    -1.4
    """
    return (depth_mm * math.cos(turn_rad) - other_depth_mm) / math.sin(turn_rad)


def mitre_shift_mm(depth_mm: float, turn_rad: float) -> float:
    """How far a face runs to the plane that halves the corner: ``-d tan(b / 2)``."""
    return -depth_mm * math.tan(turn_rad / 2.0)


@dataclass(frozen=True, slots=True)
class LayerEnd:
    """How far the two faces of a layer run past the end of the wall.

    Attributes
    ----------
    outer_mm, inner_mm : float
    """

    outer_mm: float = 0.0
    inner_mm: float = 0.0

    @property
    def longer_mm(self) -> float:
        """Shift at which the end is cut."""
        return max(self.outer_mm, self.inner_mm)

    @property
    def shorter_mm(self) -> float:
        """Shift of the far edge once the end is bevelled."""
        return min(self.outer_mm, self.inner_mm)

    @property
    def bevel_mm(self) -> float:
        """What a bevel takes off one face."""
        return self.longer_mm - self.shorter_mm

    @property
    def is_bevelled(self) -> bool:
        """Whether the end is worth bevelling."""
        return self.bevel_mm >= LEAST_BEVEL_MM


@dataclass(frozen=True, slots=True)
class FreeEnd:
    """An end that meets nothing."""

    def layer_end(self, layer: WallLayer) -> LayerEnd:
        """Square, where the wall's face ends."""
        return LayerEnd()

    def band_shift_mm(self, out_mm: float) -> float:
        """A band ends with the wall."""
        return 0.0


@dataclass(frozen=True, slots=True)
class CornerEnd:
    """An end at a corner with another wall.

    Attributes
    ----------
    other : str
        The other wall.
    turn_rad : float
        From the left wall to the right one.
    kind : {"wrapped", "butt", "mitred"}
    through : bool
        This wall runs on to cover the other's end.
    tabs : bool
        The carcass of one wall is folded onto the back of the other.
    """

    other: str
    turn_rad: float
    kind: CornerKind
    through: bool
    tabs: bool = False

    @property
    def stands_out(self) -> bool:
        """Whether the corner is a plain outer one."""
        return self.turn_rad > 0

    def is_folded(self, layer: WallLayer) -> bool:
        """Whether this layer goes round the corner in one piece."""
        return self.kind == "wrapped" and layer.role != "carcass"

    @property
    def has_tab(self) -> bool:
        """Whether this wall's carcass ends in a tab; the other wall's back carries it."""
        turns_enough = abs(self.turn_rad) >= FLAT_RAD
        return self.tabs and turns_enough and self.through != self.stands_out

    def tab_fold_mm(self, carcass: WallLayer, glue_gap_mm: float) -> float:
        """Where the tab is folded: the middles of wall and tab meet in that line.

        The tab lies on the back of the other carcass, as thick as this one.
        """
        on_back = carcass.inner_mm + glue_gap_mm + carcass.thickness_mm / 2.0
        return shift_at_plane_mm(carcass.middle_mm, on_back, self.turn_rad)

    def layer_end(self, layer: WallLayer) -> LayerEnd:
        """Shifts of one layer; a carcass with tabs is butted whatever was wished for."""
        outer, inner = layer.outer_mm, layer.inner_mm
        if self.is_folded(layer):
            fold = mitre_shift_mm(layer.middle_mm, self.turn_rad)
            return LayerEnd(fold, fold)
        mitred = self.kind == "mitred" and not (self.tabs and layer.role == "carcass")
        if mitred or abs(self.turn_rad) < FLAT_RAD:
            return LayerEnd(
                mitre_shift_mm(outer, self.turn_rad), mitre_shift_mm(inner, self.turn_rad)
            )
        at = outer if self.through == self.stands_out else inner
        return LayerEnd(
            shift_at_plane_mm(outer, at, self.turn_rad),
            shift_at_plane_mm(inner, at, self.turn_rad),
        )

    def band_shift_mm(self, out_mm: float) -> float:
        """A band is mitred: its outside runs on by ``p tan(b / 2)``."""
        return mitre_shift_mm(-out_mm, self.turn_rad)


@dataclass(frozen=True, slots=True)
class TowerEnd:
    """An end at a round tower.

    Attributes
    ----------
    other : str
        The tower.
    radius_mm : float
        Of its finished face.
    back_mm : float
        How far its axis lies behind the wall's finished face.
    """

    other: str
    radius_mm: float
    back_mm: float

    def half_chord_mm(self, depth_mm: float) -> float:
        """Half the chord of the tower's circle at a depth of the wall."""
        return math.sqrt(max(self.radius_mm**2 - (self.back_mm - depth_mm) ** 2, 0.0))

    def layer_end(self, layer: WallLayer) -> LayerEnd:
        """Shifts of one layer: the tower's face bulges towards the wall behind its own face."""
        at_face = self.half_chord_mm(0.0)
        return LayerEnd(
            at_face - self.half_chord_mm(layer.outer_mm),
            at_face - self.half_chord_mm(layer.inner_mm),
        )

    def band_shift_mm(self, out_mm: float) -> float:
        """A band before the wall runs on to the tower."""
        return self.half_chord_mm(0.0) - self.half_chord_mm(-out_mm)


End = FreeEnd | CornerEnd | TowerEnd


@dataclass(frozen=True, slots=True)
class TowerGap:
    """Where a tower stands in a wall that runs on past it on both sides.

    Attributes
    ----------
    tower : TowerEnd
    axis_u_mm : float
        Of its axis on the wall's chart.
    top_mm : float
        v of its top: the wall goes on above it.
    """

    tower: TowerEnd
    axis_u_mm: float
    top_mm: float

    def edges_mm(self, depth_mm: float) -> tuple[float, float]:
        """Left and right edge of the gap at a depth of the wall, negative before its face."""
        half = self.tower.half_chord_mm(depth_mm)
        return self.axis_u_mm - half, self.axis_u_mm + half

    def area_at(self, depth_mm: float, low_mm: float, high_mm: float) -> shapely.Geometry:
        """What is cut out of the wall at a depth; `low_mm` and `high_mm` are the wall's own."""
        left, right = self.edges_mm(depth_mm)
        top = self.top_mm if self.top_mm < high_mm - LEAST_ABOVE_MM else high_mm + 1.0
        return shapely.box(left, low_mm - 1.0, right, top)


@dataclass(frozen=True, slots=True)
class Ends:
    """Both ends of a wall, and towers let into it between them."""

    left: End = FreeEnd()
    right: End = FreeEnd()
    gaps: tuple[TowerGap, ...] = ()

    def at(self, side: Side) -> End:
        """One of them."""
        return self.left if side == "left" else self.right


def turn_between(left_heading_rad: float, right_heading_rad: float) -> float:
    """Turn from the left wall to the right one; positive where the corner stands out.

    Headings run from x towards z, and z comes towards the viewer: a wall that turns away from
    the viewer has the smaller heading.
    """
    return -math.remainder(right_heading_rad - left_heading_rad, math.tau)
