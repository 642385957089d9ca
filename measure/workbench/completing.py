"""Mirroring and repeating by handles: what a wish would make, told before the survey has it.

Places are told on the chart of the face, in millimetres, v up. Where the elevation is fitted to
its plot, the wall is shown in its true size while a handle is in hand.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from functools import lru_cache
from itertools import pairwise
from typing import Any

from measure.elevation.build import Composed, LinedUp, compose, placer
from measure.elevation.checks import check_places
from measure.elevation.drawing import Polyline
from measure.elevation.facade import DrawnOpening
from measure.elevation.mirroring import find_axis
from measure.elevation.path_geometry import Box
from measure.elevation.repeating import named_openings, spacing_of
from measure.workbench.bench_job import paths_of
from measure.workbench.dragging import MOST_KEPT
from measure.workbench.telling import clean_json
from shared.errors import FieldError
from shared.number_text import format_number
from shared.survey_drawing import AboutAxis, Completion, FaceDrawing, RepeatCompletion

#: An axis nearer than this to one told already is the same.
SAME_AXIS_MM = 1.0

#: A wall that grows by less than this is as wide as before.
LEAST_GROWTH_MM = 1.0


def handles_of(lined: LinedUp, of: Sequence[str], denominator: float) -> dict[str, Any]:
    """What handles at some openings go by: all openings, axes to snap to, the spacing measured.

    Parameters
    ----------
    lined : LinedUp
    of : sequence of str
        Openings chosen; those that are not drawn are left out.
    denominator : float
        Of the model's scale.
    """
    done, _, _ = _as_it_is(lined, denominator)
    facade = done.whole
    spacing_mm = None
    if chosen := [id_ for id_ in of if facade.opening(id_) is not None]:
        with suppress(FieldError):  # nothing like it may stand beside it: the hand says how far
            spacing_mm = spacing_of(facade, named_openings(facade, chosen))
    told = {
        "origin_mm": lined.origin_mm[0],
        "wall_mm": _corners(facade.wall_box, lined),
        "openings": [
            {
                "id": each.id,
                "label": each.label or each.id,
                "box_mm": _corners(each.box, lined),
                "inferred": each.inferred,
            }
            for each in facade.openings
        ],
        "axes": list(_axes(lined, done)),
        "spacing_mm": spacing_mm,
        "paths": _paths(lined, done) if lined.face.drawing and lined.face.drawing.plot else None,
    }
    cleaned: dict[str, Any] = clean_json(told)
    return cleaned


def tried(
    lined: LinedUp, wish: Completion, denominator: float, count: int | None = None
) -> dict[str, Any]:
    """What one more completion would make: openings, and the outline where the wall grows.

    Parameters
    ----------
    lined : LinedUp
    wish : Completion
        Met after those that the survey has.
    denominator : float
        Of the model's scale.
    count : int or None
        Copies of a repeated bay: in hand there may be none, which is refused in words.

    Raises
    ------
    FieldError
        For a wish that cannot be met or would make nothing, for openings that would stand across
        each other or off the wall, and for a detail of one that would be gone.
    """
    if isinstance(wish, RepeatCompletion) and count is not None:
        wish = wish.model_copy(update={"count": count})
    before, known, there = _as_it_is(lined, denominator)
    done = _plain(lined, denominator, wish)
    if any(done.facade.opening(each.id) is None for each in before.facade.openings):
        # a detail may name what is gone: that is refused when it is drawn
        _plain(lined, denominator, wish, bare=False)
    made = done.completed.invented[len(before.completed.invented) :]
    notes = list(done.completed.notes[len(before.completed.notes) :])
    if notes and not made:
        raise FieldError(notes[0])
    for crossing in check_places(done.facade):
        if crossing not in known:
            raise FieldError(crossing)
    old, new = before.facade.wall_box.width_mm, done.facade.wall_box.width_mm
    if abs(new - old) > LEAST_GROWTH_MM:
        sizes = f"{format_number(new)} mm wide, not {format_number(old)} mm"
        notes.append(f"With it the wall is {sizes}.")
    told = {
        "offered": [path for path in _paths(lined, done) if path not in there],
        "made": [
            {"id": each.id, "box_mm": _corners(opening.box, lined)}
            for each in made
            if (opening := done.facade.opening(each.id)) is not None
        ],
        "notes": notes,
    }
    cleaned: dict[str, Any] = clean_json(told)
    return cleaned


@lru_cache(maxsize=MOST_KEPT)
def _as_it_is(lined: LinedUp, denominator: float) -> tuple[Composed, set[str], set[str]]:
    """The face without the wish, what is said of its openings, and its lines."""
    done = _plain(lined, denominator)
    return done, set(check_places(done.facade)), set(_paths(lined, done))


def _plain(lined: LinedUp, denominator: float, *more: Completion, bare: bool = True) -> Composed:
    """The face completed in its true size, its details undrawn: they take longest."""
    wishes = lined.face.drawing or FaceDrawing()
    true = {"plot": None, "completions": (*wishes.completions, *more)}
    return compose(lined, wishes.model_copy(update=true), denominator, bare=bare)


def _paths(lined: LinedUp, done: Composed) -> list[str]:
    """Openings and outlines, these edge by edge: only what grows is offered."""
    edges = [
        Polyline("outline", edge)
        for outline in done.facade.outlines
        for edge in pairwise((*outline.points_mm, outline.points_mm[0]))
    ]
    shapes = [each.path() for each in done.facade.openings]
    return paths_of([*edges, *shapes], lined.origin_mm)


def _corners(box: Box, lined: LinedUp) -> list[float]:
    placed = box.moved(*lined.origin_mm)
    return [placed.left_mm, placed.bottom_mm, placed.right_mm, placed.top_mm]


def _axes(lined: LinedUp, done: Composed) -> Iterator[dict[str, Any]]:
    """Axes worth snapping to, each with what a wish says of it; the first at a place stays."""
    told: list[float] = []
    for what, at_mm, says in _axes_in_turn(lined, done):
        if all(abs(at_mm - other) >= SAME_AXIS_MM for other in told):
            told.append(at_mm)
            yield {"what": what, "at_mm": at_mm + lined.origin_mm[0], "says": says}


def _axes_in_turn(lined: LinedUp, done: Composed) -> Iterator[tuple[str, float, dict[str, Any]]]:
    wishes = lined.face.drawing or FaceDrawing()
    place = placer(lined.face, lined.solution, lined.origin_mm)
    for wish in wishes.completions:
        if isinstance(wish, AboutAxis) and wish.axis_at is not None:
            pick = wish.model_dump(mode="json", include={"axis_at"})
            yield "picked", place(wish.axis_at)[0], pick
        elif isinstance(wish, AboutAxis) and wish.axis_mm is not None:
            yield "given", wish.axis_mm, {"axis_mm": wish.axis_mm}
    facade = done.completed.facade
    for each in facade.openings:
        yield "opening", each.centre_mm, {"axis_of": [each.id]}
    for one, other in _neighbours(facade.openings):
        yield "between", (one.centre_mm + other.centre_mm) / 2.0, {"axis_of": [one.id, other.id]}
    with suppress(FieldError):  # nothing may repeat on this wall
        yield "found", find_axis(facade), {}
    middle = done.whole.wall_box.centre_mm[0]
    yield "middle", middle, {"axis_mm": round(middle, 1)}


def _neighbours(
    openings: Sequence[DrawnOpening],
) -> Iterator[tuple[DrawnOpening, DrawnOpening]]:
    """Each opening with the next to its right on its storey."""
    for one in openings:
        beside = [
            other
            for other in openings
            if other.left_mm >= one.right_mm
            and min(one.head_mm, other.head_mm) > max(one.sill_mm, other.sill_mm)
        ]
        if beside:
            yield one, min(beside, key=lambda other: other.left_mm)
