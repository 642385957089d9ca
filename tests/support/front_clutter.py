"""What stands on, before and across invented fronts, and is no opening."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from tests.support.front_canvas import Box, Canvas

WORDS = ("MALTINGS", "CORN & SEED", "STORES", "TEA ROOM", "SMITHY", "TO LET")


def draw_clutter(
    canvas: Canvas,
    wall: Box,
    openings: Sequence[Any],
    rng: np.random.Generator,
    *,
    behind: bool,
) -> set[int]:
    """Draw what lies on the wall (`behind` the openings), or before it; returns what it hides."""
    if behind:
        _on_the_wall(canvas, wall, openings, rng)
        return set()
    return _before_the_wall(canvas, wall, openings, rng)


def _free(box: Box, openings: Sequence[Any], gap: float = 120.0) -> bool:
    left, low, right, high = box
    return all(
        right + gap < one.left_mm
        or left - gap > one.right_mm
        or high + gap < one.sill_mm
        or low - gap > one.top_mm
        for one in openings
    )


def _on_the_wall(
    canvas: Canvas, wall: Box, openings: Sequence[Any], rng: np.random.Generator
) -> None:
    left, low, right, high = wall
    stone = np.array([0.76, 0.72, 0.63]) * rng.uniform(0.85, 1.1)
    if rng.random() < 0.45:
        top = low + float(rng.uniform(300, 800))
        canvas.rectangle((left, low, right, top), stone * 0.85, grain=0.03, rng=rng)
    for _ in range(int(rng.integers(0, 3))):
        y = float(rng.uniform(low + 1000, high - 300))
        deep = float(rng.uniform(120, 280))
        canvas.rectangle((left, y, right, y + deep), stone, grain=0.02, rng=rng)
        canvas.rectangle((left, y - 50, right, y), (0.1, 0.1, 0.1), opacity=0.35)
    if rng.random() < 0.35:
        for i, y in enumerate(np.arange(low, high, 300.0)):
            wide = 420.0 if i % 2 else 260.0
            for box in ((left, y, left + wide, y + 285), (right - wide, y, right, y + 285)):
                canvas.rectangle(box, stone, grain=0.02, rng=rng)
    if rng.random() < 0.6:
        canvas.rectangle((left, high - 180, right, high), stone * 0.7)
        canvas.rectangle((left, high - 330, right, high - 180), (0.05, 0.05, 0.05), opacity=0.5)
    for _ in range(int(rng.integers(0, 4))):
        _board(canvas, wall, openings, rng)
    for _ in range(int(rng.integers(0, 4))):
        x, y = rng.uniform(left + 200, right - 500), rng.uniform(low + 200, high - 400)
        box = (x, y, x + 225, y + 150)
        if _free(box, openings):
            canvas.rectangle(box, (0.25, 0.22, 0.2))
            for line in np.arange(y + 15, y + 150, 35.0):
                canvas.rectangle((x + 10, line, x + 215, line + 14), (0.5, 0.42, 0.36))


def _board(canvas: Canvas, wall: Box, openings: Sequence[Any], rng: np.random.Generator) -> None:
    """A sign, on a board or painted on the wall, or a plaque."""
    left, low, right, high = wall
    tall = float(rng.uniform(280, 600))
    text = WORDS[rng.integers(len(WORDS))]
    wide = tall * 0.72 * len(text)
    plaque = rng.random() < 0.35
    if plaque:
        wide, tall = float(rng.uniform(300, 500)), float(rng.uniform(300, 600))
    if right - left - wide < 500:
        return
    x, y = (
        float(rng.uniform(left + 200, right - wide - 200)),
        float(rng.uniform(low + 400, high - 900)),
    )
    if not _free((x, y, x + wide, y + tall), openings, 60.0):
        return
    board = rng.random() < 0.5 or plaque
    ink = (0.93, 0.92, 0.86) if rng.random() < 0.6 else (0.1, 0.1, 0.12)
    if board:
        ground = np.array([0.12, 0.2, 0.3]) if ink[0] > 0.5 else np.array([0.9, 0.87, 0.76])
        canvas.rectangle((x, y, x + wide, y + tall), ground)
    if not plaque:
        canvas.write(text, (x + 0.1 * tall, y + 0.2 * tall), 0.6 * tall, ink)
    else:
        for line in np.arange(y + 60, y + tall - 60, 70.0):
            canvas.rectangle((x + 40, line, x + wide - 40, line + 25), ink)


def _before_the_wall(
    canvas: Canvas, wall: Box, openings: Sequence[Any], rng: np.random.Generator
) -> set[int]:
    left, low, right, high = wall
    for _ in range(int(rng.integers(0, 4))):
        x, wide = float(rng.uniform(left + 50, right - 200)), float(rng.uniform(70, 110))
        if _free((x, low + 500, x + wide, high), openings, 20.0):
            _pipe(canvas, x, wide, low, high, rng)
    if rng.random() < 0.2:
        _open_shutters(canvas, openings, rng)
    for _ in range(int(rng.integers(0, 3))):
        y = rng.uniform(low + 1500, high)
        x = np.linspace(left, right, 20)
        sag = y - 300 * (1 - ((x - x.mean()) / (right - left) * 2) ** 2)
        canvas.line(np.column_stack([x, sag]), (0.06, 0.06, 0.06), 22)
    hidden: set[int] = set()
    if rng.random() < 0.35:
        middle, radius = rng.uniform(left, right), rng.uniform(400, 1100)
        for _ in range(220):
            turn, reach = rng.uniform(0, 2 * np.pi), radius * np.sqrt(rng.uniform())
            at = np.array([middle + reach * np.cos(turn), low + abs(reach * np.sin(turn))])
            leaf = at + rng.uniform(60, 170) * rng.normal(0, 0.6, (6, 2))
            canvas.polygon(leaf, np.array([0.2, 0.32, 0.14]) * rng.uniform(0.5, 1.5))
        for i, one in enumerate(openings):
            beside = one.left_mm - 0.6 * radius < middle < one.right_mm + 0.6 * radius
            if beside and one.sill_mm < low + 0.8 * radius:
                hidden.add(i)
    return hidden


def _pipe(
    canvas: Canvas, x: float, wide: float, low: float, high: float, rng: np.random.Generator
) -> None:
    colour = np.array([0.1, 0.1, 0.11]) if rng.random() < 0.6 else np.array([0.85, 0.85, 0.83])
    canvas.rectangle((x + wide, low, x + wide + 60, high), (0.1, 0.1, 0.1), opacity=0.4)
    canvas.rectangle((x, low, x + wide, high), colour)
    canvas.rectangle((x + 0.2 * wide, low, x + 0.4 * wide, high), colour * 1.3 + 0.05)
    for y in np.arange(low + 800, high, 1800.0):
        canvas.rectangle((x - 25, y, x + wide + 25, y + 70), colour)


def _open_shutters(canvas: Canvas, openings: Sequence[Any], rng: np.random.Generator) -> None:
    paint = np.array([0.2, 0.33, 0.36]) * rng.uniform(0.7, 1.6)
    for one in openings:
        if one.use != "window" or one.head != "flat":
            continue
        leaf = (one.right_mm - one.left_mm) / 2
        beside = [other for other in openings if other.sill_mm == one.sill_mm]
        apart = min((abs(o.left_mm - one.left_mm) for o in beside if o is not one), default=9e9)
        if apart < 4.4 * leaf:
            continue  # no room for the shutters of both
        for x in (one.left_mm - leaf - 30, one.right_mm + 30):
            others = [other for other in openings if other is not one]
            if _free((x, one.sill_mm, x + leaf, one.top_mm), others, 40.0):
                canvas.rectangle((x, one.sill_mm, x + leaf, one.top_mm), paint)
                for y in np.arange(one.sill_mm + 60, one.top_mm - 60, 75.0):
                    canvas.rectangle((x + 50, y, x + leaf - 50, y + 28), paint * 0.6)


def draw_shadows(canvas: Canvas, wall: Box, rng: np.random.Generator) -> None:
    """Shadow of what stands opposite, cast across the wall and all that is in it."""
    left, low, right, high = wall
    if rng.random() < 0.45:
        tone = rng.uniform(0.4, 0.7) * np.array([0.95, 1.0, 1.1])
        a, b = rng.uniform(left, right, 2)
        top = rng.uniform(low + 800, high)
        kind = rng.integers(3)
        if kind == 0:
            shape = [(left - 10, low - 999), (a, low - 999), (b, top), (left - 10, top)]
        elif kind == 1:
            shape = [
                (left - 10, low - 999),
                (right + 10, low - 999),
                (right + 10, top),
                (a, top - 600),
            ]
        else:
            shape = [(a, low - 999), (a + 1500, low - 999), (b + 1500, top), (b, top)]
        canvas.darken(np.array(shape), tone, rng.uniform(0.8, 3.0))
