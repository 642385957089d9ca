"""A starting camera from a few lines of known direction, and starting faces.

A line seen in a photo lies in the plane through the camera's centre and the line;
the directions of two parallel lines is where their planes meet. That needs a focal
length, and the one that follows from perspective alone is never believed: it comes out
wild whenever one pair of sides stays parallel in the photo, the usual upright street
photo (formulas: Zhang and He, "Whiteboard scanning and image enhancement", Digital
Signal Processing 17(2), 2007). So start from EXIF or a default and let the adjustment
weigh it against the picks.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from rectify.camera import CameraPrior
from rectify.solving.observations import LineObserved
from shared.errors import UnderdeterminedError
from shared.jets import Array


def bearings(picks_px: Array, prior: CameraPrior) -> Array:
    """Rays of picks in the camera frame, by the prior camera, shape (n, 3)."""
    ab = (np.atleast_2d(picks_px) - prior.principal_px) / prior.focal_px
    return np.column_stack([ab, np.ones(len(ab))])


def line_direction(lines: Iterable[Sequence[int]], rays: Array) -> Array:
    """Common direction of parallel lines, in the camera frame.

    Parameters
    ----------
    lines : iterable of sequences of int
        Picks along each line; the first and last are used.
    rays : ndarray, shape (n, 3)

    Returns
    -------
    ndarray, shape (3,)
        Unit vector; its sign is arbitrary.
    """
    ends = np.array([(line[0], line[-1]) for line in lines])
    normals = np.cross(rays[ends[:, 0]], rays[ends[:, 1]])
    return np.asarray(np.linalg.svd(normals)[2][-1])


def first_rotation(face: str, lines: Sequence[LineObserved], rays: Array) -> Array:
    """Turn of the camera from the level and plumb lines of one face.

    Parameters
    ----------
    face : str
    lines : sequence of LineObserved
    rays : ndarray, shape (n, 3)

    Returns
    -------
    ndarray, shape (3, 3)
        ``cam_from_building``.

    Raises
    ------
    UnderdeterminedError
        If the face has fewer than two level and two plumb lines.
    """
    level = [line.picks for line in lines if line.face == face and line.direction == "level"]
    plumb = [line.picks for line in lines if line.face == face and line.direction == "plumb"]
    if len(level) < 2 or len(plumb) < 2:
        raise UnderdeterminedError(
            f"Face '{face}' has no frame, and its guides are too few to square it by.",
            hint="Pick the four corners of an upright rectangle on it as its frame.",
            details={"face": face},
            unobservable=("rotation",),
        )
    x_cam, y_cam = line_direction(level, rays), line_direction(plumb, rays)
    x_cam *= np.sign(_run(level, rays, x_cam, axis=0)) or 1.0
    y_cam *= -(np.sign(_run(plumb, rays, y_cam, axis=1)) or 1.0)
    z_cam = np.cross(x_cam, y_cam)
    left, _, right = np.linalg.svd(np.column_stack([x_cam, y_cam, z_cam]))
    return np.asarray(left @ np.diag([1.0, 1.0, np.linalg.det(left @ right)]) @ right)


def _run(lines: Sequence[Sequence[int]], rays: Array, direction: Array, axis: int) -> float:
    """How `direction` runs in the photo, along x or y, seen from the middle of the lines."""
    middle = np.mean([rays[at] for line in lines for at in line], axis=0)
    ahead = direction * middle[2] - middle * direction[2]
    return float(ahead[axis])
