"""Guides found in the photo: its straight edges that run level and plumb, put to the test.

From the user's rough picks a first camera; by it the photo's edges are sorted into level,
plumb and neither (`rectify.line_camera`), joined (`rectify.line_joining`), and those kept
that agree with each other and with the picks (`rectify.line_trial`). They come back as
guides of the survey, each marked as found, to be taken or dropped all at once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from rectify.adjust import solve_photo
from rectify.line_camera import LEVEL, PLUMB, KnownLines, known_lines, sort_pieces
from rectify.line_joining import PhotoLine, join_pieces
from rectify.line_trial import (
    FEWEST_LINES,
    MOST_OFF,
    Placed,
    agreeing_lines,
    borne_out,
    guide_of,
    line_camera,
    line_squares,
    lines_rms_px,
    own_rms_px,
    picks_worse,
)
from rectify.photo_edges import EdgePieces, find_edge_pieces
from rectify.solution import PhotoFacts, Solution
from rectify.straighten import Progress, StoppedError
from shared.errors import InputError
from shared.jets import Array, gradient_of, value_of
from shared.survey import Face, Guide, Hinge, LevelGuide, Pick, PlumbGuide, WallSurface

#: Lines further off than this, in squares, from what the sorting makes of the camera are none.
FIRST_OFF = 10.0 * MOST_OFF

#: Rounds of dropping lines that the others do not bear out.
TRIALS = 3


@dataclass(frozen=True, slots=True)
class FitOfLines:
    """How a solution stands to the lines found, and what it makes of the camera.

    Parameters
    ----------
    lines_rms_px : float
        Root mean square distance of the lines' points from true lines.
    picks_rms_px : float
        Root mean square residual of the user's own picks.
    focal_px, u_focal_px, k1, u_k1, k2, u_k2 : float
    tilt_rad, u_tilt_rad : float
        Of the camera's axis above the level.
    far_mm, u_far_mm : float
        From the middle of the frame to the far end of what was found on the main wall; NaN
        where that cannot be told. In millimetres of no meaning where nothing gives the scale.
    """

    lines_rms_px: float
    picks_rms_px: float
    focal_px: float
    u_focal_px: float
    k1: float
    u_k1: float
    k2: float
    u_k2: float
    tilt_rad: float
    u_tilt_rad: float
    far_mm: float
    u_far_mm: float


@dataclass(frozen=True, slots=True)
class FoundGuides:
    """Guides found in one photo.

    Parameters
    ----------
    photo : str
    guides : mapping of face id to tuple of Guide
        Each marked ``found``; empty where none are to be had.
    sentence : str
        What was found, or why nothing was.
    before, after : FitOfLines or None
        Without and with the guides; None where there are none.
    far_pick_px : tuple of two float, or None
        The far end that `FitOfLines.far_mm` speaks of.
    solution : Solution or None
        With the guides.
    """

    photo: str
    guides: Mapping[str, tuple[Guide, ...]] = field(default_factory=dict)
    sentence: str = ""
    before: FitOfLines | None = None
    after: FitOfLines | None = None
    far_pick_px: tuple[float, float] | None = None
    solution: Solution | None = None

    @property
    def count(self) -> int:
        """Number of guides found."""
        return sum(len(guides) for guides in self.guides.values())


def without_found(face: Face) -> Face:
    """The face with the guides dropped that were found in the photo."""
    own = tuple(g for g in face.guides if not (isinstance(g, PlumbGuide | LevelGuide) and g.found))
    return face if len(own) == len(face.guides) else face.model_copy(update={"guides": own})


def with_found(face: Face, found: FoundGuides) -> Face:
    """The face with found guides in place of those found earlier."""
    own = without_found(face).guides
    return face.model_copy(update={"guides": own + tuple(found.guides.get(face.id, ()))})


def find_guides(
    pixels: npt.NDArray[np.uint8],
    photo: PhotoFacts,
    faces: Sequence[Face],
    progress: Progress | None = None,
) -> FoundGuides:
    """Find level and plumb edges in a photo that help to hold its camera.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (H, W, 3) or (H, W)
        Upright photo, of the size that `photo` says.
    photo : PhotoFacts
    faces : sequence of Face
        Those picked in this photo, enough to solve it. Guides found earlier are not used.
    progress : callable, optional
        Told the share done; stops the work by returning False.

    Returns
    -------
    FoundGuides
        With no guides, and a sentence why, where the photo has none that pass their trials.

    Raises
    ------
    InputError
        If the pixels are not those of the photo.
    GeometryError
        If the picks alone do not solve the photo.
    StoppedError
        If `progress` stopped it.
    """
    if pixels.shape[:2] != (photo.height_px, photo.width_px):
        raise InputError(
            f"Photo '{photo.id}' is {photo.width_px} x {photo.height_px} px, but its picture has "
            f"{pixels.shape[1]} x {pixels.shape[0]} px."
        )
    own = [without_found(face) for face in faces]
    before = solve_photo(photo, own)
    _tell(progress, 0.1)
    pieces = find_edge_pieces(pixels)
    _tell(progress, 0.5)
    placed = _placed(before, own)
    lines = _likely_lines(before, own, placed, pieces)
    _tell(progress, 0.7)
    if len(lines) < FEWEST_LINES:
        return FoundGuides(
            photo.id,
            sentence="The photo has too few straight edges that run level or plumb with the "
            "frame: nothing is added.",
        )
    kept, after, doubt = _put_to_the_test(before, own, lines, placed)
    _tell(progress, 1.0)
    if after is None or doubt:
        return FoundGuides(photo.id, sentence=f"{doubt}: nothing is added.")
    guides: dict[str, tuple[Guide, ...]] = {}
    for line in kept:
        face = placed.face(line.direction)
        guides[face] = (*guides.get(face, ()), guide_of(line))
    far = _far_pick(before, after, kept, placed)
    level = sum(line.direction != PLUMB for line in kept)
    return FoundGuides(
        photo.id,
        guides,
        f"Found {level} level and {len(kept) - level} plumb edges that agree with the frame.",
        _fit(before, before, kept, placed, far),
        _fit(before, after, kept, placed, far),
        far,
        after,
    )


def _put_to_the_test(
    before: Solution, faces: Sequence[Face], lines: Sequence[PhotoLine], placed: Placed
) -> tuple[list[PhotoLine], Solution | None, str]:
    """Keep the lines that agree and are borne out, or say why none can be kept."""
    kept = list(lines)
    for _ in range(TRIALS):
        kept, after = agreeing_lines(before.photo, faces, kept, placed)
        if after is None:
            break
        sound, doubt = borne_out(before, after, faces, kept, placed)
        if not doubt and len(sound) == len(kept):
            return kept, after, picks_worse(before, after)
        if doubt:
            return [], None, f"Straight edges were found, but {doubt}"
        kept = sound
    return [], None, "The straight edges of the photo do not agree with each other and the frame"


def _tell(progress: Progress | None, share: float) -> None:
    if progress is not None and progress(share) is False:
        raise StoppedError("Stopped before the guides were found.")


def _placed(solution: Solution, faces: Sequence[Face]) -> Placed:
    shapes = solution.unknowns.shapes
    main = next(face for face, shape in shapes.items() if shape.kind == "main")  # always there
    wings = [
        face.id
        for face in faces
        if shapes[face.id].kind == "hinged" and isinstance(face.surface, WallSurface)
    ]
    return Placed(main, tuple(wings))


def _likely_lines(
    before: Solution, faces: Sequence[Face], placed: Placed, pieces: EdgePieces
) -> list[PhotoLine]:
    """Sort the pieces by direction and join them."""
    if len(pieces) == 0:
        return []
    start = line_camera(before, placed)
    allowed = _allowed(before, faces, placed, pieces)
    sorted_ = sort_pieces(pieces, start, before.prior, _known(before, placed), allowed)
    diagonal_px = math.hypot(before.photo.width_px, before.photo.height_px)
    mm_per_px = None
    if before.scaled:
        values = list(before.unknowns.values)
        mm_per_px = math.exp(
            float(value_of(before.unknowns.number(before.photo.id, "log_reach", values)))
        )
    camera = sorted_.camera
    lines = join_pieces(pieces, sorted_.direction, camera, diagonal_px, mm_per_px)
    # where the lens folds the picture back nothing is to be had
    return [line for line in lines if line_squares(camera, line) <= FIRST_OFF]


def _known(before: Solution, placed: Placed) -> KnownLines:
    """Gather the lines of known direction among the user's picks; towers' are left out."""
    sheet = before.sheet
    lines = []
    for line in sheet.lines:
        shape = before.unknowns.shapes[line.face]
        if line.direction == "plumb":
            direction = PLUMB
        elif shape.kind in ("main", "parallel"):
            direction = LEVEL
        elif line.face in placed.wings:
            direction = LEVEL + 1 + placed.wings.index(line.face)
        else:
            continue
        first, last = line.picks[0], line.picks[-1]
        ends = np.array([sheet.picks_px[first], sheet.picks_px[last]])
        lines.append((direction, ends, math.hypot(sheet.u_px[first], sheet.u_px[last]) / 2**0.5))
    return known_lines(lines)


def _allowed(
    before: Solution, faces: Sequence[Face], placed: Placed, pieces: EdgePieces
) -> npt.NDArray[np.bool_]:
    """Level edges this side of a hinge are the main wall's, beyond it the wing's."""
    middle = pieces.ends_px.mean(axis=1)
    allowed = np.ones((len(pieces), 2 + len(placed.wings)), dtype=bool)
    for at, name in enumerate(placed.wings):
        face = next(face for face in faces if face.id == name)
        hinge = face.surface.hinge if isinstance(face.surface, WallSurface) else None
        corners = before.sheet.frames.get(name)
        if hinge is None or corners is None:
            allowed[:, 2 + at] = False
            continue
        centre = np.mean([before.sheet.picks_px[i] for i in corners], axis=0)
        beyond = _side(hinge, middle) == _side(hinge, centre)
        allowed[:, 2 + at] = beyond
        allowed[beyond, LEVEL] = False
    return allowed


def _side(hinge: Hinge, points_px: Array) -> Array:
    """On which side of a hinge points lie in the photo, -1 or 1."""
    first, last = hinge.at[0], hinge.at[-1]
    off_x, off_y = points_px[..., 0] - first.x, points_px[..., 1] - first.y
    return np.asarray(np.sign((last.x - first.x) * off_y - (last.y - first.y) * off_x))


def _far_pick(
    before: Solution, after: Solution, lines: Sequence[PhotoLine], placed: Placed
) -> tuple[float, float] | None:
    """Find the end of a line on the main wall that lies farthest from the frame."""
    middle = _middle_px(before, placed)
    ends = [p for line in lines if line.direction < 2 for p in line.points_px[[0, -1]]]
    ends.sort(key=lambda p: -float(np.hypot(*(p - middle))))
    for x, y in ends:
        # not the pick of the guide itself: its ± is that of a whole line
        pick = (round(float(x)) + 0.5, round(float(y)) + 0.5)
        found = [_far_mm(solution, placed, middle, pick)[0] for solution in (before, after)]
        if np.isfinite(found).all():
            return pick
    return None


def _middle_px(before: Solution, placed: Placed) -> Array:
    sheet = before.sheet
    corners = sheet.frames.get(placed.main, range(len(sheet.picks_px)))
    return np.asarray(np.mean([sheet.picks_px[i] for i in corners], axis=0))


def _far_mm(
    solution: Solution,
    placed: Placed,
    middle: Array,
    far: tuple[float, float],
) -> tuple[float, float]:
    picks = [Pick(x=float(middle[0]), y=float(middle[1])), Pick(x=far[0], y=far[1])]
    charted = solution.charted(placed.main, picks)
    gap = charted.chart_mm[1] - charted.chart_mm[0]
    length = float(np.hypot(*gap))
    if not math.isfinite(length) or length == 0.0:
        return math.nan, math.nan
    push = np.concatenate([-gap, gap]) / length
    return length, math.sqrt(max(float(push @ charted.cov_chart([0, 1]) @ push), 0.0))


def _fit(
    before: Solution,
    solution: Solution,
    lines: Sequence[PhotoLine],
    placed: Placed,
    far: tuple[float, float] | None,
) -> FitOfLines:
    photo = solution.photo.id
    log_focal, u_log_focal = solution.value_and_u(photo, "log_focal")
    (k1, u_k1), (k2, u_k2) = (solution.value_and_u(photo, k) for k in ("k1", "k2"))
    tilt, u_tilt = _tilt(solution)
    far_mm, u_far_mm = math.nan, math.nan
    if far is not None:
        far_mm, u_far_mm = _far_mm(solution, placed, _middle_px(before, placed), far)
    return FitOfLines(
        lines_rms_px=lines_rms_px(solution, lines, placed),
        picks_rms_px=own_rms_px(before, solution),
        focal_px=math.exp(log_focal),
        u_focal_px=math.exp(log_focal) * u_log_focal,
        k1=k1,
        u_k1=u_k1,
        k2=k2,
        u_k2=u_k2,
        tilt_rad=tilt,
        u_tilt_rad=u_tilt,
        far_mm=far_mm,
        u_far_mm=u_far_mm,
    )


def _tilt(solution: Solution) -> tuple[float, float]:
    """Rise of the camera's axis and its ±, in radians."""
    numbers = solution.unknowns.numbers()
    _, pose = solution.unknowns.camera(numbers)
    rise = pose.rotation[2][1]
    g = gradient_of(rise, len(numbers))
    value = float(np.clip(value_of(rise), -1.0, 1.0))
    u = math.sqrt(max(float(g @ solution.adjusted.cov_unknowns @ g), 0.0))
    return math.asin(value), solution.adjusted.misfit * u / math.sqrt(max(1.0 - value**2, 1e-12))
