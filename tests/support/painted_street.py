"""Invented fronts of all sorts, photographed with what misleads: many walls, many cameras.

Walls of brick, render, boards, ashlar or timber, with two to four storeys of openings; each
storey's levels and plumbs may lean together. Around them roofs, houses behind and beside,
a shadow, kerbs that fall, carts, cables and leaning posts and pipes.
"""

from __future__ import annotations

from itertools import pairwise

import cv2
import numpy as np

from tests.support.painted_camera import PaintedCamera


class PaintedStreet:
    """One front and its camera; `lean_deg` is the most that a storey's edges lean."""

    def __init__(self, seed: int, *, wide: bool, lean_deg: float, width_px: int = 1200):
        self.rng = np.random.default_rng(seed)
        self.lean_rad = float(np.radians(lean_deg))
        for _ in range(2000):
            self._build()
            if self._take_place(wide, width_px):
                return
        raise RuntimeError("no camera sees this front")

    def _build(self) -> None:
        r = self.rng
        self.storeys, columns = int(r.integers(2, 5)), int(r.integers(3, 7))
        self.floor = np.concatenate([[0.0], np.cumsum(r.uniform(2700, 3700, self.storeys))])
        pitch = float(r.uniform(1900, 2900))
        self.half = columns * pitch / 2 + float(r.uniform(0, 500))
        self.eaves = float(self.floor[-1] + r.uniform(150, 600))
        self.level_lean, self.plumb_lean = r.uniform(-1, 1, (2, self.storeys)) * self.lean_rad
        wide, tall, door = r.uniform(0.4, 0.55) * pitch, r.uniform(0.45, 0.6), r.integers(columns)
        # storey, u0, v0, u1, v1
        self.openings = []
        for storey, (low, high) in enumerate(zip(self.floor[:-1], self.floor[1:], strict=True)):
            for column in range(columns):
                u, v = (column - (columns - 1) / 2) * pitch, low + 0.26 * (high - low)
                w, h = wide, tall * (high - low) * (0.85 if storey == self.storeys - 1 else 1.0)
                if storey == 0 and column == door:
                    w, v, h = 0.9 * wide, 0.0, 0.72 * high
                self.openings.append((storey, u - w / 2, v, u + w / 2, v + h))
        self.material = str(r.choice(["brick", "render", "boards", "ashlar", "timber"]))
        self.trim = str(r.choice(["sill", "surround", "none"]))
        self.arched, self.bars = r.random(2) < (0.25, 0.7)

    def _take_place(self, wide: bool, width_px: int) -> bool:
        r = self.rng
        try:
            self.camera = PaintedCamera(r, width_px, wide=wide)
        except ValueError:
            return False
        yaw_deg = r.uniform(-28, 28)
        z = 2 * self.half * self.camera.focal_px / self.camera.size[0] * r.uniform(0.6, 1.0)
        x = r.uniform(-0.3, 0.3) * self.half + np.tan(np.radians(yaw_deg)) * z * 0.8
        eye = (x, r.uniform(1400, 1900), z)
        self.camera.stand(yaw_deg, r.uniform(0, 14), r.uniform(-2.5, 2.5), eye)
        self.corners_mm = np.array([self._corners(opening) for opening in self.openings])
        self.corners_px = self.camera.project_wall(self.corners_mm)
        inside = (self.corners_px > 4) & (self.corners_px < np.array(self.camera.size) - 4)
        self.seen = inside.all(axis=(1, 2))
        if self.seen.mean() < 0.5 or self.seen.sum() < 5:
            return False
        spread = np.ptp(self.corners_px[self.seen].reshape(-1, 2), axis=0) / self.camera.size
        return bool(spread[0] > 0.7 and spread[1] > 0.35)

    def _corners(self, opening) -> np.ndarray:
        storey, u0, v0, u1, v1 = opening
        return self.leant([[u0, v1], [u1, v1], [u1, v0], [u0, v0]], storey)

    def leant(self, points_mm, storey=None) -> np.ndarray:
        """Where points of the wall really are: each storey leans about its middle."""
        u, v = np.moveaxis(np.asarray(points_mm, float), -1, 0)
        if storey is None:
            storey = np.clip(np.searchsorted(self.floor, v, side="right") - 1, 0, self.storeys - 1)
        middle = (self.floor[storey] + self.floor[np.asarray(storey) + 1]) / 2
        plumb, level = self.plumb_lean[storey], self.level_lean[storey]
        return np.stack([u + plumb * (v - middle), v + level * u], -1)

    # painting

    def draw(self) -> np.ndarray:
        """RGB photo."""
        r = self.rng
        self.camera.blank(float(r.uniform(170, 225)))
        self._behind()
        ground = [[-60000, 0, 0], [60000, 0, 0], [60000, 0, 60000], [-60000, 0, 60000]]
        self.camera.fill(ground, r.uniform(90, 150))
        self._wall()
        self._trims()
        for opening in self.openings:
            self._opening(opening)
        self._shadow_and_neighbours()
        self._in_the_way()
        return self.camera.developed(r)

    def _flat(self, points_mm, tone, z=0.0, opacity=1.0) -> None:
        points = np.asarray(points_mm, float)
        self.camera.fill(np.c_[points, np.full(len(points), z)], tone, opacity)

    def _band(self, u0, v0, u1, v1, tone, storey=None, z=0.0) -> None:
        """A rectangle of the leaning wall, its corners set out to a millimetre or two."""
        points = self.leant([[u0, v1], [u1, v1], [u1, v0], [u0, v0]], storey)
        self._flat(points + self.rng.normal(0.0, 1.5, points.shape), tone, z)

    def _behind(self) -> None:
        r, e = self.rng, self.eaves
        z = -r.uniform(2000, 6000)
        for _ in range(2):
            u, w = r.uniform(-1.5, 1.5) * self.half, r.uniform(4000, 9000)
            h = e * r.uniform(0.9, 1.3)
            gable = [[u, 0], [u + w, 0], [u + w, h], [u + w / 2, h + 0.3 * w], [u, h]]
            self._flat(gable, r.uniform(100, 190), z)
        rise, deep, out = (
            r.uniform(1500, 3500),
            r.uniform(3000, 5000),
            self.half + r.uniform(0, 400),
        )
        hip, tone = r.uniform(0, 2500) * (r.random() < 0.5), r.uniform(60, 130)

        def row(t, thick):
            end, v, z = out - hip * t, e + t * rise, 300 - t * (deep + 300)
            top = end - hip * thick, v + thick * rise, z - thick * (deep + 300)
            return [[-end, v, z], [end, v, z], list(top), [-top[0], *top[1:]]]

        self.camera.fill(row(0.0, 1.0), tone)
        for t in np.arange(0.06, 1, 0.06):
            self.camera.fill(row(t, 0.01), tone - 22)

    def _wall(self) -> None:
        r, half, e = self.rng, self.half, self.eaves
        self.tone = tone = r.uniform(90, 190)
        mortar = 22 if self.material == "brick" else 0
        self._flat(self.leant([[-half, e], [half, e], [half, 0], [-half, 0]]), tone + mortar)
        if self.material == "brick":
            gauge = r.uniform(65, 90)
            for row in range(int(e / gauge)):
                low, high = row * gauge + 5, row * gauge + gauge - 5
                for u in np.arange(-half + (row % 2) * 112, half - 60, 225):
                    to = min(u + 215, half)
                    brick = self.leant([[u, high], [to, high], [to, low], [u, low]])
                    self.camera.fill_small(brick, tone + r.normal(0, 7))
        elif self.material in ("boards", "ashlar"):
            high = r.uniform(*((140, 220) if self.material == "boards" else (280, 420)))
            for v in np.arange(high, e, high):
                self._band(-half, v - 12, half, v + 4, tone - r.uniform(15, 45))
                if self.material == "ashlar":
                    for u in np.arange(-half + r.uniform(0, 600), half, r.uniform(500, 900)):
                        self._band(u, v, u + 14, min(v + high, e), tone - 25)
        elif self.material == "timber":
            for s in range(self.storeys):
                a, b = self.floor[s], self.floor[s + 1]
                for u in np.arange(-half, half, r.uniform(1200, 2000)):
                    self._band(u, a, u + 170, b, tone - 70, s)
                    if r.random() < 0.5:
                        brace = [[u + 170, a], [u + 340, a], [u + 1100, b], [u + 930, b]]
                        self._flat(self.leant(brace, s), tone - 70)
                self._band(-half, b - 200, half, b, tone - 70, s)

    def _trims(self) -> None:
        r, half, tone = self.rng, self.half, self.tone
        self.light = tone + r.uniform(25, 60) * r.choice([-1, 1])
        for s in range(1, self.storeys):
            if r.random() < 0.6:
                self._band(-half, self.floor[s] - 80, half, self.floor[s] + 80, self.light, s)
        if r.random() < 0.7:
            top = self.eaves
            self._band(-half - 60, top - 220, half + 60, top, self.light, self.storeys - 1)
        if r.random() < 0.6:
            self._band(-half, 0, half, r.uniform(300, 700), tone - 30, 0)
        for u in r.uniform(-half, half, int(r.integers(0, 3))):
            off, top = r.normal(0, 25), self.eaves
            pipe = [[u, 0], [u + 90, 0], [u + 90 + off, top], [u + off, top]]
            self._flat(pipe, tone - 45, 80)

    def _opening(self, opening) -> None:
        r = self.rng
        s, u0, v0, u1, v1 = opening
        if self.trim == "surround":
            self._band(u0 - 140, v0 - 140, u1 + 140, v1 + 140, self.light, s)
        elif self.trim == "sill":
            self._band(u0 - 100, v1, u1 + 100, v1 + 200, self.light, s)
            self._band(u0 - 90, v0 - 110, u1 + 90, v0, self.light, s)
        outline = self._corners(opening) + r.normal(0.0, 1.5, (4, 2))
        if self.arched and v0 > 0:
            a, w = np.linspace(np.pi, 0, 14)[1:-1], u1 - u0
            arch = np.c_[(u0 + u1) / 2 + w / 2 * np.cos(a), v1 + 0.35 * w * np.sin(a)]
            outline = np.concatenate([outline[:1], self.leant(arch, s), outline[1:]])
        self._flat(outline, 0.65 * self.tone)
        z = -r.uniform(60, 140)
        self._band(u0 + 20, v0, u1 - 20, v1 - 20, r.uniform(35, 70), s, z)
        if self.bars:
            for share in (0.33, 0.66):
                v = v0 + share * (v1 - v0)
                self._band(u0 + 60, v - 22, u1 - 60, v + 22, 190, s, z)
            middle = (u0 + u1) / 2
            self._band(middle - 22, v0, middle + 22, v1 - 40, 190, s, z)

    def _shadow_and_neighbours(self) -> None:
        r, half = self.rng, self.half
        if r.random() < 0.5:
            u = r.uniform(-half, 0.3 * half)
            top = [
                [u + 800, r.uniform(3000, 6000)],
                [u + r.uniform(2500, 5000), r.uniform(2500, 6500)],
            ]
            self._flat([[u, 0], *top, [half, r.uniform(0, 2500)], [half, 0]], 0.0, 0.0, 0.3)
        for side in (-1, 1):
            if r.random() < 0.6:
                x, z = side * (half + r.uniform(50, 600)), r.uniform(800, 4000)
                h, far, tone = (
                    self.eaves * r.uniform(0.4, 1.0),
                    x + side * 20000,
                    r.uniform(90, 170),
                )

                def strip(v0, v1, tone, x=x, z=z):
                    self.camera.fill([[x, v0, 0], [x, v0, z], [x, v1, z], [x, v1, 0]], tone)

                strip(0, h, tone)
                for v in np.arange(400, h, r.uniform(300, 800)):
                    strip(v, v + 60, tone - 40)
                self._flat([[x, 0], [far, 0], [far, h], [x, h]], tone + 15, z)

    def _in_the_way(self) -> None:
        r, half, deep = self.rng, self.half, self.camera.eye_mm[2]
        fall = 30000 * r.uniform(-0.06, 0.06)
        for z in (r.uniform(1200, 2500), r.uniform(3500, 5000)):
            near, far = z - fall, z + fall
            kerb = [[-30000, 0, near], [30000, 0, far]]
            kerb += [[30000, 0, far + 150], [-30000, 0, near + 150]]
            self.camera.fill(kerb, r.uniform(150, 210))
        for _ in range(int(r.integers(1, 4))):
            self._cart(r.uniform(-half, half), r.uniform(0.12, 0.35) * deep)
        for _ in range(int(r.integers(1, 5))):
            ends = [
                [side * 1.6 * half, r.uniform(0.3, 1.2) * self.eaves, r.uniform(100, 0.4 * deep)]
                for side in (-1, 1)
            ]
            t = np.linspace(0, 1, 60)[:, None]
            cable = ends[0] + t * (np.array(ends[1]) - ends[0])
            cable[:, 1] -= 4 * r.uniform(20, 900) * (t * (1 - t))[:, 0]
            thick = np.array([0.0, 28.0, 0.0])
            for a, b in pairwise(cable):
                self.camera.fill([a, b, b + thick, a + thick], 35.0)
        if r.random() < 0.4:
            x, off = r.uniform(-half, half), r.normal(0, 120)
            post = [[x, 0], [x + 110, 0], [x + 110 + off, 6000], [x + off, 6000]]
            self._flat(post, r.uniform(40, 90), r.uniform(800, 0.4 * deep))

    def _cart(self, x: float, z: float) -> None:
        """A box turned a little from the wall, its far sides first."""
        r = self.rng
        turn, tone, high = r.uniform(-0.25, 0.25), r.uniform(30, 220), 300 + r.uniform(900, 1900)
        along = np.array([np.cos(turn), np.sin(turn)]) * r.uniform(1800, 4500)
        across = np.array([-np.sin(turn), np.cos(turn)]) * r.uniform(1000, 1800)
        corner = np.array([x, z])
        ground = [corner, corner + along, corner + along + across, corner + across]
        sides = [(ground[i], ground[(i + 1) % 4]) for i in range(4)]
        eye = self.camera.eye_mm[[0, 2]]
        for (ax, az), (bx, bz) in sorted(
            sides, key=lambda s: -np.hypot(*((s[0] + s[1]) / 2 - eye))
        ):
            side = [[ax, 300, az], [bx, 300, bz], [bx, high, bz], [ax, high, az]]
            self.camera.fill(side, tone * r.uniform(0.7, 1.0))


def shown(photo: np.ndarray, street: PaintedStreet) -> np.ndarray:
    """The photo with the true corners of all openings marked, to look at."""
    marked = photo.copy()
    outlines = [np.rint(corners).astype(np.int32) for corners in street.corners_px]
    cv2.polylines(marked, outlines, True, (255, 0, 0), 1)
    return marked
