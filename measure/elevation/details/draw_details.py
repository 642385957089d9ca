"""All details of a face as items, what stands nearest to the viewer first.

What is nearer hides what is behind it: a pipe the sill, a sill the string course, a string
course the quoins, quoins the joints of the brickwork, a mullion the glazing bars. Nothing is
drawn over an opening or off the wall but what stands inside an opening.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from measure.elevation.details.arches import voussoir_items
from measure.elevation.details.bands import band_items
from measure.elevation.details.brickwork import course_items
from measure.elevation.details.dressings import lintel_items, quoin_items, sill_items
from measure.elevation.details.ground import Ground
from measure.elevation.details.joinery import glazing_items, mullion_items, panel_items
from measure.elevation.details.pipes import pipe_items
from measure.elevation.drawing import Item
from measure.elevation.facade import Facade
from measure.elevation.path_geometry import Point
from shared.errors import FieldError
from shared.survey_details import (
    BandDetail,
    CourseLinesDetail,
    Detail,
    DoorPanelsDetail,
    GlazingBarsDetail,
    LintelsDetail,
    MullionsDetail,
    QuoinsDetail,
    RainwaterPipeDetail,
    SillsDetail,
    VoussoirsDetail,
)
from shared.survey_part import Pick

#: Kinds of detail from the nearest to the farthest.
_NEAREST_FIRST: tuple[type, ...] = (
    RainwaterPipeDetail,
    SillsDetail,
    BandDetail,
    VoussoirsDetail,
    LintelsDetail,
    QuoinsDetail,
    CourseLinesDetail,
    MullionsDetail,
    GlazingBarsDetail,
    DoorPanelsDetail,
)


def detail_items(
    facade: Facade,
    details: Iterable[Detail],
    denominator: float,
    place_of_pick: Callable[[Pick], Point],
) -> list[Item]:
    """Draw the details of a face.

    Parameters
    ----------
    facade : Facade
    details : iterable of Detail
    denominator : float
        Of the scale they are drawn for: bars thinner than a pen become one line.
    place_of_pick : callable
        Lays a pick of the photo on the drawing.

    Raises
    ------
    FieldError
        For a detail that cannot be drawn; one sentence that says which.
    """
    numbered = list(enumerate(details, start=1))
    numbered.sort(key=lambda pair: _NEAREST_FIRST.index(type(pair[1])))
    if not numbered:
        return []
    ground = Ground(facade, denominator)
    made: list[Item] = []
    for number, detail in numbered:
        try:
            made += _items(detail, ground, place_of_pick)
        except FieldError as error:
            raise FieldError(
                f"Detail {number} ({detail.kind}): {error.message}",
                hint=error.hint,
                details=error.details,
            ) from error
    return made


def _items(detail: Detail, ground: Ground, place_of_pick: Callable[[Pick], Point]) -> list[Item]:
    if isinstance(detail, RainwaterPipeDetail):
        at = detail.at_mm if detail.at is None else place_of_pick(detail.at)[0]
        return pipe_items(detail, at if at is not None else 0.0, ground)
    if isinstance(detail, BandDetail):
        return band_items(detail, ground)
    if isinstance(detail, QuoinsDetail):
        return quoin_items(detail, ground)
    if isinstance(detail, SillsDetail):
        return sill_items(detail, ground)
    if isinstance(detail, LintelsDetail):
        return lintel_items(detail, ground)
    if isinstance(detail, VoussoirsDetail):
        return voussoir_items(detail, ground)
    if isinstance(detail, GlazingBarsDetail):
        return glazing_items(detail, ground)
    if isinstance(detail, MullionsDetail):
        return mullion_items(detail, ground)
    if isinstance(detail, DoorPanelsDetail):
        return panel_items(detail, ground)
    return course_items(detail, ground)
