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
from shared.survey_part import Label, Length, SetBack, Uncertainty
from shared.survey_part import Part as Part
from shared.survey_part import Pick as Pick
from shared.survey_part import PickField as PickField

FORMAT = "storeyrod survey"
VERSION = 1

Picks = tuple[PickField, ...]
TwoPicks = Annotated[Picks, Field(min_length=2, max_length=2)]
TwoOrMore = Annotated[Picks, Field(min_length=2, max_length=200)]
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
    dropped together.
    """

    kind: Literal["plumb"]
    at: TwoOrMore
    set_back_mm: SetBack = 0.0
    found: bool = False


class LevelGuide(Part):
    """Two or more picks along one line that is level in reality.

    ``found`` marks a line that the program found in the photo; all of them are taken or
    dropped together.
    """

    kind: Literal["level"]
    at: TwoOrMore
    set_back_mm: SetBack = 0.0
    found: bool = False


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
    its horizontal part, "plumb" only its vertical part.
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
    """Courses between two picks; a count of None is read from the photo."""

    kind: Literal["courses"]
    at: TwoPicks
    count: int | None = Field(default=None, gt=0, le=1000)


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


class Face(Part):
    """One surface of the building as seen in one photo.

    ``datum`` is a pick that levels count from; without it they count from the
    lowest frame pick. ``drawing`` says how its elevation is drawn; without it, tidied and
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
    drawing: FaceDrawing | None = None


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
        return self


def _said_twice(names: list[str]) -> list[str]:
    return sorted(name for name, count in Counter(names).items() if count > 1)


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
