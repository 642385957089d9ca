"""What the card parts need to know of one face: its outline, its openings, where it stands.

Frame: the chart of the face at full size, v counted as in the building (not from the
datum), so that faces of one photo stand at one height. Faces come from measured results,
or from a drawing that was tidied afterwards.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import shapely

from measure.elevation.path_geometry import Box, Point, box_around_points
from measure.parts.corners import Side
from measure.parts.opening_shapes import OpeningShape

#: An edge this close to plumb or level was meant so (judgement: a picked corner strays less).
SQUARE_WITHIN_RAD = math.radians(3.0)

#: An end of a wall this close to the line it is hinged on ends there (full size).
ENDS_AT_HINGE_MM = 150.0


@dataclass(frozen=True, slots=True)
class PlanLine:
    """Where a wall's face stands in plan.

    Attributes
    ----------
    origin_mm : (x, z)
        Building coordinates of ``u = 0``.
    heading_rad : float
        Direction of growing u, from x towards z.
    """

    origin_mm: Point
    heading_rad: float

    def at(self, u_mm: float, behind_mm: float = 0.0) -> Point:
        """Plan point at u, some way behind the face."""
        cos, sin = math.cos(self.heading_rad), math.sin(self.heading_rad)
        x, z = self.origin_mm
        # outward is along x up: (-sin, cos) in (x, z)
        return x + u_mm * cos + behind_mm * sin, z + u_mm * sin - behind_mm * cos

    def of(self, point_mm: Point) -> tuple[float, float]:
        """U of a plan point, and how far it lies behind the face: what `at` was given."""
        cos, sin = math.cos(self.heading_rad), math.sin(self.heading_rad)
        dx, dz = point_mm[0] - self.origin_mm[0], point_mm[1] - self.origin_mm[1]
        return dx * cos + dz * sin, dx * sin - dz * cos


@dataclass(frozen=True, slots=True)
class RoundPlan:
    """A tower in plan.

    Attributes
    ----------
    radius_mm : float
    axis_set_back_mm : float
        How far its axis lies behind the face of the wall that it stands beside.
    beside : str or None
        That wall.
    also_meets : str or None
        Another wall that it meets.
    axis_mm : (x, z) or None
        Building coordinates of its axis, of the photo that shows that wall; None where the
        tower was picked by itself.
    turn_rad : float
        How far that wall is turned to the right of the line that faces at the tower's angle 0.
    """

    radius_mm: float
    axis_set_back_mm: float
    beside: str | None
    also_meets: str | None = None
    axis_mm: Point | None = None
    turn_rad: float = 0.0


@dataclass(frozen=True, slots=True)
class FaceShape:
    """One face.

    Attributes
    ----------
    id, label : str
    outline_mm : tuple of (u, v)
        A simple polygon, anticlockwise.
    openings : tuple of OpeningShape
    plan : PlanLine or RoundPlan
    datum_mm : float
        v of the level that the user's levels count from.
    hinge : str or None
        Face that it meets at ``u = 0``.
    cautions : tuple of str
    outlined : bool
        Whether its outline was measured or told; otherwise it goes on to what it meets.
    """

    id: str
    label: str
    outline_mm: tuple[Point, ...]
    openings: tuple[OpeningShape, ...]
    plan: PlanLine | RoundPlan
    datum_mm: float = 0.0
    hinge: str | None = None
    cautions: tuple[str, ...] = field(default=())
    outlined: bool = True

    @property
    def box(self) -> Box:
        """Box around the outline."""
        return box_around_points(self.outline_mm)

    def edge_mm(self, side: Side) -> float:
        """U of its outermost edge on one side."""
        return self.box.left_mm if side == "left" else self.box.right_mm

    @property
    def area(self) -> shapely.Geometry:
        """Area inside the outline, openings not taken off."""
        return shapely.Polygon(self.outline_mm)

    def scaled(self, factor: float) -> FaceShape:
        """Face with every length multiplied, as for the model."""
        plan: PlanLine | RoundPlan
        if isinstance(self.plan, RoundPlan):
            plan = replace(
                self.plan,
                radius_mm=self.plan.radius_mm * factor,
                axis_set_back_mm=self.plan.axis_set_back_mm * factor,
                axis_mm=None
                if self.plan.axis_mm is None
                else (self.plan.axis_mm[0] * factor, self.plan.axis_mm[1] * factor),
            )
        else:
            x, z = self.plan.origin_mm
            plan = replace(self.plan, origin_mm=(x * factor, z * factor))
        return replace(
            self,
            outline_mm=tuple((u * factor, v * factor) for u, v in self.outline_mm),
            openings=tuple(opening.scaled(factor) for opening in self.openings),
            plan=plan,
            datum_mm=self.datum_mm * factor,
        )


def squared_outline(points_mm: Sequence[Point]) -> tuple[Point, ...]:
    """Outline whose nearly plumb edges are plumb and nearly level edges level, anticlockwise.

    Corners joined by such edges share their mean u or v; all others stay where they are.

    Examples
    --------
    >>> squared_outline([(0, 0), (100, 1), (101, 50), (-1, 50)])
    ((-0.5, 0.5), (100.5, 0.5), (100.5, 50.0), (-0.5, 50.0))
    """
    points = [(float(u), float(v)) for u, v in points_mm]
    if shapely.Polygon(points).exterior.is_ccw is False:
        points.reverse()
    count = len(points)
    values = [[u for u, _ in points], [v for _, v in points]]
    for axis, row in enumerate(values):
        group = list(range(count))
        for i in range(count):
            j = (i + 1) % count
            along = abs(points[j][1 - axis] - points[i][1 - axis])
            across = abs(points[j][axis] - points[i][axis])
            if across <= math.tan(SQUARE_WITHIN_RAD) * along:
                old, new = group[j], group[i]
                group = [new if g == old else g for g in group]
        for name in set(group):
            members = [i for i in range(count) if group[i] == name]
            mean = sum(row[i] for i in members) / len(members)
            for i in members:
                row[i] = mean
    return tuple(zip(*values, strict=True))


def box_outline(box: Box) -> tuple[Point, ...]:
    """Outline of an upright rectangle."""
    return (
        (box.left_mm, box.bottom_mm),
        (box.right_mm, box.bottom_mm),
        (box.right_mm, box.top_mm),
        (box.left_mm, box.top_mm),
    )


def with_edge_at(outline_mm: Sequence[Point], u_mm: float, new_u_mm: float) -> tuple[Point, ...]:
    """Outline with the corners at one u moved to another."""
    return tuple((new_u_mm if abs(u - u_mm) < 1e-6 else u, v) for u, v in outline_mm)


def with_face(faces: Sequence[FaceShape], changed: FaceShape) -> tuple[FaceShape, ...]:
    """Faces of which the one of that id is changed."""
    return tuple(changed if face.id == changed.id else face for face in faces)


def ended_at_hinge(face: FaceShape) -> FaceShape:
    """Let a hinged wall end where it is hinged, its outline there moved by what was mispicked."""
    if face.hinge is None:
        return face
    box = face.box
    edge = box.right_mm if abs(box.right_mm) < abs(box.left_mm) else box.left_mm
    if abs(edge) > ENDS_AT_HINGE_MM:
        return replace(
            face,
            cautions=(
                *face.cautions,
                f"Face {face.id} was drawn to {abs(edge):.0f} mm from the line it is hinged on "
                f"and is cut as far as that line.",
            ),
            outline_mm=with_edge_at(face.outline_mm, edge, 0.0),
        )
    return replace(face, outline_mm=with_edge_at(face.outline_mm, edge, 0.0))


def without_nested(face: FaceShape) -> FaceShape:
    """Leave out openings that lie within or across a larger one: they are parts of it."""
    kept: list[OpeningShape] = []
    cautions = list(face.cautions)
    for opening in sorted(face.openings, key=lambda o: -o.area.area):
        other = next((o for o in kept if o.area.intersection(opening.area).area > 1e-6), None)
        if other is None:
            kept.append(opening)
        else:
            cautions.append(
                f"Opening {opening.id} lies in opening {other.id} and is not cut on its own."
            )
    order = {opening.id: n for n, opening in enumerate(face.openings)}
    kept.sort(key=lambda opening: order[opening.id])
    return replace(face, openings=tuple(kept), cautions=tuple(cautions))
