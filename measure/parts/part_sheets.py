"""Parts laid on sheets of paper, one material to a sheet, ready for the exporters."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import affinity

from measure.elevation import lettering
from measure.elevation.paper import Paper, paper_named
from measure.elevation.path_geometry import Box, LineSegment
from measure.elevation.picture import SheetPicture
from measure.elevation.primitives import Lettering, Primitive, Stroke
from measure.elevation.sheet import Sheet
from measure.elevation.title_block import SheetNumber
from measure.parts.blanks import Blank, Placement, blanks_of
from measure.parts.card_plan import CardPlan
from measure.parts.left_out import without_left_out
from measure.parts.materials import Material
from measure.parts.nesting import Report, nest
from measure.parts.part import (
    Part,
    PartLine,
    PartWords,
    moved_line,
    moved_words,
    polygon_of,
)
from measure.parts.part_frame import (
    HATCH_MM,
    LAYER,
    PART_LAYERS,
    make_part_frame,
    part_area,
    pricked_ends,
)
from measure.parts.pieces import pieces_of
from measure.parts.pinned import find_pinned
from measure.parts.printer import Correction
from measure.parts.skin_print import PhotoOfFace, pictures_on, unseen_share
from shared.model_scales import format_scale

#: Share of a skin that the photo does not show from which on it is worth a sentence.
WORTH_FILLING = 0.05

_ORDER = ("carcass", "overlay", "skin", "strip", "former", "film")


@dataclass(frozen=True, slots=True)
class LaidSheet:
    """One sheet of parts.

    Attributes
    ----------
    sheet : Sheet
        Uncorrected: one unit is one millimetre of the part.
    material : Material
    marks : tuple of str
        Of the parts on it, each copy once.
    number : int
        Among the sheets of its material, from 1; a sheet without parts is left out.
    area : Box
        Room for parts.
    parts : tuple of LaidPart
    cautions : tuple of str
    """

    sheet: Sheet
    material: Material
    marks: tuple[str, ...]
    number: int
    area: Box
    parts: tuple[LaidPart, ...]
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LaidPart:
    """One part on a sheet.

    Attributes
    ----------
    part : Part
    copy_number : int
        Of the parts of its mark, from 1.
    quarters : int
        Quarter turns anticlockwise.
    left_mm, bottom_mm : float
        Of its box, turned, from the lower left corner of the free area.
    shape : shapely geometry
        What it takes of the sheet, in the same frame.
    """

    part: Part
    copy_number: int
    quarters: int
    left_mm: float
    bottom_mm: float
    shape: shapely.Geometry


def lay_parts(
    plan: CardPlan,
    correction: Correction,
    report: Report | None = None,
    photo: PhotoOfFace | None = None,
) -> tuple[tuple[LaidSheet, ...], tuple[Part, ...]]:
    """Lay all parts of a plan on sheets.

    Parameters
    ----------
    plan : CardPlan
    correction : Correction
        Leaves so much room that the corrected sheet stays within its margins.
    report : callable, optional
    photo : callable, optional
        Gives the straightened photo that is printed on skins.

    Returns
    -------
    sheets : tuple of LaidSheet
    parts : tuple of Part
        Those that were laid: parts too large for a sheet are in pieces here. One that is left
        out has the count 0.
    """
    wishes = plan.shell.wishes
    paper = paper_named(wishes.paper).portrait()
    _, area = part_area(paper, wishes.margin_mm, correction)
    by_material: dict[str, list[Part]] = {}
    pieces = pieces_of(plan, area.width_mm, area.height_mm)
    pieces, told = without_left_out(pieces, wishes.left_out)
    for piece in pieces:
        by_material.setdefault(piece.material.key, []).append(piece)
    keys = sorted(by_material, key=lambda key: _rank(by_material[key]))
    laid: list[tuple[Material, int, list[LaidPart]]] = []
    idle = list(wishes.pinned)
    for step, key in enumerate(keys):
        parts = by_material[key]

        def tell(what: str, share: float, step: int = step) -> bool | None:
            return report(what, (step + share) / len(keys)) if report else None

        blanks, owners = blanks_of(parts)
        room = area.width_mm, area.height_mm, wishes.spacing_mm
        pinned, used = find_pinned(wishes.pinned, blanks, owners, *room)
        idle = [pin for pin in idle if pin not in used]
        places = nest(blanks, *room, tell, pinned)
        for number in range(max((p.sheet for p in places), default=-1) + 1):
            on = _laid_on(number, places, blanks, owners)
            if on:
                laid.append((parts[0].material, number + 1, on))
    sheets = tuple(
        _sheet(plan, paper, area, correction, material, on, (own, number, len(laid)), photo)
        for number, (material, own, on) in enumerate(laid, start=1)
    )
    if idle:
        named = ", ".join(dict.fromkeys(pin.mark for pin in idle))
        said = f"A place is kept for {named}, but no part bears that mark now."
        told = (*told, said)
    if told:
        sheets = (replace(sheets[0], cautions=(*sheets[0].cautions, *told)), *sheets[1:])
    return sheets, tuple(part for key in keys for part in by_material[key])


def _laid_on(
    number: int, places: Sequence[Placement], blanks: Sequence[Blank], owners: Sequence[Part]
) -> list[LaidPart]:
    """Parts on one sheet, in the order of the blanks."""
    return [
        LaidPart(
            part,
            blank.copy_number,
            place.quarters,
            place.left_mm,
            place.bottom_mm,
            blank.placed(place),
        )
        for place, blank, part in zip(places, blanks, owners, strict=True)
        if place.sheet == number
    ]


def _rank(parts: Sequence[Part]) -> tuple[int, float]:
    use = parts[0].material.use
    return _ORDER.index(use) if use in _ORDER else len(_ORDER), parts[0].material.thickness_mm


def _sheet(
    plan: CardPlan,
    paper: Paper,
    area: Box,
    correction: Correction,
    material: Material,
    on: Sequence[LaidPart],
    numbers: tuple[int, int, int],
    photo: PhotoOfFace | None,
) -> LaidSheet:
    shell = plan.shell
    own_number, number, count = numbers
    frame = make_part_frame(
        paper,
        shell.wishes.margin_mm,
        correction,
        title=shell.title or "Untitled building",
        holds=f"{material.name}, {round(material.thickness_mm, 3):g} mm",
        number=number,
        count=count,
        scale=f"Parts of a model at {format_scale(shell.denominator)}",
    )
    items: list[Primitive] = []
    pictures: list[SheetPicture] = []
    cautions: list[str] = []
    for each in on:
        part = each.part
        x, y = area.left_mm + each.left_mm, area.bottom_mm + each.bottom_mm
        items += part_primitives(part, each.quarters, x, y)
        if photo is not None and part.pictures and each.quarters == 0:
            dx, dy = x - part.area.bounds[0], y - part.area.bounds[1]
            dpi = shell.wishes.skin_dpi
            printed = pictures_on(part, dx, dy, photo, shell.denominator, dpi)
            unseen = unseen_share(printed, part.area)
            if unseen > WORTH_FILLING:
                cautions.append(
                    f"The photo shows no more than {100 * (1 - unseen):.0f} % of the skin "
                    f"{part.mark}: fill the rest from paper of the same brick or stone."
                )
            pictures += printed
    sheet = Sheet(
        f"{shell.title}: parts, {material.name}",
        paper,
        shell.denominator,
        PART_LAYERS,
        tuple(items),
        frame.items,
        (area.left_mm, area.bottom_mm),
        number=SheetNumber(number, count),
        pictures=tuple(pictures),
    )
    marks = tuple(each.part.mark for each in on)
    return LaidSheet(sheet, material, marks, own_number, area, tuple(on), tuple(cautions))


def part_primitives(part: Part, quarters: int, left_mm: float, bottom_mm: float) -> list[Primitive]:
    """Lines and lettering of one part, its box's lower left corner at a place of the sheet."""
    lines = [moved_line(line, quarters, 0.0, 0.0) for line in part.lines]
    words = [moved_words(each, quarters, 0.0, 0.0) for each in part.words]
    turned = replace(part, lines=tuple(lines), words=()).area
    boxes = [shapely.box(*turned.bounds), *(_turned_area(w, quarters) for w in part.words)]
    bounds = shapely.union_all(boxes).bounds
    dx, dy = left_mm - bounds[0], bottom_mm - bounds[1]
    items: list[Primitive] = []
    for line in lines:
        items += line_primitives(moved_line(line, 0, dx, dy))
    for each in words:
        items.append(words_primitive(moved_words(each, 0, dx, dy)))
    return items


