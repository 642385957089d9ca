"""What stands in and behind openings: lining strips, film with glazing bars, door boards.

A reveal strip lies in the hole of card and overlay, which is larger than the opening by the
strip and its glue; the skin covers its front edge. So its width is the true set-back less the
skin and its glue.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

from measure.parts.face_shape import FaceShape
from measure.parts.materials import Material
from measure.parts.opening_shapes import OpeningShape, lining_of
from measure.parts.part import Grain, Part, PartLine, PartWords, line_through, rectangle
from measure.parts.shell import Shell
from measure.parts.walls import cut_openings
from shared.card_wishes import Panes
from shared.errors import FieldError

#: Strips narrower than this cannot be cut by hand (0.5 to 1.0 mm: common practice, no source).
LEAST_REVEAL_MM = 0.5

#: Film reaches this far past its opening, to be glued by.
FILM_LAP_MM = 2.0

#: An opening that begins lower than this above the wall's foot is a door (full size; judgement:
#: two steps).
STEP_MM = 400.0

#: Bars wider than this are drawn with both edges.
WIDE_BAR_MM = 0.4

MARK_MM = 1.8


@dataclass(frozen=True, slots=True)
class RevealPlan:
    """How one opening is lined.

    Attributes
    ----------
    opening : OpeningShape
        At the model's scale.
    width_mm : float
        Of the strip; 0 where the cut edge of the card has to do.
    behind_mm : float
        How far the strip stands out behind the card; negative where it ends within it.
    """

    opening: OpeningShape
    width_mm: float
    behind_mm: float


def plan_reveals(shell: Shell, face: FaceShape) -> list[RevealPlan]:
    """Plan the lining of each opening of a face.

    Raises
    ------
    FieldError
        For an opening whose reveal is no deeper than the paper over its edge.
    """
    shop = shell.workshop
    plans = []
    for opening in cut_openings(shell, face):
        width = opening.reveal_mm - shop.paper_mm
        if width <= 0:
            full = opening.reveal_mm * shell.denominator
            raise FieldError(
                f"Opening {opening.id} of face {face.id} is set back {full:.0f} mm, which is "
                f"{opening.reveal_mm:.2f} mm on the model, but the paper over its edge alone is "
                f"{shop.paper_mm:.2f} mm thick.",
                hint="Use a thinner skin, give a deeper reveal, or call the opening blind.",
            )
        lined = width >= LEAST_REVEAL_MM
        behind = opening.reveal_mm - shop.thickness_mm
        plans.append(RevealPlan(opening, width if lined else 0.0, behind))
    return plans


def lined_ids(plans: Sequence[RevealPlan]) -> set[str]:
    """Openings that get a strip, so that their holes in card are cut larger."""
    return {plan.opening.id for plan in plans if plan.width_mm > 0}


def reveal_cautions(shell: Shell, face: FaceShape, plans: Sequence[RevealPlan]) -> list[str]:
    """Say what is special about the reveals of a face, each kind once."""
    shop = shell.workshop
    said = []
    bare = [plan.opening.id for plan in plans if plan.width_mm == 0]
    if bare:
        said.append(
            f"The reveals of {_listed(bare)} on face {face.id} would be strips narrower than "
            f"{LEAST_REVEAL_MM:g} mm; colour the cut edge of the card instead."
        )
    inside = [plan for plan in plans if plan.behind_mm < -0.02]
    if inside:
        names = _listed([plan.opening.id for plan in inside])
        deep = max(-plan.behind_mm for plan in inside)
        said.append(
            f"The wall of face {face.id} is {shop.thickness_mm:.2f} mm thick, more than the "
            f"reveals of {names} are deep (by up to {deep:.2f} mm): set their film into the hole, "
            "against the strip, not behind the card."
        )
    taken = sorted({p.opening.id for p in plans if p.opening.reveal_from == "taken, not measured"})
    if taken:
        depth = plans[0].opening.reveal_mm * shell.denominator
        said.append(
            f"The reveals of {_listed(taken)} on face {face.id} were not measured; "
            f"{depth:.0f} mm is taken."
        )
    return said


def _listed(names: Sequence[str]) -> str:
    if len(names) > 6:
        return f"{', '.join(names[:5])} and {len(names) - 5} more"
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def strip_part(
    mark: str,
    name: str,
    face: str,
    role: str,
    material: Material,
    length_mm: float,
    width_mm: float,
    *,
    folds_mm: Sequence[float] = (),
    count: int = 1,
    openings: tuple[str, ...] = (),
    grain: Grain = "any",
    note: str = "",
) -> Part:
    """Strip from (0, 0), its length to the right; its mark beside it where it is narrow."""
    lines: list[PartLine] = [rectangle("cut", 0.0, 0.0, length_mm, width_mm, id=mark)]
    for number, at in enumerate(folds_mm):
        ends = [(at, 0.0), (at, width_mm)]
        lines.append(line_through("score-back", ends, id=f"{mark}.fold-{number + 1}"))
    half = PartWords((0.0, 0.0), mark, MARK_MM).area.bounds[2]
    roomy = width_mm >= 2.0 * MARK_MM and length_mm >= 4.0 * half
    x = length_mm / 2.0 if roomy else -half - 1.0
    words = PartWords((x, (width_mm - MARK_MM) / 2.0), mark, MARK_MM)
    return Part(
        mark, name, face, role, material, tuple(lines), (words,), count, grain, openings, note
    )


def reveal_parts(
    shell: Shell, face: FaceShape, plans: Sequence[RevealPlan], marks: Iterator[str]
) -> list[Part]:
    """Strips for jambs and head, and for sills of openings that stand above the wall's foot."""
    strip = shell.workshop.strip
    groups: dict[tuple[object, ...], list[RevealPlan]] = {}
    for plan in plans:
        if plan.width_mm > 0:
            lining = lining_of(plan.opening, strip.thickness_mm)
            key: tuple[object, ...] = (
                round(lining.length_mm, 2),
                round(plan.width_mm, 2),
                plan.opening.head,
            )
            groups.setdefault(key, []).append(plan)
    parts = []
    for same in groups.values():
        plan = same[0]
        lining = lining_of(plan.opening, strip.thickness_mm)
        stands = (
            f"stands {plan.behind_mm:.2f} mm out behind the card"
            if plan.behind_mm > 0.02
            else "ends within the card"
        )
        bend = "a ring, seam at the foot; " if lining.closed else ""
        parts.append(
            strip_part(
                next(marks),
                f"reveal: jambs and head of {_listed([p.opening.id for p in same])}",
                face.id,
                "reveal",
                strip,
                lining.length_mm,
                plan.width_mm,
                folds_mm=lining.folds_mm,
                count=len(same),
                openings=tuple(p.opening.id for p in same),
                note=f"{bend}{stands}",
            )
        )
        with_sill = [p for p in same if _has_foot(face, p.opening)]
        if with_sill and not lining.closed:
            parts.append(
                strip_part(
                    next(marks),
                    f"reveal: foot of {_listed([p.opening.id for p in with_sill])}",
                    face.id,
                    "reveal",
                    strip,
                    plan.opening.width_mm + 2.0 * strip.thickness_mm,
                    plan.width_mm,
                    count=len(with_sill),
                    openings=tuple(p.opening.id for p in with_sill),
                    note="goes in first; the jambs stand on it",
                )
            )
    return parts


