"""The key: each face drawn with the marks of the parts that go on it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import shapely

from measure.elevation import lettering
from measure.elevation.paper import Paper, paper_named
from measure.elevation.path_geometry import Box, Point, scaled_segments
from measure.elevation.primitives import Lettering, Primitive, Stroke, stroke_on
from measure.elevation.sheet import Sheet
from measure.elevation.title_block import SheetNumber
from measure.parts.card_plan import CardPlan
from measure.parts.corners import Ends
from measure.parts.face_shape import FaceShape, PlanLine, RoundPlan, box_outline
from measure.parts.opening_shapes import OpeningShape
from measure.parts.part import Part, flat_points
from measure.parts.part_frame import LAYER, PART_LAYERS, make_part_frame
from measure.parts.printer import Correction
from measure.parts.projections import band_levels
from shared.card_wishes import Band
from shared.model_scales import format_scale

Place = Callable[[Point], Point]

#: How large the key may be drawn against the parts; the largest that fits is taken.
_TIMES = (3.0, 2.5, 2.0, 1.5, 1.25, 1.0, 0.8, 0.65, 0.5, 0.4, 0.3, 0.2, 0.1, 0.05, 0.02)
MARK_MM, SMALLEST_MARK_MM = 1.8, 1.3
ON_WHOLE_FACE = ("carcass", "overlay", "skin", "wrap", "former", "backing", "course", "roof")


def key_sheets(plan: CardPlan, correction: Correction | None = None) -> tuple[Sheet, ...]:
    """One sheet for each face of `keyed_faces`, part marks where the parts go."""
    faces = keyed_faces(plan)
    return tuple(
        _key_sheet(plan, _whole(plan, face), number, len(faces), correction or Correction())
        for number, face in enumerate(faces, start=1)
    )


def keyed_faces(plan: CardPlan) -> tuple[FaceShape, ...]:
    """Faces that have a key: those of the shell, then roof slopes as they are cut."""
    roofs = []
    for part in plan.parts:
        if part.role == "roof":
            outline = tuple(
                flat_points(part.line(part.mark).start_mm, part.line(part.mark).segments)
            )
            label = part.name.removesuffix(", roof slope")
            roofs.append(FaceShape(part.face, label, outline, (), PlanLine((0.0, 0.0), 0.0)))
    return (*plan.shell.faces, *roofs)


def _whole(plan: CardPlan, face: FaceShape) -> FaceShape:
    """Face as it is cut: a tower as wide as its arc."""
    tower = plan.towers.get(face.id)
    if tower is None:
        return face
    radius, box = tower.outer_mm / 2.0, face.box
    first, last = math.radians(tower.from_deg), math.radians(tower.to_deg)
    arc = Box(first * radius, box.bottom_mm, last * radius, box.top_mm)
    return replace(face, outline_mm=box_outline(arc))


def parts_of_face(plan: CardPlan, face: FaceShape) -> list[Part]:
    """Parts of a face, those shared with a neighbour too."""
    in_shell = face.id in {each.id for each in plan.shell.faces}
    letter = plan.shell.letter(face.id) if in_shell else ""
    shared = [
        part
        for part in plan.parts
        if letter
        and part.face != face.id
        and part.role in ("overlay", "skin")
        and letter in _letters(part.mark)
        and "one piece" in part.name
    ]
    return [*(part for part in plan.parts if part.face == face.id), *shared]


def _letters(mark: str) -> str:
    return mark.rstrip("0123456789")


def _key_sheet(
    plan: CardPlan, face: FaceShape, number: int, count: int, correction: Correction
) -> Sheet:
    shell = plan.shell
    paper: Paper = paper_named(shell.wishes.paper)
    box = face.box
    paper = paper.landscape() if box.width_mm > box.height_mm else paper.portrait()
    frame = make_part_frame(
        paper,
        shell.wishes.margin_mm,
        correction,
        title=shell.title or "Untitled building",
        holds=f"Key to {face.label}: marks of the parts where they go",
        number=number,
        count=count,
        scale=f"Model at {format_scale(shell.denominator)}",
        legend=False,
        grain=False,
    )
    parts = parts_of_face(plan, face)
    named = [_band_words(band, parts) for band in shell.wishes.of_face(face.id).bands]
    beside = max((lettering.width_mm(text, MARK_MM) + 3.0 for text in named), default=0.0)
    room = Box(
        frame.area.left_mm + 4.0,
        frame.area.bottom_mm + 16.0,
        frame.area.right_mm - 4.0 - beside,
        frame.area.top_mm - 4.0,
    )
    fits = [
        k
        for k in _TIMES
        if box.width_mm * k <= room.width_mm and box.height_mm * k <= room.height_mm
    ]
    k = fits[0] if fits else _TIMES[-1]
    (cx, cy), (bx, by) = room.centre_mm, box.centre_mm

    def place(point: Point) -> Point:
        return cx + (point[0] - bx) * k, cy + (point[1] - by) * k

    items: list[Primitive] = [
        stroke_on(LAYER["frame"], [place(p) for p in face.outline_mm], closed=True)
    ]
    for gap in shell.ends.get(face.id, Ends()).gaps:
        shown = gap.area_at(0.0, box.bottom_mm, box.top_mm).intersection(face.area)
        for piece in shapely.get_parts(shown):
            points = [place((float(u), float(v))) for u, v in piece.exterior.coords[:-1]]
            items.append(stroke_on(LAYER["place"], points, closed=True))
    items += _openings(face, parts, place, k)
    items += _bands(plan, face, parts, place, k)
    items += _layers_line(face, parts, frame.area, k)
    return Sheet(
        f"{shell.title}: key to {face.label}",
        paper,
        shell.denominator,
        PART_LAYERS,
        tuple(items),
        frame.items,
        (cx, cy),
        number=SheetNumber(number, count),
    )


def _openings(face: FaceShape, parts: Sequence[Part], place: Place, k: float) -> list[Primitive]:
    items: list[Primitive] = []
    layer = LAYER["mark"]
    for opening in face.openings:
        start, segments = opening.path()
        x, y = place(start)
        dx, dy = x - start[0] * k, y - start[1] * k
        items.append(
            Stroke(
                layer.name,
                (x, y),
                scaled_segments(segments, k, dx, dy),
                layer.width_mm,
                closed=True,
                id=f"{opening.id}.key",
            )
        )
        marks = [
            p.mark
            for p in parts
            if opening.id in p.openings and p.role not in ON_WHOLE_FACE and p.face == face.id
        ]
        lines = [opening.id, *_in_rows(marks)]
        room_w, room_h = opening.width_mm * k * 0.9, opening.height_mm * k * 0.85
        size = min(
            MARK_MM,
            room_h / (1.7 * len(lines)),
            *(MARK_MM * room_w / max(lettering.width_mm(t, MARK_MM), 1e-6) for t in lines),
        )
        if size < SMALLEST_MARK_MM:
            items += _beside(face, opening, " ".join(lines), place, k)
            continue
        middle = opening.left_mm + opening.width_mm / 2.0, opening.sill_mm + opening.height_mm / 2.0
        mx, my = place(middle)
        top = my + 1.7 * size * (len(lines) - 1) / 2.0 - size / 2.0
        for row, text in enumerate(lines):
            at = (mx, top - 1.7 * size * row)
            items.append(Lettering("words", at, text, size, 0.0, "centre"))
    return items


def _beside(
    face: FaceShape, opening: OpeningShape, text: str, place: Place, k: float
) -> list[Primitive]:
    """Marks of a small opening: next to it on the wall, or led out of the wall where that ends."""
    right, middle = opening.right_mm, opening.sill_mm + opening.height_mm / 2.0
    high = MARK_MM / 2.0 / k
    needed = shapely.box(
        right, middle - high, right + (lettering.width_mm(text, MARK_MM) + 1.6) / k, middle + high
    )
    others = [o.area for o in face.openings if o.id != opening.id]
    x, y = place((right, middle))
    if face.area.contains(needed) and not needed.intersects(shapely.union_all(others)):
        return [Lettering("words", (x + 0.8, y - MARK_MM / 2.0), text, MARK_MM)]
    level = shapely.box(right, middle - high, face.box.right_mm + 1.0, middle + high)
    reach = level.intersection(shapely.union_all([face.area, *others])).bounds[2]
    end, _ = place((reach, middle))
    return [
        stroke_on(LAYER["place"], [(x, y), (end + 2.0, y)]),
        Lettering("words", (end + 2.8, y - MARK_MM / 2.0), text, MARK_MM),
    ]


def _in_rows(marks: Sequence[str]) -> list[str]:
    """Two marks to a row."""
    return [" ".join(marks[i : i + 2]) for i in range(0, len(marks), 2)]


def _bands(
    plan: CardPlan, face: FaceShape, parts: Sequence[Part], place: Place, k: float
) -> list[Primitive]:
    items: list[Primitive] = []
    box = face.box
    for band in plan.shell.wishes.of_face(face.id).bands:
        low, high = band_levels(plan.shell, face, band)
        corners = [
            (box.left_mm, low),
            (box.right_mm, low),
            (box.right_mm, high),
            (box.left_mm, high),
        ]
        items.append(stroke_on(LAYER["trim"], [place(c) for c in corners], closed=True))
        x, y = place((box.right_mm, (low + high) / 2.0))
        tall = place((box.right_mm, high))[1] - place((box.right_mm, low))[1]
        text = _band_words(band, parts)
        reach = (lettering.width_mm(text, MARK_MM) + 3.0) / k
        taken = shapely.box(box.right_mm - reach, low, box.right_mm, high)
        clear = not any(o.area.intersects(taken) for o in face.openings)
        if tall >= 1.5 * MARK_MM and clear and face.area.contains(taken):
            at = (x - 1.5, y - MARK_MM / 2.0)
            items.append(Lettering("words", at, text, MARK_MM, 0.0, "right"))
        else:
            # a low band has no room for words: they stand beside the wall
            items.append(Lettering("words", (x + 1.5, y - MARK_MM / 2.0), text, MARK_MM))
    return items


def _band_words(band: Band, parts: Sequence[Part]) -> str:
    marks = [p.mark for p in parts if p.role == "band" and p.name.startswith(f"{band.label},")]
    return f"{band.label} {_span(marks)}"


def _span(marks: Sequence[str]) -> str:
    """Marks in short: the first and last of a run."""
    if len(marks) <= 2:
        return " ".join(marks)
    return f"{marks[0]} to {marks[-1]}"


def _layers_line(face: FaceShape, parts: Sequence[Part], area: Box, k: float) -> list[Primitive]:
    whole = [f"{p.mark} {p.role}" for p in parts if p.role in ON_WHOLE_FACE]
    round_one = " Unrolled, as seen from outside." if isinstance(face.plan, RoundPlan) else ""
    text = f"On the whole face: {', '.join(whole)}.{round_one} Drawn {k:g} times the model's size."
    lines, size = lettering.fitted(text, 2.5, area.width_mm - 8.0, most_lines=3)
    return [
        Lettering(
            "words", (area.left_mm + 4.0, area.bottom_mm + 10.0 - 1.7 * size * row), line, size
        )
        for row, line in enumerate(lines)
    ]
