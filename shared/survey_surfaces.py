"""What a face of the survey is: a wall, a round tower, a roof slope, and what places it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from shared.survey_part import (
    Identifier,
    Length,
    Part,
    SetBack,
    TwoOrMore,
    TwoPicks,
    Uncertainty,
)


class Hinge(Part):
    """A plumb line that this wall shares with another face."""

    face: Identifier
    at: TwoOrMore


class WallSurface(Part):
    """A plane wall; with a hinge it is a wing at an angle to another face.

    A wall ``parallel_to`` another lies ``set_back_mm`` behind it, negative where it stands
    forward. Each of ``returns`` is an edge that runs straight back from the one to the other:
    its pick on that other wall, then its pick on this one.
    """

    kind: Literal["wall"] = "wall"
    hinge: Hinge | None = None
    parallel_to: Identifier | None = None
    set_back_mm: SetBack | None = None
    u_set_back_mm: Uncertainty | None = None
    returns: tuple[TwoPicks, ...] = Field(default=(), max_length=50)


class RoundSurface(Part):
    """A round tower standing plumb, beside a wall or on its own.

    ``meets_wall`` is the line where it meets the wall it stands ``beside``; ``also_meets`` a
    second such line, on that wall or on another.
    """

    kind: Literal["round"]
    beside: Identifier | None = None
    left_edge: TwoOrMore | None = None
    right_edge: TwoOrMore | None = None
    meets_wall: TwoOrMore | None = None
    also_meets: Hinge | None = None
    axis_set_back_mm: SetBack | None = None
    u_axis_set_back_mm: Uncertainty | None = None
    radius_mm: Length | None = None
    u_radius_mm: Uncertainty | None = None


class Eaves(Part):
    """A level line where a roof slope ends above a wall.

    ``set_back_mm`` is how far it lies behind the face of that wall, negative for eaves that
    stand out over it.
    """

    face: Identifier
    at: TwoOrMore
    set_back_mm: SetBack = 0.0


class RoofSurface(Part):
    """A roof slope rising behind a wall from level eaves.

    ``pitch_deg`` is its angle above the level; None is solved from its own frame, verges and
    known sizes.
    """

    kind: Literal["roof"]
    eaves: Eaves
    pitch_deg: float | None = Field(default=None, gt=0, lt=90, allow_inf_nan=False)
    u_pitch_deg: float | None = Field(default=None, ge=0, lt=90, allow_inf_nan=False)


Surface = Annotated[WallSurface | RoundSurface | RoofSurface, Field(discriminator="kind")]
