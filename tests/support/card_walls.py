"""Small invented walls for tests of card parts, at full size and 1:100."""

from __future__ import annotations

import math

from measure.parts.card_plan import CardPlan, plan_shell
from measure.parts.face_shape import FaceShape, PlanLine, RoundPlan
from measure.parts.opening_shapes import OpeningShape
from measure.parts.shell import Shell, make_shell
from shared.card_wishes import CardWishes

SCALE = 100.0


def rectangle(left: float, low: float, right: float, high: float):
    return ((left, low), (right, low), (right, high), (left, high))


def window(id: str, left: float, sill: float, width: float = 900.0, height: float = 1500.0, **more):
    more.setdefault("reveal_mm", 200.0)
    return OpeningShape(id, left, sill, width, height, **more)


def make_front(width: float = 6000.0, height: float = 5000.0, openings=None) -> FaceShape:
    """Main wall from u = 0 to its width, with two windows unless told otherwise."""
    if openings is None:
        openings = (window("w1", 1000.0, 1000.0), window("w2", 3500.0, 1000.0))
    return FaceShape(
        "front", "Front", rectangle(0.0, 0.0, width, height), tuple(openings),
        PlanLine((0.0, 0.0), 0.0),
    )  # fmt: skip


def make_side(turn_deg: float, width: float = 6000.0, length: float = 4000.0) -> FaceShape:
    """Wall hinged on the front's right end, turned away from the viewer by an angle."""
    return FaceShape(
        "side",
        "Side",
        rectangle(0.0, 0.0, length, 5000.0),
        (window("s1", 1500.0, 1000.0),),
        PlanLine((width, 0.0), -math.radians(turn_deg)),
        hinge="front",
    )


def make_tower(radius: float = 2000.0, height: float = 8000.0, openings=None, back: float = 500.0):
    if openings is None:
        openings = (window("t1", -300.0, 2000.0, 600.0),)
    reach = math.pi * radius
    return FaceShape(
        "tower", "Tower", rectangle(-reach, 0.0, reach, height), tuple(openings),
        RoundPlan(radius, back, "front"),
    )  # fmt: skip


def shell_of(*faces: FaceShape, wishes: CardWishes | None = None, scale: float = SCALE) -> Shell:
    return make_shell("Invented", faces, scale, wishes or CardWishes())


def plan_of(*faces: FaceShape, wishes: CardWishes | None = None, scale: float = SCALE) -> CardPlan:
    return plan_shell(shell_of(*faces, wishes=wishes, scale=scale))