def _turned_area(words: PartWords, quarters: int) -> shapely.Geometry:
    return affinity.rotate(words.area, 90 * quarters, origin=(0, 0))


def words_primitive(words: PartWords) -> Lettering:
    """Lettering centred on its place, small enough for its room."""
    size = words.fitted_size_mm
    return Lettering(
        "words", words.at_mm, lettering.clean(words.text), size, words.angle_rad, "centre"
    )


def line_primitives(line: PartLine) -> list[Primitive]:
    """Stroke of a line on the layer of its use; what is glued is hatched, pricked ends ringed."""
    layer = LAYER[line.use]
    if line.use == "glue":
        return list(_hatched(line)) if line.closed else []
    stroke = Stroke(
        layer.name,
        line.start_mm,
        line.segments,
        layer.width_mm,
        layer.line_kind,
        line.closed,
        line.id,
    )
    return [stroke, *(pricked_ends(stroke) if line.use == "score-back" else ())]


def _hatched(line: PartLine) -> Iterable[Primitive]:
    """Slanting lines over the area inside a line, clear of its edge."""
    shape = polygon_of(line).buffer(-0.4)
    if shape.is_empty:
        return
    layer = LAYER["glue"]
    left, low, right, high = shape.bounds
    step = HATCH_MM * math.sqrt(2.0)
    start = left - (high - low)
    for number in range(int((right - start) / step) + 1):
        x = start + number * step
        run = shapely.LineString([(x, low), (x + high - low, high)]).intersection(shape)
        for piece in shapely.get_parts(run):
            if piece.length > 0.1:
                ends = piece.coords
                yield Stroke(
                    layer.name, ends[0], (LineSegment(ends[-1]),), layer.width_mm, layer.line_kind
                )
