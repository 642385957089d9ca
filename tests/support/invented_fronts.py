"""Invented fronts as straightened pictures, with the true place of every opening: seeded.

Plain numpy and OpenCV's drawing; no code shared with the program. A front is drawn at twice its
final resolution, then lit, blurred, made smaller, given noise and JPEG blocks.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from tests.support.front_canvas import Canvas, Colour
from tests.support.front_clutter import draw_clutter, draw_shadows
from tests.support.front_joinery import draw_opening
from tests.support.front_materials import draw_material

HEADS = ("flat", "segmental", "semicircular", "pointed")
#: Side of the largest picture.
LONGEST_PX = 1300

STONE: tuple[Colour, ...] = ((0.78, 0.74, 0.64), (0.70, 0.68, 0.63), (0.85, 0.82, 0.75))


@dataclass(frozen=True)
class TrueOpening:
    """One opening of a front: masonry to masonry, millimetres from the picture's lower left."""

    left_mm: float
    right_mm: float
    sill_mm: float
    springing_mm: float
    top_mm: float
    head: str
    use: str = "window"
    hidden: bool = False

    @property
    def box(self) -> tuple[float, float, float, float]:
        return self.left_mm, self.sill_mm, self.right_mm, self.top_mm


@dataclass(frozen=True)
class InventedFront:
    """A picture with what is in it."""

    rgb: np.ndarray
    mm_per_px: float
    openings: tuple[TrueOpening, ...]
    material: str


def make_front(seed: int) -> InventedFront:
    """Draw the front of a seed."""
    rng = np.random.default_rng([20261125, seed])
    mm_per_px = float(rng.uniform(7.0, 13.0))
    storeys, bays = int(rng.integers(1, 5)), int(rng.integers(2, 7))
    storey_mm, bay_mm = float(rng.uniform(2700, 3600)), float(rng.uniform(1900, 3200))
    sky_mm, ground_mm = float(rng.uniform(0, 1200)), float(rng.uniform(0, 700))
    margin_mm = float(rng.uniform(300, 1200))
    wall_w, wall_h = bays * bay_mm + 2 * margin_mm, storeys * storey_mm + 600.0
    mm_per_px = max(mm_per_px, max(wall_w, wall_h) / LONGEST_PX)
    canvas = Canvas(wall_w, wall_h + sky_mm + ground_mm, mm_per_px / 2)
    canvas.rectangle((0, 0, wall_w, ground_mm), (0.42, 0.41, 0.40), grain=0.05, rng=rng)
    top = ground_mm + wall_h
    canvas.rectangle((0, top, wall_w, top + sky_mm + 50), _sky(rng), grain=0.01, rng=rng)
    wall = (0.0, ground_mm, wall_w, top)
    material = draw_material(canvas, wall, rng)
    openings = _lay_out(rng, bays, storeys, bay_mm, storey_mm, margin_mm, ground_mm)
    dressing = STONE[rng.integers(len(STONE))] if rng.random() < 0.65 else None
    styles: dict[tuple[str, float, float], np.random.SeedSequence] = {}
    draw_clutter(canvas, wall, openings, rng, behind=True)
    for opening in openings:
        # openings of one row and size look alike, as they do on buildings
        key = (opening.use, opening.sill_mm, round(opening.right_mm - opening.left_mm))
        style = styles.setdefault(key, np.random.SeedSequence(int(rng.integers(2**31))))
        draw_opening(canvas, opening, np.random.default_rng(style), rng, dressing)
    hidden = draw_clutter(canvas, wall, openings, rng, behind=False)
    draw_shadows(canvas, wall, rng)
    openings = [replace(one, hidden=i in hidden) for i, one in enumerate(openings)]
    return InventedFront(_as_photo(canvas, rng), mm_per_px, tuple(openings), material)


def _sky(rng: np.random.Generator) -> Colour:
    pale = rng.uniform(0.0, 1.0)
    return (0.55 + 0.35 * pale, 0.70 + 0.22 * pale, 0.88 + 0.08 * pale)


