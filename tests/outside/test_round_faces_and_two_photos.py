"""Towers and points of two photos against OpenCV and published figures.

Sources: OpenCV's ``projectPoints`` and ``triangulatePoints`` as routes of their own (pixel
centres at whole numbers there, so half a pixel is added); Machinery's Handbook, 31st edition,
p. 83, for the segment of chord 21 and rise 6: radius 12.1875, angle 118.97953 degrees, arc
25.308373; tangents from a point, ``sin a = r / D``: elementary geometry, no source.
"""

import math

import cv2
import numpy as np
import pytest

from rectify.adjust import solve_photo
from rectify.solution import PhotoFacts
from rectify.surfaces import Round
from rectify.tie_photos import tie_photos
from shared.survey import Face, Pick, Tie
from tests.support.scenes import rectangle, rotation_from_angles

WIDTH_PX, HEIGHT_PX, FOCAL_PX, K1 = 3000, 4000, 2700.0, -0.008
FOCAL_35MM = FOCAL_PX * math.hypot(36, 24) / math.hypot(WIDTH_PX, HEIGHT_PX)
MATRIX = np.array([[FOCAL_PX, 0, WIDTH_PX / 2 - 0.5], [0, FOCAL_PX, HEIGHT_PX / 2 - 0.5],
                   [0, 0, 1]])  # fmt: skip


class OpenCvCamera:
    """A camera whose picks OpenCV makes."""

    def __init__(self, angles, centre_mm):
        self.rotation = rotation_from_angles(*angles)
        self.centre = np.array(centre_mm, dtype=float)

    def seen(self, points_mm):
        vector, _ = cv2.Rodrigues(self.rotation)
        shift = -self.rotation @ self.centre
        bend = np.array([K1, 0.0, 0.0, 0.0])
        points = np.asarray(points_mm, dtype=float).reshape(-1, 1, 3)
        image, _ = cv2.projectPoints(points, vector, shift, MATRIX, bend)
        return image.reshape(-1, 2) + 0.5

    def picks(self, points_mm):
        return [[float(x), float(y), 0.2] for x, y in self.seen(points_mm)]


def facts(photo):
    return PhotoFacts(photo, WIDTH_PX, HEIGHT_PX, FOCAL_35MM)


@pytest.mark.parametrize("pitch_deg", [2.0, 12.0, 20.0])
def test_tower_projected_by_opencv_is_found(pitch_deg):
    camera = OpenCvCamera((-4.0, pitch_deg, 1.0), (0.0, 1600.0, 0.0))
    x, z, radius = 900.0, -13_000.0, 2300.0
    far = math.hypot(x, z)
    facing, half = math.atan2(-x, -z), math.acos(radius / far)

    def point(angle, v):
        return [x + radius * math.sin(angle), v, z + radius * math.cos(angle)]

    def line(angle):
        return camera.picks([point(angle, v) for v in (700, 2500, 4500, 6000)])

    curve = camera.picks([point(facing + a, 5200) for a in np.linspace(-1.1, 1.1, 7)])
    tower = {
        "id": "tower", "photo": "p",
        "surface": {"kind": "round", "left_edge": line(facing - half),
                    "right_edge": line(facing + half)},
        "guides": [{"kind": "level", "at": curve}],
        "references": [{"kind": "length", "length_mm": 3000.0, "u_mm": 1.0, "at": camera.picks(
            [point(facing, 1500), point(facing, 4500)])}],
    }  # fmt: skip
    solution = solve_photo(facts("p"), [Face.model_validate(tower)])
    assert solution.value_and_u("tower", "radius")[0] == pytest.approx(radius, rel=1e-3)
    ends = camera.picks([point(facing - 0.5, 3000), point(facing + 0.4, 3000)])
    chart = solution.charted("tower", [Pick(x=p[0], y=p[1]) for p in ends]).chart_mm
    assert chart[1, 0] - chart[0, 0] == pytest.approx(0.9 * radius, rel=1.5e-3)


