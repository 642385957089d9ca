"""Plans of several photos laid in one frame, each wall once."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from measure.elevation.path_geometry import Point
from measure.elevation.plan_faces import (
    BuildingPlan,
    PlanRoof,
    PlanTower,
    PlanWall,
    crossings,
    ended_at_joints,
)
from rectify.placements import Placement


def joined_plan(
    parts: Sequence[tuple[BuildingPlan, Placement]], same: Mapping[str, str]
) -> BuildingPlan:
    """Lay the plans of several photos in one frame.

    Parameters
    ----------
    parts : sequence of (BuildingPlan, Placement)
        Plans with their photos' placements in that frame.
    same : mapping of face to face
        Walls that are picked in another photo too, and under which name they are kept.
    """
    walls: dict[str, PlanWall] = {}
    others: list[PlanWall] = []
    towers: list[PlanTower] = []
    roofs: list[PlanRoof] = []
    eyes: list[Point] = []
    for plan, place in parts:
        turn = float(place.turn_rad)
        for wall in plan.walls:
            moved = replace(
                wall,
                start_mm=_placed(wall.start_mm, place),
                end_mm=_placed(wall.end_mm, place),
                heading_rad=wall.heading_rad + turn,
            )
            if wall.face not in same:
                walls[wall.face] = moved
            else:
                others.append(moved)
        for tower in plan.towers:
            low, high = tower.shown_rad
            # angles count from z towards x, the turn from x towards z
            shown = (low - turn, high - turn)
            axis = _placed(tower.axis_mm, place)
            towers.append(replace(tower, axis_mm=axis, shown_rad=shown))
        for roof in plan.roofs:
            start, end = _placed(roof.start_mm, place), _placed(roof.end_mm, place)
            back = _placed(roof.back_mm, Placement(place.turn_rad, 0.0, 0.0, 0.0))
            roofs.append(replace(roof, start_mm=start, end_mm=end, back_mm=back))
        eyes += [_placed(eye, place) for eye in plan.camera_mm]
    left_out = {wall.face: wall for wall in others}
    for name, wall in walls.items():
        kept = walls.get(same.get(wall.parent or "", ""))
        if kept is not None and wall.hinge_mm is not None:
            corner = wall.end_mm if wall.runs_left else wall.start_mm
            walls[name] = replace(wall, parent=kept.face, hinge_mm=_chart_u(kept, corner))
        elif kept is not None:
            walls[name] = replace(wall, parent=kept.face)
    for number, tower in enumerate(towers):
        meets = []
        for on, at in tower.meets:
            kept, old = walls.get(same.get(on, "")), left_out.get(on)
            if kept is not None and old is not None:
                step = (at - old.left_mm) / max(old.width_mm, 1e-9)
                x, z = (a + step * (b - a) for a, b in zip(old.start_mm, old.end_mm, strict=True))
                on, at = kept.face, _chart_u(kept, (x, z))
            meets.append((on, at))
        parent = same.get(tower.parent or "", tower.parent)
        towers[number] = replace(tower, meets=tuple(meets), parent=parent)
    plan = BuildingPlan(
        tuple(ended_at_joints(walls, towers).values()), tuple(towers), tuple(roofs), tuple(eyes)
    )
    return replace(plan, notes=crossings(plan))


def _placed(plan_mm: Point, place: Placement) -> Point:
    x, _, z = place.to_reference((plan_mm[0], 0.0, plan_mm[1]))
    return float(x), float(z)


def _chart_u(wall: PlanWall, plan_mm: Point) -> float:
    """Chart place of a plan point on a wall."""
    dx, dz = plan_mm[0] - wall.start_mm[0], plan_mm[1] - wall.start_mm[1]
    along = dx * math.cos(wall.heading_rad) + dz * math.sin(wall.heading_rad)
    return wall.left_mm + along
