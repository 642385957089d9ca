"""The elevation of one face as plain geometry: what stands where, before anything is drawn.

Frame: u from the left edge of the drawing, v from the datum, millimetres of the building.
A facade is a value: tidying makes one from measures, completing and fitting make another
from it, drawing turns it into lines. What was not measured is `inferred`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Literal

from measure.elevation.drawing import Path
from measure.elevation.openings import HeadKind, opening_path
from measure.elevation.path_geometry import Box, Point, box_around_boxes, box_around_points
from shared.survey_details import LevelAt

MapLength = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class DrawnOpening:
    """One door, window or loading door.

    Attributes
    ----------
    id, label : str
    form : str
        Kind of its head.
    left_mm, right_mm, sill_mm, springing_mm, head_mm : float
        The springing of a flat head is the head.
    u_width_mm, u_height_mm, u_sill_mm, u_head_mm : float or None
        Standard uncertainties, None where nothing was measured.
    inferred : bool
    made_from : str
        Id of the opening it is a copy of.
    photo : str
        The other photo that alone shows it; "" for the photo of the face.
    """

    id: str
    label: str
    form: HeadKind
    left_mm: float
    right_mm: float
    sill_mm: float
    springing_mm: float
    head_mm: float
    u_width_mm: float | None = None
    u_height_mm: float | None = None
    u_sill_mm: float | None = None
    u_head_mm: float | None = None
    inferred: bool = False
    made_from: str = ""
    photo: str = ""

    @property
    def width_mm(self) -> float:
        """Clear width between the jambs."""
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        """From sill to highest point."""
        return self.head_mm - self.sill_mm

    @property
    def rise_mm(self) -> float:
        """From springing to highest point."""
        return self.head_mm - self.springing_mm

    @property
    def centre_mm(self) -> float:
        """Its centre line."""
        return (self.left_mm + self.right_mm) / 2.0

    @property
    def box(self) -> Box:
        """Box around it."""
        return Box(self.left_mm, self.sill_mm, self.right_mm, self.head_mm)

    def path(self, layer: str = "openings", id_: str | None = None) -> Path:
        """Its outline."""
        return opening_path(
            self.left_mm,
            self.sill_mm,
            self.width_mm,
            self.height_mm,
            self.form,
            self.rise_mm or None,
            layer=layer,
            id=self.id if id_ is None else id_ or None,
            inferred=self.inferred,
        )

    def moved(self, du_mm: float, dv_mm: float = 0.0) -> DrawnOpening:
        """The same opening elsewhere."""
        return self.mapped(lambda u: u + du_mm, lambda v: v + dv_mm)

    def mapped(self, map_u: MapLength, map_v: MapLength) -> DrawnOpening:
        """The opening with its edges mapped."""
        return replace(
            self,
            left_mm=map_u(self.left_mm),
            right_mm=map_u(self.right_mm),
            sill_mm=map_v(self.sill_mm),
            springing_mm=map_v(self.springing_mm),
            head_mm=map_v(self.head_mm),
        )

    def mirrored(self, axis_mm: float) -> DrawnOpening:
        """Its mirror image about a plumb axis."""
        left, right = 2.0 * axis_mm - self.right_mm, 2.0 * axis_mm - self.left_mm
        return replace(self, left_mm=left, right_mm=right)

    def copied(self, id_: str) -> DrawnOpening:
        """The same as an invention of its own: nothing of it is measured."""
        return replace(
            self,
            id=id_,
            u_width_mm=None,
            u_height_mm=None,
            u_sill_mm=None,
            u_head_mm=None,
            inferred=True,
            made_from=self.made_from or self.id,
        )


@dataclass(frozen=True, slots=True)
class DrawnOutline:
    """An outline: the first of a facade is the wall's own.

    Attributes
    ----------
    id : str
    points_mm : tuple of (u, v)
    inferred_edges : frozenset of int
        Edges that were not measured, each by the point it starts from.
    """

    id: str
    points_mm: tuple[Point, ...]
    inferred_edges: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class DrawnLevel:
    """A height above the datum that was asked for."""

    id: str
    label: str
    v_mm: float
    u_mm: float | None = None
    inferred: bool = False


@dataclass(frozen=True, slots=True)
class DrawnSpan:
    """A distance between two picks, or a row of spacings."""

    id: str
    kind: str
    points_mm: tuple[Point, ...]
    inferred: bool = False


@dataclass(frozen=True, slots=True)
class DrawnMark:
    """Words at a place: a radius, a pitch, a set-back; beside it or above it."""

    id: str
    kind: str
    at_mm: Point
    text: str
    side: Literal["above", "left", "right"] = "above"


@dataclass(frozen=True, slots=True)
class DrawnCourses:
    """Courses measured: levels of their joints, how many, and their gauge."""

    id: str
    joints_mm: tuple[float, ...]
    gauge_mm: float
    count: int


@dataclass(frozen=True, slots=True)
class Facade:
    """One face.

    Attributes
    ----------
    openings, outlines, levels, spans, marks, courses
        What is on it.
    extent : Box or None
        Around everything that was picked: the wall where no outline was measured.
    """

    openings: tuple[DrawnOpening, ...] = ()
    outlines: tuple[DrawnOutline, ...] = ()
    levels: tuple[DrawnLevel, ...] = ()
    spans: tuple[DrawnSpan, ...] = ()
    marks: tuple[DrawnMark, ...] = ()
    courses: tuple[DrawnCourses, ...] = ()
    extent: Box | None = None

    def opening(self, id_: str) -> DrawnOpening | None:
        """Opening of that id, if there is one."""
        return next((each for each in self.openings if each.id == id_), None)

    def openings_left_by(self, later: Facade) -> list[DrawnOpening]:
        """Openings that a later step, such as completing or fitting, left where they were."""
        places = {each.id: each.box for each in later.openings}
        return [each for each in self.openings if places.get(each.id) == each.box]

    @property
    def wall_box(self) -> Box:
        """Box of the wall: its outline, or all that is on it; ValueError for an empty facade."""
        if self.outlines:
            return box_around_points(self.outlines[0].points_mm)
        boxes = [each.box for each in self.openings]
        if self.extent is not None:
            boxes.append(self.extent)
        return box_around_boxes(boxes)

    def mapped(self, map_u: MapLength, map_v: MapLength) -> Facade:
        """Everything with its places mapped."""

        def placed(points: Iterable[Point]) -> tuple[Point, ...]:
            return tuple((map_u(u), map_v(v)) for u, v in points)

        extent = self.extent
        if extent is not None:
            low, high = (extent.left_mm, extent.bottom_mm), (extent.right_mm, extent.top_mm)
            extent = box_around_points(placed([low, high]))
        return replace(
            self,
            extent=extent,
            openings=tuple(each.mapped(map_u, map_v) for each in self.openings),
            outlines=tuple(
                replace(each, points_mm=placed(each.points_mm)) for each in self.outlines
            ),
            levels=tuple(replace(each, v_mm=map_v(each.v_mm)) for each in self.levels),
            spans=tuple(replace(each, points_mm=placed(each.points_mm)) for each in self.spans),
            marks=tuple(replace(each, at_mm=placed([each.at_mm])[0]) for each in self.marks),
            courses=tuple(
                replace(each, joints_mm=tuple(map_v(v) for v in each.joints_mm))
                for each in self.courses
            ),
        )

    def level_of(self, name: LevelAt) -> float | None:
        """Height that a name stands for: a level, ``datum``, or ``w1.sill`` and its like.

        What is in millimetres already stands for itself.
        """
        if not isinstance(name, str):
            return name
        for level in self.levels:
            if name in (level.id, f"{level.id}.level"):
                return level.v_mm
        if name == "datum":
            return 0.0
        id_, _, part = name.rpartition(".")
        opening = self.opening(id_)
        if opening is None or part not in ("sill", "springing", "head"):
            return None
        return float(getattr(opening, f"{part}_mm"))

    def fresh_id(self, wanted: str) -> str:
        """An id like `wanted` that nothing bears yet."""
        taken = {each.id for each in self.openings} | {each.id for each in self.levels}
        taken |= {each.id for each in self.outlines} | {each.id for each in self.spans}
        id_, number = wanted, 2
        while id_ in taken:
            id_, number = f"{wanted}-{number}", number + 1
        return id_
