"""The sheets that a model is made of, and how they lie upon each other in a wall.

Depth is millimetres of the model behind the finished face of the wall: the measured face
is the outside of the outermost layer.
"""

from __future__ import annotations

from dataclasses import dataclass

from measure.parts.materials import Material, find_material, own_materials
from shared.card_wishes import CardWishes
from shared.errors import FieldError


@dataclass(frozen=True, slots=True)
class WallLayer:
    """One layer of a wall.

    Attributes
    ----------
    role : {"skin", "overlay", "carcass"}
    material : Material
    outer_mm, inner_mm : float
        Depths of its two faces.
    """

    role: str
    material: Material
    outer_mm: float
    inner_mm: float

    @property
    def middle_mm(self) -> float:
        """Depth at which it neither stretches nor shrinks when folded or rolled."""
        return (self.outer_mm + self.inner_mm) / 2.0

    @property
    def thickness_mm(self) -> float:
        """Thickness of the sheet."""
        return self.inner_mm - self.outer_mm


@dataclass(frozen=True, slots=True)
class Workshop:
    """The sheets chosen.

    Attributes
    ----------
    layers : tuple of WallLayer
        From the outside in: skin, overlay, carcass; what is not wanted is left out.
    strip, former : Material
    film : Material or None
    glue_gap_mm : float
        Between two layers.
    papers : tuple of Material
        What projections can be built up from.
    """

    layers: tuple[WallLayer, ...]
    strip: Material
    former: Material
    film: Material | None
    glue_gap_mm: float
    papers: tuple[Material, ...]

    @property
    def thickness_mm(self) -> float:
        """Thickness of the whole wall."""
        return self.layers[-1].inner_mm

    @property
    def paper_mm(self) -> float:
        """What lies over the front edge of a reveal strip: the skin and its glue."""
        skin = next((layer for layer in self.layers if layer.role == "skin"), None)
        return 0.0 if skin is None else skin.inner_mm + self.glue_gap_mm

    @property
    def opening_grows_mm(self) -> float:
        """How much larger than true the holes in card are, so that the strip fits in."""
        return self.strip.thickness_mm + self.glue_gap_mm

    def layer(self, role: str) -> WallLayer:
        """One layer by its role; raises KeyError where the wall has none."""
        for layer in self.layers:
            if layer.role == role:
                return layer
        raise KeyError(role)


def make_workshop(wishes: CardWishes) -> Workshop:
    """Find the sheets that were wished for, the user's own first.

    Raises
    ------
    FieldError
        For a sheet nobody knows, or a glue gap as thick as the card.
    """
    own = own_materials(wishes)
    carcass = find_material(wishes.carcass, own)
    stack = [
        (role, find_material(key, own))
        for role, key in (("skin", wishes.skin), ("overlay", wishes.overlay))
        if key is not None
    ]
    stack.append(("carcass", carcass))
    gap = wishes.glue_gap_mm
    if gap >= carcass.thickness_mm:
        raise FieldError(
            f"A glue gap of {gap:g} mm is as thick as the {carcass.name} itself.",
            hint="White glue leaves 0.02 to 0.05 mm.",
        )
    layers, depth = [], 0.0
    for role, material in stack:
        layers.append(WallLayer(role, material, depth, depth + material.thickness_mm))
        depth += material.thickness_mm + gap
    strip = find_material(wishes.strip, own)
    former = find_material(wishes.former, own)
    at_hand = (*own, strip, former, *(m for _, m in stack))
    papers = {m.key: m for m in at_hand if m.use != "film"}
    return Workshop(
        tuple(layers),
        strip,
        former,
        None if wishes.film is None else find_material(wishes.film, own),
        gap,
        tuple(sorted(papers.values(), key=lambda m: m.thickness_mm)),
    )


@dataclass(frozen=True, slots=True)
class Projection:
    """A projection built up from paper and card.

    Attributes
    ----------
    wanted_mm, built_mm : float
    sheets : tuple of Material
        From the wall outwards, thickest first.
    """

    wanted_mm: float
    built_mm: float
    sheets: tuple[Material, ...]

    def outer_of(self, number: int, glue_gap_mm: float) -> float:
        """How far the outside of layer `number` (from 0) stands before the wall."""
        return sum(m.thickness_mm + glue_gap_mm for m in self.sheets[: number + 1])


def build_up(wanted_mm: float, papers: tuple[Material, ...], glue_gap_mm: float) -> Projection:
    """Round a projection to what the sheets at hand can build, in at most three layers.

    The nearest sum wins; of sums that differ by less than 0.02 mm the one of fewer layers.
    """
    best: tuple[float, int, tuple[Material, ...]] | None = None
    stacks: list[tuple[Material, ...]] = [(m,) for m in papers]
    for _ in range(3):
        for stack in stacks:
            built = sum(m.thickness_mm + glue_gap_mm for m in stack)
            off = abs(built - wanted_mm)
            if best is None or off < best[0] - (0.02 if len(stack) > best[1] else 0.0):
                best = (off, len(stack), stack)
        stacks = [(*s, m) for s in stacks for m in papers if m.thickness_mm <= s[-1].thickness_mm]
    if best is None:
        raise FieldError("No sheet is at hand to build a projection from; name a strip paper.")
    chosen = best[2]
    return Projection(wanted_mm, sum(m.thickness_mm + glue_gap_mm for m in chosen), chosen)
