"""The circle nearest to some points, in the sense of least distance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from shared.errors import DegenerateError
from shared.jets import Array, Number, value_of


def fit_circle(u: Sequence[Number], v: Sequence[Number]) -> tuple[Number, Number, Number]:
    """Fit a circle to three or more points.

    Parameters
    ----------
    u, v : sequence of number, length k
        Chart coordinates in millimetres, jets or arrays of samples.

    Returns
    -------
    centre_u, centre_v, radius : number

    Raises
    ------
    DegenerateError
        If the points lie in a straight line, or fewer than three are different.

    Notes
    -----
    Starts from the algebraic circle (a linear problem), then Gauss-Newton on the
    distances; with three points both are exact. Derivatives come from one last step
    in the arithmetic of the points.
    """
    uv = np.stack([np.broadcast_arrays(*map(value_of, u)), np.broadcast_arrays(*map(value_of, v))])
    points = np.moveaxis(uv, (0, 1), (-1, -2))  # (..., k, 2)
    middle = points.mean(axis=-2, keepdims=True)
    spread = np.sqrt(np.mean((points - middle) ** 2)) or 1.0
    p = (points - middle) / spread
    if points.ndim == 2 and np.linalg.svd(p)[1][-1] < 1e-6:
        raise DegenerateError(
            "The picks of the arc lie in a straight line.",
            hint="Pick at least one point well off the line between the others.",
        )
    design = np.concatenate([2 * p, np.ones((*p.shape[:-1], 1))], axis=-1)
    square = np.sum(p**2, axis=-1)[..., None]
    a, b, c = np.moveaxis((np.linalg.pinv(design) @ square)[..., 0], -1, 0)
    r = np.sqrt(np.maximum(c + a * a + b * b, 1e-12))
    for _ in range(25):
        jacobian, off = _distances(p, a, b, r)
        step = (np.linalg.pinv(jacobian) @ off[..., None])[..., 0]
        a, b, r = a + step[..., 0], b + step[..., 1], r + step[..., 2]
        if np.all(np.abs(step) < 1e-12):
            break
    jacobian, _ = _distances(p, a, b, r)
    a_mm, b_mm = a * spread + middle[..., 0, 0], b * spread + middle[..., 0, 1]
    r_mm = r * spread
    if points.ndim > 2:
        return a_mm, b_mm, r_mm
    pull = np.linalg.pinv(jacobian)
    offs = [np.hypot(ui - a_mm, vi - b_mm) - r_mm for ui, vi in zip(u, v, strict=True)]
    steps = [sum(float(pull[row, i]) * offs[i] for i in range(len(offs))) for row in range(3)]
    return a_mm + steps[0], b_mm + steps[1], r_mm + steps[2]


def _distances(p: Array, a: Array, b: Array, r: Array) -> tuple[Array, Array]:
    """Derivatives of distance with respect to centre and radius, and distances off the circle."""
    du, dv = p[..., 0] - a[..., None], p[..., 1] - b[..., None]
    length = np.hypot(du, dv)
    length = np.where(length > 1e-12, length, 1e-12)
    jacobian = np.stack([-du / length, -dv / length, -np.ones_like(length)], axis=-1)
    return -jacobian, length - r[..., None]
