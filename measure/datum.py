"""What levels count from."""

from __future__ import annotations

import numpy as np

from measure.features.registry import Sight
from rectify.projection import chart_mm_from_photo_px
from rectify.rectangle import rectangle_order
from rectify.solution import Charted, Solution
from rectify.solving.unknowns import heights_of
from shared.survey import Face, RoofSurface, RoundSurface, Survey, faces_leant_on


class Datum:
    """Height that levels of a face count from, as a charted pick.

    ``charted`` is None when nothing names a datum; levels then count from the height of the
    camera. On a roof slope v counts from its eaves; `plumb` asks for what plumb heights on it
    count from.
    """

    def __init__(
        self, survey: Survey, face: Face, solution: Solution, *, plumb: bool = False
    ) -> None:
        self.charted: Charted | None = None
        #: Whether a tower's own datum also says which upright its angles count from.
        self.is_upright = face.datum is not None and isinstance(face.surface, RoundSurface)
        self.v_mm = 0.0
        if isinstance(face.surface, RoofSurface) and not plumb:
            return
        found = datum_sight(survey, face, solution)
        if found is not None:
            name, (pick, back) = found
            self.charted = solution.charted(name, [pick], back)
            self.v_mm = float(self.charted.chart_mm[0, 1])

    def joined(self, charted: Charted, rows: tuple[int, ...]) -> tuple[Charted, list[int]]:
        """Picks of a measure, and the datum's pick behind them."""
        if self.charted is None:
            return charted, list(rows)
        return charted.joined(rows, self.charted), list(range(len(rows) + 1))


def datum_sight(survey: Survey, face: Face, solution: Solution) -> tuple[str, Sight] | None:
    """Find the pick that levels of a face count from, and the face it lies on.

    The face's own datum, else its lowest frame pick (not on a roof), else that of the face it
    stands beside; None when there is none, and levels count from the camera's height.
    """
    if face.datum is not None:
        name = heights_of(face.id) if isinstance(face.surface, RoofSurface) else face.id
        return name, (face.datum, 0.0)
    if face.frame is not None and not isinstance(face.surface, RoofSurface):
        order = rectangle_order(face.frame, f"the frame of face '{face.id}'")
        low = [face.frame[i] for i in order[2:]]
        fitted = [solution.fitted_px(pick) for pick in low]
        v = chart_mm_from_photo_px(np.array(fitted), solution.view(face.id))[:, 1]
        return face.id, (low[int(np.argmin(v))], 0.0)
    parent = next(iter(faces_leant_on(face)), None)
    for other in survey.faces:
        if other.id == parent:
            return datum_sight(survey, other, solution)
    return None
