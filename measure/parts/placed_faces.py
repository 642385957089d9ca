"""Faces of several photos brought into one frame, where ties place the photos in it.

A wall that is picked in two photos is cut once; what hangs on it in the other photo hangs on
the one that is cut.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from measure.elevation.path_geometry import Point
from measure.parts.face_shape import FaceShape, PlanLine, RoundPlan
from rectify.placements import Placement

#: Walls that nothing ties stand this far apart in the picture (full size).
APART_MM = 2000.0


def placed_together(
    shapes: Sequence[FaceShape],
    photo_of: Mapping[str, str],
    walls: Mapping[str, Sequence[str]],
    placements: Mapping[str, tuple[str, Placement]],
) -> tuple[tuple[FaceShape, ...], tuple[str, ...]]:
    """Bring faces of all photos into the frame of the first.

    Parameters
    ----------
    shapes : sequence of FaceShape
        At full size, each in the frame of its photo.
    photo_of : mapping of str to str
        Photo of each face.
    walls : mapping of str to sequence of str
        Of each face, all that are the same wall; see :func:`shared.same_walls.same_walls`.
    placements : mapping
        Of each tied photo: in whose frame it is placed, and how.

    Returns
    -------
    shapes : tuple of FaceShape
        Photos that are not tied stand side by side.
    cautions : tuple of str
    """
    cut = {shape.id for shape in shapes}
    frame_of = {n: placements[p][0] if p in placements else p for n, p in photo_of.items()}
    moved: list[FaceShape] = []
    for shape in shapes:
        photo = photo_of[shape.id]
        placed = _renamed(shape, cut, walls, frame_of)
        if photo in placements:
            placed = _moved(placed, placements[photo][1])
        moved.append(placed)
    frames = list(dict.fromkeys(frame_of[s.id] for s in moved if isinstance(s.plan, PlanLine)))
    if len(frames) < 2:
        return tuple(moved), ()
    made: list[FaceShape] = []
    edge = None
    for frame in frames:
        here = [s for s in moved if frame_of[s.id] == frame]
        xs = [s.plan.at(u)[0] for s in here if isinstance(s.plan, PlanLine)
              for u in (s.box.left_mm, s.box.right_mm)]  # fmt: skip
        aside = 0.0 if edge is None else edge + APART_MM - min(xs)
        made += [_moved(s, Placement(0.0, aside, 0.0, 0.0)) for s in here]
        edge = max(xs) + aside
    made += [s for s in moved if frame_of[s.id] not in frames]
    order = [shape.id for shape in shapes]
    made.sort(key=lambda s: order.index(s.id))
    names = "; ".join(", ".join(s.id for s in made if frame_of[s.id] == frame) for frame in frames)
    return tuple(made), (
        f"Nothing ties the photos of these faces together, so each group is by itself: {names}.",
    )


def _renamed(
    shape: FaceShape,
    cut: set[str],
    walls: Mapping[str, Sequence[str]],
    frame_of: Mapping[str, str],
) -> FaceShape:
    """Face that names the walls that are cut instead of the same walls of another photo."""

    def known(name: str | None) -> str | None:
        if name is None or name in cut:
            return name
        return next((twin for twin in walls.get(name, ()) if twin in cut), name)

    if isinstance(shape.plan, RoundPlan):
        plan = replace(
            shape.plan,
            beside=known(shape.plan.beside),
            also_meets=known(shape.plan.also_meets),
        )
        if plan.beside in cut and frame_of[plan.beside] != frame_of[shape.id]:
            # which wall it is, is known, but not where along it the tower stands
            plan = replace(plan, axis_mm=None)
        return replace(shape, plan=plan)
    host = known(shape.hinge)
    one_frame = host in cut and frame_of[host] == frame_of[shape.id]
    return replace(shape, hinge=host if one_frame else shape.hinge)


def _moved(shape: FaceShape, place: Placement) -> FaceShape:
    """Face whose plan and levels are those of the frame that its photo is placed in."""

    def at(point: Point) -> Point:
        x, _, z = place.to_reference((point[0], 0.0, point[1]))
        return float(x), float(z)

    plan: PlanLine | RoundPlan
    if isinstance(shape.plan, RoundPlan):
        axis = shape.plan.axis_mm
        plan = replace(shape.plan, axis_mm=None if axis is None else at(axis))
    else:
        heading = shape.plan.heading_rad + float(place.turn_rad)
        plan = PlanLine(at(shape.plan.origin_mm), heading)
    up = float(place.y_mm)
    return replace(
        shape,
        plan=plan,
        outline_mm=tuple((u, v + up) for u, v in shape.outline_mm),
        openings=tuple(opening.moved(0.0, up) for opening in shape.openings),
        datum_mm=shape.datum_mm + up,
    )