def test_half_angle_of_a_solved_tower_is_that_of_its_tangents():
    surface = Round(0.0, 0.0, 3000.0)
    for distance in (5000.0, 9000.0, 15_000.0):
        half = math.asin(3000.0 / distance)
        ray = (math.sin(half), 0.0, -math.cos(half))
        assert float(surface.clearance_mm((0.0, 0.0, distance), ray, 1.0)) == pytest.approx(
            0.0, abs=1e-9
        )


def test_segment_of_the_handbook_comes_back_from_a_tower():
    chord, rise, radius, angle_deg, arc = 21.0, 6.0, 12.1875, 118.97953, 25.308373
    tower = Round(0.0, 0.0, radius)
    start = np.array(tower.building_mm_from_chart(-arc / 2, 0.0))
    end = np.array(tower.building_mm_from_chart(arc / 2, 0.0))
    crown = np.array(tower.building_mm_from_chart(0.0, 0.0))
    assert np.linalg.norm(end - start) == pytest.approx(chord, abs=2e-6)
    assert np.linalg.norm(crown - (start + end) / 2) == pytest.approx(rise, abs=2e-6)
    assert math.degrees(arc / radius) == pytest.approx(angle_deg, abs=1e-5)


def test_points_of_two_photos_lie_where_opencv_triangulates_them():
    """Picks by ``projectPoints``; places by ``triangulatePoints`` through the true cameras."""
    cameras = {
        "left": OpenCvCamera((18.0, 8.0, 0.5), (-5000.0, 1600.0, 12_000.0)),
        "right": OpenCvCamera((-20.0, 7.0, -0.5), (5500.0, 1650.0, 12_500.0)),
    }
    frame = rectangle(-2600, 300, 2500, 5200)
    flat = {"a": (-2500, 600, 0), "b": (2400, 700, 0), "c": (-2400, 5000, 0), "d": (2300, 5100, 0)}
    space = {"finial": (300.0, 6100.0, -1800.0), "bracket": (-700.0, 3300.0, 950.0)}
    faces, solutions = [], {}
    for name, camera in cameras.items():
        raw = {
            "id": name, "photo": name, "same_as": "left" if name == "right" else None,
            "frame": camera.picks(np.column_stack([frame, np.zeros(4)])),
            "references": [{"kind": "length", "length_mm": 3500.0, "u_mm": 1.0,
                            "at": camera.picks([[900, 500, 0], [900, 4000, 0]])}],
        }  # fmt: skip
        faces.append(Face.model_validate(raw))
        solutions[name] = solve_photo(facts(name), [faces[-1]])
    ties = [
        Tie.model_validate(
            {"id": name, "kind": kind,
             "at": [{"face": photo, "at": camera.picks([at])[0]}
                    for photo, camera in cameras.items()]}
        )
        for kind, points in (("point", flat), ("space", space))
        for name, at in points.items()
    ]  # fmt: skip
    tied = tie_photos(faces, ties, solutions)
    assert tied.warnings == {}
    for name, truth in space.items():
        images, matrices = [], []
        for camera in cameras.values():
            image = (camera.seen([truth]) - 0.5).reshape(1, 1, 2)
            bend = np.array([K1, 0.0, 0.0, 0.0])
            images.append(cv2.undistortPoints(image, MATRIX, bend).reshape(2, 1))
            shift = -camera.rotation @ camera.centre
            matrices.append(np.column_stack([camera.rotation, shift]))
        homogeneous = cv2.triangulatePoints(*matrices, *images).ravel()
        x, y, z = homogeneous[:3] / homogeneous[3]
        assert (x, y, z) == pytest.approx(truth, abs=0.05)
        point = tied.points[name]
        assert point.u_mm + cameras["left"].centre[0] == pytest.approx(x, abs=6.0)
        assert -point.set_back_mm == pytest.approx(z, abs=6.0)
        foot = solutions["left"].charted("left", [faces[0].frame[3]]).chart_mm[0, 1]
        assert point.v_mm - foot == pytest.approx(y - 300.0, abs=6.0)
