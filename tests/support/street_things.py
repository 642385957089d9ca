"""What stands out from the walls of street fronts, and what stands before them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from tests.support.front_canvas import Box, Canvas


def draw_relief(
    canvas: Canvas,
    wall: Box,
    openings: Sequence[Any],
    bay_mm: float,
    margin_mm: float,
    storey_mm: float,
    rng: np.random.Generator,
) -> None:
    """Pilasters between the bays, bands at the floors, panels below windows; each with a shadow."""
    left, low, right, high = wall
    tone = np.array([0.76, 0.73, 0.66]) * rng.uniform(0.6, 1.1)
    if rng.random() < 0.25:
        wide = min(float(rng.uniform(180, 420)), 0.16 * bay_mm)
        for x in np.arange(left + margin_mm, right - margin_mm + 1, bay_mm):
            box = (x - wide / 2, low, x + wide / 2, high - 300)
            if all(box[2] < o.left_mm - 20 or box[0] > o.right_mm + 20 for o in openings):
                canvas.rectangle(box, tone, grain=0.02, rng=rng)
                shade = (box[2], low, box[2] + 50, high - 300)
                canvas.rectangle(shade, (0.1, 0.1, 0.1), opacity=0.35)
    if rng.random() < 0.3:
        for y in np.arange(low + storey_mm, high - 500, storey_mm):
            deep = float(rng.uniform(90, 300))
            canvas.rectangle((left, y - deep, right, y), tone, grain=0.02, rng=rng)
            canvas.rectangle((left, y - deep - 60, right, y - deep), (0.1, 0.1, 0.1), opacity=0.4)
    if rng.random() < 0.2:
        for one in openings:
            if one.use == "window" and one.sill_mm - low > 800:
                deep = float(min(500.0, one.sill_mm - low - 200))
                box = (one.left_mm, one.sill_mm - 120 - deep, one.right_mm, one.sill_mm - 120)
                canvas.rectangle(box, (0.1, 0.1, 0.1), opacity=0.12)


def draw_rails(canvas: Canvas, openings: Sequence[Any], rng: np.random.Generator) -> None:
    """Rails before the lower part of some windows, boxes of flowers on some sills."""
    rails, flowers = rng.random() < 0.15, rng.random() < 0.15
    for one in openings:
        if one.use != "window" or rng.random() < 0.4:
            continue
        if rails:
            top = one.sill_mm + min(0.45 * (one.top_mm - one.sill_mm), 900.0)
            left, right = one.left_mm - 60, one.right_mm + 60
            for x in np.arange(left, right, 120.0):
                canvas.rectangle((x, one.sill_mm, x + 20, top), (0.08, 0.08, 0.09))
            canvas.rectangle((left, top, right, top + 45), (0.08, 0.08, 0.09))
        elif flowers:
            for _ in range(60):
                at = (rng.uniform(one.left_mm, one.right_mm), one.sill_mm + rng.normal(60, 60))
                petal = np.array(at) + rng.normal(0, 35, (5, 2))
                canvas.polygon(petal, rng.uniform(0.1, 0.8, 3) * [1.0, 0.8, 0.5])


def draw_before(canvas: Canvas, wall: Box, rng: np.random.Generator) -> None:
    """Tree, ivy, lamp post, van: what hides part of the wall."""
    left, low, right, high = wall
    if rng.random() < 0.3:
        _tree(canvas, float(rng.uniform(left, right)), low, float(rng.uniform(3000, 7000)), rng)
    if rng.random() < 0.15:
        middle = np.array([rng.uniform(left, right), rng.uniform(low, high)])
        _leaves(canvas, middle, rng.uniform(500, 1500), 350, 0.5, rng)
    if rng.random() < 0.3:
        x, wide = float(rng.uniform(left, right)), float(rng.uniform(90, 170))
        metal = np.full(3, rng.uniform(0.08, 0.7))
        canvas.rectangle((x, low - 300, x + wide, high), metal)
        canvas.rectangle((x, low - 300, x + 0.3 * wide, high), metal * 1.25)
    if rng.random() < 0.2:
        x, long_ = float(rng.uniform(left - 1000, right - 1500)), float(rng.uniform(3500, 5200))
        paint = rng.uniform(0.05, 0.9) * rng.uniform(0.6, 1.0, 3)
        top = low + float(rng.uniform(1200, 2000))
        body = [(x, low - 100), (x + long_, low - 100), (x + long_, low + 900),
                (x + 0.8 * long_, top), (x + 0.05 * long_, top), (x, low + 900)]  # fmt: skip
        canvas.polygon(body, paint)
        glass = [(x + 0.55 * long_, low + 950), (x + 0.9 * long_, low + 950),
                 (x + 0.78 * long_, top - 120), (x + 0.55 * long_, top - 120)]  # fmt: skip
        canvas.polygon(glass, (0.12, 0.14, 0.16))


def _tree(canvas: Canvas, x: float, low: float, tall: float, rng: np.random.Generator) -> None:
    bark = np.array([0.24, 0.20, 0.16])
    canvas.rectangle((x - 90, low - 300, x + 90, low + 0.6 * tall), bark, grain=0.03, rng=rng)
    for _ in range(12):
        turn = rng.uniform(0.3, 2.8)
        foot = np.array([x, low + rng.uniform(0.35, 0.6) * tall])
        tip = foot + rng.uniform(0.2, 0.45) * tall * np.array([np.cos(turn), np.sin(turn)])
        canvas.line(np.array([foot, tip]), tuple(bark), rng.uniform(20, 60))
        if rng.random() < 0.7:
            _leaves(canvas, tip, 0.09 * tall, 40, 0.7, rng)


def _leaves(
    canvas: Canvas,
    middle: np.ndarray,
    radius: float,
    count: int,
    flat: float,
    rng: np.random.Generator,
) -> None:
    green = np.array([0.22, 0.33, 0.14]) * rng.uniform(0.6, 1.3)
    for _ in range(count):
        turn, reach = rng.uniform(0, 2 * np.pi), radius * np.sqrt(rng.uniform())
        at = middle + reach * np.array([np.cos(turn), flat * np.sin(turn)])
        leaf = at + rng.uniform(50, 150) * rng.normal(0, 0.6, (6, 2))
        canvas.polygon(leaf, green * rng.uniform(0.5, 1.5))


def cover_share(canvas: Canvas, clear: np.ndarray, box: Box) -> float:
    """Part of a box that has been painted over since the picture was `clear`."""
    left, low, right, high = (v / canvas.mm_per_px for v in box)
    tall = canvas.pixels.shape[0]
    part = (slice(max(0, int(tall - high)), int(tall - low)), slice(max(0, int(left)), int(right)))
    return float(np.mean(np.abs(canvas.pixels[part] - clear[part]).sum(axis=-1) > 0.02))
