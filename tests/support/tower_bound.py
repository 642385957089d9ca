"""Cramer-Rao bound of a tower beside a wall, by the tests' own camera and building.

Fisher information in the formulation with nuisance parameters: camera, tower, and the own
coordinates of every rectangle, line and end that is picked; numeric derivatives. The place of
the building under the camera is a free choice, so the camera's foot is held.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from fixtures.pennywhistle import building as b
from fixtures.pennywhistle.cameras import Camera
from rectify.solving.observations import OUT_OF_TRUE
from tests.support.drawn_demo import U_K1, U_LOG_FOCAL, DrawnDemo

CAMERA_STEPS = np.array([0.01, 10.0, 10.0, 0.01, 0.1, 0.1, 0.1, 100.0])
TOWER_STEPS = np.array([100.0, 100.0, 100.0])
SHARED = len(CAMERA_STEPS) + len(TOWER_STEPS)


@dataclass
class TowerBound:
    """Parameters (each in a step of its own size) and what they make of every observation."""

    demo: DrawnDemo
    start: list[float] = field(default_factory=list)
    items: list[Any] = field(default_factory=list)
    sizes: dict[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        front, tower = self.demo.faces
        for face in (front, tower):
            chart = self._chart(face.wall)
            item = face.item
            if "frame" in item:
                self._box(face.wall, chart(item["frame"]), 0.0)
            for guide in item["guides"]:
                at = chart(guide["at"])
                if guide["kind"] == "rectangle":
                    self._box(face.wall, at, 0.0)
                else:
                    self._line(face.wall, at, 0 if guide["kind"] == "plumb" else 1)
            for reference in item["references"]:
                back = reference.get("set_back_mm", 0.0)
                ends = chart(reference["at"])
                own = self._own(ends.ravel())
                self.items.append(("reference", face.wall, own, reference, back))
            for measure in item["measures"]:
                at = chart(measure["at"])
                if measure["kind"] == "opening" and measure.get("head") != "round":
                    own = self._box(face.wall, at, measure["set_back_mm"], opening=True)
                    self.sizes[f"{face.wall} {measure['id']}"] = own
        surface = tower.item["surface"]
        for name in ("right_edge", "meets_wall"):
            self.items.append((name, self._own(np.array([p[1] for p in surface[name]]))))

    def _chart(self, wall: str) -> Any:
        if wall == "front":
            return lambda points: np.array([[p[0], p[1]] for p in points])
        return lambda points: np.array(
            [[b.TOWER_RADIUS_MM * np.arctan2(p[0] - b.TOWER_AXIS_X_MM,
                                             p[2] + b.TOWER_SET_BACK_MM), p[1]] for p in points]
        )  # fmt: skip

    def _own(self, values: np.ndarray) -> slice:
        first = len(self.start)
        self.start += [float(v) / 100.0 for v in values]
        return slice(SHARED + first, SHARED + len(self.start))

    def _box(self, wall: str, at: np.ndarray, back: float, *, opening: bool = False) -> slice:
        own = self._own(np.array([at[0, 0], at[2, 1], at[1, 0], at[0, 1]]))
        self.items.append(("box", wall, own, back, opening))
        return own

    def _line(self, wall: str, at: np.ndarray, axis: int) -> None:
        own = self._own(np.array([at[0, axis], *at[:, 1 - axis]]))
        self.items.append(("line", wall, own, axis))

    def observed(self, x: np.ndarray) -> np.ndarray:
        """Observations over their ±, priors last."""
        f, px, py, k1, yaw, tilt, roll, z = x[: len(CAMERA_STEPS)] * CAMERA_STEPS
        ax, back, radius = x[len(CAMERA_STEPS) : SHARED] * TOWER_STEPS + [
            b.TOWER_AXIS_X_MM, b.TOWER_SET_BACK_MM, b.TOWER_RADIUS_MM]  # fmt: skip
        c = self.demo.believed_camera()
        principal = (c.principal_px[0] + px, c.principal_px[1] + py)
        camera = replace(
            c, focal_px=c.focal_px * np.exp(f), principal_px=principal, k1=k1, k2=0.0,
            yaw_deg=c.yaw_deg + yaw, tilt_deg=c.tilt_deg + tilt, roll_deg=c.roll_deg + roll,
            centre_mm=(c.centre_mm[0], c.centre_mm[1], c.centre_mm[2] + z),
        )  # fmt: skip

        def building(wall: str, at: np.ndarray, set_back: float) -> np.ndarray:
            if wall == "front":
                return np.column_stack([at, np.full(len(at), -set_back)])
            r, turn = radius - set_back, at[:, 0] / radius
            return np.column_stack([ax + r * np.sin(turn), at[:, 1], r * np.cos(turn) - back])

        out = []
        u_px = self.demo.u_px
        for kind, *item in self.items:
            own = 100.0 * x[item[0] if kind in ("right_edge", "meets_wall") else item[1]]
            u = u_px
            if kind == "box":
                u0, v0, u1, v1 = own
                at = np.array([[u0, v1], [u1, v1], [u1, v0], [u0, v0]])
                points = building(item[0], at, item[2])
                if item[3]:
                    u = np.hypot(u_px, OUT_OF_TRUE * np.hypot(*np.ptp(camera.photo_px(points), 0)))
            elif kind == "line":
                axis = item[2]
                at = np.empty((len(own) - 1, 2))
                at[:, axis], at[:, 1 - axis] = own[0], own[1:]
                points = building(item[0], at, 0.0)
            elif kind == "reference":
                ends, reference = own.reshape(2, 2), item[2]
                points = building(item[0], ends, item[3])
                long = np.hypot(*(ends[1] - ends[0]))
                if reference["kind"] == "courses":
                    long = abs(ends[1, 1] - ends[0, 1]) / reference["count"]
                out.append(np.array([long / reference.get("u_mm", reference.get("u_gauge_mm"))]))
            elif kind == "meets_wall":
                side = ax - np.sqrt(radius**2 - back**2)
                points = np.column_stack([np.full(len(own), side), own, np.zeros(len(own))])
            else:
                points = outline_points(camera, ax, back, radius, own)
            out.append((camera.photo_px(points) / u).ravel())
        u_middle = 0.015 * np.hypot(c.width_px, c.height_px)
        prior = np.array([f / U_LOG_FOCAL, px / u_middle, py / u_middle, k1 / U_K1])
        return np.concatenate([*out, prior])

    def bounds(self) -> dict[str, float]:
        """Bound of each opening's width and height on both faces, and of the radius."""
        x = np.concatenate([np.zeros(SHARED), self.start])
        columns = []
        for i in range(len(x)):
            step = np.zeros(len(x))
            step[i] = 1e-4
            columns.append((self.observed(x + step) - self.observed(x - step)) / 2e-4)
        jacobian = np.column_stack(columns)
        cov = np.linalg.inv(jacobian.T @ jacobian)
        at = SHARED - 1
        out = {"radius": float(np.sqrt(cov[at, at]) * TOWER_STEPS[2])}
        for name, own in self.sizes.items():
            for key, low in (("width_mm", own.start), ("height_mm", own.start + 1)):
                high = low + 2
                var = cov[low, low] + cov[high, high] - 2 * cov[low, high]
                out[f"{name} {key}"] = float(np.sqrt(var) * 100.0)
        return out


def outline_points(
    camera: Camera, ax: float, back: float, radius: float, heights: np.ndarray
) -> np.ndarray:
    """Points of the right outline as the camera sees it."""
    gx, gz = ax - camera.centre_mm[0], -back - camera.centre_mm[2]
    far = np.hypot(gx, gz)
    reach = radius**2 / far
    side = np.sqrt(radius**2 - reach**2)
    x = ax - gx / far * reach - gz / far * side
    z = -back - gz / far * reach + gx / far * side
    return np.column_stack([np.full(len(heights), x), heights, np.full(len(heights), z)])
