"""From a measured face to its elevation: tidied, completed, fitted, drawn.

The steps follow the wishes that the survey keeps for the face. The drawing's u starts at the
left edge of the wall before it was completed, its v at the datum.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from measure.elevation.carried import carried_details, place_maps
from measure.elevation.checks import check_facade
from measure.elevation.complete import PlaceOfPick, complete
from measure.elevation.details.draw_details import detail_items
from measure.elevation.draw_facade import draw_facade
from measure.elevation.drawing import Drawing, Item
from measure.elevation.elsewhere import ALONE, Wall
from measure.elevation.extent import face_extent
from measure.elevation.facade import Facade
from measure.elevation.face_facade import LeftEdge, left_edges, make_facade
from measure.elevation.face_numbers import make_quantities
from measure.elevation.fit import Choice, fit_facade
from measure.elevation.foot import Continued, continue_down
from measure.elevation.liberties import (
    Liberty,
    continued_down,
    fitted,
    grown,
    invented,
    lined_up,
    moved_on,
)
from measure.elevation.mirroring import Completed
from measure.elevation.moved_lines import move_lines
from measure.elevation.path_geometry import Point
from measure.elevation.tidy import Tidied, untidied
from measure.elevation.tidy_wall import tidy_wall
from measure.results import FaceResult
from rectify.solution import Solution
from shared.errors import FieldError, GeometryError, UnderdeterminedError
from shared.survey import Face, Pick, RoundSurface, Survey
from shared.survey_details import Detail
from shared.survey_drawing import FaceDrawing

UNROLLED = "A round wall, unrolled: widths are measured along its curve."


@dataclass(frozen=True, slots=True, eq=False)
class Elevation:
    """The elevation of one face, and how it came about.

    Attributes
    ----------
    drawing : Drawing
    facade : Facade
        What is drawn.
    denominator : float
        Of the scale it is drawn for; larger than the one asked for when the elevation was
        reduced to fit its plot.
    tidied : Tidied
    completed : Completed
    choice : Choice or None
        How it was fitted to its plot.
    liberties : tuple of Liberty
    notes : tuple of str
        What should be known before cutting.
    origin_chart_mm : (u, v)
        Chart place, as measured, of the drawing's (0, 0).
    details : tuple of Detail
        As drawn: carried along where the elevation was fitted.
    wall : Wall
        What other photos show of it.
    """

    drawing: Drawing
    facade: Facade
    denominator: float
    tidied: Tidied
    completed: Completed
    choice: Choice | None
    liberties: tuple[Liberty, ...]
    notes: tuple[str, ...]
    origin_chart_mm: Point
    details: tuple[Detail, ...] = ()
    wall: Wall = ALONE

    @property
    def sheet_notes(self) -> tuple[str, ...]:
        """Sentences for its title block."""
        costs = self.choice.costs if self.choice is not None else ()
        return (*self.drawing.remarks, *costs)


def make_elevation(
    survey: Survey,
    face: Face,
    result: FaceResult,
    solution: Solution,
    denominator: float,
    *,
    as_picked: bool = False,
    wall: Wall = ALONE,
) -> Elevation:
    """Make the elevation of a face as its survey wishes.

    Parameters
    ----------
    survey : Survey
    face : Face
    result : FaceResult
    solution : Solution
    denominator : float
        Of the model's scale.
    as_picked : bool
        Everything as it was measured: nothing lined up, completed, fitted or added.
    wall : Wall, optional
        What other photos show of the same wall; left aside for `as_picked`.

    Returns
    -------
    Elevation

    Raises
    ------
    UnderdeterminedError
        If nothing is measured on the face.
    FieldError
        For a wish that cannot be met; one sentence that says which, and on which face.
    """
    with naming_face(face.id):
        return _made(survey, face, result, solution, denominator, as_picked, wall)


@contextmanager
def naming_face(face_id: str) -> Iterator[None]:
    """Let a refused wish say of which face it is."""
    try:
        yield
    except FieldError as error:
        raise FieldError(
            f"Face '{face_id}': {error.message}",
            hint=error.hint,
            details={**error.details, "face": face_id},
        ) from error


def unfitted(face: Face) -> Face:
    """The face without a plot, itself where it has none: its elevation keeps its true size."""
    if face.drawing is None or face.drawing.plot is None:
        return face
    return face.model_copy(update={"drawing": face.drawing.model_copy(update={"plot": None})})


@dataclass(frozen=True, slots=True, eq=False)
class LinedUp:
    """A face measured and lined up: what making its elevation takes long for.

    Attributes
    ----------
    face : Face
    result : FaceResult
    solution : Solution
    tidied : Tidied
    edges : pair of LeftEdge
        As measured, and as lined up.
    wall : Wall
        What other photos show of it.
    """

    face: Face
    result: FaceResult
    solution: Solution
    tidied: Tidied
    edges: tuple[LeftEdge, LeftEdge]
    wall: Wall = ALONE

    @property
    def origin_mm(self) -> Point:
        """Chart place, as measured, of the drawing's (0, 0)."""
        return self.edges[0].u_mm, self.result.datum_v_mm


def line_up(
    survey: Survey,
    face: Face,
    result: FaceResult,
    solution: Solution,
    wishes: FaceDrawing,
    wall: Wall = ALONE,
) -> LinedUp:
    """Line a measured face up, or leave it as measured where that is wished."""
    if wishes.tidy:
        tidied = tidy_wall(survey, face, solution, result, wishes, wall)
    else:
        tidied = untidied(make_quantities(survey, face, solution, result, None, wall.elsewhere))
    extent = face_extent(face, result, solution)
    edges = left_edges(tidied.measured, tidied.numbers, extent.left_mm)
    return LinedUp(face, result, solution, tidied, edges, wall)


