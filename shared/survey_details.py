"""The vocabulary of a wall, as the user asks for it: bands, quoins, sills, bars, courses.

Each detail is drawn from a few sizes in millimetres of the building. A level is a number
above the datum, or the name of what lies there: a level measure, or ``w1.sill``,
``w1.springing``, ``w1.head``. ``of`` names openings; without names all that can have the
detail get it.
"""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, model_validator

from shared.survey_part import Finite, Identifier, Length, Part, PickField


def _check_level(raw: Any) -> Any:
    if isinstance(raw, str) and 0 < len(raw) <= 80:
        return raw
    if isinstance(raw, (int, float)) and not isinstance(raw, bool) and math.isfinite(raw):
        return float(raw)
    raise ValueError("a level is millimetres above the datum, or a name such as 'w1.sill'")


#: A level: millimetres above the datum, or the name of what lies there.
LevelAt = Annotated[float | str, BeforeValidator(_check_level)]
Names = Annotated[tuple[Identifier, ...], Field(max_length=2000)]
Bond = Literal["stretcher", "english", "flemish", "english-garden-wall"]
Count = Annotated[int, Field(gt=0, le=200)]
CountOrNone = Annotated[int, Field(ge=0, le=200)]
NotNegative = Annotated[float, Field(ge=0, lt=1e6, allow_inf_nan=False)]


class BandDetail(Part):
    """A plinth, string course, cornice or plain band between two levels, along the whole wall.

    ``lines`` further level lines divide it evenly, as the mouldings of a cornice do. With
    ``out_mm``, how far it stands out of the wall, it is cut from card too, unless the card names
    bands of its own for the face.
    """

    kind: Literal["plinth", "string-course", "cornice", "band"]
    foot: LevelAt
    head: LevelAt
    lines: CountOrNone = 0
    out_mm: Length | None = None


class QuoinsDetail(Part):
    """Corner stones at the ends of the wall, long and short by turns.

    Each is ``courses`` courses of ``gauge_mm`` high; without a gauge, that of the measured
    courses. They run from ``foot`` to ``head``, without them from bottom to top of the wall.
    """

    kind: Literal["quoins"]
    sides: Annotated[tuple[Literal["left", "right"], ...], Field(min_length=1, max_length=2)] = (
        "left",
        "right",
    )
    courses: Count = 4
    gauge_mm: Length | None = None
    long_mm: Length = 440.0
    short_mm: Length = 215.0
    foot: LevelAt | None = None
    head: LevelAt | None = None


class SillsDetail(Part):
    """Sills below openings, reaching past the jambs on both sides."""

    kind: Literal["sills"]
    of: Names = ()
    height_mm: Length = 120.0
    beyond_mm: NotNegative = 75.0


class LintelsDetail(Part):
    """Lintels over flat heads, bearing on the wall on both sides."""

    kind: Literal["lintels"]
    of: Names = ()
    height_mm: Length = 225.0
    bearing_mm: NotNegative = 150.0


class VoussoirsDetail(Part):
    """Arch of wedge stones or rubbed bricks over heads, by their count.

    Over a flat head the joints run to one point, and the ends slope by ``skew_deg`` from
    the plumb.
    """

    kind: Literal["voussoirs"]
    of: Names = ()
    count: Annotated[int, Field(ge=3, le=200)] = 13
    depth_mm: Length = 225.0
    keystone: bool = False
    skew_deg: Annotated[float, Field(ge=0, le=45, allow_inf_nan=False)] = 25.0


class GlazingBarsDetail(Part):
    """Frame and glazing bars: panes across and up, or up in each sash.

    With ``meeting_rail_mm`` a pair of sliding sashes meets at a rail of that height half way
    up to the springing, and ``up`` counts the panes of each sash.
    """

    kind: Literal["glazing-bars"]
    of: Names = ()
    across: Count = 2
    up: Count = 2
    bar_mm: Length = 22.0
    frame_mm: NotNegative = 50.0
    meeting_rail_mm: Length | None = None


class MullionsDetail(Part):
    """Upright and level divisions of openings: mullions evenly, transoms above the sill."""

    kind: Literal["mullions"]
    of: Names = ()
    mullions: CountOrNone = 0
    transoms_mm: Annotated[tuple[Length, ...], Field(max_length=20)] = ()
    width_mm: Length = 100.0

    @model_validator(mode="after")
    def _divides(self) -> MullionsDetail:
        if not self.mullions and not self.transoms_mm:
            raise ValueError("the mullions divide nothing: give 'mullions' or 'transoms_mm'")
        return self


class DoorPanelsDetail(Part):
    """Panels of doors, across and up, between stiles and rails; ``leaf_mm`` high at most.

    What is above the leaf is a fanlight; without ``leaf_mm`` the leaf ends at the springing.
    """

    kind: Literal["door-panels"]
    of: Annotated[tuple[Identifier, ...], Field(min_length=1, max_length=2000)]
    across: Count = 2
    up: Count = 2
    leaf_mm: Length | None = None
    stile_mm: Length = 110.0


class CourseLinesDetail(Part):
    """Bed joints over the whole wall, and perpends in a bond.

    At the joints of the courses that ``measure`` names, continued by their gauge, or at
    ``gauge_mm``. From ``foot`` to ``head``, without them over the whole wall.
    ``brick_mm`` is a stretcher with its joint. In English garden wall bond there are
    ``stretcher_courses`` between the headers.
    """

    kind: Literal["course-lines"]
    measure: Identifier | None = None
    gauge_mm: Length | None = None
    foot: LevelAt | None = None
    head: LevelAt | None = None
    bond: Bond | None = None
    brick_mm: Length = 225.0
    stretcher_courses: Annotated[int, Field(ge=1, le=9)] = 3

    @model_validator(mode="after")
    def _one_gauge(self) -> CourseLinesDetail:
        if (self.measure is None) == (self.gauge_mm is None):
            raise ValueError("the course lines need one gauge: 'measure' or 'gauge_mm'")
        return self


class RainwaterPipeDetail(Part):
    """A rainwater pipe down the wall, picked in the photo or given from the drawing's left."""

    kind: Literal["rainwater-pipe"]
    at: PickField | None = None
    at_mm: Finite | None = None
    bore_mm: Length = 75.0
    foot: LevelAt | None = None
    head: LevelAt | None = None
    hopper: bool = True
    brackets_mm: Length = 1800.0

    @model_validator(mode="after")
    def _one_place(self) -> RainwaterPipeDetail:
        if (self.at is None) == (self.at_mm is None):
            raise ValueError("the rainwater pipe needs one place: a pick in 'at', or 'at_mm'")
        return self


Detail = Annotated[
    BandDetail
    | QuoinsDetail
    | SillsDetail
    | LintelsDetail
    | VoussoirsDetail
    | GlazingBarsDetail
    | MullionsDetail
    | DoorPanelsDetail
    | CourseLinesDetail
    | RainwaterPipeDetail,
    Field(discriminator="kind"),
]
