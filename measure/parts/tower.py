"""A round tower as flat parts: its layers unrolled, the discs that hold them, its strips.

Frame of a wrap: x runs round the tower, to the right as seen from outside, from the start of
its arc; y is v of the building less the tower's foot. Angles are degrees to the right of the
line that faces the way the main wall does.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import affinity

from measure.parts.face_shape import FaceShape, RoundPlan
from measure.parts.opening_shapes import OpeningShape
from measure.parts.part import Part, PartLine, PartWords, line_through, lines_of_polygon
from measure.parts.part_marks import mark_above, mark_in_bleed, mark_on
from measure.parts.reveals import strip_part
from measure.parts.shell import Shell
from measure.parts.tower_wrap import (
    ScorePlan,
    former_diameter_mm,
    former_levels_mm,
    opening_springs,
    plan_scores,
    plan_strips,
    wrap_length_mm,
)
from measure.parts.walls import as_skin, cut_openings
from measure.parts.workshop import WallLayer
from shared.errors import FieldError

#: A wrap that ends at a wall reaches this far behind the wall's back.
TUCK_MM = 3.0
BACKING_MM = 8.0
#: Rim of a ring, and the hole by which discs are threaded on a rod.
RIM_MM, ROD_MM, KEY_MM = 6.0, 4.0, 1.2
#: A former stays this clear of an opening.
CLEAR_MM = 1.5


@dataclass(frozen=True, slots=True)
class TowerPlan:
    """How a tower is rolled.

    Attributes
    ----------
    face : FaceShape
    from_deg, to_deg : float
        Arc that is wrapped.
    outer_mm : float
        Outer diameter of the finished tower.
    height_mm : float
    scores : ScorePlan
        Of the carcass.
    former_mm : float
        Diameter of the discs.
    former_levels_mm : tuple of float
        Underside of each disc above the tower's foot.
    cautions : tuple of str
    """

    face: FaceShape
    from_deg: float
    to_deg: float
    outer_mm: float
    height_mm: float
    scores: ScorePlan
    former_mm: float
    former_levels_mm: tuple[float, ...]
    cautions: tuple[str, ...] = ()

    @property
    def arc_deg(self) -> float:
        """Part of the turn that is wrapped."""
        return self.to_deg - self.from_deg

    @property
    def is_full(self) -> bool:
        """Whether the wrap goes all the way round and has a seam."""
        return self.arc_deg >= 360.0 - 1e-9


def plan_tower(shell: Shell, face: FaceShape) -> TowerPlan:
    """Plan one tower.

    Raises
    ------
    FieldError
        For card too thick to leave a former, or an opening outside of the arc.
    """
    plan = face.plan
    if not isinstance(plan, RoundPlan):
        raise TypeError(f"face {face.id} is not round")
    shop = shell.workshop
    outer = 2.0 * plan.radius_mm
    inner_layers = [layer.thickness_mm + shop.glue_gap_mm for layer in shop.layers[:-1]]
    thicknesses = [*inner_layers, shop.layers[-1].thickness_mm]
    wish = shell.wishes.of_face(face.id).tower
    try:
        disc = former_diameter_mm(outer, thicknesses, wish.slip_mm)
    except FieldError as error:
        raise FieldError(
            f"Tower {face.id}: {error.message[0].lower()}{error.message[1:]}", hint=error.hint
        ) from None
    first, last = arc_of(shell, face)
    height = face.box.height_mm
    carcass = shop.layer("carcass")
    scores = plan_scores(outer - 2.0 * carcass.outer_mm, carcass.thickness_mm, last - first)
    openings = [o.moved(0.0, -face.box.bottom_mm) for o in cut_openings(shell, face)]
    for opening in openings:
        low = math.degrees(opening.left_mm / plan.radius_mm)
        high = math.degrees(opening.right_mm / plan.radius_mm)
        if low < first - 1e-6 or high > last + 1e-6:
            raise FieldError(
                f"Opening {opening.id} of tower {face.id} lies at {low:.0f} to {high:.0f}°, but "
                f"the wrap covers {first:.0f} to {last:.0f}° only.",
                hint="Give the tower a larger arc, or call it full.",
            )
    springing = [o for o in openings if opening_springs(o.width_mm, outer)]
    levels = former_heights(height, shop.former.thickness_mm, openings, springing)
    cautions = [f"Tower {face.id}: {scores.advice}"]
    for opening in springing:
        cautions.append(
            f"Opening {opening.id} takes {math.degrees(opening.width_mm / plan.radius_mm):.0f}° of "
            f"tower {face.id}: cut before rolling it springs outwards, so roll first, glue the "
            "formers in just below and above it, and cut it after."
        )
    return TowerPlan(face, first, last, outer, height, scores, disc, tuple(levels), tuple(cautions))


def arc_of(shell: Shell, face: FaceShape) -> tuple[float, float]:
    """Arc of a tower that is wrapped, in degrees: as wished, or what shows."""
    wish = shell.wishes.of_face(face.id).tower
    place = shell.towers[face.id]
    if isinstance(wish.arc, tuple):
        first, last = wish.arc
        if not 5.0 <= last - first <= 360.0:
            raise FieldError(
                f"The arc of tower {face.id} runs from {first:g} to {last:g}°: it needs at least "
                "5 and at most 360."
            )
        return first, last
    if wish.arc == "full" or not place.meets_deg or place.wall is None:
        return -180.0, 180.0
    plan = face.plan
    if not isinstance(plan, RoundPlan):
        raise TypeError(f"face {face.id} is not round")
    # behind the wall's back it is hidden; the wrap goes a little further still
    back = plan.axis_set_back_mm - shell.workshop.thickness_mm
    hidden = math.degrees(math.acos(max(-1.0, min(1.0, back / plan.radius_mm))))
    hidden += math.degrees(TUCK_MM / plan.radius_mm)
    return (-hidden, 180.0) if place.side == "right" else (-180.0, hidden)


def former_heights(
    height_mm: float,
    thickness_mm: float,
    openings: Sequence[OpeningShape],
    springing: Sequence[OpeningShape] = (),
) -> list[float]:
    """Undersides of the formers: at both ends and evenly between, none across an opening.

    A former that would stand in an opening moves below its foot or above its head, whichever
    is nearer, save at the ends; one stands just below and above each opening that would spring.
    """
    top = height_mm - thickness_mm
    if top <= thickness_mm:
        return [0.0]
    wanted = [min(level, top) for level in former_levels_mm(height_mm)]
    wanted = sorted({0.0, top, *wanted[1:-1]})
    for opening in springing:
        wanted += [opening.sill_mm - CLEAR_MM - thickness_mm, opening.head_mm + CLEAR_MM]
    placed: list[float] = []
    for level in sorted(wanted):
        at_end = level in (0.0, top)
        moved = level if at_end else _clear_of(level, thickness_mm, openings)
        if not 0.0 <= moved <= top:
            continue
        if all(abs(moved - other) > thickness_mm + 0.5 for other in placed):
            placed.append(moved)
    return sorted(placed)


def _clear_of(level: float, thickness_mm: float, openings: Sequence[OpeningShape]) -> float:
    """Nearest level at which a former of that thickness crosses no opening."""
    for _ in range(len(openings) + 1):
        hit = next(
            (
                o
                for o in openings
                if level + thickness_mm + CLEAR_MM > o.sill_mm + 1e-9
                and level - CLEAR_MM < o.head_mm - 1e-9
            ),
            None,
        )
        if hit is None:
            return level
        below, above = hit.sill_mm - CLEAR_MM - thickness_mm, hit.head_mm + CLEAR_MM
        level = below if level - below <= above - level and below >= 0 else above
    return level


def unrolled(
    plan: TowerPlan, layer: WallLayer, opening: OpeningShape
) -> tuple[shapely.Geometry, float]:
    """Outline of an opening on a layer's flat sheet, and the factor it was compressed by.

    The chart's u is measured on the finished face; a layer is rolled at the middle of its
    own thickness, so that widths there are less by ``r_middle / r``.
    """
    radius = plan.outer_mm / 2.0
    factor = (radius - layer.middle_mm) / radius
    start = math.radians(plan.from_deg) * (radius - layer.middle_mm)
    area = affinity.translate(opening.area, 0.0, -plan.face.box.bottom_mm)
    return affinity.translate(affinity.scale(area, factor, 1.0, origin=(0, 0)), -start, 0.0), factor


def wrap_part(shell: Shell, plan: TowerPlan, layer: WallLayer, lined: set[str], mark: str) -> Part:
    """Lay one layer of a tower out flat: its length, openings, scores and grain."""
    length = wrap_length_mm(plan.outer_mm - 2.0 * layer.outer_mm, layer.thickness_mm, plan.arc_deg)
    grow = 0.0 if layer.role == "skin" else shell.workshop.opening_grows_mm
    whole = shapely.box(0.0, 0.0, length, plan.height_mm)
    lines: list[PartLine] = []
    holes = []
    for opening in cut_openings(shell, plan.face):
        shape, _ = unrolled(plan, layer, opening.grown(grow) if opening.id in lined else opening)
        holes.append(shape)
        if whole.contains_properly(shape):
            lines += lines_of_polygon("cut", shape, f"{mark}.{opening.id}")
        else:
            whole = whole.difference(shape)
    outline = lines_of_polygon("cut", whole, mark)
    solid = whole.difference(shapely.union_all(holes)) if holes else whole
    scores: list[PartLine] = []
    words, up = mark_on(solid, mark, plan.face.label)
    shown = [*outline, *lines]
    if layer.role == "carcass":
        scores = score_lines(plan, solid, length, mark)
        words, up = mark_above(0.0, length, plan.height_mm, mark, plan.face.label)
    elif layer.role == "skin":
        shown = as_skin(shown, whole, mark, shell.wishes.bleed_mm)
        if shell.wishes.bleed_mm > 0:
            words, up = (mark_in_bleed(whole, mark, shell.wishes.bleed_mm),), []
    note = f"{length:.2f} mm long, rolled to {plan.outer_mm - 2 * layer.outer_mm:.2f} mm across"
    if layer.role == "carcass" and plan.scores.count:
        note += f"; score every {plan.scores.spacing_mm:.2f} mm"
    return Part(
        mark,
        f"{plan.face.label}, {layer.role} wrap",
        plan.face.id,
        "wrap" if layer.role == "carcass" else layer.role,
        layer.material,
        (*shown, *scores, *up),
        words,
        grain="up",
        openings=tuple(o.id for o in cut_openings(shell, plan.face)),
        note=note,
    )


def score_lines(
    plan: TowerPlan, solid: shapely.Geometry, length_mm: float, mark: str
) -> list[PartLine]:
    """Score lines up the wrap, on the face, left out where openings are."""
    lines = []
    for number in range(1, plan.scores.count):
        x = length_mm * number / plan.scores.count
        run = shapely.LineString([(x, 0.0), (x, plan.height_mm)]).intersection(solid)
        for piece in shapely.get_parts(run):
            if piece.length > 0.3:
                ends = [piece.coords[0], piece.coords[-1]]
                lines.append(line_through("score-face", ends, id=f"{mark}.score-{number}"))
    return lines


def former_parts(shell: Shell, plan: TowerPlan, marks: Iterator[str]) -> list[Part]:
    """Discs or rings, with a keyhole that points to the front, cut off where the arc ends."""
    radius = plan.former_mm / 2.0
    disc = shapely.Point(0.0, 0.0).buffer(radius, quad_segs=_quarter_parts(radius))
    wish = shell.wishes.of_face(plan.face.id).tower
    rod = min(ROD_MM, radius * 0.5)
    keyhole = shapely.union_all(
        [
            shapely.Point(0.0, 0.0).buffer(rod / 2.0, quad_segs=_quarter_parts(rod)),
            shapely.box(-KEY_MM / 2.0, 0.0, KEY_MM / 2.0, rod / 2.0 + 0.12 * radius),
        ]
    )
    kind = "disc"
    if wish.former == "ring" and radius > RIM_MM + rod:
        hole = shapely.Point(0.0, 0.0).buffer(radius - RIM_MM, quad_segs=_quarter_parts(radius))
        notch = shapely.box(-KEY_MM / 2.0, 0.0, KEY_MM / 2.0, radius - RIM_MM + 1.5)
        keyhole, kind = shapely.union_all([hole, notch]), "ring"
    shape = disc.difference(keyhole)
    if not plan.is_full:
        shape = shape.intersection(_sector(plan, radius))
    mark = next(marks)
    lines = lines_of_polygon("cut", shape, mark)
    at = (0.0, -radius + 1.2) if kind == "ring" else (0.0, -radius * 0.6)
    size = min(1.8, radius * 0.3)
    front = (0.0, radius - 0.9), (0.0, radius - 0.1)
    lines.append(line_through("mark", front, id=f"{mark}.front"))
    levels = ", ".join(f"{level:.1f}" for level in plan.former_levels_mm)
    return [
        Part(
            mark,
            f"{plan.face.label}, former ({kind})",
            plan.face.id,
            "former",
            shell.workshop.former,
            tuple(lines),
            (PartWords(at, mark, size, room_mm=radius),),
            count=len(plan.former_levels_mm),
            note=f"undersides at {levels} mm above the foot; keyhole to the front; cut a hair "
            "over and sand to fit",
        )
    ]


def _quarter_parts(radius_mm: float) -> int:
    """Straight parts to a quarter circle that stay within a hundredth of a hair."""
    return max(16, math.ceil(math.pi / 4.0 / math.acos(1.0 - 0.001 / max(radius_mm, 0.01))))


def _sector(plan: TowerPlan, radius_mm: float) -> shapely.Geometry:
    """Plan of the wrapped arc, closed by the chord between its ends; y towards the front."""
    turns = np.radians(np.linspace(plan.from_deg, plan.to_deg, 181))
    reach = 2.0 * radius_mm
    edge = [(reach * math.sin(a), reach * math.cos(a)) for a in turns]
    if plan.arc_deg > 180.0:
        edge.append((0.0, 0.0))
    ends = [(radius_mm * math.sin(a), radius_mm * math.cos(a)) for a in (turns[0], turns[-1])]
    chord = shapely.Polygon([*ends, (0.0, 0.0)]).buffer(1e-9)
    sector = shapely.make_valid(shapely.Polygon(edge))
    return shapely.union_all([sector, chord]) if plan.arc_deg > 180.0 else sector


def backing_parts(shell: Shell, plan: TowerPlan, marks: Iterator[str]) -> list[Part]:
    """Strips behind the seam, between the formers."""
    if not plan.is_full:
        return []
    thick = shell.workshop.former.thickness_mm
    gaps: dict[float, int] = {}
    levels = plan.former_levels_mm
    for low, high in itertools.pairwise(levels):
        length = round(high - low - thick - 0.5, 1)
        if length > 2.0:
            gaps[length] = gaps.get(length, 0) + 1
    return [
        strip_part(
            next(marks),
            f"{plan.face.label}, backing of the seam",
            plan.face.id,
            "backing",
            shell.workshop.layer("carcass").material,
            length,
            min(BACKING_MM, plan.former_mm / 3.0),
            count=count,
            grain="along",
            note="glue half of it behind one end of the wrap, let it dry, then close the seam",
        )
        for length, count in gaps.items()
    ]


def course_parts(shell: Shell, plan: TowerPlan, marks: Iterator[str]) -> tuple[list[Part], str]:
    """Courses laid as strips in place of the overlay."""
    course = shell.wishes.of_face(plan.face.id).tower.strip_course_mm
    if course is None:
        return [], ""
    layer = next((x for x in shell.workshop.layers if x.role == "overlay"), None)
    if layer is None:
        raise FieldError(
            f"Tower {plan.face.id} is to have courses of strips, but there is no overlay sheet.",
            hint="Name the sheet that the strips are cut from as overlay.",
        )
    strips = plan_strips(
        plan.height_mm,
        course / shell.denominator,
        plan.outer_mm - 2.0 * layer.inner_mm,
        layer.thickness_mm,
        arc_deg=plan.arc_deg,
    )
    if "cannot" in strips.advice:
        return [], f"Tower {plan.face.id}: {strips.advice}"
    part = strip_part(
        next(marks),
        f"{plan.face.label}, courses as strips",
        plan.face.id,
        "course",
        layer.material,
        strips.lengths_mm[0],
        strips.height_mm,
        count=strips.count,
        grain="along",
        note="trim at openings; colour the edges first",
    )
    return [part], f"Tower {plan.face.id}: {strips.advice}"
