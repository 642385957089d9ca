"""All parts of a plan as a sheet can hold them: large ones in pieces, layer over layer."""

from __future__ import annotations

from measure.elevation.path_geometry import Point
from measure.parts.card_plan import CardPlan
from measure.parts.joints import Joint, fit_to_sheet, joints_of
from measure.parts.part import Part

#: Strips behind a joint of a wrap end this far from its formers.
FORMER_CLEAR_MM = 0.5

#: Layers that are glued onto another one.
_LAID_ON = ("overlay", "skin")


def pieces_of(plan: CardPlan, width_mm: float, height_mm: float) -> list[Part]:
    """Parts of a plan cut to the room on a sheet.

    Parameters
    ----------
    plan : CardPlan
    width_mm, height_mm : float

    Returns
    -------
    list of Part
        In the order of their marks; joints of layers that lie on each other are staggered.

    Raises
    ------
    FieldError
        For a part that would take more than 64 pieces.
    """
    made: list[Part] = []
    below: list[tuple[Part, list[Joint]]] = []
    for part in plan.parts:
        under: list[Joint] = []
        for other, joints in below if part.role in _LAID_ON else ():
            shift = _shift_mm(other, part)
            if shift is not None:
                under += [(axis, at + shift[axis]) for axis, at in joints]
        formers: list[tuple[float, float]] = []
        if part.role == "wrap":
            thickness = plan.shell.workshop.former.thickness_mm
            formers = [
                (level - FORMER_CLEAR_MM, level + thickness + FORMER_CLEAR_MM)
                for level in plan.towers[part.face].former_levels_mm
            ]
        pieces = fit_to_sheet(part, width_mm, height_mm, under, formers)
        cut = [piece for piece in pieces if "/" in piece.mark]
        if cut and part.role in ("carcass", "wrap", *_LAID_ON):
            below.append((part, joints_of(cut)))
        made += pieces
    return made


def _shift_mm(below: Part, above: Part) -> Point | None:
    """From the frame of one layer to that of another: by an opening that both have."""
    for opening in below.openings:
        places = [
            line.box.centre_mm
            for part in (below, above)
            for line in part.lines
            if line.id == f"{part.mark}.{opening}"
        ]
        if len(places) == 2:
            return places[1][0] - places[0][0], places[1][1] - places[0][1]
    return (0.0, 0.0) if below.face == above.face else None
