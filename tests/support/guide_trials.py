"""Many painted streets, each solved from four clicks and one known height, with found guides.

Errors of sizes are told beside their truth and beside their stated ±, without guides and with.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rectify.adjust import solve_photo
from rectify.photo_lines import FoundGuides, find_guides
from rectify.solution import PhotoFacts, Solution
from shared.survey import Face, Pick
from tests.support.painted_street import PaintedStreet

#: Sizes are read off by careful picks, so that the camera's error is what is seen.
U_READ_PX = 0.3

#: Houses are out of true by this much at most, each by its own part of it.
MOST_LEAN_DEG = 0.5


@dataclass(frozen=True)
class Sizes:
    """Sizes of one street: errors and ± in millimetres, truth, and which are the far ones."""

    error_mm: np.ndarray
    u_mm: np.ndarray
    true_mm: np.ndarray
    is_far: np.ndarray

    @property
    def far_share(self) -> float:
        """Root mean square error at the far corner, as a share of each size."""
        share = (self.error_mm / self.true_mm)[self.is_far]
        return float(np.sqrt(np.mean(share**2)))

    @property
    def z(self) -> np.ndarray:
        """Standardised errors."""
        return self.error_mm / self.u_mm


@dataclass(frozen=True)
class StreetTrial:
    """One street, without found guides and with; `after` is None where none are offered."""

    street: PaintedStreet
    found: FoundGuides
    before: Sizes
    after: Sizes | None


def street_trial(seed: int, *, wide: bool, u_px: float, say: bool) -> StreetTrial | None:
    """Paint, click, find; `say` tells the program how rough the clicks are.

    None where the frame would not lie in the photo.
    """
    rng = np.random.default_rng([seed, 1])
    lean_deg = float(rng.uniform(0.0, MOST_LEAN_DEG))
    street = PaintedStreet(seed, wide=wide, lean_deg=lean_deg)
    corners = _frame_mm(street, rng)
    frame_px = street.camera.project_wall(corners)
    if (frame_px < 6).any() or (frame_px > np.array(street.camera.size) - 6).any():
        return None

    def clicked(points_px):
        tail = [u_px] if say else []
        return [[*map(float, p + rng.normal(0.0, u_px, 2)), *tail] for p in points_px]

    known = {
        "kind": "length",
        "at": clicked(frame_px[[0, 3]]),
        "length_mm": float(corners[0, 1] - corners[3, 1]),
        "u_mm": 5.0,
    }
    raw = {"id": "front", "photo": "p", "frame": clicked(frame_px), "references": [known]}
    w, h = street.camera.size
    focal_35mm = street.camera.focal_px * math.hypot(36, 24) / math.hypot(w, h)
    facts = PhotoFacts("p", w, h, float(round(focal_35mm)))
    face = Face.model_validate(raw)
    found = find_guides(street.draw(), facts, [face])
    middle = frame_px.mean(axis=0)
    before = _sizes(solve_photo(facts, [face]), street, middle, seed)
    after = _sizes(found.solution, street, middle, seed) if found.solution else None
    return StreetTrial(street, found, before, after)


def _frame_mm(street: PaintedStreet, rng: np.random.Generator) -> np.ndarray:
    """A true rectangle about two openings near the middle of the photo."""
    off = np.hypot(*(street.corners_px.mean(axis=1) - np.array(street.camera.size) / 2).T)
    near = np.argsort(off + 1e9 * ~street.seen)
    two = [street.openings[near[0]], street.openings[near[rng.integers(1, 4)]]]
    _, u0, v0, _, _ = np.min(two, axis=0)
    _, _, _, u1, v1 = np.max(two, axis=0)
    return np.array([[u0, v1], [u1, v1], [u1, v0], [u0, v0]])


def _sizes(solution: Solution, street: PaintedStreet, middle_px, seed: int) -> Sizes:
    """Widths and heights of all openings seen, and of what lies between the outermost."""
    mm, px = street.corners_mm[street.seen], street.corners_px[street.seen]
    far = np.argsort(-np.hypot(*(px.mean(axis=1) - middle_px).T))[:2]
    left, right = np.argmin(mm[:, :, 0].mean(1)), np.argmax(mm[:, :, 0].mean(1))
    low, high = np.argmin(mm[:, :, 1].mean(1)), np.argmax(mm[:, :, 1].mean(1))
    ends = [((i, 0), (i, k)) for i in range(len(mm)) for k in (1, 3)]
    ends += [((left, 3), (right, 2)), ((low, 3), (high, 0))]
    rng = np.random.default_rng([seed, 2])
    error, u, true = [], [], []
    for one, other in ends:
        seen = np.array([px[one], px[other]]) + rng.normal(0.0, U_READ_PX, (2, 2))
        read = solution.charted(
            "front", [Pick(x=float(x), y=float(y), u_px=U_READ_PX) for x, y in seen]
        )
        gap = read.chart_mm[1] - read.chart_mm[0]
        length = float(np.hypot(*gap))
        push = np.concatenate([-gap, gap]) / length
        true.append(float(np.hypot(*(mm[other] - mm[one]))))
        error.append(length - true[-1])
        u.append(math.sqrt(float(push @ read.cov_chart([0, 1]) @ push)))
    is_far = np.array([one[0] in far and i < 2 * len(mm) for i, (one, _) in enumerate(ends)])
    return Sizes(np.array(error), np.array(u), np.array(true), is_far)
