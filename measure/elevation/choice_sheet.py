"""The ways to fit an elevation to its plot, drawn small side by side, each with its cost.

Frame: millimetres of paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from measure.elevation import lettering
from measure.elevation.annotate import paper_primitives
from measure.elevation.drawing import ELEVATION_LAYERS, SHEET_LAYERS, Drawing, Item, Polyline
from measure.elevation.facade import Facade
from measure.elevation.fit import Choice
from measure.elevation.page import AREA_PAD_MM
from measure.elevation.paper import Paper, paper_named
from measure.elevation.path_geometry import Box
from measure.elevation.primitives import Lettering, Primitive, moved, stroke_around
from measure.elevation.sheet import Sheet, make_frame
from measure.elevation.title_block import TitleBlock

NAMES = {
    "reduce": "Everything smaller",
    "fewer-bays": "Bays left out",
    "narrow-piers": "Piers narrowed",
    "lower-storeys": "Storeys lowered",
    "fewer-storeys": "Storeys left out",
}
"""Words for the ways to fit."""

#: No more ways than this beside each other.
MOST_BESIDE = 3

#: Free strip between two ways.
GUTTER_MM = 8.0

TITLE_MM, TEXT_MM = 2.5, 1.8

PLOT_NOTE = "The dashed rectangle is the plot; what stands out of it does not fit."


@dataclass(frozen=True, slots=True)
class Way:
    """One picture of the sheet.

    Attributes
    ----------
    title : str
    facade : Facade
    denominator : float
        Of the scale it would be built to.
    lines : tuple of str
        What it costs.
    """

    title: str
    facade: Facade
    denominator: float
    lines: tuple[str, ...]

    @property
    def size_text(self) -> str:
        """Size on the model and scale."""
        wall = self.facade.wall_box
        width, height = wall.width_mm / self.denominator, wall.height_mm / self.denominator
        return f"{width:.1f} × {height:.1f} mm at 1:{self.denominator:.4g}"

    @property
    def below_mm(self) -> float:
        """How far openings reach below the wall, on the model."""
        lowest = min((each.sill_mm for each in self.facade.openings), default=0.0)
        return max(self.facade.wall_box.bottom_mm - lowest, 0.0) / self.denominator


def ways_of(facade: Facade, denominator: float, choices: Sequence[Choice]) -> list[Way]:
    """The elevation as it is, then each choice."""
    ways = [Way("As it is", facade, denominator, ("Does not fit the plot.",))]
    ways += [
        Way(f"{NAMES[each.kind]} ({each.kind})", each.facade, each.denominator, each.costs)
        for each in choices
    ]
    return ways


def make_choice_sheet(
    facade: Facade,
    denominator: float,
    choices: Sequence[Choice],
    block: TitleBlock,
    *,
    width_mm: float | None,
    height_mm: float | None,
    paper: Paper | None = None,
) -> Sheet:
    """Draw the choices side by side.

    Parameters
    ----------
    facade : Facade
        As it is.
    denominator : float
        Of the model's scale.
    choices : sequence of Choice
    block : TitleBlock
        Its scale is set to that of the pictures.
    width_mm, height_mm : float or None
        The plot, in millimetres of the model.
    paper : Paper, optional
        A4 lying for three pictures, A3 for more.

    Returns
    -------
    Sheet
    """
    ways = ways_of(facade, denominator, choices)
    if paper is None:
        paper = paper_named("A4" if len(ways) <= MOST_BESIDE else "A3")
    paper = paper.landscape()
    block = replace(block, notes=(*block.notes, PLOT_NOTE))
    room = make_frame(paper, block).area.grown(-AREA_PAD_MM)
    rows = -(-len(ways) // MOST_BESIDE)
    columns = -(-len(ways) // rows)
    cell_width = (room.width_mm - GUTTER_MM * (columns - 1)) / columns
    cell_height = (room.height_mm - GUTTER_MM * (rows - 1)) / rows
    captions = [_caption(way, cell_width) for way in ways]
    text_height = max(height for _, height in captions)
    share = _share(ways, (width_mm, height_mm), cell_width, cell_height - text_height - 3.0)
    block = replace(block, scale_denominator=denominator / share)
    drawn: list[Primitive] = []
    for number, (way, (caption, _)) in enumerate(zip(ways, captions, strict=True)):
        left = room.left_mm + (number % columns) * (cell_width + GUTTER_MM)
        top = room.top_mm - (number // columns) * (cell_height + GUTTER_MM)
        foot = top - cell_height + text_height + 3.0
        low = foot + share * max(each.below_mm for each in ways)
        drawn += _picture(way, share, (width_mm, height_mm), left, low)
        drawn += [moved(item, left, foot - 3.0) for item in caption]
    return Sheet(
        block.title,
        paper,
        block.scale_denominator,
        (*ELEVATION_LAYERS, *SHEET_LAYERS),
        tuple(sorted(drawn, key=lambda item: _RANK[item.layer])),
        make_frame(paper, block).items,
        (room.left_mm, room.bottom_mm),
    )


_RANK = {layer.name: number for number, layer in enumerate((*ELEVATION_LAYERS, *SHEET_LAYERS))}


def _share(
    ways: Sequence[Way], plot: tuple[float | None, float | None], width: float, height: float
) -> float:
    """Millimetres of paper to one of the model, so that every picture finds its cell."""
    walls = [(way.facade.wall_box, way.denominator) for way in ways]
    widest = max([wall.width_mm / scale for wall, scale in walls] + [plot[0] or 0.0])
    tallest = max([wall.height_mm / scale for wall, scale in walls] + [plot[1] or 0.0])
    tallest += max(way.below_mm for way in ways)
    return min(1.0, width / widest, height / tallest)


def _picture(
    way: Way, share: float, plot: tuple[float | None, float | None], left: float, foot: float
) -> list[Primitive]:
    """Outline, openings, and the plot behind them, with the lower left corner at a place."""
    items: list[Item] = [
        Polyline("outline", each.points_mm, closed=True, inferred_edges=each.inferred_edges)
        for each in way.facade.outlines[:1]
    ]
    wall = way.facade.wall_box
    if not items:
        corners = ((wall.left_mm, wall.bottom_mm), (wall.right_mm, wall.bottom_mm),
                   (wall.right_mm, wall.top_mm), (wall.left_mm, wall.top_mm))  # fmt: skip
        items.append(Polyline("outline", corners, closed=True))
    items += [each.path(id_="") for each in way.facade.openings]
    scale = way.denominator / share
    drawing = Drawing(way.title, ELEVATION_LAYERS, tuple(items))
    at = left - wall.left_mm / scale, foot - wall.bottom_mm / scale
    made = [moved(item, *at) for item in paper_primitives(drawing, scale)]
    width = share * plot[0] if plot[0] is not None else wall.width_mm / scale
    height = share * plot[1] if plot[1] is not None else wall.height_mm / scale
    dashed = next(layer for layer in ELEVATION_LAYERS if layer.name == "as-picked")
    rectangle = stroke_around(dashed, Box(left, foot, left + width, foot + height))
    return [replace(rectangle, layer="dimensions"), *made]


def _caption(way: Way, room_mm: float) -> tuple[list[Primitive], float]:
    """Words under a picture, from (0, 0) down, and how high they are."""
    lines = [(way.title, TITLE_MM), (way.size_text, TEXT_MM)]
    lines += [(line, TEXT_MM) for cost in way.lines for line in
              lettering.wrapped(cost, TEXT_MM, room_mm)]  # fmt: skip
    made: list[Primitive] = []
    y = 0.0
    for text, size in lines:
        y -= size
        made.append(Lettering("notes", (0.0, y), text, size))
        y -= 0.7 * size
    return made, -y
