"""Openings of invented fronts: dressings, reveals, sashes, glass, curtains, doors, gates."""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.support.front_canvas import Canvas, Colour, outline

PAINTS: tuple[Colour, ...] = (
    (0.92, 0.92, 0.90),
    (0.90, 0.88, 0.80),
    (0.12, 0.13, 0.14),
    (0.15, 0.27, 0.20),
    (0.34, 0.22, 0.14),
    (0.48, 0.50, 0.52),
)
DOORS: tuple[Colour, ...] = (
    (0.13, 0.25, 0.38),
    (0.42, 0.10, 0.11),
    (0.14, 0.30, 0.20),
    (0.10, 0.10, 0.11),
    (0.45, 0.30, 0.18),
    (0.88, 0.87, 0.83),
    (0.56, 0.60, 0.60),
)


def draw_opening(
    canvas: Canvas,
    opening: Any,
    style: np.random.Generator,
    rng: np.random.Generator,
    dressing: Colour | None,
) -> None:
    """Draw one opening; `style` is that of its row, `rng` what differs from window to window."""
    left, right = opening.left_mm, opening.right_mm
    sill, springing, top, head = (
        opening.sill_mm,
        opening.springing_mm,
        opening.top_mm,
        opening.head,
    )
    draw_dressing(canvas, opening, style, dressing)
    hole = outline(left, right, sill, springing, top, head)
    tone = float(style.uniform(0.35, 1.1))
    reveal = np.array(dressing or (0.60, 0.52, 0.45)) * tone
    canvas.polygon(hole, reveal, grain=0.02, rng=rng)
    # seen a little from one side and from below: part of the reveal shows
    side, soffit = float(style.uniform(-70, 70)), float(style.uniform(0, 60))
    if head == "round":
        side, soffit = side / 2, soffit / 2
    inner = (
        left + max(side, 0.0),
        right + min(side, 0.0),
        sill,
        springing - soffit,
        top - soffit,
    )
    if head == "round":
        shrink = (right - left) - (inner[1] - inner[0])
        inner = (inner[0], inner[1], sill + shrink / 2, springing, top - shrink / 2)
    if opening.use == "window":
        draw_window(canvas, inner, head, style, rng)
    elif opening.use == "door":
        draw_door(canvas, inner, head, style, rng)
    else:
        draw_gate(canvas, inner, head, style, rng)
    if style.random() < 0.6:
        # the lintel's shadow over the upper part
        depth = float(style.uniform(40, 160))
        low = max(top - depth, sill)
        cut = hole.copy()
        cut[:, 1] = np.maximum(cut[:, 1], low)
        canvas.darken(cut, float(style.uniform(0.35, 0.7)), 0.8)


def draw_dressing(
    canvas: Canvas, opening: Any, style: np.random.Generator, stone: Colour | None
) -> None:
    left, right, sill, top = opening.left_mm, opening.right_mm, opening.sill_mm, opening.top_mm
    kind = style.choice(["lintel and sill", "surround", "sill", "none"], p=[0.45, 0.2, 0.25, 0.1])
    if kind == "none":
        return
    colour: Colour = stone or (0.62, 0.34, 0.26)
    band = float(style.uniform(120, 230))
    if opening.head == "round" or kind == "surround":
        grown = outline(
            left - band,
            right + band,
            sill - band if opening.head == "round" else sill,
            opening.springing_mm,
            top + band,
            opening.head,
        )
        canvas.polygon(grown, colour, grain=0.02, rng=style)
    elif kind == "lintel and sill":
        if opening.head == "flat":
            over = float(style.uniform(0, 160))
            canvas.rectangle(
                (left - over, top, right + over, top + band), colour, grain=0.02, rng=style
            )
        else:
            arch = outline(
                left - band, right + band, opening.springing_mm, opening.springing_mm,
                top + band, opening.head,
            )  # fmt: skip
            canvas.polygon(arch, colour, grain=0.02, rng=style)
    if opening.use == "window" and opening.head != "round":
        over = float(style.uniform(20, 140))
        deep = float(style.uniform(60, 150))
        canvas.rectangle(
            (left - over, sill - deep, right + over, sill), colour, grain=0.02, rng=style
        )
        canvas.rectangle(
            (left - over, sill - deep - 40, right + over, sill - deep), (0.1, 0.1, 0.1), opacity=0.4
        )


def draw_glass(canvas: Canvas, shape: np.ndarray, rng: np.random.Generator) -> None:
    """Dark rooms, sky and houses mirrored, curtains, blinds."""
    with canvas.within(shape):
        _fill_glass(canvas, shape, rng)


