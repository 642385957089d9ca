"""The survey document: what the user picked in which photo, and what is known.

One definition serves as file format, as HTTP payload and as the input of the
solver. It knows how a survey is written, not what it means in space.

A pick is ``[x, y]`` or ``[x, y, u_px]`` in pixels of the upright photo, with
``(0, 0)`` at the outer corner of the first pixel.
"""

from __future__ import annotations

from collections import Counter
from typing import Annotated, Literal

from pydantic import Field, model_validator

from shared.card_wishes import CardWishes
from shared.survey_drawing import FaceDrawing
from shared.survey_part import Identifier as Identifier
from shared.survey_part import Label, Length, Picks, SetBack, TwoOrMore, TwoPicks, Uncertainty
from shared.survey_part import Part as Part
from shared.survey_part import Pick as Pick
from shared.survey_part import PickField as PickField
from shared.survey_surfaces import Eaves as Eaves
from shared.survey_surfaces import Hinge as Hinge
from shared.survey_surfaces import RoofSurface as RoofSurface
from shared.survey_surfaces import RoundSurface as RoundSurface
from shared.survey_surfaces import Surface as Surface
from shared.survey_surfaces import WallSurface as WallSurface

FORMAT = "storeyrod survey"
VERSION = 1

Lean = Annotated[float, Field(ge=0, le=45, allow_inf_nan=False)]
ThreeOrMore = Annotated[Picks, Field(min_length=3, max_length=500)]
FourPicks = Annotated[Picks, Field(min_length=4, max_length=4)]
OnePick = Annotated[Picks, Field(min_length=1, max_length=1)]


class Photo(Part):
    """One photograph, named by a path relative to the survey file."""

    id: Identifier
    file: str = Field(min_length=1, max_length=1000)
    sha256: str | None = Field(default=None, pattern=r"^[0-9a-f]{64}$")
    width_px: int | None = Field(default=None, gt=0, lt=200_000)
    height_px: int | None = Field(default=None, gt=0, lt=200_000)
    focal_35mm: float | None = Field(default=None, gt=1, lt=5000, allow_inf_nan=False)
    cropped: bool = False


class PlumbGuide(Part):
    """Two or more picks along one line that is plumb in reality.

    ``found`` marks a line that the program found in the photo; all of them are taken or
    dropped together. ``u_lean_deg`` is how far the edge itself may lean, one standard
    uncertainty: that it is straight is then surer than that it is plumb.
    """

    kind: Literal["plumb"]
    at: TwoOrMore
    set_back_mm: SetBack = 0.0
    found: bool = False
    u_lean_deg: Lean = 0.0


class LevelGuide(Part):
    """Two or more picks along one line that is level in reality.

    ``found`` and ``u_lean_deg`` as for `PlumbGuide`.
    """

    kind: Literal["level"]
    at: TwoOrMore
    set_back_mm: SetBack = 0.0
    found: bool = False
    u_lean_deg: Lean = 0.0


class VergeGuide(Part):
    """Two or more picks along one line that runs straight up a roof slope."""

    kind: Literal["verge"]
    at: TwoOrMore
    set_back_mm: SetBack = 0.0


class RectangleGuide(Part):
    """Four picks at the corners of another upright rectangle."""

    kind: Literal["rectangle"]
    at: FourPicks
    set_back_mm: SetBack = 0.0


Guide = Annotated[
    PlumbGuide | LevelGuide | VergeGuide | RectangleGuide, Field(discriminator="kind")
]


class LengthReference(Part):
    """A known length between two picks.

    ``along`` says how the length runs: "free" from pick to pick, "level" only
    its level part, "plumb" only its plumb part.
    """

    kind: Literal["length"]
    at: TwoPicks
    length_mm: Length
    u_mm: Uncertainty = 0.0
    set_back_mm: SetBack = 0.0
    along: Literal["free", "level", "plumb"] = "free"
    label: Label = ""
    size: str | None = Field(default=None, max_length=200)


