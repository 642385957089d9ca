"""The shape of an opening in card: its outline grown or compressed, its lining's length.

Frame: the face's chart, u right and v up, in millimetres of whatever size it is given in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import shapely

from measure.elevation.openings import HeadKind, opening_path
from measure.elevation.path_geometry import (
    ArcSegment,
    LineSegment,
    Point,
    Segment,
    arc_radius_mm,
    walk,
)
from measure.parts.part import flat_points


@dataclass(frozen=True, slots=True)
class OpeningShape:
    """One opening of a face.

    Attributes
    ----------
    id, label : str
    left_mm, sill_mm, width_mm, height_mm : float
        On the chart; the height reaches to the crown.
    head : {"flat", "semicircular", "segmental", "pointed", "round"}
    rise_mm : float
        From springing to crown; 0 for a flat head.
    reveal_mm : float
        How far the frame stands back behind the wall's face.
    reveal_from : str
        Where that figure comes from, in words.
    """

    id: str
    left_mm: float
    sill_mm: float
    width_mm: float
    height_mm: float
    head: HeadKind = "flat"
    rise_mm: float = 0.0
    reveal_mm: float = 100.0
    reveal_from: str = ""
    label: str = ""

    def __post_init__(self) -> None:
        if self.head == "semicircular":
            # springing picked and half the width differ by the ± of both
            object.__setattr__(self, "rise_mm", min(self.width_mm / 2.0, self.height_mm))

    @property
    def right_mm(self) -> float:
        """Right jamb."""
        return self.left_mm + self.width_mm

    @property
    def head_mm(self) -> float:
        """Crown of the head."""
        return self.sill_mm + self.height_mm

    @property
    def springing_mm(self) -> float:
        """Where the head begins."""
        return self.head_mm - self.rise_mm

    def scaled(self, factor: float) -> OpeningShape:
        """Opening with every length multiplied."""
        return replace(
            self,
            left_mm=self.left_mm * factor,
            sill_mm=self.sill_mm * factor,
            width_mm=self.width_mm * factor,
            height_mm=self.height_mm * factor,
            rise_mm=self.rise_mm * factor,
            reveal_mm=self.reveal_mm * factor,
        )

    def moved(self, du_mm: float, dv_mm: float) -> OpeningShape:
        """Opening shifted."""
        return replace(self, left_mm=self.left_mm + du_mm, sill_mm=self.sill_mm + dv_mm)

    def grown(self, by_mm: float) -> OpeningShape:
        """Opening larger by the same amount all round, its arch about the same centres.

        Raises
        ------
        ValueError
            For shrinking by more than the opening has.
        """
        width, height = self.width_mm + 2.0 * by_mm, self.height_mm + 2.0 * by_mm
        if min(width, height) <= 0:
            raise ValueError(f"by_mm: opening {self.id} has not that much, got {by_mm}")
        rise = self.rise_mm
        half = self.width_mm / 2.0
        if self.head in ("semicircular", "round"):
            rise = self.rise_mm + by_mm
        elif self.head == "segmental" and rise > 0:
            radius = (half**2 + rise**2) / (2.0 * rise)
            rise = radius + by_mm - math.sqrt((radius + by_mm) ** 2 - (half + by_mm) ** 2)
        elif self.head == "pointed":
            if rise >= half:
                radius = half / 2.0 + rise**2 / (2.0 * half)
                rise = math.sqrt((radius + by_mm) ** 2 - (radius - half) ** 2)
                # the arcs keep their centres, so that the apex rises by more than the jambs part
                height = self.height_mm - self.rise_mm + by_mm + rise
            else:
                rise = rise * (half + by_mm) / half
        return replace(
            self,
            left_mm=self.left_mm - by_mm,
            sill_mm=self.sill_mm - by_mm,
            width_mm=width,
            height_mm=height,
            rise_mm=max(rise, 0.0),
        )

    def path(self) -> tuple[Point, tuple[Segment, ...]]:
        """Closed outline, anticlockwise from the left end of the sill."""
        rise = self.rise_mm if self.head in ("segmental", "pointed") else None
        drawn = opening_path(
            self.left_mm, self.sill_mm, self.width_mm, self.height_mm, self.head, rise, id=self.id
        )
        return drawn.start_mm, drawn.segments

    @property
    def area(self) -> shapely.Geometry:
        """Area inside."""
        start, segments = self.path()
        return shapely.make_valid(shapely.Polygon(flat_points(start, segments)))


@dataclass(frozen=True, slots=True)
class Lining:
    """The strip that lines jambs and head.

    Attributes
    ----------
    length_mm : float
        Along the middle of its thickness, up one jamb, over the head and down the other.
    folds_mm : tuple of float
        Distances from its left end at which it is folded.
    closed : bool
        A ring in a round opening: no jambs, one seam.
    bent : tuple of (float, float)
        From where to where it is bent round an arch.
    """

    length_mm: float
    folds_mm: tuple[float, ...]
    closed: bool
    bent: tuple[tuple[float, float], ...] = ()


def lining_of(opening: OpeningShape, strip_mm: float) -> Lining:
    """Length of the strip that lines an opening of true size, head included.

    Parameters
    ----------
    opening : OpeningShape
        At true size; the strip lies outside of it, in the larger hole of the card.
    strip_mm : float
        Thickness of the strip.

    Returns
    -------
    Lining
        The jambs begin at the sill.

    Notes
    -----
    A strip neither stretches nor shrinks in the middle of its thickness: it is as long as
    the outline that lies half a thickness outside the opening, less half a thickness at the
    foot of each jamb.
    """
    middle = opening.grown(strip_mm / 2.0)
    if opening.head == "round":
        radius = (middle.width_mm + middle.height_mm) / 4.0
        return Lining(2.0 * math.pi * radius, (), True)
    start, segments = middle.path()
    # the path runs along the sill first, then up the right jamb, over, and closes down the left
    pieces = list(walk(start, segments))[1:]
    closing = (segments[-1].to_mm, LineSegment(start))
    lengths: list[tuple[float, bool]] = []
    for here, segment in (*pieces, closing):
        if isinstance(segment, ArcSegment):
            lengths.append((arc_radius_mm(here, segment) * abs(segment.sweep_rad), True))
        else:
            lengths.append((math.dist(here, segment.to_mm), False))
    lengths[0] = (lengths[0][0] - strip_mm / 2.0, lengths[0][1])
    lengths[-1] = (lengths[-1][0] - strip_mm / 2.0, lengths[-1][1])
    along, folds, bent = 0.0, [], []
    for number, (length, curved) in enumerate(lengths):
        if curved:
            bent.append((along, along + length))
        along += length
        if number < len(lengths) - 1 and _turns_sharply(opening, number, len(lengths)):
            folds.append(along)
    return Lining(along, tuple(folds), False, tuple(bent))


def _turns_sharply(opening: OpeningShape, number: int, count: int) -> bool:
    """Whether the lining is folded after its piece of that number."""
    if opening.head == "flat":
        return True
    if opening.head == "semicircular":
        return False
    if opening.head == "pointed":
        steep = opening.rise_mm >= opening.width_mm / 2.0
        return not steep or number == (count - 1) // 2
    return True  # a segmental head leaves its jambs at an angle
