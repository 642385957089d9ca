"""The faces of a building side by side on one datum, in the order in which they wrap round it.

A fold line stands where one face joins the next. A tower is unrolled; its joint with a wall is
where the wall meets it. Walls parallel to another and roof slopes follow at the right, apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from measure.elevation import lettering
from measure.elevation.dimension_lanes import Side, lanes_of_side
from measure.elevation.drawing import (
    ELEVATION_LAYERS,
    Circle,
    Dimension,
    Drawing,
    Item,
    Layer,
    LevelMark,
    Path,
    Polyline,
    Text,
    box_of_item,
)
from measure.elevation.path_geometry import ArcSegment, Box, LineSegment, Point, box_around_boxes
from measure.elevation.plan_faces import BuildingPlan
from shared.number_text import format_number

SIDE_LAYERS = (
    *ELEVATION_LAYERS,
    Layer("folds", 0.25, "dashed", "where one face joins the next"),
)

#: Room between faces that do not join, on paper.
GAP_PAPER_MM = 12.0

#: Height of capitals of names, and the strip above them.
NAME_PAPER_MM, NAME_CLEAR_MM = 2.5, 1.6

#: Layers that each face has for itself alone.
_OWN = ("dimensions", "levels", "datum", "as-picked")


@dataclass(frozen=True, slots=True)
class DrawnFace:
    """One face drawn already.

    Attributes
    ----------
    face, label : str
    items : tuple of Item
    wall : Box
        The wall on its drawing.
    origin_chart_mm : (u, v)
        Chart place of the drawing's (0, 0).
    ends_known : bool
        Whether the wall ends where its box does; otherwise it is picked no farther.
    follows : bool
        Whether it is put apart at the right: a parallel wall or a roof.
    """

    face: str
    label: str
    items: tuple[Item, ...]
    wall: Box
    origin_chart_mm: Point
    ends_known: bool = False
    follows: bool = False


@dataclass(frozen=True, slots=True)
class _Joint:
    """Where a face joins another, on both charts, and on which side of that other."""

    other: str
    at_other_mm: float
    at_own_mm: float
    on_left: bool


def draw_side_by_side(
    faces: Sequence[DrawnFace], plan: BuildingPlan, denominator: float, *, title: str
) -> Drawing:
    """Lay the faces out.

    Parameters
    ----------
    faces : sequence of DrawnFace
        Of one photo, or placed in one frame: their charts' v count from one height.
    plan : BuildingPlan
        Says what joins what.
    denominator : float
        Of the scale it is meant for.
    title : str
        Of the building.
    """
    by_id = {each.face: each for each in faces}
    joints = _joints(plan, by_id)
    roots = [each for each in faces if each.face not in joints and not each.follows]
    datum = (roots or list(faces))[0].origin_chart_mm[1]
    gap = GAP_PAPER_MM * denominator
    placed: dict[str, tuple[Point, Box]] = {}
    folds: list[float] = []
    order: list[str] = []
    for root in roots:
        order += _wrapped(root.face, joints)
    order += [each.face for each in faces if each.face not in order]
    for name in _outwards(order, joints):
        each = by_id[name]
        lift = each.origin_chart_mm[1] - datum
        joint = joints.get(name)
        if joint is not None and joint.other in placed:
            at = placed[joint.other][0][0] + joint.at_other_mm
            at -= by_id[joint.other].origin_chart_mm[0]
            shift = at - (joint.at_own_mm - each.origin_chart_mm[0])
            moved = each.wall.moved(shift, lift)
            taken = [box for _, box in placed.values()]
            if not any(_overlap(moved, box) for box in taken):
                placed[name] = ((shift, lift), moved)
                folds.append(at)
                continue
        right = max((box.right_mm for _, box in placed.values()), default=0.0)
        start = right + (gap if placed else 0.0)
        shift = start - each.wall.left_mm
        placed[name] = ((shift, lift), each.wall.moved(shift, lift))
    items: list[Item] = []
    for name, (by, box) in placed.items():
        items += _face_items(by_id[name], by, box)
    walls = {name: box for name, (_, box) in placed.items()}
    items += _names(by_id, walls, items, denominator)
    whole = box_around_boxes(box for _, box in placed.values())
    items += [
        Polyline("folds", ((at, whole.bottom_mm - 0.3 * gap), (at, whole.top_mm + 0.3 * gap)))
        for at in folds
    ]
    items.append(Polyline("datum", ((whole.left_mm, 0.0), (whole.right_mm, 0.0))))
    first = by_id[next(iter(placed))]
    lift = placed[first.face][0][1]
    items += [
        replace(item, v_mm=item.v_mm + lift, u_mm=whole.right_mm)
        for item in first.items
        if isinstance(item, LevelMark)
    ]
    return Drawing(
        title=title or "Untitled building",
        subtitle="All faces side by side",
        layers=SIDE_LAYERS,
        items=tuple(items),
    )


def _joints(plan: BuildingPlan, by_id: Mapping[str, DrawnFace]) -> dict[str, _Joint]:
    """Joint of each face with the one that it stands beside."""
    out: dict[str, _Joint] = {}
    for wall in plan.walls:
        parent = plan.wall(wall.parent or "")
        if wall.hinge_mm is None or parent is None or wall.face not in by_id:
            continue
        if parent.face in by_id:
            out[wall.face] = _Joint(parent.face, wall.hinge_mm, 0.0, wall.runs_left)
    for tower in plan.towers:
        if not tower.meets:
            continue
        wall_name, on_wall = tower.meets[0]
        parent = plan.wall(wall_name)
        if parent is None or wall_name not in by_id or tower.face not in by_id:
            continue
        low, high = tower.shown_rad
        on_left = on_wall < (parent.left_mm + parent.right_mm) / 2
        own = (high if on_left else low) * tower.radius_mm
        out[tower.face] = _Joint(wall_name, on_wall, own, on_left)
    return out


def _wrapped(face: str, joints: Mapping[str, _Joint]) -> list[str]:
    """A face with all that hangs on it, from left to right."""
    left = [name for name, joint in joints.items() if joint.other == face and joint.on_left]
    right = [name for name, joint in joints.items() if joint.other == face and not joint.on_left]
    before = [name for child in left for name in _wrapped(child, joints)]
    after = [name for child in right for name in _wrapped(child, joints)]
    return [*before, face, *after]


def _outwards(order: Sequence[str], joints: Mapping[str, _Joint]) -> list[str]:
    """The same faces, each after the one that it joins."""
    done: list[str] = []
    left = list(order)
    while left:
        ready = next((n for n in left if n not in joints or joints[n].other not in left), left[0])
        done.append(ready)
        left.remove(ready)
    return done


def _overlap(one: Box, other: Box) -> bool:
    """Tell whether two walls share more than an edge."""
    share = min(one.right_mm, other.right_mm) - max(one.left_mm, other.left_mm)
    return share > 0.05 * min(one.width_mm, other.width_mm)


def _face_items(each: DrawnFace, by: Point, box: Box) -> list[Item]:
    items = [moved(item, by) for item in each.items if item.layer not in _OWN]
    low = min((box_of_item(item).bottom_mm for item in items), default=box.bottom_mm)
    if box.width_mm > 0.0:
        ends = (box.left_mm, low), (box.right_mm, low)
        text = format_number(box.width_mm)
        items.append(Dimension(*ends, text, -9.0, inferred=not each.ends_known))
    return items


def _names(
    by_id: Mapping[str, DrawnFace],
    walls: Mapping[str, Box],
    items: Sequence[Item],
    denominator: float,
) -> list[Item]:
    """Names of the faces in a row below all widths, wrapped to the width of their wall."""
    widths = [item for item in items if isinstance(item, Dimension)]
    lanes = lanes_of_side(widths, Side(False, -1), denominator, NAME_PAPER_MM)
    low = min((box_of_item(item).bottom_mm for item in items), default=0.0)
    below = max([-low / denominator, *(lane.outer_edge_mm for lane in lanes)])
    made: list[Item] = []
    for name, box in walls.items():
        lines, size = lettering.fitted(
            by_id[name].label, NAME_PAPER_MM, 0.98 * box.width_mm / denominator, most_lines=3
        )
        at = (box.left_mm + box.right_mm) / 2, 0.0
        for number, line in enumerate(lines):
            drop = -below - NAME_CLEAR_MM - number * lettering.LINE_STEP * size
            made.append(Text("notes", at, line, size, 0.0, "centre", "top", (0.0, drop)))
    return made


def moved(item: Item, by: Point) -> Item:
    """Shift an item along and up."""
    du, dv = by

    def at(point: Point) -> Point:
        return point[0] + du, point[1] + dv

    if isinstance(item, Polyline):
        return replace(item, points_mm=tuple(at(point) for point in item.points_mm))
    if isinstance(item, Path):
        segments = tuple(
            ArcSegment(at(part.to_mm), part.sweep_rad)
            if isinstance(part, ArcSegment)
            else LineSegment(at(part.to_mm))
            for part in item.segments
        )
        return replace(item, start_mm=at(item.start_mm), segments=segments)
    if isinstance(item, Circle):
        return replace(item, centre_mm=at(item.centre_mm))
    if isinstance(item, Text):
        return replace(item, at_mm=at(item.at_mm))
    if isinstance(item, Dimension):
        return replace(item, start_mm=at(item.start_mm), end_mm=at(item.end_mm))
    return replace(item, v_mm=item.v_mm + dv, u_mm=item.u_mm + du)
