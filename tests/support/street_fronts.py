"""Invented fronts as streets have them: harder than `invented_fronts`, and of other kinds. Seeded.

Boarded, tiled, panelled and banded walls, two materials on one wall, dark walls with light
windows, windows in close grids and pairs, shop windows, pilasters, balcony rails, trees, ivy,
lamp posts and vans before the wall, deep reveals seen from one side; photographed obliquely and
straightened again, so that one end is blurred, and not quite true.

Seeds 0 to 99 are for setting the search up, 100 to 199 for choosing between ways, and those
from 300 for the bench, where they are looked at once.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.support.front_canvas import Box, Canvas, Colour
from tests.support.front_clutter import draw_clutter, draw_shadows
from tests.support.front_joinery import draw_opening
from tests.support.front_materials import BRICKS, RENDERS, draw_material
from tests.support.invented_fronts import STONE, InventedFront, TrueOpening
from tests.support.street_photo import as_street_photo
from tests.support.street_things import cover_share, draw_before, draw_rails, draw_relief

LONGEST_PX = 1300
Layout = list[TrueOpening]


def make_street_front(seed: int) -> InventedFront:
    """Draw the front of a seed."""
    rng = np.random.default_rng([20261130, seed])
    kind = str(rng.choice(["house", "terrace", "grid", "works"], p=[0.35, 0.3, 0.2, 0.15]))
    storeys = int(rng.integers(1, 4)) if kind in ("house", "works") else int(rng.integers(2, 6))
    bays = int(rng.integers(2, 6)) if kind == "house" else int(rng.integers(3, 9))
    storey_mm = float(rng.uniform(2600, 3800))
    bay_mm = float(rng.uniform(1500, 2600) if kind == "grid" else rng.uniform(1800, 3600))
    margin_mm = float(rng.uniform(250, 1500))
    sky_mm, ground_mm = float(rng.uniform(0, 2500)), float(rng.uniform(0, 900))
    wide, high = bays * bay_mm + 2 * margin_mm, storeys * storey_mm + float(rng.uniform(300, 900))
    mm_per_px = max(
        float(rng.uniform(7.0, 16.0)), max(wide, high + sky_mm + ground_mm) / LONGEST_PX
    )
    canvas = Canvas(wide, high + sky_mm + ground_mm, mm_per_px / 2)
    top = ground_mm + high
    canvas.rectangle((0, 0, wide, ground_mm), (0.42, 0.41, 0.40), grain=0.05, rng=rng)
    pale = rng.uniform(0.0, 1.0)
    sky = (0.5 + 0.42 * pale, 0.66 + 0.27 * pale, 0.86 + 0.08 * pale)
    canvas.rectangle((0, top, wide, top + sky_mm + 50), sky, grain=0.01, rng=rng)
    wall = (0.0, ground_mm, wide, top)
    material = cover_wall(canvas, wall, ground_mm + storey_mm, rng)
    openings = lay_out(kind, rng, bays, storeys, bay_mm, storey_mm, margin_mm, ground_mm)
    draw_relief(canvas, wall, openings, bay_mm, margin_mm, storey_mm, rng)
    draw_clutter(canvas, wall, openings, rng, behind=True)
    dressing = STONE[rng.integers(len(STONE))] if rng.random() < 0.5 else None
    styles: dict[tuple[str, float, float], int] = {}
    for one in openings:
        key = (one.use, one.sill_mm, round(one.right_mm - one.left_mm))
        style = styles.setdefault(key, int(rng.integers(2**31)))
        draw_opening(canvas, one, np.random.default_rng(style), rng, dressing)
    draw_rails(canvas, openings, rng)
    hidden = draw_clutter(canvas, wall, openings, rng, behind=False)
    draw_shadows(canvas, wall, rng)
    clear = canvas.pixels.copy()
    draw_before(canvas, wall, rng)
    openings = [
        replace(one, hidden=i in hidden or cover_share(canvas, clear, one.box) > 0.3)
        for i, one in enumerate(openings)
    ]
    return InventedFront(as_street_photo(canvas, rng), mm_per_px, tuple(openings), material)


def picked_core(front: InventedFront) -> np.ndarray:
    """Weight of the wall between two openings far apart: where a surveyor's frame would be."""
    seen = [one for one in front.openings if not one.hidden] or list(front.openings)
    low = min(seen, key=lambda one: one.left_mm + one.sill_mm)
    high = max(seen, key=lambda one: one.right_mm + one.top_mm)
    mm, (tall, wide) = front.mm_per_px, front.rgb.shape[:2]
    core = np.full((tall, wide), 0.02, np.float32)
    rows = slice(int(tall - max(high.top_mm, low.top_mm) / mm), int(tall - low.sill_mm / mm))
    core[rows, int(low.left_mm / mm) : int(high.right_mm / mm)] = 1.0
    return core


