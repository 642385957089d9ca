"""How the straightened photo of a face is made into a skin to print.

Lengths are millimetres of the building, except the bleed, which is of the model.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from shared.survey_part import Finite, Identifier, Length, Part, PickField


class PaintOut(Part):
    """Something before the wall, painted over with what the wall shows elsewhere.

    ``at`` are picks around it. The picture is taken ``shift_mm`` further along the wall, or
    as far as it is from the first opening in ``bays`` to the second, or from the other side of
    a plumb axis picked at ``axis_at``.
    """

    at: Annotated[tuple[PickField, ...], Field(min_length=3, max_length=200)]
    shift_mm: Finite | None = None
    bays: Annotated[tuple[Identifier, ...], Field(max_length=2)] = ()
    axis_at: PickField | None = None
    blend_mm: Annotated[float, Field(ge=0, lt=1e5, allow_inf_nan=False)] = 30.0

    @model_validator(mode="after")
    def _one_source(self) -> PaintOut:
        given = [self.shift_mm is not None, bool(self.bays), self.axis_at is not None]
        if sum(given) != 1:
            raise ValueError(
                "what is painted out needs one place to take the picture from: shift_mm, bays or "
                "axis_at"
            )
        if self.bays and len(set(self.bays)) != 2:
            raise ValueError("what is painted out needs two different openings in 'bays'")
        return self


class SkinWishes(Part):
    """The skin of one face.

    With ``even_light`` what changes over more than ``reach_mm`` is taken for shade and evened.
    ``neutral`` are picks around something grey or white, by which colours are balanced.
    """

    even_light: bool = True
    reach_mm: Length = 1500.0
    neutral: Annotated[tuple[PickField, ...], Field(max_length=200)] = ()
    paint_out: Annotated[tuple[PaintOut, ...], Field(max_length=100)] = ()
    bleed_mm: Annotated[float, Field(ge=0, le=50, allow_inf_nan=False)] = 2.0

    @model_validator(mode="after")
    def _area(self) -> SkinWishes:
        if 0 < len(self.neutral) < 3:
            raise ValueError("what is neutral needs at least 3 picks around it")
        return self
