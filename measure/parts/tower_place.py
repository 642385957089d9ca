"""Where a tower stands among the walls, and where these end at it.

A tower stands at the end of a wall, in a corner of two, let into one that runs on past it, or
by itself.

Frame: millimetres of the model; v as in the building. Angles of a tower are counted to the
right of the line that its chart begins at.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import shapely

from measure.elevation.path_geometry import Point
from measure.parts.corners import (
    MEANT_TO_MEET_MM,
    SIDES,
    CornerEnd,
    End,
    Side,
    TowerEnd,
    TowerGap,
    opposite,
    outward,
)
from measure.parts.face_shape import FaceShape, PlanLine, RoundPlan, with_edge_at, with_face
from shared.card_wishes import CardWishes
from shared.errors import FieldError


@dataclass(frozen=True, slots=True)
class TowerMeet:
    """One line where a tower meets the face of a wall.

    Attributes
    ----------
    wall : str
    at : {"left", "right"}
        Side of the tower.
    back_mm : float
        How far the tower's axis lies behind the wall's face.
    turn_rad : float
        Angle of the tower that faces the way the wall does.
    """

    wall: str
    at: Side
    back_mm: float
    turn_rad: float

    def angle_rad(self, radius_mm: float, depth_mm: float = 0.0) -> float:
        """Angle at which the tower's face passes a depth of the wall."""
        turned = math.acos(max(-1.0, min(1.0, (self.back_mm - depth_mm) / radius_mm)))
        return self.turn_rad + (turned if self.at == "right" else -turned)


@dataclass(frozen=True, slots=True)
class TowerPlace:
    """Where a tower stands.

    Attributes
    ----------
    axis_mm : (x, z)
        Plan position of its axis.
    heading_rad : float
        Of a wall that faces the way of the tower's angle 0.
    foot_mm : float
        v of its foot.
    meets : tuple of TowerMeet
        Left one first; empty where it stands by itself.
    """

    axis_mm: Point
    heading_rad: float
    foot_mm: float
    meets: tuple[TowerMeet, ...] = ()


@dataclass(frozen=True, slots=True)
class StoodTower:
    """A tower in its place, and what its walls become."""

    place: TowerPlace
    faces: tuple[FaceShape, ...]
    gaps: Mapping[str, TowerGap]
    cautions: tuple[str, ...]


def stand_tower(
    tower: FaceShape,
    faces: tuple[FaceShape, ...],
    ends: dict[str, dict[Side, End]],
    wishes: CardWishes,
) -> StoodTower:
    """Stand a tower at the walls that it meets.

    Parameters
    ----------
    tower : FaceShape
    faces : tuple of FaceShape
    ends : dict
        Of the walls; the ends that the tower takes are entered.
    wishes : CardWishes

    Raises
    ------
    FieldError
        For a wall that is not cut, or an end that another wall has already.
    """
    plan = tower.plan
    if not isinstance(plan, RoundPlan):
        raise TypeError("a tower is round")
    cautions: list[str] = []
    wall = _wall_at_tower(tower, plan, faces, wishes, cautions)
    alone = TowerPlace((0.0, 0.0), 0.0, tower.box.bottom_mm)
    if wall is None:
        return StoodTower(alone, faces, {}, tuple(cautions))
    if abs(plan.axis_set_back_mm) >= plan.radius_mm:
        cautions.append(
            f"Tower {tower.id} does not reach the face of wall {wall.id}; it stands by itself."
        )
        return StoodTower(alone, faces, {}, tuple(cautions))
    wished = wishes.of_face(tower.id).tower.side
    if plan.axis_mm is None or wall.id != plan.beside or wished is not None:
        place = _at_end(tower, plan, wall, wished, ends)
        return StoodTower(place, faces, {}, tuple(cautions))
    return _where_it_was_picked(tower, plan, plan.axis_mm, wall, faces, ends, cautions)


def _at_end(
    tower: FaceShape,
    plan: RoundPlan,
    wall: FaceShape,
    wished: Side | None,
    ends: dict[str, dict[Side, End]],
) -> TowerPlace:
    """Stand a tower at the end of a wall, wherever along it the photo showed it."""
    line, back = _line(wall), plan.axis_set_back_mm
    half = math.sqrt(plan.radius_mm**2 - back**2)
    side = wished
    if side is None:
        side = "left" if "right" in ends[wall.id] and "left" not in ends[wall.id] else "right"
    if side in ends[wall.id]:
        raise _end_is_taken(tower, wall, side)
    axis_u = wall.edge_mm(side) + outward(side) * half
    ends[wall.id][side] = TowerEnd(tower.id, plan.radius_mm, back)
    meet = TowerMeet(wall.id, opposite(side), back, plan.turn_rad)
    heading = line.heading_rad + plan.turn_rad
    return TowerPlace(line.at(axis_u, back), heading, wall.box.bottom_mm, (meet,))


