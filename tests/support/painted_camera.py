"""A camera by cv2.projectPoints that paints polygons of a building, from far to near.

Nothing is shared with the program or with the other invented streets. Half of the lenses are
quotients, which no two radial terms match exactly: real lenses are no polynomials either.
"""

from __future__ import annotations

import cv2
import numpy as np

SUB = 2  # painted so many times finer than the photo
STILL = np.zeros(3)


class PaintedCamera:
    """A lens and a place to stand; raises ValueError where the lens folds within the photo."""

    def __init__(self, rng: np.random.Generator, width_px: int, *, wide: bool):
        portrait = rng.random() < 0.2
        self.size = (width_px, round(width_px * (4 / 3 if portrait else 3 / 4)))
        w, h = self.size
        self.focal_px = max(w, h) * float(rng.uniform(*((0.45, 0.66) if wide else (0.68, 1.15))))
        # the share by which the corners are drawn in
        share = rng.uniform(*((-0.18, -0.04) if wide else (-0.015, 0.008)))
        bend = float(share) * 4 * self.focal_px**2 / (w**2 + h**2)
        self.middle_px = np.array([w, h]) / 2 + rng.normal(0, 0.004 * w, 2)
        # OpenCV counts from the first pixel's centre
        x, y = self.middle_px - 0.5
        self.matrix = np.array([[self.focal_px, 0, x], [0, self.focal_px, y], [0, 0, 1]])
        quotient = rng.uniform(0.0, 0.3) if rng.random() < 0.5 else 0.0
        second = 0.0 if quotient else float(rng.uniform(-0.05, 0.25)) * abs(bend)
        self.lens = np.array([quotient + bend, second, 0, 0, 0, quotient, 0, 0])
        self.reach = 1.06 * np.abs(self._straight(self._border())).max(axis=0)
        if (np.diff(self._seen(np.linspace(0, np.hypot(*self.reach), 400))) <= 0).any():
            raise ValueError("the lens folds within the photo")

    def stand(self, yaw_deg: float, pitch_deg: float, roll_deg: float, eye_mm) -> None:
        """Turn and place the camera."""
        yaw, pitch, roll = np.radians([yaw_deg, pitch_deg, roll_deg])
        turns = [cv2.Rodrigues(np.array(v))[0] for v in ((0, 0, roll), (pitch, 0, 0), (0, yaw, 0))]
        self.rotation = turns[0] @ turns[1] @ turns[2] @ np.diag([1.0, -1.0, -1.0])
        self.eye_mm = np.asarray(eye_mm, float)

    @property
    def drawn_in(self) -> float:
        """Share by which the corners of the photo are drawn in."""
        far = float(np.hypot(*self.size)) / 2 / self.focal_px
        return float(self._seen(np.array([far]))[0] / far - 1.0)

    def project(self, points_mm) -> np.ndarray:
        """Photo pixels of building points, (0.5, 0.5) the first pixel's centre."""
        points = np.asarray(points_mm, float)
        turn = cv2.Rodrigues(self.rotation)[0]
        seen = cv2.projectPoints(
            points.reshape(-1, 3), turn, -self.rotation @ self.eye_mm, self.matrix, self.lens
        )[0]
        return seen.reshape(*points.shape[:-1], 2) + 0.5

    def project_wall(self, points_mm, z_mm: float = 0.0) -> np.ndarray:
        """Photo pixels of points of the wall, or of a plane before it."""
        points = np.asarray(points_mm, float)
        return self.project(np.concatenate([points, np.full((*points.shape[:-1], 1), z_mm)], -1))

    def wall_mm(self, points_px) -> np.ndarray:
        """Points of the wall that are seen at photo pixels."""
        ab = self._straight(np.asarray(points_px, float))
        rays = np.concatenate([ab, np.ones((*ab.shape[:-1], 1))], -1) @ self.rotation
        far = -self.eye_mm[2] / rays[..., 2]
        return (self.eye_mm + far[..., None] * rays)[..., :2]

    def _border(self) -> np.ndarray:
        w, h = self.size
        corners = np.array([[0, 0], [w, 0], [w, h], [0, h]], float)
        share = np.linspace(0, 1, 9)[:, None]
        sides = zip(corners, np.roll(corners, -1, 0), strict=True)
        return np.concatenate([a + share * (b - a) for a, b in sides])

    def _seen(self, radius: np.ndarray) -> np.ndarray:
        points = np.stack([radius, 0 * radius, 0 * radius + 1], -1)
        return cv2.projectPoints(points, STILL, STILL, np.eye(3), self.lens)[0][:, 0, 0]

    def _straight(self, points_px: np.ndarray) -> np.ndarray:
        radius = np.linspace(0, 3.0, 6000)
        seen = self._seen(radius)
        fold = int(np.argmax(np.diff(seen) <= 0)) or len(seen) - 1
        ab = (points_px - self.middle_px) / self.focal_px
        at = np.maximum(np.linalg.norm(ab, axis=-1, keepdims=True), 1e-9)
        return ab * np.interp(at, seen[:fold], radius[:fold]) / at

    # painting

    def blank(self, tone: float) -> None:
        """Start with an even picture."""
        self.picture = np.full((self.size[1] * SUB, self.size[0] * SUB), tone, np.float32)

    def fill(self, points_mm, tone: float, opacity: float = 1.0) -> None:
        """Paint a polygon; its edges are cut every dozen pixels, so that the lens bends them."""
        corners = self._clipped((np.asarray(points_mm, float) - self.eye_mm) @ self.rotation.T)
        if len(corners) < 3:
            return
        flat = corners / corners[:, 2:]
        dense = []
        for a, b in zip(flat, np.roll(flat, -1, 0), strict=True):
            count = max(1, int(np.ceil(self.focal_px * np.hypot(*(b - a)[:2]) / 12.0)))
            dense.append(a + np.linspace(0, 1, count, endpoint=False)[:, None] * (b - a))
        seen = cv2.projectPoints(np.concatenate(dense), STILL, STILL, self.matrix, self.lens)[0]
        self._paint(seen[:, 0] + 0.5, tone, opacity)

    def fill_small(self, points_mm, tone: float) -> None:
        """Paint a polygon of the wall so small that no lens bends it."""
        seen = self.project_wall(points_mm)
        if (seen > -60).all() and (seen < np.array(self.size) + 60).all():
            self._paint(seen, tone, 1.0)

    def _paint(self, points_px: np.ndarray, tone: float, opacity: float) -> None:
        at = [np.rint((points_px * SUB - 0.5) * 16).astype(np.int32)]
        if opacity == 1.0:
            cv2.fillPoly(self.picture, at, float(tone), cv2.LINE_AA, 4)
            return
        mask = np.zeros_like(self.picture)
        cv2.fillPoly(mask, at, float(opacity), cv2.LINE_AA, 4)
        self.picture += mask * (tone - self.picture)

    def _clipped(self, corners: np.ndarray) -> np.ndarray:
        """The part of a polygon before the camera and within its lens."""
        x, y = self.reach
        for plane in ((0, 0, 1), (1, 0, x), (-1, 0, x), (0, 1, y), (0, -1, y)):
            inside = corners @ np.array(plane, float) - (150.0 if plane == (0, 0, 1) else 0.0)
            out = []
            for i in range(len(corners)):
                j = (i + 1) % len(corners)
                if inside[i] >= 0:
                    out.append(corners[i])
                if inside[i] * inside[j] < 0:
                    share = inside[i] / (inside[i] - inside[j])
                    out.append(corners[i] + share * (corners[j] - corners[i]))
            corners = np.array(out).reshape(-1, 3)
        return corners

    def developed(self, rng: np.random.Generator) -> np.ndarray:
        """RGB photo with shading, grain, blur, noise and JPEG of random strength."""
        w, h = self.size

        def rough(columns: int, rows: int) -> np.ndarray:
            grid = rng.normal(0, 1, (rows, columns)).astype(np.float32)
            return cv2.resize(grid, self.size, interpolation=cv2.INTER_CUBIC)

        photo = cv2.resize(self.picture, self.size, interpolation=cv2.INTER_AREA)
        photo = photo * (1 + 0.05 * rough(5, 5)) + rng.uniform(1, 5) * rough(w // 3, h // 3)
        photo = cv2.GaussianBlur(photo, (0, 0), rng.uniform(0.5, 1.0))
        photo = photo + rng.normal(0, rng.uniform(1, 6), photo.shape)
        rgb = np.repeat(np.clip(np.rint(photo), 0, 255).astype(np.uint8)[..., None], 3, -1)
        quality = [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(70, 95))]
        return cv2.imdecode(cv2.imencode(".jpg", rgb, quality)[1], cv2.IMREAD_COLOR)