def _has_foot(face: FaceShape, opening: OpeningShape) -> bool:
    """Whether wall is left below an opening."""
    return opening.sill_mm > face.box.bottom_mm + 1e-6


def is_window(shell: Shell, face: FaceShape, opening: OpeningShape) -> bool:
    """Whether an opening stands too high above the wall's foot to be walked through."""
    return opening.sill_mm > face.box.bottom_mm + STEP_MM / shell.denominator


def film_parts(
    shell: Shell, face: FaceShape, plans: Sequence[RevealPlan], marks: Iterator[str]
) -> list[Part]:
    """Film with glazing bars for windows; a board for openings that reach the wall's foot."""
    shop = shell.workshop
    wish = shell.wishes.of_face(face.id)
    groups: dict[tuple[object, ...], list[tuple[RevealPlan, shapely.Geometry]]] = {}
    panes_of: dict[tuple[object, ...], Panes | None] = {}
    for plan in plans:
        opening = plan.opening
        own = wish.openings.get(opening.id)
        panes = (own.panes if own else None) or wish.panes or shell.wishes.panes
        fill = own.fill if own is not None else None
        window = is_window(shell, face, opening) if fill is None else fill == "panes"
        if window and shop.film is None:
            continue
        shape = _film_shape(shell, face, plan)
        sizes = (*_size(shape), opening.width_mm, opening.height_mm, opening.rise_mm)
        key: tuple[object, ...] = (
            *(round(x, 2) for x in sizes),
            opening.head,
            panes if window else None,
        )
        panes_of[key] = panes if window else None
        groups.setdefault(key, []).append((plan, shape))
    parts = []
    for key, same in groups.items():
        ids = tuple(p.opening.id for p, _ in same)
        parts.append(_pane_part(shell, face, same[0], ids, panes_of[key], next(marks)))
    return parts