def _lay_out(
    rng: np.random.Generator,
    bays: int,
    storeys: int,
    bay_mm: float,
    storey_mm: float,
    margin_mm: float,
    ground_mm: float,
) -> list[TrueOpening]:
    """Rows of like openings, some left out, doors on the ground, now and then an oddity."""
    out: list[TrueOpening] = []
    base_width = float(rng.uniform(0.32, 0.5)) * bay_mm
    door_bays = set(rng.choice(bays, size=int(rng.integers(1, min(bays, 2) + 1)), replace=False))
    arched = rng.random() < 0.5
    for storey in range(storeys):
        floor = ground_mm + storey * storey_mm + 150.0
        head = str(rng.choice(HEADS, p=(0.3, 0.35, 0.25, 0.1))) if arched else "flat"
        head = head if rng.random() < 0.75 else "flat"
        width = base_width * float(rng.uniform(0.85, 1.1))
        height = min(width * float(rng.uniform(1.05, 2.1)), storey_mm - 1150.0)
        sill = floor + float(rng.uniform(600, 900))
        for bay in range(bays):
            middle = margin_mm + (bay + 0.5) * bay_mm
            if storey == 0 and bay in door_bays:
                out.append(_door(rng, middle, ground_mm, bay_mm, storey_mm, head))
            elif rng.random() > 0.08:
                out.append(_opening(middle, width, sill, height, head, "window"))
        if storey == storeys - 1 and rng.random() < 0.25 and storeys > 1:
            out[-1] = _opening(middle, 0.7 * width, sill + 200.0, 0.7 * width, "round", "window")
    return out


def _door(
    rng: np.random.Generator,
    middle: float,
    ground_mm: float,
    bay_mm: float,
    storey_mm: float,
    head: str,
) -> TrueOpening:
    if rng.random() < 0.3:
        width = min(float(rng.uniform(1800, 2600)), bay_mm - 350.0)
        height, use = min(float(rng.uniform(2300, 2700)), storey_mm - 500.0), "gate"
    else:
        width = float(rng.uniform(900, 1150))
        height, use = min(float(rng.uniform(2050, 2650)), storey_mm - 600.0), "door"
    head = head if head in ("flat", "segmental", "semicircular") else "flat"
    return _opening(middle, width, ground_mm + float(rng.uniform(0, 150)), height, head, use)


def _opening(
    middle: float, width: float, sill: float, height: float, head: str, use: str
) -> TrueOpening:
    rise = {
        "flat": 0.0,
        "segmental": 0.14 * width,
        "semicircular": 0.5 * width,
        "pointed": 0.866 * width,
        "round": 0.5 * width,
    }[head]
    if head == "round":
        height = width
    height = max(height, rise + 0.45 * width) if head != "round" else height
    return TrueOpening(
        middle - width / 2,
        middle + width / 2,
        sill,
        sill + height - rise,
        sill + height,
        head,
        use,
    )


def _as_photo(canvas: Canvas, rng: np.random.Generator) -> np.ndarray:
    """Light falling off, blur, half the size, noise, JPEG."""
    picture = canvas.pixels
    height, width = picture.shape[:2]
    x, y = np.meshgrid(np.linspace(-1, 1, width), np.linspace(-1, 1, height))
    light = 1.0 + rng.uniform(-0.12, 0.12) * x + rng.uniform(-0.12, 0.12) * y
    picture = picture * light[..., None].astype(np.float32) * float(rng.uniform(0.85, 1.05))
    picture = picture * rng.uniform(0.94, 1.06, 3).astype(np.float32)
    picture = cv2.GaussianBlur(picture, (0, 0), float(rng.uniform(0.8, 2.2)))
    size = (width // 2, height // 2)
    picture = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    picture = picture + rng.normal(0.0, rng.uniform(0.004, 0.018), picture.shape)
    eight = np.clip(255.0 * picture, 0, 255).astype(np.uint8)
    quality = [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(72, 96))]
    _, data = cv2.imencode(".jpg", eight[..., ::-1], quality)
    decoded = cv2.imdecode(data, cv2.IMREAD_COLOR)
    return np.ascontiguousarray(decoded[..., ::-1])
