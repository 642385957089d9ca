"""Set-back: depth of an edge that runs straight back into the wall.

Near and far end share ``(u, v)``. The far end's ray moves over the chart as the depth
grows; where it passes the near end is the depth. The far pick therefore comes twice, laid
on the face itself and on a plane behind it.
"""

from __future__ import annotations

import numpy as np

from measure.features.chart_points import ChartPoints, Sizes
from shared.jets import Array, value_of


def sizes(points: ChartPoints, behind_mm: float) -> Sizes:
    """Depth behind the face.

    Parameters
    ----------
    points : ChartPoints
        Near end on the face, far end on the face, far end on a plane `behind_mm` behind.
    behind_mm : float

    Returns
    -------
    mapping
        ``depth_mm``, positive into the wall.
    """
    run_u = (points.u[2] - points.u[1]) / behind_mm
    run_v = (points.v[2] - points.v[1]) / behind_mm
    gap_u, gap_v = points.u[0] - points.u[1], points.v[0] - points.v[1]
    push = np.array([[1.0, 0.0, -1.0, 0.0], [0.0, 1.0, 0.0, -1.0]])
    cov_gap = push @ points.cov[:4, :4] @ push.T
    run: Array = np.array([np.mean(value_of(run_u)), np.mean(value_of(run_v))])
    pull = np.linalg.solve(cov_gap + 1e-12 * np.trace(cov_gap) * np.eye(2), run)
    a, b = float(pull[0]), float(pull[1])
    return {"depth_mm": (gap_u * a + gap_v * b) / (run_u * a + run_v * b)}
