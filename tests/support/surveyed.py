"""Surveys of invented buildings: what a user would pick, with or without a shaking hand."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from rectify.solution import PhotoFacts
from shared.survey import Face
from tests.support.scenes import SceneCamera, picks, rectangle


def focal_35mm(camera: SceneCamera) -> float:
    """What EXIF would say of this camera, were the tag not a whole number."""
    return camera.focal_px * np.hypot(36, 24) / np.hypot(camera.width_px, camera.height_px)


def facts(camera: SceneCamera, photo: str = "street", *, known: bool = True) -> PhotoFacts:
    """Facts of the photo; `known` says whether its focal length is."""
    focal = float(focal_35mm(camera)) if known else None
    return PhotoFacts(photo, camera.width_px, camera.height_px, focal)


@dataclass
class Hand:
    """Picks building points in a photo, missing by `u_px` in each direction."""

    camera: SceneCamera
    u_px: float = 0.0
    seed: int = 0
    said_u_px: float | None = None
    rng: np.random.Generator = field(init=False)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng(self.seed)

    def at(self, points_mm: Any) -> list[list[float]]:
        """Picks of building points, shape (n, 3)."""
        seen = self.camera.project(np.asarray(points_mm, dtype=float))
        return picks(seen + self.rng.normal(0.0, 1.0, seen.shape) * self.u_px, self.said_u_px)

    def on_wall(self, points_mm: Any, set_back_mm: float = 0.0) -> list[list[float]]:
        """Picks of points of the main wall, shape (n, 2)."""
        p = np.asarray(points_mm, dtype=float)
        return self.at(np.column_stack([p, np.full(len(p), -set_back_mm)]))


def length(hand: Hand, ends: Any, label: str = "", u_mm: float = 0.0, **more: Any) -> dict:
    """A known length on the main wall, true to its ends."""
    true_mm = float(np.hypot(*np.subtract(*np.asarray(ends, dtype=float))))
    out = {"kind": "length", "label": label, "at": hand.on_wall(ends), "length_mm": true_mm}
    return {**out, "u_mm": u_mm, **more}


FRAME = rectangle(-4000, 300, 4000, 5200)

OPENINGS = {
    "w1": rectangle(-3500, 3300, -2500, 4800),
    "w2": rectangle(-1200, 3300, -200, 4800),
    "w3": rectangle(2200, 3250, 3400, 4750),
    "d1": rectangle(-600, 400, 400, 2500),
}


def street_front(hand: Hand, *, guides: bool = True, openings: Any = OPENINGS) -> dict:
    """A wall with a frame, guides, one known height and openings, as a survey writes it."""
    return {
        "id": "front",
        "photo": "street",
        "frame": hand.on_wall(FRAME),
        "guides": [
            {"kind": "plumb", "at": hand.on_wall([[-2000, 200], [-2000, 2500], [-2000, 5000]])},
            {"kind": "level", "at": hand.on_wall([[-3900, 3000], [0, 3000], [3900, 3000]])},
            {"kind": "rectangle", "at": hand.on_wall(rectangle(-3000, 700, 3600, 4900))},
        ]
        if guides
        else [],
        "references": [length(hand, [[1000, 400], [1000, 3400]], "the height", 5.0)],
        "measures": [
            {"id": name, "kind": "opening", "at": hand.on_wall(corners)}
            for name, corners in openings.items()
        ],
    }


def face(raw: dict) -> Face:
    """A face as the program reads it."""
    return Face.model_validate(raw)


STREET = {
    "yaw_deg": 25.0,
    "pitch_deg": 8.0,
    "roll_deg": 1.5,
    "centre_mm": (-5000.0, 1600.0, 11_000.0),
}


def street_camera(**more: Any) -> SceneCamera:
    """A camera across the street, turned a little and looking up."""
    return SceneCamera(**{**STREET, **more})
