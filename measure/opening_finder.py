"""Openings proposed: what looks like a door or window on a straightened wall.

Nothing is decided here: each proposal is an opening as the survey writes it, to be accepted or
not. The wall is straightened at a resolution that is enough to see frames by, and searched with
plain vision (`measure.finding`): edges make candidates, what lies within and around them is
weighed, and openings like others in their row or column count for more.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import shapely

from measure.finding.carry import as_opening, box_mm, is_inside_photo
from measure.finding.choose import Found, choose
from measure.finding.circles import find_circles
from measure.finding.edges import find_edges, upright_runs
from measure.finding.groups import Place, group_columns, group_rows
from measure.finding.jambs import find_candidates
from measure.finding.picture import Floats, WallPicture, make_picture
from measure.finding.pool import Looker
from measure.finding.sides import SideFinder
from measure.finding.wall_tone import wall_likeness
from measure.finding.where import (
    chart_of_picks,
    core_between_picks,
    outline_of,
    search_window,
    taken_boxes,
    wall_window,
)
from rectify.photos.pixels import RgbPixels
from rectify.photos.pyramid import Pyramid
from rectify.projection import View
from rectify.straighten import StoppedError, straighten
from shared.errors import FieldError
from shared.survey import Face, OpeningMeasure

Progress = Callable[[str, float], bool | None]

#: Smaller things in the photo are not proposed: nothing tells an opening from a stain there.
SMALLEST_PX = 12.0

#: An opening measured already covers so much of a proposal that would be the same.
SAME = 0.3


@dataclass(frozen=True, slots=True)
class Proposal:
    """One opening that may be there.

    Attributes
    ----------
    opening : OpeningMeasure
        Picks in the photo with their ±; its id is new to the face.
    score : float
        0 to 1; the clearer the better. Not a probability.
    row, column : str
        Names of the row of like openings and of the column that it stands in.
    box_mm : tuple of four float
        Left, bottom, right, top on the chart.
    order : int
        Place among all, row after row from the bottom up, each from left to right.
    """

    opening: OpeningMeasure
    score: float
    row: str
    column: str
    box_mm: tuple[float, float, float, float]
    order: int = 0


def find_openings(
    pixels: RgbPixels,
    view: View,
    face: Face,
    *,
    scaled: bool = True,
    pyramid: Pyramid | None = None,
    progress: Progress | None = None,
) -> list[Proposal]:
    """Propose openings on a face, the clearest first.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (H, W, 3)
        The upright photo.
    view : View
        Of the face.
    face : Face
        Its first outline, if it has one, bounds the search; else what is picked on it, and
        some way beyond. Openings that it measures already are not proposed again.
    scaled : bool
        Whether the chart's millimetres are true (`Solution.scaled`).
    pyramid : Pyramid, optional
        The photo's smaller copies.
    progress : callable, optional
        Told what is being done and the share done; may return False to stop.

    Returns
    -------
    list of Proposal

    Raises
    ------
    GeometryError
        If nothing is picked on the face, or the photo shows nothing of it.
    StoppedError
        If `progress` returned False.
    """
    tell = _Teller(progress)
    pyramid = Pyramid(pixels) if pyramid is None else pyramid
    bound = outline_of(face, view)
    window, factor = search_window(face, view, pixels.shape[1], pixels.shape[0], scaled=scaled)
    tell("straightening the wall", 0.05)
    if bound is None:
        window = wall_window(pixels, view, face, window, factor, pyramid)
        tell("straightening the wall", 0.15)
    made = straighten(pixels, view, window, pyramid=pyramid)
    tell("looking for openings", 0.25)
    picture = make_picture(made.rgb, made.visible, window.mm_per_px[0] * factor)
    core = (
        core_between_picks(picture, window, chart_of_picks(face, view)) if bound is None else None
    )
    found = find_in_picture(picture, tell, core)
    finder = SideFinder(picture)
    placed = [(one, finder.find(one)) for one in found]
    taken = taken_boxes(face, view)
    proposals: list[tuple[Found, OpeningMeasure, tuple[float, float, float, float]]] = []
    names = _new_names(face)
    for one, sides in placed:
        box = box_mm(window, sides)
        middle = shapely.Point(0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3]))
        if bound is not None and not bound.contains(middle):
            continue
        if any(_covered(box, other) > SAME for other in taken):
            continue
        opening = as_opening(one, sides, window, view, "new")
        inside = is_inside_photo(opening, pixels.shape[1], pixels.shape[0])
        if opening is not None and inside and _is_large(opening):
            proposals.append((one, opening, box))
    tell("done", 1.0)
    return _named(proposals, names)


def find_in_picture(
    picture: WallPicture, tell: Progress | None = None, core: Floats | None = None
) -> list[Found]:
    """Find openings in a straightened picture, the clearest first; see `measure.finding`.

    `core`, shape (h, w), says where the wall certainly is; by default the middle.
    """
    say = tell or (lambda _what, _share: None)
    like_wall = wall_likeness(picture, core)
    say("looking for openings", 0.4)
    edges = find_edges(picture)
    runs = upright_runs(picture, edges)
    say("looking for openings", 0.5)
    looker = Looker(picture, edges, like_wall)
    every = find_candidates(picture, edges, runs, looker.meter)
    circles = find_circles(picture, looker.fine, like_wall)
    say("looking for openings", 0.6)
    found = circles + choose(looker, every, circles)
    return sorted(found, key=lambda one: -one.score)


class _Teller:
    """Passes progress on, and stops the work when told to."""

    def __init__(self, progress: Progress | None) -> None:
        self._progress = progress

    def __call__(self, what: str, share: float) -> None:
        if self._progress is not None and self._progress(what, share) is False:
            raise StoppedError("The search was stopped: nothing was proposed.")


def _is_large(opening: OpeningMeasure) -> bool:
    """Whether an opening has enough of the photo's pixels to be one."""
    x, y = ([getattr(pick, axis) for pick in opening.at] for axis in ("x", "y"))
    return bool(max(x) - min(x) >= SMALLEST_PX and max(y) - min(y) >= SMALLEST_PX)


