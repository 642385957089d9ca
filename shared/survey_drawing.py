"""How the elevation of a face is to be drawn: what the user wishes beyond what was measured.

Lining up (`Together`, `Apart`), lines drawn elsewhere (`MovedLine`), completing what the photo
does not show (`Completion`), the trade's vocabulary of a wall (`shared.survey_details`) and the
plot it must fit. All lengths are millimetres of the building, except the plot, which is of the
model.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from shared.survey_details import Detail
from shared.survey_part import Finite, Identifier, Length, Part, PickField, Uncertainty
from shared.survey_skin import SkinWishes

Side = Literal["left", "right"]
Lined = Literal[
    "sill",
    "springing",
    "head",
    "level",
    "plumb",
    "centre",
    "width",
    "height",
    "rise",
    "spacing",
]
Names = Annotated[tuple[Identifier, ...], Field(max_length=2000)]
SomeNames = Annotated[tuple[Identifier, ...], Field(min_length=1, max_length=2000)]


class Together(Part):
    """Sizes that are one, whatever the picks say.

    ``of`` names openings; for ``level`` also measures of levels and single lines such as
    ``w1.sill``, for ``plumb`` corners of an outline such as ``o1.3``; for ``spacing`` the
    openings in their order along the wall. With ``at_mm`` the value itself is given.
    """

    what: Lined
    of: SomeNames
    at_mm: Finite | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Together:
        least = 1 if self.at_mm is not None else 2
        if self.what == "spacing":
            least += 1
        if len(set(self.of)) < least:
            raise ValueError(
                f"a {self.what} put together needs at least {least} different names in 'of'"
            )
        if self.what in ("plumb", "centre") and self.at_mm is not None:
            raise ValueError(f"a {self.what} line has no place of its own: leave out 'at_mm'")
        size = self.what in ("width", "height", "rise", "spacing")
        if size and self.at_mm is not None and self.at_mm <= 0:
            raise ValueError(f"a {self.what} of {self.at_mm:g} mm: give one above 0")
        return self


class Apart(Part):
    """Sizes that are never to be made one, though they agree."""

    what: Lined
    of: Annotated[tuple[Identifier, ...], Field(min_length=2, max_length=2000)]


class MovedLine(Part):
    """A level or a plumb line drawn somewhere else than it was measured.

    ``of`` names what stands on it: ``w1.sill``, ``w1.springing``, ``w1.head``, ``h1.level`` or
    ``o1.3.v`` for a level, ``w1.left``, ``w1.right`` or ``o1.3.u`` for a plumb line. It goes
    to ``to_mm``, above the datum or from the left edge of the drawing as lined up, or onto the
    line of ``onto``, a name of the same kind. Nothing else moves with it.
    """

    what: Literal["level", "plumb"]
    of: SomeNames
    to_mm: Finite | None = None
    onto: Identifier | None = None

    @model_validator(mode="after")
    def _one_place(self) -> MovedLine:
        if (self.to_mm is None) == (self.onto is None):
            raise ValueError("a moved line needs one place: 'to_mm' or 'onto'")
        if self.onto in self.of:
            raise ValueError(f"'{self.onto}' cannot be put onto itself")
        return self


class AboutAxis(Part):
    """A plumb axis: picked in the photo, given, through an opening, midway, or found.

    ``axis_mm`` counts from the left edge of the drawing as measured. ``axis_of`` names one
    opening whose centre line it is, or two with the axis midway. With none of the three it is
    found from the openings.
    """

    axis_at: PickField | None = None
    axis_mm: Finite | None = None
    axis_of: Annotated[tuple[Identifier, ...], Field(max_length=2)] = ()

    @model_validator(mode="after")
    def _one_axis(self) -> AboutAxis:
        given = [self.axis_at is not None, self.axis_mm is not None, bool(self.axis_of)]
        if sum(given) > 1:
            raise ValueError("the axis is given twice: keep one of axis_at, axis_mm and axis_of")
        return self


class MirrorCompletion(AboutAxis):
    """Openings repeated on the other side of an axis; those that find one there stay single.

    ``of`` names them; without names all openings of the side with more of them are taken.
    """

    kind: Literal["mirror"]
    of: Names = ()


class HalfCompletion(AboutAxis):
    """Everything on one side of an axis is replaced by the mirror image of the other."""

    kind: Literal["half"]
    keep: Side


class RepeatCompletion(Part):
    """A bay repeated along the wall.

    ``spacing_mm`` from centre line to centre line; without it, the spacing that the openings
    named have to their neighbours. With ``push`` what stands further along is moved over,
    otherwise the copies go where the wall is, and lengthen it where it ends.
    """

    kind: Literal["repeat"]
    of: SomeNames
    count: int = Field(gt=0, le=200)
    spacing_mm: Length | None = None
    towards: Side = "right"
    push: bool = False


class CopyCompletion(Part):
    """One opening put somewhere else, by a pick in the photo or by its centre line and sill.

    A pick is the middle of the new sill. ``centre_mm`` counts from the left edge of the
    drawing as measured, ``sill_mm`` from the datum; without it the sill keeps its level.
    """

    kind: Literal["copy"]
    of: Identifier
    at: PickField | None = None
    centre_mm: Finite | None = None
    sill_mm: Finite | None = None

    @model_validator(mode="after")
    def _one_place(self) -> CopyCompletion:
        if (self.at is None) == (self.centre_mm is None):
            raise ValueError(
                f"the copy of '{self.of}' needs one place: a pick in 'at', or 'centre_mm'"
            )
        return self


class StoreysCompletion(Part):
    """A storey repeated upwards; what stands above it moves up.

    ``height_mm`` from floor to floor; without it, from this row of sills to the next above or
    below.
    """

    kind: Literal["storeys"]
    of: SomeNames
    count: int = Field(gt=0, le=100)
    height_mm: Length | None = None


Completion = Annotated[
    MirrorCompletion | HalfCompletion | RepeatCompletion | CopyCompletion | StoreysCompletion,
    Field(discriminator="kind"),
]


class PlotFit(Part):
    """The plot on the layout that the elevation must fit, in millimetres of the model."""

    width_mm: Length | None = None
    height_mm: Length | None = None
    choice: Literal["reduce", "fewer-bays", "narrow-piers", "lower-storeys", "fewer-storeys"]
    keep_true: bool = True

    @model_validator(mode="after")
    def _has_a_size(self) -> PlotFit:
        if self.width_mm is None and self.height_mm is None:
            raise ValueError("the plot needs its width_mm, its height_mm, or both")
        return self


class FaceDrawing(Part):
    """Everything about the drawing of one face that was not measured.

    ``out_of_true_mm`` is how far brickwork may stray from its line beside the ±; it is added
    to the ± when asking what agrees.
    """

    tidy: bool = True
    together: Annotated[tuple[Together, ...], Field(max_length=2000)] = ()
    apart: Annotated[tuple[Apart, ...], Field(max_length=2000)] = ()
    moved: Annotated[tuple[MovedLine, ...], Field(max_length=2000)] = ()
    out_of_true_mm: Uncertainty = 0.0
    completions: Annotated[tuple[Completion, ...], Field(max_length=500)] = ()
    details: Annotated[tuple[Detail, ...], Field(max_length=500)] = ()
    plot: PlotFit | None = None
    skin: SkinWishes | None = None
