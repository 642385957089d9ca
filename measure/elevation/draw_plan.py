"""The plan of a whole building, drawn from its solved angles and widths.

Frame of the drawing: full-size millimetres seen from above, x to the right, and up the sheet
away from the viewer, so that the street is at the foot.
"""

from __future__ import annotations

import math

from measure.elevation.drawing import Circle, Dimension, Drawing, Item, Layer, Path, Polyline, Text
from measure.elevation.path_geometry import ArcSegment, LineSegment, Point
from measure.elevation.plan_faces import BuildingPlan, PlanRoof, PlanTower, PlanWall
from shared.number_text import format_number
from shared.uncertain_text import format_uncertain_number

PLAN_LAYERS = (
    Layer("walls", 0.7, "solid", "faces of walls and towers"),
    Layer("unseen", 0.25, "dashed", "round walls that no photo shows, and returns"),
    Layer("roofs", 0.18, "dashed", "roof slopes above"),
    Layer("axes", 0.13, "chain", "axes of towers"),
    Layer("dimensions", 0.18, "solid", "widths, radii, angles"),
    Layer("notes", 0.18, "solid", "lettering"),
)
"""Layers of a plan, in the order in which they are drawn."""

AS_MEASURED = "Plan as measured; elevations show the same widths lined up."

#: Length of the arms of an angle's arc, as part of the shorter wall.
ANGLE_ARM = 0.18


def draw_plan(plan: BuildingPlan, *, title: str, remarks: tuple[str, ...] = ()) -> Drawing:
    """Draw a plan.

    Parameters
    ----------
    plan : BuildingPlan
    title : str
        Of the building.
    remarks : tuple of str
        Sentences for its title block.

    Returns
    -------
    Drawing
        The faces carry their ids.
    """
    items: list[Item] = []
    # an inner corner on the street side takes the room that the sizes would stand in
    inner = {
        name
        for wall in plan.walls
        if wall.angle_deg is not None and wall.angle_deg < 180.0
        for name in (wall.face, wall.parent)
    }
    # so does a bay that stands before a wall; its name then keeps to the size's side
    bays = {wall.face for wall in plan.walls if wall.parent and wall.hinge_mm is None}
    backed = {wall.parent for wall in plan.walls if wall.face in bays}
    for wall in plan.walls:
        within = wall.face in inner or (wall.face in backed and wall.face not in bays)
        together = wall.face in bays or wall.face in backed
        items += _wall_items(wall, size_within=within, name_beside_size=together)
        parent = plan.wall(wall.parent or "")
        if wall.hinge_mm is not None and parent is not None:
            items += _angle_items(wall, parent)
        elif parent is not None:
            items += _return_items(wall, parent)
    for tower in plan.towers:
        items += _tower_items(tower)
    for roof in plan.roofs:
        items += _roof_items(roof)
    return Drawing(
        title=title or "Untitled building",
        subtitle="Plan",
        layers=PLAN_LAYERS,
        items=tuple(items),
        remarks=remarks,
    )


def _on_sheet(plan_mm: Point) -> Point:
    return plan_mm[0], -plan_mm[1]


def _wall_items(wall: PlanWall, *, size_within: bool, name_beside_size: bool) -> list[Item]:
    start, end = _on_sheet(wall.start_mm), _on_sheet(wall.end_mm)
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    # the street is on the right of start -> end; size and name stand on either side
    angle = math.atan2(end[1] - start[1], end[0] - start[0])
    upside_down = not -math.pi / 2 < angle <= math.pi / 2
    side = -1.0 if size_within else 1.0
    name_side = -side if name_beside_size else side
    normal = (-name_side * math.sin(angle), name_side * math.cos(angle))
    # lettering stands above its dimension line, where the name would be
    away = -12.0 * side if name_beside_size and (side > 0) != upside_down else -8.0 * side
    return [
        Polyline("walls", (start, end), id=wall.face),
        Dimension(
            start,
            end,
            format_number(wall.width_mm),
            away,
            "aligned",
            inferred=not all(wall.ends_known),
        ),
        Text(
            "notes",
            middle,
            wall.label,
            2.5,
            angle + (math.pi if upside_down else 0.0),
            "centre",
            "top" if upside_down != (name_side < 0) else "baseline",
            (1.6 * normal[0], 1.6 * normal[1]),
            room_mm=0.95 * wall.width_mm,
        ),
    ]