def _pane_part(
    shell: Shell,
    face: FaceShape,
    first: tuple[RevealPlan, shapely.Geometry],
    ids: tuple[str, ...],
    panes: Panes | None,
    mark: str,
) -> Part:
    """Film with its bars, or a board where no panes are wanted."""
    plan, shape = first
    shop = shell.workshop
    dx, dy = -shape.bounds[0], -shape.bounds[1]
    opening = plan.opening.moved(dx, dy)
    points = [(x + dx, y + dy) for x, y in shape.exterior.coords[:-1]]
    lines = [line_through("cut", points, closed=True, id=mark)]
    start, segments = opening.path()
    lines.append(PartLine("place", start, segments, True, f"{mark}.{opening.id}"))
    if panes is not None and shop.film is not None:
        lines += bar_lines(opening, panes, shell.denominator)
        name = f"film of {_listed(ids)}, {panes.across} x {panes.up} panes"
        note = "scratch the bars and rub paint in, or lay thread; keep glue off the panes"
        role, material = "film", shop.film
    else:
        name, note = f"door or boards of {_listed(ids)}", "draw the boards on it"
        role, material = "board", shop.layers[max(0, len(shop.layers) - 2)].material
    middle = opening.left_mm + opening.width_mm / 2.0
    size = min(MARK_MM, max(opening.sill_mm - 0.7, 0.9))
    words = PartWords((middle, 0.35), mark, size, room_mm=opening.width_mm)
    return Part(
        mark,
        name,
        face.id,
        role,
        material,
        tuple(lines),
        (words,),
        count=len(ids),
        openings=ids,
        note=note,
    )


def _size(shape: shapely.Geometry) -> tuple[float, float]:
    left, low, right, high = shape.bounds
    return right - left, high - low


def _film_shape(shell: Shell, face: FaceShape, plan: RevealPlan) -> shapely.Geometry:
    """Outline of the film: past the opening all round, but clear of its neighbours' film."""
    opening = plan.opening
    others = [o for o in cut_openings(shell, face) if o.id != opening.id]
    room = min((opening.area.distance(o.area) / 2.0 - 0.1 for o in others), default=FILM_LAP_MM)
    lap = max(0.5, min(FILM_LAP_MM, room))
    shape = shapely.box(*opening.area.bounds).buffer(lap, join_style="mitre")
    return shapely.box(*shape.bounds)


def bar_lines(opening: OpeningShape, panes: Panes, denominator: float) -> list[PartLine]:
    """Glazing bars across an opening, ended at its outline."""
    area = opening.area
    half = panes.bar_mm / denominator / 2.0
    left, low, right, high = area.bounds
    lines = []
    upright = [left + (right - left) * i / panes.across for i in range(1, panes.across)]
    level = [low + (high - low) * i / panes.up for i in range(1, panes.up)]
    runs = [((u, low), (u, high), (half, 0.0)) for u in upright]
    runs += [((left, v), (right, v), (0.0, half)) for v in level]
    for start, end, (du, dv) in runs:
        edges = ((-du, -dv), (du, dv)) if 2.0 * half >= WIDE_BAR_MM else ((0.0, 0.0),)
        for ex, ey in edges:
            run = shapely.LineString(
                [(start[0] + ex, start[1] + ey), (end[0] + ex, end[1] + ey)]
            ).intersection(area)
            for piece in shapely.get_parts(run):
                if piece.length > 0.05:
                    lines.append(line_through("mark", [piece.coords[0], piece.coords[-1]]))
    return lines
