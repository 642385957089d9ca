"""Whole invented buildings, projected by OpenCV's ``projectPoints``: a wall, a wing and a tower.

Source: the camera model of OpenCV's calib3d module (``cv2.projectPoints``), from the registry's
own package. Every scene must settle, and no size may be surer of itself than it is right.
"""

import math

import cv2
import numpy as np
import pytest

from measure.evaluate import evaluate
from rectify.solution import PhotoFacts
from shared.survey import Survey

WIDE, HIGH = 4032, 3024
DIAGONAL_PX = math.hypot(WIDE, HIGH)
U_PX = 0.5
CORNERS = ((0, 1), (1, 1), (1, 0), (0, 0))


class OutOfSight(Exception):
    """A point of the scene is not in the photo."""


class Street:
    """A camera drawn at random before a building, and picks in its photo."""

    def __init__(self, rng):
        self.rng = rng
        self.focal_35mm = rng.uniform(18, 60)
        focal_px = self.focal_35mm / math.hypot(36, 24) * DIAGONAL_PX
        yaw, roll = math.radians(rng.uniform(-45, 45)), math.radians(rng.normal(0, 1.5))
        target = np.array([rng.uniform(3000, 6000), 3500.0, 0.0])
        away = rng.uniform(9000, 20000)
        self.eye_mm = np.array([target[0] + away * math.sin(yaw), 1600.0, away * math.cos(yaw)])
        forward = target - self.eye_mm
        forward /= np.linalg.norm(forward)
        right = np.cross(forward, [0.0, 1.0, 0.0])
        right /= np.linalg.norm(right)
        down = np.cross(forward, right)
        turned = math.cos(roll) * right + math.sin(roll) * down
        self.rotation = np.stack([turned, np.cross(forward, turned), forward])
        self.turn = cv2.Rodrigues(self.rotation)[0]
        centre = np.array([WIDE, HIGH]) / 2 + rng.normal(0, 0.003 * DIAGONAL_PX, 2)
        # OpenCV counts from the middle of the first pixel, the survey from its outer corner
        x, y = centre - 0.5
        self.matrix = np.array([[focal_px, 0, x], [0, focal_px, y], [0, 0, 1.0]])
        self.bend = np.array([rng.normal(0, 0.01), 0.0, 0.0, 0.0])

    def pick(self, x, y, z):
        point = np.array([x, y, z], dtype=float)
        if (self.rotation @ (point - self.eye_mm))[2] < 100:
            raise OutOfSight
        shift = -self.rotation @ self.eye_mm
        at = cv2.projectPoints(point.reshape(1, 3), self.turn, shift, self.matrix, self.bend)[0]
        seen = at.ravel() + 0.5 + self.rng.normal(0, U_PX, 2)
        if not (0 < seen[0] < WIDE and 0 < seen[1] < HIGH):
            raise OutOfSight
        return [float(seen[0]), float(seen[1]), U_PX]

    def document(self, faces):
        told = round(self.focal_35mm) if self.rng.random() < 0.7 else None
        photo = {"id": "p", "file": "p.jpg", "focal_35mm": told}
        return Survey.model_validate(
            {
                "format": "storeyrod survey",
                "version": 1,
                "title": "invented",
                "photos": [photo],
                "faces": faces,
            }
        ), {"p": PhotoFacts("p", WIDE, HIGH, told)}


def box(pick, u, v, wide, high):
    return [pick(u + wide * a, v + high * b) for a, b in CORNERS]


def front(street):
    def on(u, v, depth=0.0):
        return street.pick(u, v, -depth)

    glass = [on(4500 + 1100 * a, 3000 + 1700 * b, 120) for a, b in CORNERS]
    return {
        "id": "front",
        "photo": "p",
        "frame": box(on, 500, 900, 7000, 5000),
        "guides": [{"kind": "rectangle", "at": box(on, 1500, 3000, 1200, 1800)}],
        "references": [
            {"kind": "length", "at": [on(3000, 0), on(3900, 0)], "length_mm": 900, "u_mm": 4}
        ],
        "measures": [
            {"id": "w1", "kind": "opening", "at": glass, "set_back_mm": 120},
            {"id": "w2", "kind": "opening", "at": box(on, 6000, 1000, 1300, 1500)},
            {"id": "r1", "kind": "set-back", "at": [on(4500, 3000), on(4500, 3000, 120)]},
        ],
    }, {
        ("front", "w1", "width_mm"): 1100.0,
        ("front", "w1", "height_mm"): 1700.0,
        ("front", "w1", "sill_mm"): 2100.0,
        ("front", "w2", "width_mm"): 1300.0,
        ("front", "w2", "height_mm"): 1500.0,
        ("front", "r1", "depth_mm"): 120.0,
    }