def _covered(one: Sequence[float], other: Sequence[float]) -> float:
    """Shared area over that of both together."""
    a, b = shapely.box(*one), shapely.box(*other)
    return float(a.intersection(b).area / max(a.union(b).area, 1e-9))


def _new_names(face: Face) -> Sequence[str]:
    """Ids that no measure of the face has."""
    used = {measure.id for measure in face.measures}
    return [name for n in range(1, 2 * len(used) + 1000) if (name := f"n{n}") not in used]


def _named(
    proposals: list[tuple[Found, OpeningMeasure, tuple[float, float, float, float]]],
    names: Sequence[str],
) -> list[Proposal]:
    """Name proposals by rows from the bottom up, from left to right; the clearest first."""
    places = [Place(*box, found.head) for found, _, box in proposals]
    rows, columns = group_rows(places), group_columns(places)
    row_of = {i: f"row{n}" for n, row in enumerate(rows, 1) for i in row}
    column_of = {i: f"column{n}" for n, column in enumerate(columns, 1) for i in column}
    order = {i: n for n, i in enumerate(i for row in rows for i in row)}
    out = []
    for i, (found, opening, box) in enumerate(proposals):
        named = opening.model_copy(update={"id": names[order[i]]})
        score = round(found.score, 3)
        out.append(Proposal(named, score, row_of[i], column_of[i], box, order[i]))
    return sorted(out, key=lambda one: -one.score)


def choose_proposals(found: Sequence[Proposal], names: Sequence[str]) -> list[Proposal]:
    """Choose proposals by name: ``all``, a row, a column or an id.

    Raises
    ------
    FieldError
        If a name is none of these.
    """
    chosen: dict[str, Proposal] = {}
    for name in names:
        mine = [one for one in found if name in ("all", one.opening.id, one.row, one.column)]
        if not mine and name != "all":
            known = ["all", *dict.fromkeys(one.row for one in found)]
            raise FieldError(
                f"No proposed opening, row or column is called '{name}'.",
                hint=f"There are {', '.join(known)}, columns and single ids.",
            )
        chosen |= {one.opening.id: one for one in mine}
    return sorted(chosen.values(), key=lambda one: one.order)


def with_proposals(face: Face, proposals: Sequence[Proposal]) -> Face:
    """Accept proposals: the face with their openings among its measures."""
    added = tuple(
        one.opening.model_copy(update={"label": f"found, {one.row}"}) for one in proposals
    )
    return face.model_copy(update={"measures": (*face.measures, *added)})
