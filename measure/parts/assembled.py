"""The shell put together in space, thicknesses true, and where its edges do not meet.

Frame: millimetres of the model, x right along the main wall, y up, z towards the viewer.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.polygon import orient

from measure.elevation.path_geometry import Point
from measure.parts.card_plan import CardPlan
from measure.parts.corners import (
    MEANT_TO_MEET_MM,
    SIDES,
    CornerEnd,
    FreeEnd,
    LayerEnd,
    Side,
    TowerEnd,
    opposite,
    outward,
)
from measure.parts.face_shape import FaceShape, PlanLine
from measure.parts.reveals import lined_ids
from measure.parts.tower import unrolled
from measure.parts.tower_place import TowerPlace
from measure.parts.tower_plan import TowerPlan
from measure.parts.walls import LayerBody, layer_body, layer_openings
from measure.parts.workshop import WallLayer

Array = NDArray[np.float64]

#: Edges that come this close are closed by glue.
CLOSES_WITHIN_MM = 0.05
SLICE_DEG = 5.0


@dataclass(frozen=True, slots=True)
class Facet:
    """One flat piece of surface.

    Attributes
    ----------
    rings : tuple of ndarray, shape (n, 3)
        Outline, then holes.
    face : str
    rank : int
        Drawn in this order within its face: layers from the inside out; -1 is the inside of
        a tower.
    """

    rings: tuple[Array, ...]
    face: str
    rank: int


@dataclass(frozen=True, slots=True)
class Seam:
    """Two edges that are to meet.

    Attributes
    ----------
    name : str
    gap_mm : float
        Negative where they run into each other.
    at_mm : (x, y, z)
    """

    name: str
    gap_mm: float
    at_mm: tuple[float, float, float]

    @property
    def closes(self) -> bool:
        """Whether glue closes it."""
        return abs(self.gap_mm) <= CLOSES_WITHIN_MM


def said_of(seam: Seam) -> str:
    """Say in a sentence how far a seam gapes or overlaps."""
    if seam.gap_mm < 0:
        return f"The edges of {seam.name} overlap by {-seam.gap_mm:.2f} mm."
    return f"The edges of {seam.name} are {seam.gap_mm:.2f} mm apart."


def facets_of(plan: CardPlan) -> list[Facet]:
    """All surfaces of the assembled shell."""
    shell = plan.shell
    facets: list[Facet] = []
    for face in shell.faces:
        lined = lined_ids(plan.reveals[face.id])
        for rank, layer in enumerate(reversed(shell.workshop.layers)):
            if isinstance(face.plan, PlanLine):
                facets += _wall_facets(layer_body(shell, face, layer, lined), face.plan, rank, plan)
            else:
                place = place_of(plan, face)
                facets += _tower_facets(plan, plan.towers[face.id], place, layer, lined, rank)
    return facets


def place_of(plan: CardPlan, face: FaceShape) -> TowerPlace:
    """Where a tower stands; one that meets no wall stands to the right of everything."""
    place = plan.shell.towers[face.id]
    if place.meets:
        return place
    rights = [
        p for f in plan.shell.walls if isinstance(f.plan, PlanLine)
        for p in (f.plan.at(f.box.left_mm)[0], f.plan.at(f.box.right_mm)[0])
    ]  # fmt: skip
    radius = plan.towers[face.id].outer_mm / 2.0
    return TowerPlace((max(rights, default=0.0) + 2.0 * radius, 0.0), 0.0, 0.0)


def _wall_facets(body: LayerBody, line: PlanLine, rank: int, plan: CardPlan) -> list[Facet]:
    """Front, back and edges of one layer."""
    ends = plan.shell.ends[body.face.id]
    moves = []
    for side in SIDES:
        u, sign, end = body.face.edge_mm(side), outward(side), ends.at(side).layer_end(body.layer)
        moves.append((u + sign * end.outer_mm, u + sign * end.inner_mm))
    for gap in ends.gaps:
        edges = gap.edges_mm(body.layer.outer_mm), gap.edges_mm(body.layer.inner_mm)
        moves += zip(*edges, strict=True)

    def behind(u: float) -> float:
        return next((inner for outer, inner in moves if abs(u - outer) < 1e-6), u)

    facets = []
    for piece in shapely.get_parts(body.outer):
        if piece.geom_type != "Polygon" or piece.area < 1e-6:
            continue
        polygon = orient(piece)
        rings = [polygon.exterior, *polygon.interiors]
        flat = [[(float(u), float(v)) for u, v in ring.coords[:-1]] for ring in rings]
        front = tuple(_at(line, ring, body.layer.outer_mm) for ring in flat)
        back = tuple(
            _at(line, [(behind(u), v) for u, v in ring], body.layer.inner_mm)[::-1] for ring in flat
        )
        facets += [Facet(front, body.face.id, rank), Facet(back, body.face.id, rank)]
        for before, after in zip(front, back, strict=True):
            after = after[::-1]
            for i, j in itertools.pairwise([*range(len(before)), 0]):
                quad = np.array([before[i], after[i], after[j], before[j]])
                facets.append(Facet((quad,), body.face.id, rank))
    return facets


def _at(line: PlanLine, ring: Sequence[Point], depth: float) -> Array:
    rows = []
    for u, v in ring:
        x, z = line.at(u, depth)
        rows.append((x, v, z))
    return np.array(rows, dtype=float)


def tower_point(place: TowerPlace, radius_mm: float, angle_rad: float, y_mm: float) -> Array:
    """Point of a tower at an angle to the right of its front."""
    # outward of the wall in plan is (-sin h, cos h); along it is (cos h, sin h)
    h = place.heading_rad
    out, along = math.cos(angle_rad), math.sin(angle_rad)
    x = place.axis_mm[0] + radius_mm * (along * math.cos(h) - out * math.sin(h))
    z = place.axis_mm[1] + radius_mm * (along * math.sin(h) + out * math.cos(h))
    return np.array([x, place.foot_mm + y_mm, z])


def _tower_facets(
    plan: CardPlan,
    tower: TowerPlan,
    place: TowerPlace,
    layer: WallLayer,
    lined: set[str],
    rank: int,
) -> list[Facet]:
    """Outside and top of one layer, in narrow slices."""
    radius = tower.outer_mm / 2.0
    middle = radius - layer.middle_mm
    length = math.radians(tower.arc_deg) * middle
    solid = shapely.box(0.0, 0.0, length, tower.height_mm)
    for hole in layer_openings(plan.shell, tower.face, layer, lined):
        solid = solid.difference(unrolled(tower, layer, hole)[0])
    start = math.radians(tower.from_deg)

    def outside(x: float, y: float) -> Array:
        return tower_point(place, radius - layer.outer_mm, start + x / middle, y)

    facets = []
    count = max(1, math.ceil(tower.arc_deg / SLICE_DEG))
    for number in range(count):
        low, high = length * number / count, length * (number + 1) / count
        piece = solid.intersection(shapely.box(low, -1.0, high, tower.height_mm + 1.0))
        for polygon in shapely.get_parts(piece):
            if polygon.geom_type != "Polygon" or polygon.area < 1e-6:
                continue
            rings = tuple(
                np.array([outside(float(x), float(y)) for x, y in ring.coords[:-1]])
                for ring in (orient(polygon).exterior, *polygon.interiors)
            )
            facets.append(Facet(rings, tower.face.id, rank))
            if rank == 0:
                shrink = (radius - layer.inner_mm) / (radius - layer.outer_mm)
                axis = np.array([place.axis_mm[0], 0.0, place.axis_mm[1]])
                factor = np.array([shrink, 1.0, shrink])
                inside = tuple((axis + (ring - axis) * factor)[::-1] for ring in rings)
                facets.append(Facet(inside, tower.face.id, -1))
        inner = radius - layer.inner_mm
        a, b = start + low / middle, start + high / middle
        top = np.array(
            [
                tower_point(place, radius - layer.outer_mm, a, tower.height_mm),
                tower_point(place, radius - layer.outer_mm, b, tower.height_mm),
                tower_point(place, inner, b, tower.height_mm),
                tower_point(place, inner, a, tower.height_mm),
            ]
        )
        facets.append(Facet((top,), tower.face.id, rank))
    return facets


def seams_of(plan: CardPlan) -> list[Seam]:
    """Every seam of the shell with its gap."""
    shell = plan.shell
    seams: list[Seam] = []
    done: set[frozenset[str]] = set()
    for face in shell.walls:
        for side in SIDES:
            end = shell.ends[face.id].at(side)
            if isinstance(end, CornerEnd) and frozenset((face.id, end.other)) not in done:
                done.add(frozenset((face.id, end.other)))
                seams += _corner_seams(plan, face, side, end)
            elif isinstance(end, TowerEnd):
                seams += _tower_seams(plan, face, face.edge_mm(side), outward(side), end)
        for gap in shell.ends[face.id].gaps:
            for side, u in zip(SIDES, gap.edges_mm(0.0), strict=True):
                seams += _tower_seams(plan, face, u, -outward(side), gap.tower)
    seams += _stray_ends(plan)
    for tower in plan.towers.values():
        seams += _round_seams(plan, tower)
    return seams


def end_in_plan(
    face: FaceShape, u_mm: float, sign: float, end: LayerEnd, layer: WallLayer
) -> shapely.Geometry:
    """Plan of the last stretch of a layer, as far as 20 mm back from its end at u.

    The sign is that of u that leads out of the wall there.
    """
    line = face.plan
    if not isinstance(line, PlanLine):
        raise TypeError("a wall is plane")
    reach = min(20.0, face.box.width_mm)
    corners = [
        line.at(u_mm + sign * end.outer_mm, layer.outer_mm),
        line.at(u_mm + sign * end.inner_mm, layer.inner_mm),
        line.at(u_mm - sign * reach, layer.inner_mm),
        line.at(u_mm - sign * reach, layer.outer_mm),
    ]
    # at a sharp corner a bevel may be longer than the stretch
    return shapely.make_valid(shapely.Polygon(corners))


def gap_between_mm(one: shapely.Geometry, two: shapely.Geometry) -> float:
    """How far two plans are apart; negative by how far they run into each other."""
    # edges that coincide but for the last bit upset the overlay without a grid
    overlap = shapely.intersection(one, two, grid_size=1e-6)
    if overlap.area <= 1e-6:
        return float(one.distance(two))
    sides = shapely.minimum_rotated_rectangle(overlap).exterior.coords[:3]
    return -min(math.dist(sides[0], sides[1]), math.dist(sides[1], sides[2]))


def _corner_seams(plan: CardPlan, face: FaceShape, side: Side, end: CornerEnd) -> list[Seam]:
    shell = plan.shell
    other = shell.face(end.other)
    other_end = shell.ends[other.id].at(opposite(side))
    u, other_u, sign = face.edge_mm(side), other.edge_mm(opposite(side)), outward(side)
    if not isinstance(face.plan, PlanLine):
        return []
    x, z = face.plan.at(u)
    seams = []
    for layer in shell.workshop.layers:
        if end.is_folded(layer) and isinstance(other.plan, PlanLine):
            # one sheet: the two middles have to meet on the fold
            shift = sign * end.layer_end(layer).outer_mm
            other_shift = -sign * other_end.layer_end(layer).outer_mm
            gap = math.dist(
                face.plan.at(u + shift, layer.middle_mm),
                other.plan.at(other_u + other_shift, layer.middle_mm),
            )
            name = f"{layer.role}, folded: {face.id} and {other.id}"
            seams.append(Seam(name, gap, (x, face.box.top_mm, z)))
            continue
        one = end_in_plan(face, u, sign, end.layer_end(layer), layer)
        two = end_in_plan(other, other_u, -sign, other_end.layer_end(layer), layer)
        gap = gap_between_mm(one, two)
        seams.append(Seam(f"{layer.role}: {face.id} and {other.id}", gap, (x, face.box.top_mm, z)))
    low, other_low = face.box.bottom_mm, other.box.bottom_mm
    feet = Seam(
        f"foot: {face.id} and {other.id}", abs(low - other_low), (x, min(low, other_low), z)
    )
    return [*seams, feet]


def _tower_seams(
    plan: CardPlan, face: FaceShape, u_mm: float, sign: float, end: TowerEnd
) -> list[Seam]:
    """Layers of a wall that end at a tower, at its end or at a gap for it."""
    shell = plan.shell
    place = shell.towers[end.other]
    if not isinstance(face.plan, PlanLine):
        return []
    x, z = face.plan.at(u_mm)
    disc = shapely.Point(place.axis_mm).buffer(end.radius_mm, quad_segs=4000)
    seams = []
    for layer in shell.workshop.layers:
        one = end_in_plan(face, u_mm, sign, end.layer_end(layer), layer)
        gap = gap_between_mm(one, disc)
        seams.append(Seam(f"{layer.role}: {face.id} and {end.other}", gap, (x, face.box.top_mm, z)))
    return seams


def _stray_ends(plan: CardPlan) -> list[Seam]:
    """Free ends of walls that come so near each other that they were meant to meet."""
    free: list[tuple[str, Point, float]] = []
    for face in plan.shell.walls:
        if not isinstance(face.plan, PlanLine):
            continue
        for side in SIDES:
            if isinstance(plan.shell.ends[face.id].at(side), FreeEnd):
                free.append((face.id, face.plan.at(face.edge_mm(side)), face.box.top_mm))
    seams = []
    for (one, p, top), (two, q, _) in itertools.combinations(free, 2):
        gap = math.dist(p, q)
        if one != two and gap <= MEANT_TO_MEET_MM:
            seams.append(Seam(f"free ends: {one} and {two}", gap, (p[0], top, p[1])))
    return seams


def _round_seams(plan: CardPlan, tower: TowerPlan) -> list[Seam]:
    """Ends of each wrap once it is rolled about the middle of its thickness."""
    if not tower.is_full:
        return []
    place = place_of(plan, tower.face)
    x, y, z = tower_point(place, tower.outer_mm / 2.0, math.pi, tower.height_mm)
    seams = []
    for part in plan.parts:
        if part.face == tower.face.id and part.role in ("wrap", "overlay", "skin"):
            role = "carcass" if part.role == "wrap" else part.role
            layer = plan.shell.workshop.layer(role)
            box = part.line(part.mark).box
            around = 2.0 * math.pi * (tower.outer_mm / 2.0 - layer.middle_mm)
            name = f"{role}: seam of {tower.face.id}"
            seams.append(Seam(name, around - box.width_mm, (float(x), float(y), float(z))))
    return seams