def cover_wall(canvas: Canvas, wall: Box, first_floor_mm: float, rng: np.random.Generator) -> str:
    """One material, or another on the ground floor; now and then painted dark."""
    left, low, right, high = wall
    name = _one_material(canvas, wall, rng)
    if rng.random() < 0.25 and first_floor_mm < high - 1500:
        _one_material(canvas, (left, low, right, first_floor_mm), rng)
        name += " over another"
    if rng.random() < 0.15:
        canvas.darken(
            np.array([(left, low), (right, low), (right, high), (left, high)]),
            rng.uniform(0.25, 0.5),
        )
        name = f"dark {name}"
    return name


def _one_material(canvas: Canvas, wall: Box, rng: np.random.Generator) -> str:
    kind = str(
        rng.choice(
            ["plain", "boards", "tiles", "panels", "banded", "roughcast"],
            p=[0.5, 0.1, 0.08, 0.12, 0.1, 0.1],
        )
    )
    if kind == "plain":
        return draw_material(canvas, wall, rng)
    if kind == "banded":
        name = draw_material(canvas, wall, rng)
        _bands(canvas, wall, rng)
        return f"banded {name}"
    mm = canvas.mm_per_px
    left, low, right, high = wall
    rows = slice(round((canvas.height_mm - high) / mm), round((canvas.height_mm - low) / mm))
    columns = slice(round(left / mm), round(right / mm))
    shape = canvas.pixels[rows, columns].shape[:2]
    y, x = (grid.astype(np.float32) * np.float32(mm) for grid in np.mgrid[: shape[0], : shape[1]])
    paints = (*RENDERS, (0.25, 0.28, 0.27), (0.18, 0.20, 0.24))
    base = np.array(paints[rng.integers(len(paints))]) * rng.uniform(0.9, 1.05)
    if kind == "boards":
        deep = float(rng.uniform(110, 190))
        inside = y % deep
        shade = np.where(inside < 18, 0.6, 1.0 - 0.08 * inside / deep)
    elif kind == "tiles":
        base = np.array(BRICKS[rng.integers(len(BRICKS))])
        deep, broad = float(rng.uniform(90, 120)), float(rng.uniform(150, 180))
        row = np.floor(y / deep).astype(int)
        column = np.floor((x + (row % 2) * broad / 2) / broad).astype(int)
        tones = 1.0 + rng.normal(0, 0.08, (256, 256))
        shade = tones[row % 256, column % 256] * np.where(y % deep < 14, 0.6, 1.0)
    elif kind == "panels":
        broad, deep = float(rng.uniform(900, 2400)), float(rng.uniform(700, 1600))
        tones = 1.0 + rng.normal(0, 0.02, (64, 64))
        row, column = (y / deep).astype(int) % 64, (x / broad).astype(int) % 64
        joint = (y % deep < 22) | (x % broad < 22)
        shade = tones[row, column] * np.where(joint, 0.6, 1.0)
    else:
        shade = 1.0 + rng.normal(0, rng.uniform(0.04, 0.1), shape)
    canvas.pixels[rows, columns] = base.astype(np.float32) * shade[..., None].astype(np.float32)
    return kind


