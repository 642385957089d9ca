"""Where the faces of one solved photo stand in plan, and which joins which.

Frame: building millimetres as `rectify.frames` defines them, seen from above; a plan point is
``(x, z)``, z towards the viewer.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from measure.elevation.path_geometry import Point
from measure.results import FaceResult
from rectify.solution import Solution
from rectify.starts.faces import meeting_lines
from rectify.surfaces import Plane, Round
from shared.survey import Face, RoundSurface

#: A hinge this near to an end of a wall, as part of the wall's width, is that end.
AT_THE_END = 0.12

#: Walls that cross by less than this are badly ended, not crossed.
CROSSED_MM = 100.0


@dataclass(frozen=True, slots=True)
class PlanWall:
    """A wall in plan.

    Attributes
    ----------
    face, label : str
    start_mm, end_mm : (x, z)
        Its left and its right end as seen from outside.
    left_mm, right_mm : float
        The same on its chart.
    heading_rad : float
        Plan direction from left to right, from x towards z.
    parent : str or None
        The wall it is hinged on or lies parallel to.
    hinge_mm : float or None
        Where the hinge is on the chart of its parent; it is 0 on its own.
    angle_deg, u_angle_deg : float or None
        Between the two walls on the street side, and its standard uncertainty.
    ends_known : (bool, bool)
        Whether the left and the right end are a wall's end: its outline's, a hinge, a tower.
        Otherwise the wall is picked no farther.
    """

    face: str
    label: str
    start_mm: Point
    end_mm: Point
    left_mm: float
    right_mm: float
    heading_rad: float
    parent: str | None = None
    hinge_mm: float | None = None
    angle_deg: float | None = None
    u_angle_deg: float | None = None
    ends_known: tuple[bool, bool] = (False, False)

    @property
    def width_mm(self) -> float:
        """Between its ends."""
        return self.right_mm - self.left_mm

    @property
    def runs_left(self) -> bool:
        """Tell whether it runs left from its hinge."""
        return self.left_mm + self.right_mm < 0.0


@dataclass(frozen=True, slots=True)
class PlanTower:
    """A round tower in plan.

    Attributes
    ----------
    face, label : str
    axis_mm : (x, z)
    radius_mm, u_radius_mm : float
    shown_rad : (float, float)
        Angles, from z towards x, between which it stands free of its wall or is seen.
    parent : str or None
        The wall that it stands beside.
    meets : tuple of (str, float)
        Walls that it meets, and where on their charts.
    """

    face: str
    label: str
    axis_mm: Point
    radius_mm: float
    u_radius_mm: float
    shown_rad: tuple[float, float]
    parent: str | None = None
    meets: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class _Span:
    """Part of a chart that is picked, and whether by an outline."""

    left_mm: float
    right_mm: float
    top_mm: float
    outlined: bool


@dataclass(frozen=True, slots=True)
class _End:
    """An end of a wall on its chart, and whether it is one."""

    at_mm: float
    known: bool


@dataclass(frozen=True, slots=True)
class PlanRoof:
    """A roof slope in plan: its eaves, and how far it runs back."""

    face: str
    label: str
    start_mm: Point
    end_mm: Point
    back_mm: Point
    pitch_deg: float
    u_pitch_deg: float


@dataclass(frozen=True, slots=True)
class BuildingPlan:
    """All faces of one photo, or of several that are placed together.

    Attributes
    ----------
    walls, towers, roofs : tuple
    camera_mm : tuple of (x, z)
        Where the photos were taken from.
    notes : tuple of str
        What cannot be right, in sentences.
    """

    walls: tuple[PlanWall, ...]
    towers: tuple[PlanTower, ...]
    roofs: tuple[PlanRoof, ...]
    camera_mm: tuple[Point, ...]
    notes: tuple[str, ...] = ()

    def wall(self, face: str) -> PlanWall | None:
        """Find a wall by its face."""
        return next((wall for wall in self.walls if wall.face == face), None)


def plan_of_photo(
    faces: Sequence[Face], results: Mapping[str, FaceResult], solution: Solution
) -> BuildingPlan:
    """Lay the faces of one photo out in plan; those on which nothing is picked are left out.

    Parameters
    ----------
    faces : sequence of Face
    results : mapping of face to FaceResult
    solution : Solution
        Of their photo.
    """
    shapes = solution.unknowns.shapes
    walls: dict[str, PlanWall] = {}
    towers: list[PlanTower] = []
    roofs: list[PlanRoof] = []
    by_id = {face.id: face for face in faces}
    for name in shapes:
        face = by_id.get(name)
        if face is None:
            continue
        surface = solution.surface(name)
        label = face.label or name
        if isinstance(surface, Round):
            towers.append(_tower(face, label, surface, solution))
            continue
        span = _span(face, results[name], solution)
        if span is None or span.left_mm == span.right_mm:
            continue
        if isinstance(surface, Plane) and shapes[name].kind == "roof":
            roofs.append(_roof(face, label, surface, solution, span))
        elif isinstance(surface, Plane):
            walls[name] = _wall(face, label, surface, solution, span)
    eye = solution.camera_and_pose[1].centre_mm
    plan = BuildingPlan(
        tuple(ended_at_joints(walls, towers).values()),
        tuple(towers),
        tuple(roofs),
        ((float(eye[0]), float(eye[2])),),
    )
    return replace(plan, notes=crossings(plan))


def _at(surface: Plane, u_mm: float) -> Point:
    x, _, z = surface.building_mm_from_chart(u_mm, 0.0)
    return float(x), float(z)


def _span(face: Face, result: FaceResult, solution: Solution) -> _Span | None:
    """How far a face is known to run along its chart, and whether an outline ends it."""
    outline = [m.points_mm for m in result.measures.values() if m.kind == "outline"][:1]
    points = outline or [m.points_mm for m in result.measures.values()]
    if not outline:
        picks = [*(face.frame or ()), *(pick for guide in face.guides for pick in guide.at)]
        points = [*points, *([solution.charted(face.id, picks).chart_mm] if picks else [])]
    every = np.concatenate(points) if points else np.empty((0, 2))
    every = every[np.isfinite(every).all(axis=1)]
    if not len(every):
        return None
    low, high = every.min(axis=0), every.max(axis=0)
    return _Span(float(low[0]), float(high[0]), float(high[1]), bool(outline))


def _wall(face: Face, label: str, surface: Plane, solution: Solution, span: _Span) -> PlanWall:
    shape = solution.unknowns.shapes[face.id]
    heading = math.atan2(float(surface.along[2]), float(surface.along[0]))
    left, right = _End(span.left_mm, span.outlined), _End(span.right_mm, span.outlined)
    hinge = angle = u_angle = None
    if shape.kind == "hinged":
        hinge = solution.value_and_u(face.id, "hinge_u")[0]
        runs_left = left.at_mm + right.at_mm < 0.0
        left, right = (left, _End(0.0, True)) if runs_left else (_End(0.0, True), right)
        own, u_own = solution.value_and_u(face.id, "heading")
        parent = solution.surface(shape.parent or "")
        if isinstance(parent, Plane):
            turn = own - math.atan2(float(parent.along[2]), float(parent.along[0]))
            angle = (180.0 + (1.0 if runs_left else -1.0) * math.degrees(turn)) % 360.0
            u_angle = math.degrees(u_own)
    return PlanWall(
        face.id, label, _at(surface, left.at_mm), _at(surface, right.at_mm), left.at_mm,
        right.at_mm, heading, shape.parent, hinge, angle, u_angle, (left.known, right.known),
    )  # fmt: skip


def ended_at_joints(walls: dict[str, PlanWall], towers: Sequence[PlanTower]) -> dict[str, PlanWall]:
    """End each wall where another joins it near its end; what is picked stops a little short."""
    out = dict(walls)
    for name, wall in walls.items():
        wings = [each for each in walls.values() if each.parent == name]
        joints = [each.hinge_mm for each in wings if each.hinge_mm is not None]
        joints += [at for tower in towers for on, at in tower.meets if on == name]
        left_known, right_known = wall.ends_known
        left, right = (
            _End(wall.left_mm, wall.ends_known[0]),
            _End(wall.right_mm, wall.ends_known[1]),
        )
        near = AT_THE_END * wall.width_mm
        for at in joints:
            if at < wall.left_mm + (0.0 if left_known else near):
                left = _End(at, True)
            elif at > wall.right_mm - (0.0 if right_known else near):
                right = _End(at, True)
            elif abs(at - left.at_mm) < near:
                left = _End(at, True)
            elif abs(at - right.at_mm) < near:
                right = _End(at, True)
        along = (math.cos(wall.heading_rad), math.sin(wall.heading_rad))
        start, end = (
            (
                wall.start_mm[0] + (place.at_mm - wall.left_mm) * along[0],
                wall.start_mm[1] + (place.at_mm - wall.left_mm) * along[1],
            )
            for place in (left, right)
        )
        out[name] = replace(
            wall, start_mm=start, end_mm=end, left_mm=left.at_mm, right_mm=right.at_mm,
            ends_known=(left.known, right.known),
        )  # fmt: skip
    return out


def _tower(face: Face, label: str, surface: Round, solution: Solution) -> PlanTower:
    x, z, r = (float(n) for n in (surface.axis_x_mm, surface.axis_z_mm, surface.radius_mm))
    _, u_radius = solution.value_and_u(face.id, "radius")
    eye = solution.camera_and_pose[1].centre_mm
    dx, dz = float(eye[0]) - x, float(eye[2]) - z
    facing, half = math.atan2(dx, dz), math.acos(min(1.0, r / math.hypot(dx, dz)))
    shown = [facing - half, facing + half]
    meets: list[tuple[str, float]] = []
    if isinstance(face.surface, RoundSurface):
        for wall, picks, _ in meeting_lines(face.surface):
            on_wall = float(np.nanmean(solution.charted(wall, picks).chart_mm[:, 0]))
            foot = solution.surface(wall).building_mm_from_chart(on_wall, 0.0)
            angle = math.atan2(float(foot[0]) - x, float(foot[2]) - z)
            angle = facing + (angle - facing + math.pi) % math.tau - math.pi
            shown[0 if angle < facing else 1] = angle
            meets.append((wall, on_wall))
    parent = solution.unknowns.shapes[face.id].parent
    return PlanTower(
        face.id, label, (x, z), r, u_radius, (shown[0], shown[1]), parent, tuple(meets)
    )


def _roof(
    face: Face,
    label: str,
    surface: Plane,
    solution: Solution,
    span: _Span,
) -> PlanRoof:
    pitch, u_pitch = solution.value_and_u(face.id, "pitch")
    x, _, z = surface.building_mm_from_chart(0.0, max(span.top_mm, 0.0))
    x0, z0 = _at(surface, 0.0)
    return PlanRoof(
        face.id, label, _at(surface, span.left_mm), _at(surface, span.right_mm),
        (float(x) - x0, float(z) - z0), math.degrees(pitch), math.degrees(u_pitch),
    )  # fmt: skip


def crossings(plan: BuildingPlan) -> tuple[str, ...]:
    """Walls that run through each other in plan, in a sentence each."""
    said = []
    for one, other in combinations(plan.walls, 2):
        at = _crossing(one, other)
        if at is not None:
            said.append(
                f"Faces '{one.face}' and '{other.face}' cross {at:.0f} mm from an end: one of "
                "their angles or hinges is wrong, or a measure is on the wrong face."
            )
    return tuple(said)


def _crossing(one: PlanWall, other: PlanWall) -> float | None:
    """How far from the nearest of four ends two walls cross; None where they do not."""
    a, b, c, d = (np.array(p) for p in (one.start_mm, one.end_mm, other.start_mm, other.end_mm))
    run, over = b - a, d - c
    det = run[0] * over[1] - run[1] * over[0]
    if abs(det) < 1e-6 * float(np.linalg.norm(run) * np.linalg.norm(over)) + 1e-9:
        return None
    gap = c - a
    s = (gap[0] * over[1] - gap[1] * over[0]) / det
    t = (gap[0] * run[1] - gap[1] * run[0]) / det
    away = min(
        min(s, 1.0 - s) * float(np.linalg.norm(run)), min(t, 1.0 - t) * float(np.linalg.norm(over))
    )
    return away if away > CROSSED_MM else None
