r"""Every coordinate frame of the program, on one page.

::

    photo      pixels of the upright photo, x right, y down;
               (0, 0) is the OUTER CORNER of the first pixel, (0.5, 0.5) its centre.
               Equal to a browser's canvas. Only code that touches pixel arrays shifts
               by half a pixel (OpenCV puts (0, 0) at that centre).

    camera     x right, y down, z forward, no unit once divided by z: (a, b) = (X/Z, Y/Z)

    building   millimetres. The main wall of a photo is the plane z = 0:
               x to the right along the wall, y plumb and up, z out of the wall towards
               the viewer. The camera stands at (0, 0, distance): the building frame's
               origin is the foot of the camera on the wall, since nothing in one photo
               says where else it should be.

    chart      (u, v) millimetres on one face: u along it to the right as seen from
               outside, v up along it. A depth behind the face is a set-back (positive
               inwards).

                 y, v                         y
                  |    face                   |   (plan, from above)
                  |                           +----- x     u of a wing runs along
                  +----- x, u                  \            its own heading
                 /                              z
                z  towards the camera

A transform is named target first: ``cam_from_building`` takes building
coordinates to camera coordinates, ``x_cam = R (x_building - centre)``.
Formulas take plain arrays or `shared.jets.Jet` alike, so that each is written once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from shared.jets import Number, stack_numbers, value_of

Vector = tuple[Number, Number, Number]

# entries of the cross-product matrix of (g0, g1, g2): which component, with which sign
_CROSS_OF = np.array([[0, 2, 1], [2, 0, 0], [1, 0, 0]])
_CROSS_SIGN = np.array([[0.0, -1.0, 1.0], [1.0, 0.0, -1.0], [-1.0, 1.0, 0.0]])


@dataclass(frozen=True, slots=True)
class Pose:
    """Where a camera stands and how it is turned.

    Parameters
    ----------
    rotation : tuple of three rows of three numbers
        ``cam_from_building``: its rows are the camera's axes in the building frame.
    centre_mm : tuple of three numbers
        The camera's position in building coordinates.
    """

    rotation: tuple[Vector, Vector, Vector]
    centre_mm: Vector


def dot(a: Vector, b: Vector) -> Number:
    """Inner product of two vectors given as components."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cam_from_building_direction(rotation: tuple[Vector, Vector, Vector], d: Vector) -> Vector:
    """Turn a direction of the building into the camera frame."""
    return dot(rotation[0], d), dot(rotation[1], d), dot(rotation[2], d)


def building_from_cam_direction(rotation: tuple[Vector, Vector, Vector], d: Vector) -> Vector:
    """Turn a direction of the camera into the building frame."""
    r0, r1, r2 = rotation
    return (
        r0[0] * d[0] + r1[0] * d[1] + r2[0] * d[2],
        r0[1] * d[0] + r1[1] * d[1] + r2[1] * d[2],
        r0[2] * d[0] + r1[2] * d[1] + r2[2] * d[2],
    )


def rotation_after_turn(
    rotation: ArrayLike, turn: tuple[Number, Number, Number]
) -> tuple[Vector, Vector, Vector]:
    """Turn a rotation matrix by a small rotation vector in the camera frame.

    Parameters
    ----------
    rotation : array_like, shape (3, 3)
        The matrix to start from.
    turn : tuple of three numbers
        Rotation vector in radians, right for small turns and a rotation for all.

    Returns
    -------
    tuple of three rows
        ``C(turn) @ rotation``.

    Notes
    -----
    Uses the Rodrigues parameters ``g = turn / 2``:
    ``C = I + 2 (G + g g.T - g.g I) / (1 + g.g)`` with G the cross-product matrix of g.
    It has no root and no division by zero at ``turn = 0``, so its derivative there is plain.

    References
    ----------
    M. D. Shuster, "A survey of attitude representations", Journal of the
    Astronautical Sciences 41(4), 1993, section on Rodrigues parameters (from memory).
    """
    g = stack_numbers([0.5 * part for part in turn])
    tail = (1,) * (value_of(g).ndim - 1)
    square = g[:, None] * g[None, :]
    norm2 = square[0, 0] + square[1, 1] + square[2, 2]
    eye, sign = np.eye(3).reshape(3, 3, *tail), _CROSS_SIGN.reshape(3, 3, *tail)
    turned = eye + (g[_CROSS_OF] * sign + square - norm2 * eye) * (2.0 / (1.0 + norm2))
    base = np.asarray(rotation, dtype=float).reshape(1, 3, 3, *tail)
    c = (turned[:, :, None] * base).sum(1)
    return (
        (c[0, 0], c[0, 1], c[0, 2]),
        (c[1, 0], c[1, 1], c[1, 2]),
        (c[2, 0], c[2, 1], c[2, 2]),
    )