def _bands(canvas: Canvas, wall: Box, rng: np.random.Generator) -> None:
    """Courses of another colour, every so often."""
    left, low, right, high = wall
    colour: Colour = BRICKS[rng.integers(len(BRICKS))]
    apart, deep = float(rng.uniform(600, 1100)), float(rng.uniform(75, 230))
    for y in np.arange(low + apart, high - deep, apart):
        canvas.rectangle((left, y, right, y + deep), colour, opacity=0.8, grain=0.02, rng=rng)


def lay_out(
    kind: str,
    rng: np.random.Generator,
    bays: int,
    storeys: int,
    bay_mm: float,
    storey_mm: float,
    margin_mm: float,
    ground_mm: float,
) -> Layout:
    out: Layout = []
    pair_mm = float(rng.uniform(225, 450)) if kind == "terrace" and rng.random() < 0.4 else 0.0
    base = bay_mm * float(
        {
            "house": rng.uniform(0.28, 0.55),
            "terrace": rng.uniform(0.32, 0.5),
            "grid": rng.uniform(0.6, 0.88),
            "works": rng.uniform(0.45, 0.75),
        }[kind]
    )
    doors = set(rng.choice(bays, size=int(rng.integers(0, 3)), replace=False).tolist())
    missing = rng.random() * 0.25 if kind != "grid" else 0.0
    for storey in range(storeys):
        floor = ground_mm + storey * storey_mm
        head = "flat"
        if kind != "grid" and rng.random() < 0.4:
            head = str(rng.choice(["segmental", "semicircular", "pointed"], p=[0.6, 0.3, 0.1]))
        sill = floor + float(rng.uniform(450, 1000))
        tallest = floor + storey_mm - float(rng.uniform(250, 500)) - sill
        width = base * float(rng.uniform(0.8, 1.1)) if kind != "grid" else base
        height = min(float(rng.uniform(0.7, 2.3)) * width, tallest)
        height = max(height, 600.0)
        shift = float(rng.uniform(-0.3, 0.3)) * bay_mm if rng.random() < 0.15 else 0.0
        for bay in range(bays):
            middle = margin_mm + (bay + 0.5) * bay_mm
            if storey == 0 and bay in doors:
                out.append(_door(rng, middle, ground_mm, bay_mm, storey_mm))
            elif storey == 0 and kind == "terrace" and rng.random() < 0.12:
                wide = 0.8 * bay_mm
                out.append(_rise(middle, wide, floor + 500, 0.62 * storey_mm, "flat", "window"))
            elif rng.random() < missing:
                continue
            elif pair_mm:
                half = max(0.5 * width, 420.0)
                for side in (-1, 1):
                    at = middle + side * 0.5 * (half + pair_mm)
                    out.append(_rise(at, half, sill, min(height, 2.6 * half), head, "window"))
            else:
                room = min(abs(shift), 0.45 * (bay_mm - width))
                at = middle + np.sign(shift) * room
                out.append(_rise(at, width, sill, height, head, "window"))
    return out


def _door(
    rng: np.random.Generator, middle: float, ground_mm: float, bay_mm: float, storey_mm: float
) -> TrueOpening:
    head = str(rng.choice(["flat", "segmental", "semicircular"], p=[0.6, 0.2, 0.2]))
    if rng.random() < 0.25:
        wide = min(float(rng.uniform(1900, 2900)), bay_mm - 300.0)
        high, use = min(float(rng.uniform(2200, 2900)), storey_mm - 350.0), "gate"
    else:
        wide = min(float(rng.uniform(850, 1250)), bay_mm - 300.0)
        high, use = min(float(rng.uniform(2000, 2800)), storey_mm - 350.0), "door"
    return _rise(middle, wide, ground_mm + float(rng.uniform(0, 350)), high, head, use)


def _rise(middle: float, wide: float, sill: float, high: float, head: str, use: str) -> TrueOpening:
    rise = {"flat": 0.0, "segmental": 0.13, "semicircular": 0.5, "pointed": 0.8}[head] * wide
    if high < rise + 0.4 * wide:
        head, rise = "flat", 0.0
    half = wide / 2
    return TrueOpening(
        middle - half, middle + half, sill, sill + high - rise, sill + high, head, use
    )