class CoursesReference(Part):
    """A known number of courses of known gauge between two picks, bed joint to bed joint."""

    kind: Literal["courses"]
    at: TwoPicks
    count: int = Field(gt=0, le=1000)
    gauge_mm: Length
    u_gauge_mm: Uncertainty = 0.0
    set_back_mm: SetBack = 0.0
    label: Label = ""
    size: str | None = Field(default=None, max_length=200)


Reference = Annotated[LengthReference | CoursesReference, Field(discriminator="kind")]


class MeasureBase(Part):
    """What every measure has."""

    id: Identifier
    label: Label = ""
    set_back_mm: SetBack = 0.0


class DistanceMeasure(MeasureBase):
    """Straight distance between two picks."""

    kind: Literal["distance"]
    at: TwoPicks


class OpeningMeasure(MeasureBase):
    """A door or window: four corners, the upper two at the springing for an arched head."""

    kind: Literal["opening"]
    at: FourPicks
    head: Literal["flat", "semicircular", "segmental", "pointed", "round"] = "flat"
    head_at: Picks = Field(default=(), max_length=20)
    at_glass: bool = False


class LevelMeasure(MeasureBase):
    """Height of one pick above the datum."""

    kind: Literal["level"]
    at: OnePick


class CoursesMeasure(MeasureBase):
    """Courses between two picks; a count of None is read from the photo.

    ``joints`` are its bed joints put right by hand, from one end to the other: the count and the
    gauge are then theirs, and nothing is read.
    """

    kind: Literal["courses"]
    at: TwoPicks
    count: int | None = Field(default=None, gt=0, le=1000)
    joints: Picks = Field(default=(), max_length=1001)

    @model_validator(mode="after")
    def _counted_once(self) -> CoursesMeasure:
        if len(self.joints) == 1:
            raise ValueError("there is one joint only: pick two or more")
        if self.joints and self.count is not None:
            raise ValueError("there are both a count and joints: keep one")
        return self

    @property
    def told(self) -> int | None:
        """Courses as counted by hand, by number or by their joints; None where nobody has."""
        return len(self.joints) - 1 if self.joints else self.count

    @property
    def ends(self) -> tuple[Pick, Pick]:
        """First and last joint, where joints were put right by hand; else the two picks."""
        return (self.joints[0], self.joints[-1]) if self.joints else (self.at[0], self.at[1])


class ArcMeasure(MeasureBase):
    """A circular arc through three or more picks, from springing to springing."""

    kind: Literal["arc"]
    at: ThreeOrMore


class SpacingMeasure(MeasureBase):
    """Level distances from each pick to the next."""

    kind: Literal["spacing"]
    at: TwoOrMore


class SlopeMeasure(MeasureBase):
    """Angle of the line through two picks above the level."""

    kind: Literal["slope"]
    at: TwoPicks


class SetBackMeasure(MeasureBase):
    """Depth of an edge that runs straight back into the wall: near end, far end."""

    kind: Literal["set-back"]
    at: TwoPicks


class OutlineMeasure(MeasureBase):
    """Area and perimeter inside three or more picks; the first outline is the wall's own."""

    kind: Literal["outline"]
    at: ThreeOrMore


Measure = Annotated[
    DistanceMeasure
    | OpeningMeasure
    | LevelMeasure
    | CoursesMeasure
    | ArcMeasure
    | SpacingMeasure
    | SlopeMeasure
    | SetBackMeasure
    | OutlineMeasure,
    Field(discriminator="kind"),
]


class Face(Part):
    """One surface of the building as seen in one photo.

    ``datum`` is a pick that levels count from; without it they count from the
    lowest frame pick. ``same_as`` names the same wall as it is picked in another photo.
    ``drawing`` says how its elevation is drawn; without it, tidied and
    nothing added.
    """

    id: Identifier
    label: Label = ""
    photo: Identifier
    surface: Surface = WallSurface()
    frame: FourPicks | None = None
    datum: PickField | None = None
    guides: tuple[Guide, ...] = ()
    references: tuple[Reference, ...] = ()
    measures: tuple[Measure, ...] = Field(default=(), max_length=20_000)
    same_as: Identifier | None = None
    drawing: FaceDrawing | None = None