def _where_it_was_picked(
    tower: FaceShape,
    plan: RoundPlan,
    axis_mm: Point,
    wall: FaceShape,
    faces: tuple[FaceShape, ...],
    ends: dict[str, dict[Side, End]],
    cautions: list[str],
) -> StoodTower:
    """Stand a tower on its axis, every wall that runs into it ended there."""
    foot, heading = wall.box.bottom_mm, _line(wall).heading_rad + plan.turn_rad
    gaps: dict[str, TowerGap] = {}
    meets: list[TowerMeet] = []
    also = (f for f in faces if f.id == plan.also_meets != wall.id)
    met = [wall, *(f for f in also if isinstance(f.plan, PlanLine))]
    for each in met:
        line = _line(each)
        axis_u, back = line.of(axis_mm)
        if abs(back) >= plan.radius_mm:
            continue
        end = TowerEnd(tower.id, plan.radius_mm, back)
        low, high = axis_u - end.half_chord_mm(0.0), axis_u + end.half_chord_mm(0.0)
        box, turn = each.box, heading - line.heading_rad
        # a wall that turns a corner there ends at the corner, however near the tower is
        near = {at: 0.0 if at in ends[each.id] else MEANT_TO_MEET_MM for at in SIDES}
        goes_left = box.left_mm < low - near["left"]
        goes_right = box.right_mm > high + near["right"]
        if goes_left and goes_right:
            gaps[each.id] = TowerGap(end, axis_u, foot + tower.box.height_mm)
            meets += [TowerMeet(each.id, at, back, turn) for at in SIDES]
            faces = _without_hidden(faces, each, (low, high), tower.id, cautions)
            continue
        side: Side = (
            "right" if goes_left or (not goes_right and axis_u > box.centre_mm[0]) else "left"
        )
        taken = ends[each.id].get(side)
        if isinstance(taken, CornerEnd) and taken.other in ends:
            # the corner of the two walls lies within the tower: each of them ends at it
            other = next(f for f in faces if f.id == taken.other)
            if abs(_line(other).of(axis_mm)[1]) >= plan.radius_mm:
                raise _end_is_taken(tower, each, side)
            del ends[other.id][opposite(side)]
            if other.id not in [f.id for f in met]:
                met.append(other)
        elif taken is not None:
            raise _end_is_taken(tower, each, side)
        ends[each.id][side] = end
        meets.append(TowerMeet(each.id, opposite(side), back, turn))
        edge, at = each.edge_mm(side), (low if side == "right" else high)
        short = each.outlined and (edge < at) == (side == "right")
        if short and abs(edge - at) > MEANT_TO_MEET_MM:
            cautions.append(
                f"Wall {each.id} ends {abs(edge - at):.1f} mm (model) before tower {tower.id}: "
                "give it an extent that reaches the tower."
            )
            continue
        faces = _ended_at(faces, each, side, at)
        faces = _without_hidden(faces, each, (low, high), tower.id, cautions)
    meets.sort(key=lambda meet: meet.at)
    place = TowerPlace(axis_mm, heading, foot, tuple(meets))
    return StoodTower(place, faces, gaps, tuple(cautions))


def _line(wall: FaceShape) -> PlanLine:
    if not isinstance(wall.plan, PlanLine):
        raise TypeError("a wall is plane")
    return wall.plan


def _end_is_taken(tower: FaceShape, wall: FaceShape, side: Side) -> FieldError:
    return FieldError(
        f"Tower {tower.id} and another wall both stand at the {side} end of wall {wall.id}.",
        hint="Say in the tower's wishes at which side of the wall it stands.",
    )


def _ended_at(
    faces: tuple[FaceShape, ...], wall: FaceShape, side: Side, u_mm: float
) -> tuple[FaceShape, ...]:
    """Faces with one wall cut off, or made to run on, to a line."""
    box, edge = wall.box, wall.edge_mm(side)
    outline = with_edge_at(wall.outline_mm, edge, u_mm)
    if (u_mm < edge) == (side == "right"):
        left, right = (box.left_mm, u_mm) if side == "right" else (u_mm, box.right_mm)
        kept = wall.area.intersection(shapely.box(left, box.bottom_mm, right, box.top_mm))
        pieces = [p for p in shapely.get_parts(kept) if p.geom_type == "Polygon"]
        if not pieces:
            raise FieldError(
                f"Nothing of wall {wall.id} is left outside of the tower that it meets.",
                hint="Cut the tower without that wall, or check the picks of both.",
            )
        largest = max(pieces, key=lambda piece: piece.area)
        outline = tuple((float(u), float(v)) for u, v in largest.normalize().exterior.coords[:-1])
        if not shapely.Polygon(outline).exterior.is_ccw:
            outline = outline[::-1]
    return with_face(faces, replace(wall, outline_mm=outline))


def _without_hidden(
    faces: tuple[FaceShape, ...],
    wall: FaceShape,
    behind_mm: tuple[float, float],
    tower: str,
    cautions: list[str],
) -> tuple[FaceShape, ...]:
    """Faces of which one has no openings where a tower stands before it."""
    low, high = behind_mm
    now = next(face for face in faces if face.id == wall.id)
    hidden = [o.id for o in now.openings if low < o.left_mm + o.width_mm / 2.0 < high]
    if not hidden:
        return faces
    cautions.append(
        f"Tower {tower} stands where {', '.join(hidden)} of wall {wall.id} would be, so that "
        "nothing is cut there."
    )
    kept = tuple(o for o in now.openings if o.id not in hidden)
    return with_face(faces, replace(now, openings=kept))


def _wall_at_tower(
    tower: FaceShape,
    plan: RoundPlan,
    faces: tuple[FaceShape, ...],
    wishes: CardWishes,
    cautions: list[str],
) -> FaceShape | None:
    """Wall that a tower meets: the one wished for, the one it was picked beside, the only one."""
    walls = {face.id: face for face in faces if isinstance(face.plan, PlanLine)}
    wanted = wishes.of_face(tower.id).tower.meets
    if wanted is not None:
        if wanted not in walls:
            raise FieldError(
                f"Tower {tower.id} is to meet the wall '{wanted}', which is not cut.",
                hint=f"Walls that are cut: {', '.join(walls) or 'none'}.",
            )
        return walls[wanted]
    if plan.beside is None:
        return None
    if plan.beside in walls:
        return walls[plan.beside]
    main = [face for face in walls.values() if face.hinge is None]
    if len(main) == 1:
        cautions.append(
            f"Tower {tower.id} was picked beside face {plan.beside}, which is not cut; wall "
            f"{main[0].id} is taken for the same wall."
        )
        return main[0]
    return None
