"""What the page sends, checked. Numbers are finite and of a sensible size."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from shared.survey_drawing import Completion, MovedLine
from shared.survey_part import Identifier

Tab = Annotated[str, Field(min_length=8, max_length=64, pattern=r"^[0-9A-Za-z-]+$")]
Number = Annotated[float, Field(allow_inf_nan=False, gt=-1e9, lt=1e9)]
Name = Annotated[str, Field(min_length=1, max_length=80)]
Stamp = Annotated[str, Field(min_length=1, max_length=40)]


class Payload(BaseModel):
    """Base: refuses keys it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class DocumentOnly(Payload):
    """A document to be answered; `quick` while a pick is being dragged."""

    document: dict[str, Any]
    quick: bool = False


class Saving(Payload):
    """A document to be saved, with the revision it started from and the tab that asks."""

    document: dict[str, Any]
    revision: int = Field(ge=0, le=2**53)
    tab: Tab


class Holding(Payload):
    """A tab that wants to hold a survey."""

    tab: Tab
    take_over: bool = False


class LettingGo(Payload):
    """A tab that gives a survey up."""

    tab: Tab


class Typed(Payload):
    """A length as somebody typed it."""

    text: str = Field(max_length=200)


class Carrying(Payload):
    """Points to be carried from the photo to the wall or back."""

    stamp: Stamp
    face: Name
    to: Literal["chart", "photo"]
    points: list[tuple[Number, Number]] = Field(max_length=2000)


class Snapping(Payload):
    """A rough click to be drawn to a corner or an edge."""

    photo: Name
    point: tuple[Number, Number]
    radius: float = Field(gt=0, le=1e6, allow_inf_nan=False)


class OfFace(Payload):
    """A face of an answer."""

    stamp: Stamp
    face: Name


class How(Payload):
    """How a drawing is set on paper."""

    paper: str = Field(default="A4", max_length=40)
    landscape: bool = True
    hidden: list[str] = Field(default_factory=list, max_length=40)


class Drawing(Payload):
    """A face to be drawn."""

    document: dict[str, Any]
    face: Name
    how: How = How()


class Dragging(Payload):
    """Lines of a face as they stand while one of them is dragged: all that are moved."""

    stamp: Stamp
    face: Name
    moved: list[MovedLine] = Field(max_length=2000)


class Choosing(OfFace):
    """Openings of a face to be mirrored or repeated by handles."""

    of: list[Identifier] = Field(max_length=2000)


class Trying(OfFace):
    """A completion in hand. A bay in hand may have no copy, which is refused in words."""

    wish: Completion
    count: int | None = Field(default=None, ge=0, le=200)


class Exporting(Payload):
    """A face to be written to a file."""

    document: dict[str, Any]
    face: Name
    format: Literal["svg", "dxf", "pdf", "png", "csv", "zip"]
    how: How = How()


class Restoring(Payload):
    """An earlier version to go back to."""

    name: str = Field(min_length=1, max_length=200)
    tab: Tab