def _fill_glass(canvas: Canvas, shape: np.ndarray, rng: np.random.Generator) -> None:
    low, high = shape.min(axis=0), shape.max(axis=0)
    (left, sill), (right, top) = low, high
    width, height = right - left, top - sill
    canvas.polygon(shape, np.array([0.16, 0.18, 0.20]) * rng.uniform(0.5, 1.4))
    kind = rng.choice(["dark", "sky", "house", "curtains", "net", "blind"])
    if kind in ("sky", "house"):
        skyline = np.linspace(left, right, 5)
        levels = sill + height * rng.uniform(0.2, 0.9) + height * rng.uniform(-0.15, 0.15, 5)
        floor = [(right, top), (left, top)]
        sky = np.array([0.62, 0.74, 0.88]) * rng.uniform(0.6, 1.1)
        canvas.polygon(
            [*zip(skyline, levels, strict=True), *floor], sky, opacity=rng.uniform(0.5, 0.95)
        )
    if kind == "curtains":
        share = rng.uniform(0.12, 0.38) * width
        cloth = rng.uniform(0.45, 0.9, 3) * 0.5 + 0.35
        canvas.rectangle((left, sill, left + share, top), cloth)
        canvas.rectangle((right - share, sill, right, top), cloth)
    if kind == "net":
        canvas.polygon(shape, np.full(3, rng.uniform(0.45, 0.75)), grain=0.02, rng=rng)
    if kind == "blind":
        foot = top - height * rng.uniform(0.2, 0.8)
        canvas.rectangle((left, foot, right, top), np.array([0.82, 0.79, 0.7]))


def _shrunk(inner: tuple[float, ...], head: str, by: float) -> np.ndarray:
    left, right, sill, springing, top = inner
    low = sill + by
    return outline(left + by, right - by, low, max(springing, low + 1), top - by, head)


def draw_window(
    canvas: Canvas,
    inner: tuple[float, ...],
    head: str,
    style: np.random.Generator,
    rng: np.random.Generator,
) -> None:
    paint = PAINTS[style.integers(len(PAINTS))]
    frame = float(style.uniform(45, 85))
    left, right, sill, _, top = inner
    canvas.polygon(outline(*inner, head), paint, grain=0.01, rng=rng)
    if style.random() < 0.08:
        _louvres(canvas, _shrunk(inner, head, frame), paint)
        return
    glass = _shrunk(inner, head, frame)
    draw_glass(canvas, glass, rng)
    with canvas.within(glass):
        across, up = int(style.integers(1, 5)), int(style.integers(1, 5))
        bar = float(style.uniform(18, 45))
        for i in range(1, across):
            x = left + (right - left) * i / across
            canvas.rectangle((x - bar / 2, sill, x + bar / 2, top), paint)
        for i in range(1, up):
            y = sill + (top - sill) * i / up
            thick = bar * (1.8 if i == up // 2 else 1.0)
            canvas.rectangle((left, y - thick / 2, right, y + thick / 2), paint)


def _louvres(canvas: Canvas, shape: np.ndarray, paint: Colour) -> None:
    with canvas.within(shape):
        low, high = shape.min(axis=0), shape.max(axis=0)
        canvas.polygon(shape, np.array(paint) * 0.7)
        for y in np.arange(low[1], high[1], 110.0):
            canvas.rectangle((low[0], y, high[0], y + 35.0), np.array(paint) * 0.3)


def draw_door(
    canvas: Canvas,
    inner: tuple[float, ...],
    head: str,
    style: np.random.Generator,
    rng: np.random.Generator,
) -> None:
    left, right, sill, springing, top = inner
    paint, frame = PAINTS[style.integers(len(PAINTS))], float(style.uniform(50, 90))
    colour = np.array(DOORS[style.integers(len(DOORS))])
    canvas.polygon(outline(*inner, head), paint, grain=0.01, rng=rng)
    draw_glass(canvas, _shrunk(inner, head, frame), rng)
    leaf_top = min(springing, sill + 2050.0, top - frame)
    canvas.rectangle((left + frame, sill, right - frame, leaf_top), colour, grain=0.01, rng=rng)
    canvas.rectangle((left, leaf_top, right, min(leaf_top + 60, top)), paint)
    for row in range(int(style.integers(1, 4))):
        for column in range(2):
            x = left + frame + 110 + column * (right - left - 2 * frame - 60) / 2
            y = sill + 180 + row * 620
            wide, high = (right - left - 2 * frame - 360) / 2, 430.0
            if y + high < leaf_top - 80 and wide > 60:
                canvas.rectangle((x, y, x + wide, y + high), colour * 0.75)
                canvas.rectangle((x + 25, y + 25, x + wide - 25, y + high - 25), colour * 1.06)
    canvas.rectangle(
        (right - frame - 90, sill + 980, right - frame - 55, sill + 1030), (0.8, 0.7, 0.4)
    )


def draw_gate(
    canvas: Canvas,
    inner: tuple[float, ...],
    head: str,
    style: np.random.Generator,
    rng: np.random.Generator,
) -> None:
    left, right, sill, _, top = inner
    colour = np.array(DOORS[style.integers(len(DOORS))])
    shape = outline(*inner, head)
    canvas.polygon(shape, colour, grain=0.015, rng=rng)
    with canvas.within(shape):
        for x in np.arange(left, right, float(style.uniform(110, 180))):
            canvas.rectangle((x, sill, x + 12, top), colour * rng.uniform(0.55, 0.8))
        middle = (left + right) / 2
        canvas.rectangle((middle - 15, sill, middle + 15, top), colour * 0.35)
        for share in (0.2, 0.75):
            y = sill + share * (top - sill)
            canvas.rectangle((left, y, left + 600, y + 60), (0.08, 0.08, 0.08))
            canvas.rectangle((right - 600, y, right, y + 60), (0.08, 0.08, 0.08))
