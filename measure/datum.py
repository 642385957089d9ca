"""What levels count from."""

from __future__ import annotations

import numpy as np

from measure.features.registry import Sight
from rectify.projection import chart_mm_from_photo_px
from rectify.rectangle import rectangle_order
from rectify.solution import Charted, Solution
from shared.survey import Face, RoundSurface, Survey, WallSurface


class Datum:
    """Height that levels of a face count from, as a charted pick.

    ``charted`` is None when nothing names a datum; levels then count from the height of the
    camera.
    """

    def __init__(self, survey: Survey, face: Face, solution: Solution) -> None:
        self.charted: Charted | None = None
        self.v_mm = 0.0
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

    The face's own datum, else its lowest frame pick, else that of the face it stands
    beside; None when there is none, and levels count from the camera's height.
    """
    if face.datum is not None:
        return face.id, (face.datum, 0.0)
    if face.frame is not None:
        order = rectangle_order(face.frame, f"the frame of face '{face.id}'")
        low = [face.frame[i] for i in order[2:]]
        fitted = [solution.fitted_px(pick) for pick in low]
        v = chart_mm_from_photo_px(np.array(fitted), solution.view(face.id))[:, 1]
        return face.id, (low[int(np.argmin(v))], 0.0)
    parent = None
    if isinstance(face.surface, RoundSurface):
        parent = face.surface.beside
    elif isinstance(face.surface, WallSurface) and face.surface.hinge:
        parent = face.surface.hinge.face
    for other in survey.faces:
        if other.id == parent:
            return datum_sight(survey, other, solution)
    return None
