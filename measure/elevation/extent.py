"""The part of a face's chart that its measures cover."""

from __future__ import annotations

import numpy as np

from measure.elevation.path_geometry import Box
from measure.results import FaceResult
from rectify.solution import Solution
from shared.errors import UnderdeterminedError
from shared.survey import Face

#: Strip of wall shown around the measures, as part of their size.
AROUND = 0.02


def face_extent(face: Face, result: FaceResult, solution: Solution) -> Box:
    """Box around the frame and all measures of a face, on its chart in millimetres.

    The outline's box when the face has an outline; else whatever was picked.

    Raises
    ------
    UnderdeterminedError
        If nothing was picked on the face.
    """
    outlines = [m.points_mm for m in result.measures.values() if m.kind == "outline"]
    points = outlines[:1] or [m.points_mm for m in result.measures.values()]
    if not outlines and face.frame is not None:
        points = [*points, solution.charted(face.id, face.frame).chart_mm]
    if not points:
        raise UnderdeterminedError(
            f"Nothing is picked on face '{face.id}', so there is nothing to draw.",
            hint="Give it a frame or measures.",
            details={"face": face.id},
        )
    every = np.concatenate(points)
    low, high = np.nanmin(every, axis=0), np.nanmax(every, axis=0)
    pad = AROUND * float(np.max(high - low))
    return Box(float(low[0] - pad), float(low[1] - pad), float(high[0] + pad), float(high[1] + pad))
