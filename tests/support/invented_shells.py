"""Invented shells for tests of card: a front with a wing at any angle, a tower where it likes."""

from __future__ import annotations

import math
import random

from measure.parts.card_plan import CardPlan, plan_shell
from measure.parts.face_shape import FaceShape, PlanLine, RoundPlan
from measure.parts.opening_shapes import OpeningShape
from measure.parts.shell import make_shell
from shared.card_wishes import CardWishes, FaceWish, OwnSheet, TowerWish
from tests.support.card_walls import rectangle

SCALES = (43.5, 76.2, 87.0, 148.0, 160.0)
HEADS = ("flat", "semicircular", "segmental", "pointed", "round")


def make_openings(rng: random.Random, letter: str, width: float, height: float):
    """Openings of every head, from slits to gates, as far apart as it happens."""
    made = [OpeningShape(f"{letter}1", 400.0, 900.0, 600.0, 900.0, reveal_mm=200.0)]
    left = rng.uniform(1300.0, 1600.0)
    while True:
        wide = rng.choice([rng.uniform(500, 1500), rng.uniform(150, 300), rng.uniform(1500, 3000)])
        if left + wide > width - 400.0:
            return tuple(made)
        head = rng.choice(HEADS)
        sill = rng.choice([0.0, rng.uniform(700.0, 1200.0)]) if head != "round" else 1000.0
        high = wide if head == "round" else min(rng.uniform(1.1, 2.0) * wide, height - 300.0 - sill)
        if high > max(200.0, 0.9 * wide) and sill + high < height - 200.0:
            rise = {"segmental": rng.uniform(0.1, 0.4), "pointed": rng.uniform(0.3, 0.8)}.get(
                head, 0
            )
            made.append(
                OpeningShape(
                    f"{letter}{len(made) + 1}", left, sill, wide, high, head, wide * rise,
                    reveal_mm=rng.choice([100.0, 200.0, 330.0]),
                )
            )  # fmt: skip
        left += wide + rng.uniform(250.0, 1200.0)


def make_wall(rng: random.Random, id: str, width: float, height: float, plan, hinge=None):
    return FaceShape(
        id, id.title(), rectangle(0.0, 0.0, width, height),
        make_openings(rng, id[0], width, height), plan, hinge=hinge,
    )  # fmt: skip


def make_wishes(rng: random.Random, **more) -> CardWishes:
    own = OwnSheet(key="own", name="own card", stack_mm=rng.uniform(3.0, 20.0))
    chosen = {
        "carcass": rng.choice(["folding-carton", "mount-board", "own"]),
        "own_sheets": (own,),
        "overlay": rng.choice(["thin-card", "card-250"]),
        "skin": rng.choice(["label-paper", "photo-paper"]),
        "strip": rng.choice(["office-paper", "thin-card"]),
        "glue_gap_mm": rng.choice([0.0, 0.03, 0.05]),
        "corner": rng.choice(["wrapped", "butt", "mitred"]),
        "paper": "A3",
    }
    return CardWishes(**{**chosen, **more})


def make_corner(seed: int, between_deg: float, **wished) -> CardPlan:
    """A front and a wing that leave an angle between them, 60 to 300 degrees, seen from outside.

    Less than 180 degrees of building: a corner that stands out.
    """
    rng = random.Random(seed)
    width, height = rng.uniform(4000.0, 7000.0), rng.uniform(3500.0, 5000.0)
    turn = math.radians(180.0 - between_deg)
    walls = (
        make_wall(rng, "front", width, height, PlanLine((0.0, 0.0), 0.0)),
        make_wall(rng, "side", rng.uniform(3000.0, 6000.0), height * rng.uniform(0.7, 1.0),
                  PlanLine((width, 0.0), -turn), "front"),
    )  # fmt: skip
    shell = make_shell("Invented", walls, rng.choice(SCALES), make_wishes(rng, **wished))
    return plan_shell(shell)


def make_tower_model(seed: int, where: str) -> CardPlan:
    """A front with a tower at its right end, let into it, on its corner with a wing, or alone."""
    rng = random.Random(seed)
    width, height = rng.uniform(6000.0, 9000.0), rng.uniform(3500.0, 6000.0)
    faces = [make_wall(rng, "front", width, height, PlanLine((0.0, 0.0), 0.0))]
    radius = rng.uniform(900.0, 2200.0)
    back = rng.uniform(-0.5, 0.5) * radius
    half = math.sqrt(radius**2 - back**2)
    x = {"end": width + half, "let in": 0.5 * width, "corner": width, "alone": 0.0}[where]
    if where == "corner":
        turn = rng.uniform(-70.0, 100.0)
        plan = PlanLine((width, 0.0), -math.radians(turn))
        faces.append(make_wall(rng, "side", rng.uniform(4000.0, 6000.0), height, plan, "front"))
        back *= 0.5
    stands = RoundPlan(radius, back, "front", axis_mm=(x, -back))
    if where == "alone":
        stands = RoundPlan(radius, 0.0, None)
    slit = OpeningShape("t1", -0.3 * radius, 900.0, 0.3 * radius, 0.5 * radius, "semicircular")
    round_one = FaceShape(
        "tower", "Tower", rectangle(-math.pi * radius, 0.0, math.pi * radius, height * 1.3),
        (slit,), stands,
    )  # fmt: skip
    by_face = {"tower": FaceWish(tower=TowerWish(arc=rng.choice(["shows", "full"])))}
    wishes = make_wishes(rng, by_face=by_face)
    return plan_shell(make_shell("Invented", (*faces, round_one), rng.choice(SCALES[1:]), wishes))
