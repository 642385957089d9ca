"""A round tower as flat parts: its layers unrolled, the discs that hold them, its strips.

Frame of a wrap: x runs round the tower, to the right as seen from outside, from the start of
its arc; y is v of the building less the tower's foot.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely import affinity

from measure.elevation.path_geometry import Box
from measure.parts.opening_shapes import OpeningShape
from measure.parts.part import (
    Part,
    PartLine,
    PartPicture,
    PartWords,
    line_through,
    lines_of_polygon,
)
from measure.parts.part_marks import mark_above, mark_below, mark_on
from measure.parts.reveals import strip_part
from measure.parts.shell import Shell
from measure.parts.tower_plan import TowerPlan
from measure.parts.tower_wrap import plan_strips, wrap_length_mm
from measure.parts.walls import as_skin, cut_openings, layer_openings
from measure.parts.workshop import WallLayer
from shared.errors import FieldError

BACKING_MM = 8.0
#: Rim of a ring, and the hole by which discs are threaded on a rod.
RIM_MM, ROD_MM, KEY_MM = 6.0, 4.0, 1.2
#: Card left round that hole at least (judgement).
ROD_CLEAR_MM = 1.0


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
    whole = shapely.box(0.0, 0.0, length, plan.height_mm)
    lines: list[PartLine] = []
    holes = []
    for opening in layer_openings(shell, plan.face, layer, lined):
        shape, _ = unrolled(plan, layer, opening)
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
        words, up = (mark_below(whole, mark, shell.wishes.bleed_mm),), []
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
        pictures=(_picture(shell, plan, layer, length),) if layer.role == "skin" else (),
    )


def _picture(shell: Shell, plan: TowerPlan, layer: WallLayer, length_mm: float) -> PartPicture:
    """What is printed on a tower's skin: its chart, compressed as the paper is rolled."""
    rolled = plan.outer_mm / 2.0 - layer.middle_mm
    along = rolled / (plan.outer_mm / 2.0)
    start = math.radians(plan.from_deg) * rolled
    bleed, foot = shell.wishes.bleed_mm, plan.face.box.bottom_mm
    chart = Box(
        (start - bleed) / along,
        foot - bleed,
        (start + length_mm + bleed) / along,
        foot + plan.height_mm + bleed,
    )
    return PartPicture(plan.face.id, chart, (-start, -foot), along)


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
    held = disc if plan.is_full else disc.intersection(_sector(plan, radius))
    # a disc cut off before its axis has no room for a rod: its front mark has to do
    threaded = kind == "ring" or held.contains(keyhole.buffer(ROD_CLEAR_MM))
    shape = held.difference(keyhole) if threaded else held
    lined_up = "keyhole to the front" if threaded else "mark to the front"
    mark = next(marks)
    lines = lines_of_polygon("cut", shape, mark)
    at = (0.0, -radius + 1.2) if kind == "ring" else (0.0, -radius * 0.6)
    words: tuple[PartWords, ...] = (PartWords(at, mark, min(1.8, radius * 0.3), room_mm=radius),)
    if not plan.is_full:
        words, _ = mark_on(shape, mark, arrow=False)
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
            words,
            count=len(plan.former_levels_mm),
            note=f"undersides at {levels} mm above the foot; {lined_up}; cut a hair over and sand "
            "to fit",
        )
    ]


def _quarter_parts(radius_mm: float) -> int:
    """Straight parts to a quarter circle that stay within a hundredth of a hair."""
    return max(16, math.ceil(math.pi / 4.0 / math.acos(1.0 - 0.001 / max(radius_mm, 0.01))))


def _sector(plan: TowerPlan, radius_mm: float) -> shapely.Geometry:
    """Plan of the wrapped arc, closed by the chord between its ends; y towards the front."""
    turns = np.radians(np.linspace(plan.from_deg, plan.to_deg, 181))
    edge = [(2.0 * radius_mm * math.sin(a), 2.0 * radius_mm * math.cos(a)) for a in turns]
    first, last = (
        (radius_mm * math.sin(a), radius_mm * math.cos(a)) for a in (turns[0], turns[-1])
    )
    return shapely.make_valid(shapely.Polygon([first, *edge, last]))


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
