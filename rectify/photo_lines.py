"""Guides found in the photo: its straight edges that run level and plumb, put to the test.

From the user's rough picks a first camera; by it the photo's edges are sorted into level,
plumb and neither (`rectify.guides.line_camera`), joined (`rectify.guides.joining`), and those kept
that agree with each other and with the picks (`rectify.guides.trial`). They come back as
guides of the survey, each marked as found, to be taken or dropped all at once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from rectify.adjust import solve_photo
from rectify.guides.edges import EdgePieces, find_edge_pieces
from rectify.guides.joining import PhotoLine, join_pieces
from rectify.guides.line_camera import LEVEL, PLUMB, KnownLines, known_lines, sort_pieces
from rectify.guides.report import FitOfLines, far_pick, fit_of_lines
from rectify.guides.trial import (
    FEWEST_LINES,
    MOST_OFF,
    Placed,
    agreeing_lines,
    borne_out,
    guides_by_face,
    line_camera,
    line_off,
    picks_worse,
)
from rectify.projection import chart_mm_from_photo_px
from rectify.solution import PhotoFacts, Solution
from rectify.starts.bent import direction_of
from rectify.straighten import Progress, StoppedError
from shared.errors import InputError
from shared.jets import Array
from shared.survey import Face, Guide, Hinge, LevelGuide, PlumbGuide, WallSurface

#: Lines further off than this from what the sorting makes of the camera are none.
FIRST_OFF = 10.0 * MOST_OFF

#: Kerbs, carts and what else stands on the street run nearly level and seldom quite: so far below
#: the camera, at the distance of the wall, an edge is taken for one of them. A photographer's
#: eye is some 1.6 m above the street, and a plinth stands on it (judgement). Not so where the
#: user's own picks lie as low.
STREET_BELOW_MM = 2000.0

#: Rounds of dropping lines that the others do not bear out.
TRIALS = 3


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
    placed = _placed(before)
    if placed is None:
        return FoundGuides(
            photo.id,
            sentence="Straight edges are looked for where the photo has a flat wall with a frame, "
            "and it has none: nothing is added.",
        )
    _tell(progress, 0.1)
    pieces = find_edge_pieces(pixels)
    _tell(progress, 0.5)
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
    guides = guides_by_face(kept, placed)
    far = far_pick(before, after, kept, placed)
    level = sum(line.direction != PLUMB for line in kept)
    return FoundGuides(
        photo.id,
        guides,
        f"Found {level} level and {len(kept) - level} plumb edges that agree with the frame.",
        fit_of_lines(before, before, kept, placed, far),
        fit_of_lines(before, after, kept, placed, far),
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


def _placed(solution: Solution) -> Placed | None:
    """Which faces hold what is found; None where no flat wall does."""
    shapes = solution.unknowns.shapes
    main = [face for face, shape in shapes.items() if shape.kind == "main"]
    wings = [face for face, shape in shapes.items() if shape.kind == "hinged"]
    return Placed(main[0], tuple(wings)) if main else None


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
    camera = sorted_.camera
    lines = join_pieces(pieces, sorted_.direction, camera, diagonal_px)
    # where the lens folds the picture back nothing is to be had
    return [line for line in lines if line_off(camera, line) <= FIRST_OFF]


def _known(before: Solution, placed: Placed) -> KnownLines:
    """Gather the lines of known direction among the user's picks; towers' are left out."""
    sheet = before.sheet
    lines = []
    for line in sheet.lines:
        direction = direction_of(line, before.unknowns.shapes, placed.wings)
        if direction is None:
            continue
        first, last = line.picks[0], line.picks[-1]
        ends = np.array([sheet.picks_px[first], sheet.picks_px[last]])
        lines.append((direction, ends, math.hypot(sheet.u_px[first], sheet.u_px[last]) / 2**0.5))
    return known_lines(lines)


def _allowed(
    before: Solution, faces: Sequence[Face], placed: Placed, pieces: EdgePieces
) -> npt.NDArray[np.bool_]:
    """Level edges this side of a hinge are the main wall's, beyond it the wing's.

    None of the main wall's lies below the street.
    """
    middle = pieces.ends_px.mean(axis=1)
    allowed = np.ones((len(pieces), 2 + len(placed.wings)), dtype=bool)
    if before.scaled:
        view = before.view(placed.main)
        picked = before.adjusted_picks_px[before.sheet.picks_of(placed.main)]
        lowest_mm = np.nanmin(chart_mm_from_photo_px(picked, view)[:, 1])
        street_mm = min(float(view.pose.centre_mm[1]) - STREET_BELOW_MM, lowest_mm)
        allowed[:, LEVEL] = ~(chart_mm_from_photo_px(middle, view)[:, 1] < street_mm)
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
