"""How a survey is to be cut from card: what the user chose, as it stands in the survey file.

It knows names and millimetres, not geometry. Lengths of the building (reveals, bands,
sills, extents) are full size; thicknesses, gaps, tabs and margins are of the model.
"""

from __future__ import annotations

from collections import Counter
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

Name = Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[^\s/\\<>\"'&]+$")]
Words = Annotated[str, Field(max_length=400)]
FullSize = Annotated[float, Field(gt=0, lt=1e6, allow_inf_nan=False)]
Level = Annotated[float, Field(gt=-1e6, lt=1e6, allow_inf_nan=False)]
Small = Annotated[float, Field(ge=0, lt=100, allow_inf_nan=False)]
Thickness = Annotated[float, Field(ge=0.01, le=20, allow_inf_nan=False)]
Degrees = Annotated[float, Field(ge=-360, le=360, allow_inf_nan=False)]
CornerKind = Literal["wrapped", "butt", "mitred"]
SheetUse = Literal["carcass", "overlay", "skin", "strip", "former", "film"]


class CardPart(BaseModel):
    """Base: frozen, and refuses keys it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class OwnSheet(CardPart):
    """A sheet material of the user's own, measured as a stack.

    ``stack_mm`` is the thickness of ``sheets`` sheets on top of each other.
    """

    key: Name
    name: Words
    stack_mm: float = Field(gt=0, lt=1000, allow_inf_nan=False)
    sheets: int = Field(default=10, ge=1, le=1000)
    use: SheetUse = "carcass"


class Extent(CardPart):
    """Where a face ends, where its outline was not measured or is to be another.

    Levels count from the face's datum, left and right along its chart. ``eaves_mm`` is where
    a wall ends beside its gable; without a gable it is the head.
    """

    foot_mm: Level | None = None
    head_mm: Level | None = None
    eaves_mm: Level | None = None
    left_mm: Level | None = None
    right_mm: Level | None = None


class Band(CardPart):
    """A plinth, string course or cornice that stands out of the wall.

    Without ``left_mm`` and ``right_mm`` it runs the whole width.
    """

    label: Words = "string course"
    foot_mm: Level
    head_mm: Level
    out_mm: FullSize
    left_mm: Level | None = None
    right_mm: Level | None = None

    @model_validator(mode="after")
    def _has_height(self) -> Band:
        if self.head_mm <= self.foot_mm:
            raise ValueError(f"the band '{self.label}' needs its head above its foot")
        return self


class Sill(CardPart):
    """The sills of windows: how far out, how high, how far beyond the jambs."""

    out_mm: FullSize = 50.0
    height_mm: FullSize = 120.0
    beyond_mm: float = Field(default=90.0, ge=0, lt=1e5, allow_inf_nan=False)


class Panes(CardPart):
    """Panes of a window, across and up, and the width of the bars between them."""

    across: int = Field(ge=1, le=40)
    up: int = Field(ge=1, le=40)
    bar_mm: FullSize = 25.0


class OpeningWish(CardPart):
    """What is to be done otherwise at one opening.

    ``fill`` is what stands in it, panes or a board; a ``blind`` one is printed, not cut.
    """

    reveal_mm: FullSize | None = None
    panes: Panes | None = None
    fill: Literal["panes", "board"] | None = None
    sill: bool | None = None
    blind: bool = False


class TowerWish(CardPart):
    """How a tower is rolled.

    ``meets`` names the wall that ends at it. ``arc`` is "shows" (from that wall round
    to the back), "full", or the first and last angle in degrees, counted to the right
    from the line that faces the way the main wall does.
    """

    meets: Name | None = None
    side: Literal["left", "right"] | None = None
    arc: Literal["shows", "full"] | tuple[Degrees, Degrees] = "shows"
    former: Literal["disc", "ring"] = "disc"
    slip_mm: Small = 0.1
    strip_course_mm: FullSize | None = None


class FaceWish(CardPart):
    """What is to be done otherwise with one face."""

    corner: CornerKind | None = None
    extent: Extent | None = None
    bands: tuple[Band, ...] = ()
    sill: Sill | None = None
    reveal_mm: FullSize | None = None
    panes: Panes | None = None
    openings: dict[Name, OpeningWish] = Field(default_factory=dict)
    tower: TowerWish = TowerWish()


class PrintedBars(CardPart):
    """What the bars of an uncorrected print measured, across the sheet and up it."""

    bar_mm: Literal[100, 150] = 150
    across_mm: float = Field(allow_inf_nan=False)
    up_mm: float = Field(allow_inf_nan=False)


class PinnedPart(CardPart):
    """A part that stays where the user put it; the others are laid around it.

    ``left_mm`` and ``bottom_mm`` are those of its box, lettering and all, once turned by
    ``quarters`` anticlockwise; they count from the lower left corner of the free area of the
    sheet. ``sheet`` counts the sheets of the part's material from 1, ``copy_number`` the parts
    of one mark.
    """

    mark: Name
    copy_number: int = Field(default=1, ge=1, le=10_000)
    sheet: int = Field(ge=1, le=200)
    left_mm: Level
    bottom_mm: Level
    quarters: int = Field(default=0, ge=0, le=3)


class LeftOutPart(CardPart):
    """A part that is not laid, so not cut: ``copies`` of its mark, or all where it is null."""

    mark: Name
    copies: int | None = Field(default=None, ge=1, le=10_000)


class CardWishes(CardPart):
    """Everything that decides how a survey becomes sheets of parts.

    ``overlay``, ``skin`` and ``film`` may be null: then that layer is left out.
    """

    faces: tuple[Name, ...] = ()
    carcass: Name = "folding-carton"
    overlay: Name | None = "thin-card"
    skin: Name | None = "label-paper"
    strip: Name = "office-paper"
    former: Name = "greyboard-1"
    film: Name | None = "clear-film"
    own_sheets: tuple[OwnSheet, ...] = Field(default=(), max_length=200)
    glue_gap_mm: Small = 0.03
    corner: CornerKind = "wrapped"
    tabs: bool = False
    tab_mm: Annotated[float, Field(gt=1, lt=50, allow_inf_nan=False)] = 5.0
    reveal_mm: FullSize = 100.0
    panes: Panes = Panes(across=2, up=3)
    sill: Sill | None = None
    by_face: dict[Name, FaceWish] = Field(default_factory=dict)
    paper: Words = "A4"
    margin_mm: float = Field(default=10.0, ge=0, lt=1000, allow_inf_nan=False)
    spacing_mm: Small = 2.0
    bleed_mm: Small = 2.0
    print_skins: bool = True
    skin_dpi: float = Field(default=300.0, ge=50, le=1200, allow_inf_nan=False)
    printed_bars: PrintedBars | None = None
    pinned: tuple[PinnedPart, ...] = Field(default=(), max_length=2000)
    left_out: tuple[LeftOutPart, ...] = Field(default=(), max_length=2000)

    @model_validator(mode="after")
    def _pinned_once(self) -> CardWishes:
        pins = Counter((pin.mark, pin.copy_number) for pin in self.pinned)
        for (mark, _), count in pins.items():
            if count > 1:
                raise ValueError(f"part {mark} is pinned twice: keep one place")
        return self

    @model_validator(mode="after")
    def _left_out_once(self) -> CardWishes:
        for mark, count in Counter(each.mark for each in self.left_out).items():
            if count > 1:
                raise ValueError(f"part {mark} is left out twice: name it once, with its copies")
        return self

    def of_face(self, face_id: str) -> FaceWish:
        """Wishes for one face; plain ones where there are none."""
        return self.by_face.get(face_id, FaceWish())