class TieEnd(Part):
    """One pick of a tie, on a face of one of the photos."""

    face: Identifier
    at: PickField


class Tie(Part):
    """What is the same in two photos or more: each end picks it on a face of its photo.

    A "level" shares a height, a "plumb" line (a hinge, a corner) its place in plan, a "point"
    on the faces both. A point in "space" lies off the faces: it is located where its rays
    meet, on the chart of the first face and how far behind it.
    """

    id: Identifier
    kind: Literal["level", "plumb", "point", "space"]
    label: Label = ""
    at: tuple[TieEnd, ...] = Field(min_length=2, max_length=50)


class Survey(Part):
    """A whole survey, as in the file ``NAME.survey.json``.

    ``card`` says how it is cut from card; without it, plainly.
    """

    format: Literal["storeyrod survey"] = "storeyrod survey"
    version: Literal[1] = 1
    title: Label = ""
    notes: str = Field(default="", max_length=100_000)
    model_scale: str = Field(default="1:148", max_length=60)
    photos: tuple[Photo, ...] = Field(default=(), max_length=500)
    faces: tuple[Face, ...] = Field(default=(), max_length=500)
    card: CardWishes | None = None
    ties: tuple[Tie, ...] = Field(default=(), max_length=2000)

    @model_validator(mode="after")
    def _names_agree(self) -> Survey:
        photos = [photo.id for photo in self.photos]
        faces = [face.id for face in self.faces]
        for what, names in (("photo", photos), ("face", faces)):
            twice = _said_twice(names)
            if twice:
                raise ValueError(f"two {what}s are called '{twice[0]}': give each its own id")
        for face in self.faces:
            _check_face_names(face, set(photos), set(faces))
        _check_ties(self)
        return self


def _said_twice(names: list[str]) -> list[str]:
    return sorted(name for name, count in Counter(names).items() if count > 1)


def _check_ties(survey: Survey) -> None:
    photo_of = {face.id: face.photo for face in survey.faces}
    for face in survey.faces:
        if face.same_as is None:
            continue
        if face.same_as not in photo_of:
            raise ValueError(
                f"face '{face.id}' is the same as '{face.same_as}', which is not listed"
            )
        if photo_of[face.same_as] == face.photo:
            raise ValueError(
                f"face '{face.id}' is the same as '{face.same_as}' in the same photo: keep one"
            )
    twice = _said_twice([tie.id for tie in survey.ties])
    if twice:
        raise ValueError(f"two ties are called '{twice[0]}': give each its own id")
    for tie in survey.ties:
        for end in tie.at:
            if end.face not in photo_of:
                raise ValueError(f"tie '{tie.id}' names the face '{end.face}', which is not listed")
        if len({photo_of[end.face] for end in tie.at}) < 2:
            raise ValueError(f"tie '{tie.id}' is picked in one photo only: pick it in another too")


def _check_face_names(face: Face, photos: set[str], faces: set[str]) -> None:
    if face.photo not in photos:
        raise ValueError(f"face '{face.id}' names the photo '{face.photo}', which is not listed")
    ids = [measure.id for measure in face.measures]
    twice = _said_twice(ids)
    if twice:
        raise ValueError(f"face '{face.id}' has two measures called '{twice[0]}'")
    for other in faces_leant_on(face):
        if other == face.id or other not in faces:
            raise ValueError(
                f"face '{face.id}' stands beside the face '{other}', which is not listed"
            )


def faces_leant_on(face: Face) -> tuple[str, ...]:
    """Faces that a face is placed by, the one it stands beside first."""
    surface = face.surface
    if isinstance(surface, RoundSurface):
        also = surface.also_meets.face if surface.also_meets else None
        found = (surface.beside, also)
    elif isinstance(surface, RoofSurface):
        found = (surface.eaves.face, None)
    else:
        found = (surface.hinge.face if surface.hinge else None, surface.parallel_to)
    return tuple(dict.fromkeys(name for name in found if name is not None))
