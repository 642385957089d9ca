"""What every part of a survey is made of: the frozen base, kinds of text and number, a pick."""

from __future__ import annotations

import math
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer

Identifier = Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[^\s/\\<>\"'&]+$")]
Finite = Annotated[float, Field(allow_inf_nan=False)]
Length = Annotated[float, Field(gt=0, lt=1e7, allow_inf_nan=False)]
Uncertainty = Annotated[float, Field(ge=0, lt=1e7, allow_inf_nan=False)]
SetBack = Annotated[float, Field(gt=-1e6, lt=1e6, allow_inf_nan=False)]
Label = Annotated[str, Field(max_length=400)]


class Part(BaseModel):
    """Base of every part of a survey: frozen, and refuses keys it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Pick(Part):
    """One point clicked in a photo.

    ``u_px`` is the standard uncertainty of the click in each direction; None
    means clicked by hand (1 px).
    """

    x: float = Field(allow_inf_nan=False, gt=-1e6, lt=1e6)
    y: float = Field(allow_inf_nan=False, gt=-1e6, lt=1e6)
    u_px: float | None = Field(default=None, gt=0, lt=1e4, allow_inf_nan=False)


def _pick_from_list(raw: Any) -> Any:
    if isinstance(raw, Pick):
        return raw
    if isinstance(raw, (list, tuple)) and len(raw) in (2, 3):
        numbers = [n for n in raw if isinstance(n, (int, float)) and not isinstance(n, bool)]
        if len(numbers) == len(raw) and all(math.isfinite(n) for n in numbers):
            return dict(zip(("x", "y", "u_px"), numbers, strict=False))
    raise ValueError("a pick is [x, y] or [x, y, u_px], in pixels")


def _pick_to_list(pick: Pick) -> list[float]:
    return [pick.x, pick.y] if pick.u_px is None else [pick.x, pick.y, pick.u_px]


PickField = Annotated[
    Pick,
    BeforeValidator(_pick_from_list),
    PlainSerializer(_pick_to_list, return_type=list[float]),
]

Picks = tuple[PickField, ...]
TwoPicks = Annotated[Picks, Field(min_length=2, max_length=2)]
TwoOrMore = Annotated[Picks, Field(min_length=2, max_length=200)]