def wing(street):
    heading = math.radians(street.rng.uniform(-80, -20))
    along = np.array([math.cos(heading), math.sin(heading)])
    outward = np.array([-along[1], along[0]])
    if (street.eye_mm[[0, 2]] - [8000, 0] - 2000 * along) @ outward < 2500:
        raise OutOfSight

    def on(u, v):
        return street.pick(8000 + u * along[0], v, u * along[1])

    return {
        "id": "wing",
        "photo": "p",
        "surface": {"kind": "wall", "hinge": {"face": "front", "at": [on(0, 500), on(0, 5500)]}},
        "frame": box(on, 500, 900, 3000, 4000),
        "measures": [{"id": "v1", "kind": "opening", "at": box(on, 1500, 2500, 900, 1500)}],
    }, {("wing", "v1", "width_mm"): 900.0, ("wing", "v1", "height_mm"): 1500.0}


def tower(street):
    """A round tower at the wall's left end, one outline hidden by the wall."""
    radius = street.rng.uniform(1500, 3000)
    set_back = street.rng.uniform(-0.3, 0.9) * radius
    axis = np.array([-math.sqrt(radius**2 - set_back**2), -set_back])
    eye = street.eye_mm[[0, 2]] - axis
    if np.linalg.norm(eye) < 1.3 * radius:
        raise OutOfSight
    # in plan the outline is where a line of sight touches the circle
    leftmost = math.atan2(eye[1], eye[0]) + math.acos(radius / np.linalg.norm(eye))
    meeting = math.atan2(set_back, -axis[0])
    if leftmost - meeting > 1.2 * math.pi or leftmost - meeting < 0.4:
        raise OutOfSight
    seam = np.array([-axis[0], set_back])
    if seam @ (eye - seam) < 0.02 * radius * np.linalg.norm(eye):
        raise OutOfSight

    def on(angle, v):
        x, z = axis + radius * np.array([math.cos(angle), math.sin(angle)])
        return street.pick(x, v, z)

    right, left = (meeting + part * (leftmost - meeting) for part in (0.25, 0.75))
    jamb = left - 0.1
    far = jamb - 800 / radius
    return {
        "id": "tower",
        "photo": "p",
        "surface": {
            "kind": "round",
            "beside": "front",
            "left_edge": [on(leftmost, 500), on(leftmost, 5500)],
            "right_edge": None,
            "meets_wall": [on(meeting, 500), on(meeting, 5500)],
        },
        "guides": [{"kind": "level", "at": [on(a, 4000) for a in np.linspace(right, left, 5)]}],
        "references": [
            {
                "kind": "length",
                "at": [on(left, 3000), on(right, 3000)],
                "length_mm": radius * (left - right),
                "u_mm": 5,
            }
        ],
        "measures": [
            {
                "id": "tw",
                "kind": "opening",
                "at": [on(jamb, 2500), on(far, 2500), on(far, 1500), on(jamb, 1500)],
            }
        ],
    }, {
        ("tower", "", "radius_mm"): radius,
        ("tower", "tw", "width_mm"): 800.0,
        ("tower", "tw", "height_mm"): 1000.0,
    }


def buildings(count, seed):
    """Streets with every face that the dice put in sight of the camera."""
    rng = np.random.default_rng(seed)
    made = 0
    while made < count:
        street = Street(rng)
        faces, truth = [], {}
        for make in (front, wing, tower):
            try:
                face, sizes = make(street)
            except OutOfSight:
                if make is front:
                    break
                continue
            faces.append(face)
            truth |= sizes
        if faces:
            made += 1
            yield (*street.document(faces), truth)


@pytest.mark.slow
def test_every_building_settles_and_its_sizes_hold_their_uncertainty():
    standardised, relative = [], []
    for survey, facts, truth in buildings(60, seed=1):
        results = evaluate(survey, facts)  # raises where it does not settle
        for (face_id, measure, key), true in truth.items():
            face = results.faces[face_id]
            if measure:
                size = face.measures[measure].sizes[key]
                u = face.measures[measure].u[key]
            else:
                size, u = results.photos["p"].solution.value_and_u(face_id, "radius")
            standardised.append((size - true) / u)
            if key in {"width_mm", "height_mm"}:
                relative.append(abs(size / true - 1))
    assert len(standardised) > 400
    assert np.mean(np.abs(standardised) < 1.96) > 0.93
    assert np.abs(standardised).max() < 4.5  # of some 500 normal numbers, one in 300 such sets
    assert np.median(relative) < 0.005  # half a pixel in half a thousand that an opening is wide
