"""The shell of the building at the model's scale: its faces, and what each meets at its ends.

Frame: millimetres of the model; v as in the building.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from measure.parts.corners import (
    MEANT_TO_MEET_MM,
    CornerEnd,
    End,
    Ends,
    FreeEnd,
    Side,
    TowerGap,
    opposite,
    outward,
    turn_between,
)
from measure.parts.face_shape import FaceShape, PlanLine, RoundPlan, with_edge_at, with_face
from measure.parts.tower_place import TowerPlace, stand_tower
from measure.parts.workshop import Workshop, make_workshop
from shared.card_wishes import CardWishes
from shared.errors import FieldError

#: Corners that turn further have bevels many times as long as the card is thick (judgement).
SHARPEST_TURN_RAD = math.radians(160.0)


@dataclass(frozen=True, slots=True)
class Shell:
    """All faces that are to be cut.

    Attributes
    ----------
    title : str
    denominator : float
    wishes : CardWishes
    workshop : Workshop
    faces : tuple of FaceShape
        At the model's scale.
    ends : dict of str to Ends
        Of the walls.
    towers : dict of str to TowerPlace
    cautions : tuple of str
    """

    title: str
    denominator: float
    wishes: CardWishes
    workshop: Workshop
    faces: tuple[FaceShape, ...]
    ends: dict[str, Ends]
    towers: dict[str, TowerPlace]
    cautions: tuple[str, ...] = ()

    def face(self, face_id: str) -> FaceShape:
        """One face by its id."""
        return next(face for face in self.faces if face.id == face_id)

    def letter(self, face_id: str) -> str:
        """Letter that all marks of a face begin with."""
        return face_letter([face.id for face in self.faces].index(face_id))

    @property
    def walls(self) -> tuple[FaceShape, ...]:
        """Faces that are plane."""
        return tuple(face for face in self.faces if isinstance(face.plan, PlanLine))


def face_letter(number: int) -> str:
    """Letter of the face of that number, from 0: A to Z, then AA, AB and so on."""
    first, last = divmod(number, 26)
    return (chr(ord("A") + first - 1) if first else "") + chr(ord("A") + last)


def make_shell(
    title: str, faces: tuple[FaceShape, ...], denominator: float, wishes: CardWishes
) -> Shell:
    """Bring faces to the model's scale and find what meets what.

    Parameters
    ----------
    title : str
    faces : tuple of FaceShape
        At full size.
    denominator : float
        148 for 1:148.
    wishes : CardWishes

    Returns
    -------
    Shell

    Raises
    ------
    FieldError
        For wishes that name no face, or a tower whose axis lies out of the wall's reach.
    """
    known = {face.id for face in faces}
    for name in wishes.by_face:
        if name not in known:
            raise FieldError(
                f"There are wishes for the face '{name}', which is not cut.",
                hint=f"Faces that are cut: {', '.join(sorted(known))}.",
            )
    small = tuple(face.scaled(1.0 / denominator) for face in faces)
    ends: dict[str, dict[Side, End]] = {
        face.id: {} for face in small if isinstance(face.plan, PlanLine)
    }
    cautions = [caution for face in small for caution in face.cautions]
    for face in small:
        if isinstance(face.plan, PlanLine) and face.hinge is not None:
            small = _join_at_hinge(small, face.id, ends, wishes, cautions)
    towers = {}
    gaps: dict[str, list[TowerGap]] = {name: [] for name in ends}
    for face in small:
        if isinstance(face.plan, RoundPlan):
            stood = stand_tower(face, small, ends, wishes)
            towers[face.id], small = stood.place, stood.faces
            cautions += stood.cautions
            for name, gap in stood.gaps.items():
                gaps[name].append(gap)
    whole = {
        name: Ends(found.get("left", FreeEnd()), found.get("right", FreeEnd()), tuple(gaps[name]))
        for name, found in ends.items()
    }
    return Shell(
        title, denominator, wishes, make_workshop(wishes), small, whole, towers, tuple(cautions)
    )


def _join_at_hinge(
    faces: tuple[FaceShape, ...],
    name: str,
    ends: dict[str, dict[Side, End]],
    wishes: CardWishes,
    cautions: list[str],
) -> tuple[FaceShape, ...]:
    """Note the corner at a hinge at both walls; the host's outline is made to end there."""
    by_id = {face.id: face for face in faces}
    face, host = by_id[name], by_id.get(by_id[name].hinge or "")
    if host is None and len(ends) > 1:
        cautions.append(
            f"Face {name} is hinged on face {face.hinge}, which is not cut, so that its corner "
            "stays open."
        )
    if host is None or not isinstance(host.plan, PlanLine) or not isinstance(face.plan, PlanLine):
        return faces
    # where the hinge lies along the host
    at, _ = host.plan.of(face.plan.origin_mm)
    own = face.box
    side: Side = "right" if abs(own.right_mm) < abs(own.left_mm) else "left"
    host_side = opposite(side)
    edge = host.edge_mm(host_side)
    beyond = outward(host_side) * (at - edge) > 0.0
    if abs(edge - at) > MEANT_TO_MEET_MM and (host.outlined or not beyond):
        cautions.append(
            f"Face {name} is hinged {abs(edge - at):.1f} mm (model) from the {host_side} end of "
            f"face {host.id}, so no corner is cut there."
        )
        return faces
    moved = replace(host, outline_mm=with_edge_at(host.outline_mm, edge, at))
    left, right = (face, moved) if side == "right" else (moved, face)
    if not isinstance(left.plan, PlanLine) or not isinstance(right.plan, PlanLine):
        return faces
    turn = turn_between(left.plan.heading_rad, right.plan.heading_rad)
    if abs(turn) > SHARPEST_TURN_RAD:
        raise FieldError(
            f"Faces {left.id} and {right.id} turn by {math.degrees(abs(turn)):.0f}° at their "
            "corner, nearly back on each other, and no card corner can be cut there.",
            hint="Check the picks of the hinge, or cut one of the faces by itself.",
        )
    kind = wishes.of_face(name).corner or wishes.corner
    if side in ends[name] or host_side in ends[host.id]:
        cautions.append(f"Two faces are hinged on one end of face {host.id}; only one is joined.")
        return faces
    ends[name][side] = CornerEnd(host.id, turn, kind, through=False, tabs=wishes.tabs)
    ends[host.id][host_side] = CornerEnd(name, turn, kind, through=True, tabs=wishes.tabs)
    return with_face(faces, moved)