def _angle_items(wall: PlanWall, parent: PlanWall) -> list[Item]:
    """Arc between two walls, on the side where the angle is less than straight."""
    at = wall.end_mm if wall.runs_left else wall.start_mm
    arm = ANGLE_ARM * min(wall.width_mm, parent.width_mm)
    own = wall.heading_rad + (math.pi if wall.runs_left else 0.0)
    ends = (parent.start_mm, parent.end_mm)
    far = ends[0] if math.dist(ends[0], at) > math.dist(ends[1], at) else ends[1]
    other = math.atan2(far[1] - at[1], far[0] - at[0])
    turn = (other - own + math.pi) % math.tau - math.pi
    if wall.angle_deg is None or wall.u_angle_deg is None or arm <= 0 or abs(turn) < 1e-3:
        return []
    inner = min(wall.angle_deg, 360.0 - wall.angle_deg)
    text = format_uncertain_number(inner, wall.u_angle_deg) + "°"

    def point(angle: float, reach: float) -> Point:
        return _on_sheet((at[0] + reach * math.cos(angle), at[1] + reach * math.sin(angle)))

    middle = own + turn / 2
    start, end = point(own, arm), point(own + turn, arm)
    across = math.cos(middle)
    return [
        # on the sheet z is turned over, so the sweep is too
        Path("dimensions", start, (ArcSegment(end, -turn),)),
        Text(
            "dimensions", point(middle, arm), text, 2.5, 0.0,
            "left" if across > 0.4 else "right" if across < -0.4 else "centre", "middle",
            (1.5 * across, -3.0 * math.sin(middle)),
        ),
    ]  # fmt: skip


def _return_items(wall: PlanWall, parent: PlanWall) -> list[Item]:
    """Lines that run straight from the ends of a parallel wall to the wall behind it."""
    out: list[Item] = []
    nx, nz = -math.sin(parent.heading_rad), math.cos(parent.heading_rad)
    for end in (wall.start_mm, wall.end_mm):
        gap = nx * (parent.start_mm[0] - end[0]) + nz * (parent.start_mm[1] - end[1])
        foot = (end[0] + gap * nx, end[1] + gap * nz)
        if abs(gap) > 1.0:
            out.append(Polyline("unseen", (_on_sheet(end), _on_sheet(foot)), inferred=True))
    return out


def _tower_items(tower: PlanTower) -> list[Item]:
    (x, z), r = tower.axis_mm, tower.radius_mm
    low, high = tower.shown_rad

    def point(angle: float) -> Point:
        return _on_sheet((x + r * math.sin(angle), z + r * math.cos(angle)))

    centre = _on_sheet((x, z))
    # from z towards x is anticlockwise on the sheet, where z points down
    out: list[Item] = [
        Path("walls", point(low), (ArcSegment(point(high), high - low),), id=tower.face),
        Path(
            "unseen",
            point(high),
            (ArcSegment(point(low), math.tau - (high - low)),),
            inferred=True,
        ),
    ]
    for dx, dy in ((1.15 * r, 0.0), (0.0, 1.15 * r)):
        ends = ((centre[0] - dx, centre[1] - dy), (centre[0] + dx, centre[1] + dy))
        out.append(Polyline("axes", ends))
    out.append(Circle("axes", centre, 0.02 * r))
    text = f"radius {format_uncertain_number(r, max(tower.u_radius_mm, 0.1))}"
    out += [
        Text("notes", centre, tower.label, 2.5, 0.0, "centre", "baseline", (0.0, 1.6),
             room_mm=1.7 * r),
        Text("dimensions", centre, text, 2.5, 0.0, "centre", "top", (0.0, -1.6), room_mm=1.7 * r),
    ]  # fmt: skip
    return out


def _roof_items(roof: PlanRoof) -> list[Item]:
    corners = [
        roof.start_mm,
        roof.end_mm,
        (roof.end_mm[0] + roof.back_mm[0], roof.end_mm[1] + roof.back_mm[1]),
        (roof.start_mm[0] + roof.back_mm[0], roof.start_mm[1] + roof.back_mm[1]),
    ]
    first, *rest = map(_on_sheet, corners)
    middle = _on_sheet(
        (
            (corners[0][0] + corners[2][0]) / 2,
            (corners[0][1] + corners[2][1]) / 2,
        )
    )
    pitch = format_uncertain_number(roof.pitch_deg, max(roof.u_pitch_deg, 0.01))
    text = f"{roof.label}, pitch {pitch}°"
    segments = tuple(LineSegment(point) for point in (*rest, first))
    return [
        Path("roofs", first, segments, closed=True, id=roof.face),
        Text("notes", middle, text, 1.8, 0.0, "centre", "middle"),
    ]
