"""Tabs of a carcass: one wall runs on past the corner and is folded onto the back of the other.

Frame: the wall's chart at the model's scale, u right and v up, as seen from outside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import shapely

from measure.parts.corners import (
    FLAT_RAD,
    SIDES,
    CornerEnd,
    Side,
    opposite,
    outward,
    shift_at_plane_mm,
)
from measure.parts.face_shape import FaceShape
from measure.parts.part import LineUse, PartLine, line_through
from measure.parts.shell import Shell
from measure.parts.walls import LayerBody, common_span_mm, cut_openings, with_shifted_end

#: How much a tab's ends slope to its width, so that tabs clear each other (judgement).
TAB_SLOPE = 0.6

#: A tab narrower than this does not hold (judgement).
LEAST_TAB_MM = 2.0


@dataclass(frozen=True, slots=True)
class Tab:
    """A tab of a carcass: it is folded onto the back of the wall that it meets.

    Attributes
    ----------
    side : {"left", "right"}
    fold_u_mm : float
        Where it is folded.
    span_mm : (low, high)
        Of the fold, no further than both walls reach.
    width_mm : float
        Less than wished for where an opening of the other wall is near; 0 where nothing is left.
    end : CornerEnd
    """

    side: Side
    fold_u_mm: float
    span_mm: tuple[float, float]
    width_mm: float
    end: CornerEnd

    @property
    def corners(self) -> list[tuple[float, float]]:
        """Its outline from the foot of the fold outwards and back."""
        low, high = self.span_mm
        slope = min(self.width_mm * TAB_SLOPE, (high - low) / 3.0)
        u = self.fold_u_mm + outward(self.side) * self.width_mm
        return [(self.fold_u_mm, low), (u, low + slope), (u, high - slope), (self.fold_u_mm, high)]


def tabs_of(shell: Shell, face: FaceShape) -> list[Tab]:
    """Tabs at the ends of a wall's carcass, where they are wished for.

    Where the corner stands out the tab is on the wall that ends at the other, where it stands
    in on the one that runs through.
    """
    tabs = []
    carcass = shell.workshop.layer("carcass")
    for side in SIDES:
        end = shell.ends[face.id].at(side)
        if not isinstance(end, CornerEnd) or not end.has_tab:
            continue
        other, edge = shell.face(end.other), face.edge_mm(side)
        span = common_span_mm((face.area, edge), (other.area, other.edge_mm(opposite(side))))
        if span is None:
            continue
        fold = edge + outward(side) * end.tab_fold_mm(carcass, shell.workshop.glue_gap_mm)
        width = min(shell.wishes.tab_mm, _tab_room_mm(shell, other, side, end, span))
        tabs.append(Tab(side, fold, span, width if width >= LEAST_TAB_MM else 0.0, end))
    return tabs


def _tab_room_mm(
    shell: Shell, other: FaceShape, side: Side, end: CornerEnd, span: tuple[float, float]
) -> float:
    """How wide a tab on the back of a wall can be before it reaches an opening's lining."""
    carcass = shell.workshop.layer("carcass")
    begins = -shift_at_plane_mm(carcass.inner_mm, carcass.middle_mm, end.turn_rad)
    edge = other.edge_mm(opposite(side))
    near = [
        min(abs(o.left_mm - edge), abs(o.right_mm - edge))
        for o in cut_openings(shell, other)
        if o.sill_mm < span[1] and o.head_mm > span[0]
    ]
    lining = 2.0 * shell.workshop.opening_grows_mm
    return min(near, default=math.inf) - lining - begins


def tab_cautions(shell: Shell, face: FaceShape) -> list[str]:
    """Say which corners get no tab though tabs were wished for."""
    if not shell.wishes.tabs:
        return []
    said = [
        f"An opening of face {tab.end.other} is so near its corner with face {face.id} that no tab "
        "has room there: glue a square strip into the corner instead."
        for tab in tabs_of(shell, face)
        if tab.width_mm == 0
    ]
    end = shell.ends[face.id].right
    if isinstance(end, CornerEnd) and abs(end.turn_rad) < FLAT_RAD:
        said.append(
            f"Faces {face.id} and {end.other} are too nearly in line for a tab: glue a strip "
            "behind their joint instead."
        )
    return said


def with_tabs(shell: Shell, body: LayerBody, mark: str) -> tuple[LayerBody, list[PartLine]]:
    """Carcass that runs on as its tabs, and the lines to fold and to glue; others as they are."""
    if body.layer.role != "carcass":
        return body, []
    tabs = [tab for tab in tabs_of(shell, body.face) if tab.width_mm > 0]
    whole, lines = body.whole, []
    for tab in tabs:
        edge = whole.bounds[0] if tab.side == "left" else whole.bounds[2]
        whole = with_shifted_end(whole, tab.side, outward(tab.side) * (tab.fold_u_mm - edge))
        whole = shapely.union_all([whole, shapely.Polygon(tab.corners)]).simplify(1e-9)
        use: LineUse = "score-face" if tab.end.stands_out else "score-back"
        ends = [tab.corners[0], tab.corners[-1]]
        lines.append(line_through(use, ends, id=f"{mark}.tab-{tab.side}"))
        lines.append(line_through("glue", tab.corners, closed=True))
    folded = {tab.side for tab in tabs}
    bevels = tuple(bevel for bevel in body.bevels if bevel[0] not in folded)
    return replace(body, whole=whole, bevels=bevels), lines
