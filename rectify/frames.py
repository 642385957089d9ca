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

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from shared.jets import Array, Jet, Number, gradient_of, value_of

Vector = tuple[Number, Number, Number]


def _turned_back(rotation: Jet, d: Vector) -> Vector:
    """``rotation.T d`` for a jet and a vector of jets and plain numbers, all at one go."""
    count = rotation.gradient.shape[-1]
    value = np.stack(np.broadcast_arrays(*map(value_of, d)))
    gradient = np.zeros((*value.shape, count))
    for i in range(3):
        gradient[i] = gradient_of(d[i], count)
    turned = np.einsum("ij,i...->j...", rotation.value, value)
    slope = np.einsum("ij,i...p->j...p", rotation.value, gradient)
    slope += np.einsum("ijp,i...->j...p", rotation.gradient, value)
    x, y, z = (Jet(turned[j], slope[j]) for j in range(3))
    return x, y, z


#: Derivatives of a rotation by a small turn about x, y and z: the cross-product matrices.
TURNS: Array = np.array(
    [
        [[0, 0, 0], [0, 0, -1], [0, 1, 0]],
        [[0, 0, 1], [0, 0, 0], [-1, 0, 0]],
        [[0, -1, 0], [1, 0, 0], [0, 0, 0]],
    ],
    dtype=float,
)


@dataclass(frozen=True, slots=True)
class Pose:
    """Where a camera stands and how it is turned.

    Parameters
    ----------
    rotation : three rows of three numbers
        ``cam_from_building``: its rows are the camera's axes in the building frame. Nested
        tuples, an array or a jet of shape (3, 3) + S.
    centre_mm : tuple of three numbers
        The camera's position in building coordinates.
    """

    rotation: Number
    centre_mm: Vector


def dot(a: Vector, b: Vector) -> Number:
    """Inner product of two vectors given as components."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cam_from_building_direction(rotation: Number, d: Vector) -> Vector:
    """Turn a direction of the building into the camera frame."""
    return dot(rotation[0], d), dot(rotation[1], d), dot(rotation[2], d)


def building_from_cam_direction(rotation: Number, d: Vector) -> Vector:
    """Turn a direction of the camera into the building frame."""
    if isinstance(rotation, Jet):
        return _turned_back(rotation, d)
    r0, r1, r2 = rotation
    return (
        r0[0] * d[0] + r1[0] * d[1] + r2[0] * d[2],
        r0[1] * d[0] + r1[1] * d[1] + r2[1] * d[2],
        r0[2] * d[0] + r1[2] * d[1] + r2[2] * d[2],
    )


def rotation_after_turn(rotation: ArrayLike, turn: ArrayLike) -> Array:
    """Turn a rotation matrix by a rotation vector in the camera frame.

    Parameters
    ----------
    rotation : array_like, shape (3, 3) + S
        The matrix to start from.
    turn : array_like, shape (3,) + S
        Rotation vector in radians, right for small turns and a rotation for all.

    Returns
    -------
    ndarray, shape (3, 3) + S
        ``C(turn) @ rotation``.

    Notes
    -----
    Uses the Rodrigues parameters ``g = turn / 2``:
    ``C = I + 2 (G + g g.T - g.g I) / (1 + g.g)`` with G the cross-product matrix of g.
    Its derivative at ``turn = 0`` is `TURNS`.

    References
    ----------
    M. D. Shuster, "A survey of attitude representations", Journal of the
    Astronautical Sciences 41(4), 1993, section on Rodrigues parameters (from memory).
    """
    g = 0.5 * np.asarray(turn, dtype=float)
    eye = np.eye(3).reshape(3, 3, *(1,) * (g.ndim - 1))
    square = np.sum(g * g, axis=0)
    across = np.einsum("kij,k...->ij...", TURNS, g)
    c = eye + 2.0 * (across + g[:, None] * g[None, :] - square * eye) / (1.0 + square)
    return np.asarray(np.einsum("ij...,jk...->ik...", c, np.asarray(rotation, dtype=float)))


def unit(vector: Array) -> Array:
    """Scale vectors, shape (3,) + S, to unit length."""
    return np.asarray(vector / np.sqrt(np.sum(vector * vector, axis=0)))


def squared_rotation(x_cam: Array, y_cam: Array) -> Array:
    """Rotation whose x and y axes are nearest to two directions nearly at right angles.

    Parameters
    ----------
    x_cam, y_cam : ndarray, shape (3,) + S
        Building x and y as the camera sees them; of any length.

    Returns
    -------
    ndarray, shape (3, 3) + S
        ``cam_from_building``.

    Notes
    -----
    Sum and difference of two unit vectors are at right angles whatever their angle; turning
    those by 45 degrees shares the correction equally.
    """
    x, y = unit(x_cam), unit(y_cam)
    middle, across = unit(x + y), unit(x - y)
    x, y = (middle + across) * math.sqrt(0.5), (middle - across) * math.sqrt(0.5)
    return np.stack([x, y, np.cross(x, y, axis=0)], axis=1)