@dataclass(frozen=True, slots=True, eq=False)
class Composed:
    """A facade as it will be drawn, and the steps that led to it.

    Attributes
    ----------
    tidied : Tidied
        With its lines moved.
    measured, whole, facade : Facade
        As lined up and moved; completed and continued down; fitted to its plot.
    completed : Completed
    continued : Continued or None
    choice : Choice or None
    denominator : float
    carried : tuple of Detail
        Details carried along to where the facade was fitted.
    details : list of Item
        The same drawn.
    """

    tidied: Tidied
    measured: Facade
    whole: Facade
    facade: Facade
    completed: Completed
    continued: Continued | None
    choice: Choice | None
    denominator: float
    carried: tuple[Detail, ...]
    details: list[Item]


def compose(
    lined: LinedUp,
    wishes: FaceDrawing,
    denominator: float,
    *,
    as_picked: bool = False,
    bare: bool = False,
) -> Composed:
    """Move lines, complete, fit and detail a face that is lined up.

    Details take longest to draw: `bare` leaves them undrawn.

    Raises
    ------
    UnderdeterminedError
        If nothing is measured on the face.
    FieldError
        For a wish that cannot be met.
    """
    result, origin, edge = lined.result, lined.origin_mm, lined.edges[1]
    tidied = move_lines(lined.tidied, wishes.moved, edge)
    measured = make_facade(tidied.numbers, result, edge.u_mm, origin)
    if measured.extent is None:
        raise UnderdeterminedError(
            f"Nothing is measured on face '{lined.face.id}', so there is nothing to draw.",
            hint="Measure an opening, a level or an outline.",
            details={"face": lined.face.id},
        )
    place = placer(lined.face, lined.solution, origin)
    completed = complete(measured, wishes.completions, place)
    whole, continued = completed.facade, None
    if not as_picked:
        whole, continued = continue_down(whole, wishes.details)
    facade, choice = whole, None
    if wishes.plot is not None:
        choice = fit_facade(facade, denominator, wishes.plot)
        if choice is not None:
            facade, denominator = choice.facade, choice.denominator
    along, up = place_maps(whole, facade)

    def place_now(pick: Pick) -> Point:
        u, v = place(pick)
        return along(u), up(v)

    details = tuple(carried_details(wishes.details, along, up))
    drawn = () if bare else details
    items = list(detail_items(facade, drawn, denominator, place_now))
    return Composed(
        tidied, measured, whole, facade, completed, continued, choice, denominator, details, items
    )


def _made(
    survey: Survey,
    face: Face,
    result: FaceResult,
    solution: Solution,
    denominator: float,
    as_picked: bool,
    wall: Wall,
) -> Elevation:
    wishes = FaceDrawing(tidy=False) if as_picked else face.drawing or FaceDrawing()
    lined = line_up(survey, face, result, solution, wishes, ALONE if as_picked else wall)
    done = compose(lined, wishes, denominator, as_picked=as_picked)
    return draw_composed(lined, done, survey.title)


def draw_composed(lined: LinedUp, done: Composed, title: str) -> Elevation:
    """Draw a composed face, and tell the liberties taken."""
    face, origin = lined.face, lined.origin_mm
    tidied, measured, facade = done.tidied, done.measured, done.facade
    denominator = done.denominator
    ghost = None
    if tidied.groups or tidied.moved or done.continued is not None:
        outline_stays = done.completed.facade.outlines == measured.outlines
        outline_stays = outline_stays and facade.outlines == done.whole.outlines
        ghost = _ghost(tidied, lined.result, origin, measured, facade, outline_stays)
    remarks = (UNROLLED,) if isinstance(face.surface, RoundSurface) else ()
    drawing = draw_facade(
        facade,
        denominator,
        title=title,
        subtitle=face.label or face.id,
        details=done.details,
        ghost=ghost,
        remarks=remarks,
    )
    made = lined_up(tidied, lined.edges, denominator)
    made += moved_on(measured, facade, denominator)
    made += grown(measured, done.completed.facade, denominator)
    made += invented(done.completed.invented) + continued_down(done.continued)
    made += fitted(done.choice)
    notes = (*tidied.notes, *lined.wall.notes, *done.completed.notes)
    notes += check_facade(facade, denominator)
    return Elevation(
        drawing,
        facade,
        denominator,
        tidied,
        done.completed,
        done.choice,
        tuple(made),
        notes,
        origin,
        done.carried,
        lined.wall,
    )


def placer(face: Face, solution: Solution, origin_mm: Point) -> PlaceOfPick:
    """Lays picks of the photo on the drawing."""

    def place(pick: Pick) -> Point:
        u, v = solution.charted(face.id, [pick]).chart_mm[0]
        if not (abs(u) < 1e9 and abs(v) < 1e9):  # NaN as well
            raise GeometryError(
                f"The pick [{pick.x:g}, {pick.y:g}] for the drawing of face '{face.id}' looks "
                "past the face.",
                hint="Pick it on the face.",
                details={"face": face.id},
            )
        return float(u) - origin_mm[0], float(v) - origin_mm[1]

    return place


def _ghost(
    tidied: Tidied,
    result: FaceResult,
    origin_mm: Point,
    measured: Facade,
    drawn: Facade,
    outline_stays: bool,
) -> Facade:
    """What was picked, where it was picked; of openings that were not moved on afterwards."""
    stays = {each.id for each in measured.openings_left_by(drawn)}
    picked = make_facade(tidied.measured, result, origin_mm[0], origin_mm)
    openings = tuple(each for each in picked.openings if each.id in stays)
    return Facade(openings=openings, outlines=picked.outlines if outline_stays else ())
