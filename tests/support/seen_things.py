"""Roofs, neighbours, cladding and boxes of `seen_fronts`: what lies about openings and is none."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from tests.support.front_canvas import Box, Canvas
from tests.support.front_materials import BRICKS, RENDERS


def draw_roof(canvas: Canvas, box: Box, rng: np.random.Generator) -> None:
    """Sky; often a roof with chimneys before it."""
    left, low, right, high = box
    pale = rng.uniform(0.0, 1.0)
    sky = (0.5 + 0.42 * pale, 0.66 + 0.27 * pale, 0.86 + 0.08 * pale)
    canvas.rectangle(box, sky, grain=0.01, rng=rng)
    if rng.random() < 0.4:
        return
    ridge = low + float(rng.uniform(0.2, 1.0)) * (high - low)
    slate = np.array([0.36, 0.37, 0.40] if rng.random() < 0.5 else [0.5, 0.3, 0.24])
    for _ in range(int(rng.integers(0, 4))):
        x, wide = float(rng.uniform(left, right)), float(rng.uniform(500, 1300))
        brick = BRICKS[rng.integers(len(BRICKS))]
        top = ridge + float(rng.uniform(200, 1500))
        canvas.rectangle((x, low, x + wide, top), brick, grain=0.04, rng=rng)
        canvas.rectangle((x - 40, top - 120, x + wide + 40, top), np.array(brick) * 0.8)
    canvas.rectangle((left, low, right, ridge), slate, grain=0.04, rng=rng)
    for y in np.arange(low, ridge, float(rng.uniform(90, 220))):
        canvas.rectangle((left, y, right, y + 15), slate * 0.7)
    canvas.rectangle((left, low, right, low + 130), (0.12, 0.12, 0.12))


def draw_sides(canvas: Canvas, wall: Box, rng: np.random.Generator) -> None:
    """The neighbours' walls to either side, of another colour, and pipes where they meet."""
    left, low, right, high = wall
    wide = canvas.pixels.shape[1] * canvas.mm_per_px
    for x0, x1, edge in ((0.0, left, left), (right, wide, right - 90)):
        if x1 - x0 < 100:
            continue
        paint = np.array(RENDERS[rng.integers(len(RENDERS))]) * rng.uniform(0.7, 1.05)
        top = high + float(rng.uniform(-2500, 600))
        canvas.rectangle((x0, low, x1, top), paint, grain=0.02, rng=rng)
        if rng.random() < 0.5:
            canvas.rectangle((edge, low, edge + 90, high), np.full(3, rng.uniform(0.1, 0.85)))


def draw_cladding(canvas: Canvas, openings: Sequence[Any], rng: np.random.Generator) -> None:
    """Panels of another colour between windows of a storey, or from window to window above."""
    kind = rng.choice(["none", "between", "below"], p=[0.7, 0.12, 0.18])
    tone = rng.uniform(0.15, 0.95) * rng.uniform(0.75, 1.0, 3)
    for one in openings:
        if one.use != "window":
            continue
        if kind == "between":
            beside = [o for o in openings if o.sill_mm == one.sill_mm and o.left_mm > one.right_mm]
            for other in sorted(beside, key=lambda o: o.left_mm)[:1]:
                box = (one.right_mm, one.sill_mm, other.left_mm, one.springing_mm)
                canvas.rectangle(box, tone, grain=0.01, rng=rng)
        elif kind == "below":
            twice_mm = one.left_mm + one.right_mm
            under = [o for o in openings if abs(o.left_mm + o.right_mm - twice_mm) < 100]
            tops = (o.top_mm for o in under if o.top_mm < one.sill_mm)
            foot = max(tops, default=one.sill_mm - 600.0)
            box = (one.left_mm, foot + 100, one.right_mm, one.sill_mm - 60)
            if box[3] > box[1]:
                canvas.rectangle(box, tone, grain=0.01, rng=rng)


def draw_boxes(
    canvas: Canvas, wall: Box, openings: Sequence[Any], rng: np.random.Generator
) -> None:
    """Awnings over ground-floor windows; cooling boxes, dishes and lamps on the wall."""
    left, low, right, high = wall
    cloth = rng.uniform(0.15, 0.9, 3)
    awnings = rng.random() < 0.12
    for one in openings:
        if awnings and one.sill_mm < low + 1500:
            top, foot = one.top_mm + 250.0, one.top_mm - 150.0
            shape = [(one.left_mm - 200, foot), (one.right_mm + 200, foot),
                     (one.right_mm + 150, top), (one.left_mm - 150, top)]  # fmt: skip
            canvas.polygon(shape, cloth)
            canvas.rectangle((shape[0][0], foot - 90, shape[1][0], foot), cloth * 0.8)
    for _ in range(int(rng.integers(0, 5))):
        x, y = float(rng.uniform(left, right - 900)), float(rng.uniform(low + 500, high - 800))
        wide, tall = float(rng.uniform(150, 850)), float(rng.uniform(200, 650))
        clear = all(
            x + wide < o.left_mm or x > o.right_mm or y + tall < o.sill_mm or y > o.top_mm
            for o in openings
        )
        if not clear:
            continue
        metal = np.full(3, rng.uniform(0.15, 0.9))
        canvas.rectangle(
            (x + 40, y - 60, x + wide + 40, y + tall - 30), (0.1, 0.1, 0.1), opacity=0.4
        )
        canvas.rectangle((x, y, x + wide, y + tall), metal)
        if rng.random() < 0.5:
            turn = np.linspace(0, 2 * np.pi, 25)
            radius = 0.4 * min(wide, tall)
            middle = [x + wide / 2, y + tall / 2]
            disc = middle + radius * np.column_stack([np.cos(turn), np.sin(turn)])
            canvas.polygon(disc, metal * 0.5)
