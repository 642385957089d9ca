"""Points in space that several photos locate, told as a builder asks for them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from measure.datum import Datum
from rectify.solution import Solution
from rectify.tie_photos import SpacePoint
from shared.survey import Face, Survey


@dataclass(frozen=True, slots=True)
class LocatedPoint:
    """Where a point in space lies.

    Attributes
    ----------
    id, label, face : str
        The tie, and the face on which it is told.
    along_mm, u_along_mm : float
        Along that face, from straight below its photo's camera, to the right.
    level_mm, u_level_mm : float
        Above the face's datum.
    set_back_mm, u_set_back_mm : float
        Behind that face; negative before it.
    """

    id: str
    label: str
    face: str
    along_mm: float
    u_along_mm: float
    level_mm: float
    u_level_mm: float
    set_back_mm: float
    u_set_back_mm: float


def locate_point(
    survey: Survey, name: str, point: SpacePoint, face: Face, solution: Solution
) -> LocatedPoint:
    """Tell a point in space on its face.

    Parameters
    ----------
    survey : Survey
    name : str
        Of its tie.
    point : SpacePoint
    face : Face
    solution : Solution
        Of the photo of that face, all photos together.
    """
    datum = Datum(survey, face, solution)
    var_level = float(point.cov_mm2[1, 1])
    if datum.charted is not None:
        push = datum.charted.jac_unknowns[0, 1]
        var_datum = float(datum.charted.cov_chart([0])[1, 1])
        # the datum's own pick hangs together with the point through the unknowns alone
        var_level += var_datum - 2.0 * float(push @ point.cov_unknowns[1])
    label = next(tie.label for tie in survey.ties if tie.id == name)
    return LocatedPoint(
        name,
        label,
        face.id,
        point.u_mm,
        float(np.sqrt(point.cov_mm2[0, 0])),
        point.v_mm - datum.v_mm,
        float(np.sqrt(max(var_level, 0.0))),
        point.set_back_mm,
        float(np.sqrt(point.cov_mm2[2, 2])),
    )
