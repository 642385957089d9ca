"""Everything one photo's faces say, gathered into one list of observations.

Reads the survey; knows nothing of solving. Picks with equal coordinates in one
photo are one pick, wherever they are used, so nothing is counted twice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from rectify.rectangle import CORNERS, rectangle_order
from rectify.solving.residuals import InLine, Kind, KnownLength, SameCoordinate
from shared.errors import DegenerateError, FieldError
from shared.jets import Array
from shared.survey import (
    CoursesReference,
    Face,
    LengthReference,
    LevelGuide,
    OpeningMeasure,
    Pick,
    PlumbGuide,
    RectangleGuide,
    RoofSurface,
    VergeGuide,
)

#: Standard uncertainty of a click by hand, in pixels (judgement).
U_HAND_PX = 1.0

#: How far a real corner may lie from its rectangle, as part of the diagonal: about a
#: millimetre in a metre (common practice, no source).
OUT_OF_TRUE = 0.001

#: Openings that help to hold the camera, the largest in the photo; more would cost time only.
MOST_OPENINGS = 60

#: A known size given without ± is still no better than this part of itself.
U_SIZE_FLOOR = 1e-6


@dataclass(frozen=True, slots=True)
class Role:
    """What a pick is for, in words: whose it is, of which item, and which part."""

    face: str
    item: str
    part: str


@dataclass(frozen=True, slots=True)
class KnownSize:
    """One known size: its value, ± and name; in millimetres unless `unit` says otherwise."""

    face: str
    label: str
    value_mm: float
    u_mm: float
    unit: str = "mm"


@dataclass(frozen=True, slots=True)
class LineObserved:
    """Picks along one straight line of known direction, for the first guess.

    The direction is "level" or "plumb"; on a roof the latter means straight up the slope.
    """

    face: str
    direction: str
    picks: tuple[int, ...]


#: Face, two picks, set-back, which axes count, and the length, for the first guess of the scale.
KnownChartLength = tuple[str, int, int, float, Array, float]


@dataclass
class Sheet:
    """Observations of one photo while they are being gathered.

    `main` is the main wall; `sights` holds ``(face, pick index, set_back_mm)``, `found` the
    picks that the program laid on edges it found; everything else refers to them by index.
    """

    photo: str
    width_px: int
    height_px: int
    main: str = ""
    pick_index: dict[tuple[float, float], int] = field(default_factory=dict)
    picks_px: list[tuple[float, float]] = field(default_factory=list)
    u_px: list[float] = field(default_factory=list)
    roles: list[list[Role]] = field(default_factory=list)
    sights: dict[tuple[str, int, float], int] = field(default_factory=dict)
    sizes: list[KnownSize] = field(default_factory=list)
    kinds: list[Kind] = field(default_factory=list)
    lines: list[LineObserved] = field(default_factory=list)
    lengths: list[KnownChartLength] = field(default_factory=list)
    found: set[int] = field(default_factory=set)
    frames: dict[str, tuple[int, int, int, int]] = field(default_factory=dict)
    openings: dict[tuple[str, str], tuple[int, int, int, int]] = field(default_factory=dict)

    def pick(self, pick: Pick, role: Role, u_extra_px: float = 0.0) -> int:
        """Enter a pick and return its index; `u_extra_px` adds to its ± in quadrature."""
        check_inside_photo(pick, self.width_px, self.height_px, role)
        key = (pick.x, pick.y)
        u_px = math.hypot(pick.u_px or U_HAND_PX, u_extra_px)
        if key not in self.pick_index:
            self.pick_index[key] = len(self.picks_px)
            self.picks_px.append(key)
            self.u_px.append(u_px)
            self.roles.append([])
        index = self.pick_index[key]
        self.u_px[index] = min(self.u_px[index], u_px)
        self.roles[index].append(role)
        return index

    def pick_again(self, pick: int, u_px: float) -> int:
        """Enter a pick once more, with another ±, and return the index of that copy."""
        self.picks_px.append(self.picks_px[pick])
        self.u_px.append(u_px)
        self.roles.append(self.roles[pick])
        return len(self.picks_px) - 1

    def sight(self, face: str, pick: int, set_back_mm: float = 0.0) -> int:
        """Enter a sighting of a pick on a face and return its index."""
        return self.sights.setdefault((face, pick, set_back_mm), len(self.sights))

    def picks_of(self, face: str) -> list[int]:
        """Picks that serve a face, in the order they were entered."""
        return [i for i, roles in enumerate(self.roles) if any(r.face == face for r in roles)]

    def size(self, face: str, label: str, value_mm: float, u_mm: float, unit: str = "mm") -> int:
        """Enter a known size and return its index."""
        u_mm = max(u_mm, U_SIZE_FLOOR * abs(value_mm), 1e-6)
        self.sizes.append(KnownSize(face, label, value_mm, u_mm, unit))
        return len(self.sizes) - 1

    def candidates(self) -> list[tuple[int, ...]]:
        """Sets of observations that may be wrong: picks, sizes, openings as a whole."""
        picks = [(2 * i, 2 * i + 1) for i in range(len(self.picks_px))]
        sizes = [(2 * len(self.picks_px) + i,) for i in range(len(self.sizes))]
        corners = [sorted(set(index)) for index in self.openings.values()]
        openings = [tuple(2 * i + k for i in index for k in (0, 1)) for index in corners]
        return picks + sizes + openings

    def items_of(self, observations: Sequence[int]) -> set[tuple[str, str]]:
        """``(face, item)`` of all that some observations serve."""
        count = len(self.picks_px)
        out = {
            (self.sizes[i - 2 * count].face, self.sizes[i - 2 * count].label)
            for i in observations
            if i >= 2 * count
        }
        for i in observations:
            if i < 2 * count:
                out |= {(role.face, role.item) for role in self.roles[i // 2]}
        return out

    @property
    def observed(self) -> Array:
        """All observations: x and y of each pick, then the known sizes."""
        picks = np.array(self.picks_px, dtype=float).reshape(-1)
        return np.concatenate([picks, [size.value_mm for size in self.sizes]])

    @property
    def u_observed(self) -> Array:
        """Standard uncertainties of `observed`."""
        u_px = np.repeat(np.array(self.u_px, dtype=float), 2)
        return np.concatenate([u_px, [size.u_mm for size in self.sizes]])


def check_inside_photo(pick: Pick, width_px: int, height_px: int, role: Role) -> None:
    """Refuse a pick that lies more than 2 px outside its photo.

    Raises
    ------
    FieldError
    """
    if -2 <= pick.x <= width_px + 2 and -2 <= pick.y <= height_px + 2:
        return
    part = f", {role.part}," if role.part else ""
    raise FieldError(
        f"Face '{role.face}', {role.item}{part} is picked at ({pick.x:g}, {pick.y:g}), outside "
        f"the photo, which is {width_px} x {height_px} px.",
        hint="Pick it again inside the photo.",
        details={"face": role.face, "item": role.item, "pick": [pick.x, pick.y]},
    )


def _equal(axis: Sequence[int], first: Sequence[int], second: Sequence[int]) -> SameCoordinate:
    return SameCoordinate(*(np.array(part, dtype=np.intp) for part in (axis, first, second)))


def same_place(first: int, second: int) -> SameCoordinate:
    """Two sightings with the same ``(u, v)``, at different depths."""
    return _equal([0, 1], [first, first], [second, second])


def add_rectangle(
    sheet: Sheet,
    face: str,
    picks: Sequence[Pick],
    order: Sequence[int],
    item: str,
    set_back_mm: float = 0.0,
    u_extra_px: float = 0.0,
) -> tuple[int, int, int, int]:
    """Enter a rectangle with level and plumb sides; return its picks TL, TR, BR, BL.

    `order` says which pick is which corner (`rectangle_order`).
    """
    index = [
        sheet.pick(picks[at], Role(face, item, f"the {corner} corner"), u_extra_px)
        for at, corner in zip(order, CORNERS, strict=True)
    ]
    tl, tr, br, bl = (sheet.sight(face, at, set_back_mm) for at in index)
    sheet.kinds.append(_equal([0, 0, 1, 1], [tl, tr, tl, bl], [bl, br, tr, br]))
    a, b, c, d = index
    for direction, ends in (
        ("level", (a, b)),
        ("level", (d, c)),
        ("plumb", (a, d)),
        ("plumb", (b, c)),
    ):
        sheet.lines.append(LineObserved(face, direction, ends))
    return a, b, c, d


def _add_line(
    sheet: Sheet, face: str, guide: PlumbGuide | LevelGuide | VergeGuide, item: str
) -> None:
    index = [sheet.pick(pick, Role(face, item, f"pick {i + 1}")) for i, pick in enumerate(guide.at)]
    if len(set(index)) < len(index):
        raise DegenerateError(
            f"Two picks of {item} of face '{face}' are the same.",
            hint="Pick different points along the line.",
            details={"face": face, "item": item},
        )
    sights = [sheet.sight(face, at, guide.set_back_mm) for at in index]
    axis = 1 if guide.kind == "level" else 0
    if not isinstance(guide, VergeGuide) and guide.u_lean_deg > 0.0:
        # straight to its picks' ±; its ends level or plumb only as far as the edge is true
        first, *middles, last = (np.array([at], dtype=np.intp) for at in sights)
        sheet.kinds += [InLine(first, middle, last) for middle in middles]
        (x, y), (to_x, to_y) = (sheet.picks_px[at] for at in (index[0], index[-1]))
        u_px = math.radians(guide.u_lean_deg) * math.hypot(to_x - x, to_y - y) / math.sqrt(2.0)
        ends = [
            sheet.pick_again(at, math.hypot(sheet.u_px[at], u_px))
            for at in index[:: len(index) - 1]
        ]
        sights = [sheet.sight(face, at, guide.set_back_mm) for at in ends]
        if guide.found:
            sheet.found.update(index, ends)
    others = len(sights) - 1
    sheet.kinds.append(_equal([axis] * others, sights[1:], [sights[0]] * others))
    sheet.lines.append(LineObserved(face, "plumb" if axis == 0 else "level", tuple(index)))


def reference_name(reference: LengthReference | CoursesReference, number: int) -> str:
    """Name a reference in a sentence: its label, else its number."""
    return f"the known size '{reference.label}'" if reference.label else f"known size {number + 1}"


def _add_reference(
    sheet: Sheet, face: str, reference: LengthReference | CoursesReference, item: str
) -> None:
    index = [
        sheet.pick(pick, Role(face, item, part))
        for pick, part in zip(reference.at, ("the first end", "the second end"), strict=True)
    ]
    if index[0] == index[1]:
        raise DegenerateError(
            f"Both ends of {item} of face '{face}' are the same pick.",
            hint="Pick the two ends of the known size.",
            details={"face": face, "item": item},
        )
    first, second = (sheet.sight(face, at, reference.set_back_mm) for at in index)
    if isinstance(reference, CoursesReference):
        weight, factor = np.array([[0.0, 1.0]]), float(reference.count)
        size = sheet.size(face, item, reference.gauge_mm, reference.u_gauge_mm)
        known_mm = reference.count * reference.gauge_mm
    else:
        blank = {"free": (1.0, 1.0), "level": (1.0, 0.0), "plumb": (0.0, 1.0)}[reference.along]
        weight, factor = np.array([blank]), 1.0
        size = sheet.size(face, item, reference.length_mm, reference.u_mm)
        known_mm = reference.length_mm
    one, two, scalar = (np.array([index], dtype=np.intp) for index in (first, second, size))
    sheet.kinds.append(KnownLength(one, two, weight, np.array([factor]), scalar))
    ends = (index[0], index[1], reference.set_back_mm)
    sheet.lengths.append((face, *ends, weight[0], known_mm))


def add_face(sheet: Sheet, face: Face) -> None:
    """Enter the frame, guides and references of a face.

    Raises
    ------
    DegenerateError, FieldError
        For picks that cannot be what they are said to be; the sentence names the item.
    """
    if face.frame is not None:
        order = rectangle_order(face.frame, f"the frame of face '{face.id}'")
        sheet.frames[face.id] = add_rectangle(sheet, face.id, face.frame, order, "the frame")
    for number, guide in enumerate(face.guides):
        item = f"{guide.kind} guide {number + 1}"
        if isinstance(guide, VergeGuide) and not isinstance(face.surface, RoofSurface):
            raise FieldError(
                f"Face '{face.id}' is no roof, so its {item} cannot run up a slope.",
                hint="Use a plumb or a level guide on a wall.",
                details={"face": face.id, "item": item},
            )
        if isinstance(guide, RectangleGuide):
            order = rectangle_order(guide.at, f"{item} of face '{face.id}'")
            add_rectangle(sheet, face.id, guide.at, order, item, guide.set_back_mm)
        else:
            _add_line(sheet, face.id, guide, item)
    for number, reference in enumerate(face.references):
        _add_reference(sheet, face.id, reference, reference_name(reference, number))


def diagonal_px(picks: Sequence[Pick]) -> float:
    """Diagonal of the upright box round some picks, in pixels."""
    wide = max(pick.x for pick in picks) - min(pick.x for pick in picks)
    high = max(pick.y for pick in picks) - min(pick.y for pick in picks)
    return math.hypot(wide, high)


def opening_name(measure: OpeningMeasure) -> str:
    """Name an opening in a sentence."""
    return f"opening '{measure.id}'"


def add_openings(sheet: Sheet, faces: Sequence[Face], left_out: frozenset[tuple[str, str]]) -> None:
    """Enter the openings to be measured: each is an upright rectangle and helps hold the camera.

    Their corners may be a little out of true, unlike the frame's, which is what square means.
    Openings that are no rectangle are left to whoever measures them to refuse; `left_out`
    names ``(face, item)`` that the other picks contradict.
    """
    found: list[tuple[float, Face, OpeningMeasure]] = []
    for face in faces:
        for measure in face.measures:
            if not isinstance(measure, OpeningMeasure) or measure.head == "round":
                continue
            if (face.id, opening_name(measure)) in left_out:
                continue
            found.append((diagonal_px(measure.at), face, measure))
    found.sort(key=lambda item: -item[0])
    for size_px, face, measure in found[:MOST_OPENINGS]:
        item = opening_name(measure)
        try:
            order = rectangle_order(measure.at, item)
            for pick in measure.at:
                check_inside_photo(pick, sheet.width_px, sheet.height_px, Role(face.id, item, ""))
        except (DegenerateError, FieldError):
            continue
        u_extra_px = OUT_OF_TRUE * size_px
        sheet.openings[face.id, item] = add_rectangle(
            sheet, face.id, measure.at, order, item, measure.set_back_mm, u_extra_px
        )
