"""Openings with depth, as the camera sees them from where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.support.front_canvas import Canvas, outline
from tests.support.front_joinery import PAINTS, draw_door, draw_gate, draw_glass, draw_window


@dataclass(frozen=True)
class BuildingStyle:
    """What the openings of one building share; the wall's own colour, depth, and the eye."""

    wall: np.ndarray
    deep_mm: float
    eye_mm: tuple[float, float, float]
    joinery: str
    surround: str
    pale: bool
    jambs: tuple[float, float]

    @classmethod
    def draw(
        cls,
        canvas: Canvas,
        wall: tuple[float, ...],
        eye_mm: tuple[float, float, float],
        rng: np.random.Generator,
    ) -> BuildingStyle:
        """Draw a style by chance."""
        left, low, right, high = (round(v / canvas.mm_per_px) for v in wall)
        tall = canvas.pixels.shape[0]
        own = np.median(canvas.pixels[tall - high : tall - low, left:right].reshape(-1, 3), axis=0)
        joinery = rng.choice(["sash", "lights", "panel", "any"], p=[0.25, 0.35, 0.15, 0.25])
        surround = rng.choice(["none", "sill", "band", "hood", "raised"],
                              p=[0.3, 0.3, 0.15, 0.1, 0.15])  # fmt: skip
        return cls(
            own,
            float(rng.choice([30.0, 90.0, 200.0, 320.0], p=[0.15, 0.4, 0.3, 0.15])),
            eye_mm,
            str(joinery),
            str(surround),
            bool(rng.random() < 0.6),
            _light_of_jambs(rng),
        )


def draw_deep_opening(
    canvas: Canvas,
    opening: Any,
    building: BuildingStyle,
    style: np.random.Generator,
    rng: np.random.Generator,
) -> None:
    """Draw one opening; `style` is that of its row, `rng` what differs from window to window."""
    o, own = opening, building.wall
    _surround(canvas, o, building, style)
    hole = outline(o.left_mm, o.right_mm, o.sill_mm, o.springing_mm, o.top_mm, o.head)
    x0, x1 = (_behind(x, building.eye_mm[0], building) for x in (o.left_mm, o.right_mm))
    y0, y1, y2 = (
        _behind(y, building.eye_mm[1], building) for y in (o.sill_mm, o.springing_mm, o.top_mm)
    )
    inner = (x0, x1, y0, y1, y2)
    with canvas.within(hole):
        # jamb to the left, jamb to the right, soffit, sill: each in its own light
        middle = 0.5 * (o.left_mm + o.right_mm)
        canvas.polygon(hole, own * building.jambs[0], grain=0.01, rng=rng)
        right = (middle, o.sill_mm, o.right_mm, o.top_mm)
        canvas.rectangle(right, own * building.jambs[1], grain=0.01, rng=rng)
        canvas.rectangle((o.left_mm, y2, o.right_mm, o.top_mm), own * 0.5)
        if o.use == "gate":
            draw_gate(canvas, inner, o.head, style, rng)
        elif o.use == "door":
            draw_door(canvas, inner, o.head, style, rng)
        elif building.joinery == "any" or o.head != "flat":
            draw_window(canvas, inner, o.head, style, rng)
        else:
            _lights(canvas, inner, building, style, rng)
        shade = float(style.uniform(0, 1.3)) * building.deep_mm
        if style.random() < 0.6 and shade > 20:
            low = np.array([(o.left_mm, o.top_mm - shade), (o.right_mm, o.top_mm - shade),
                            (o.right_mm, o.top_mm), (o.left_mm, o.top_mm)])  # fmt: skip
            canvas.darken(low, float(style.uniform(0.4, 0.75)), 0.8)


def _light_of_jambs(rng: np.random.Generator) -> tuple[float, float]:
    """Light on the left and the right jamb beside that on the wall: never just the same."""
    shade, sun = rng.uniform(0.4, 0.85), rng.uniform(1.08, 1.25)
    other = sun if rng.random() < 0.3 else rng.uniform(0.5, 0.9)
    return (shade, other) if rng.random() < 0.5 else (other, shade)


def _behind(at_mm: float, eye_mm: float, building: BuildingStyle) -> float:
    """Where on the wall something shows that lies behind it."""
    share = building.deep_mm / (building.eye_mm[2] + building.deep_mm)
    return at_mm + (eye_mm - at_mm) * share


def _surround(canvas: Canvas, o: Any, building: BuildingStyle, style: np.random.Generator) -> None:
    kind, own = building.surround, building.wall
    stone = own * style.uniform(0.85, 1.12) if building.pale else np.array([0.76, 0.73, 0.66])
    over, deep = float(style.uniform(30, 130)), float(style.uniform(50, 130))
    left, right = o.left_mm - over, o.right_mm + over
    if kind in ("band", "raised"):
        band = float(style.uniform(110, 220))
        grown = outline(o.left_mm - band, o.right_mm + band, o.sill_mm, o.springing_mm,
                        o.top_mm + band, o.head)  # fmt: skip
        if kind == "raised":
            canvas.polygon(np.add(grown, [30.0, -35.0]), own * 0.6)
        canvas.polygon(grown, stone, grain=0.01, rng=style)
    if kind == "hood" and o.use != "gate":
        hood = (left - 60, o.top_mm + 120, right + 60, o.top_mm + 220)
        canvas.rectangle(hood, stone, grain=0.01, rng=style)
        canvas.rectangle((left - 40, hood[1] - 110, right + 40, hood[1]), own * 0.55, opacity=0.7)
    if kind != "none" and o.use == "window":
        canvas.rectangle((left, o.sill_mm - deep, right, o.sill_mm), stone, grain=0.01, rng=style)
        foot = (left, o.sill_mm - deep - 45, right, o.sill_mm - deep)
        canvas.rectangle(foot, own * 0.5, opacity=0.6)


def _lights(
    canvas: Canvas,
    inner: tuple[float, ...],
    building: BuildingStyle,
    style: np.random.Generator,
    rng: np.random.Generator,
) -> None:
    """Lights side by side with a transom, or two sashes, or glass above a panel."""
    left, right, sill, _, top = inner
    pale = np.array([0.93, 0.93, 0.91]) * style.uniform(0.85, 1.05)
    paint = pale if building.pale else np.array(PAINTS[style.integers(len(PAINTS))])
    canvas.rectangle((left, sill, right, top), paint)
    frame, bar = float(style.uniform(40, 75)), float(style.uniform(50, 100))
    wide, high = right - left, top - sill
    across = max(1, round(wide / float(style.uniform(500, 1000))))
    foot = sill + frame
    if building.joinery == "panel":
        foot = sill + float(style.uniform(0.2, 0.42)) * high
        panel = style.uniform(0.08, 0.9) * style.uniform(0.75, 1.0, 3)
        canvas.rectangle((left, sill, right, foot - bar), panel)
    middle = foot + float(style.uniform(0.35, 0.75)) * (top - foot)
    if building.joinery == "sash":
        middle = 0.5 * (foot + top)
    transom = building.joinery == "sash" or (style.random() < 0.5 and high > 1000)
    glass = outline(left + frame, right - frame, foot, top - frame, top - frame, "flat")
    draw_glass(canvas, glass, rng)
    if style.random() < 0.4:  # as light as the sky that it mirrors
        sky = rng.uniform(0.6, 0.95) * np.array([0.9, 0.97, 1.04])
        canvas.polygon(glass, sky, opacity=rng.uniform(0.3, 0.8))
    panes = across * (int(style.integers(1, 4)) if building.joinery == "sash" else 1)
    for i in range(1, panes):
        x, half = left + wide * i / panes, (12.0 if i % max(panes // across, 1) else bar / 2)
        canvas.rectangle((x - half, foot, x + half, top), paint)
    if transom:
        canvas.rectangle((left, middle - bar / 2, right, middle + bar / 2), paint)
    if rng.random() < 0.15:  # one light stands open, or is lit
        x = left + wide * int(rng.integers(across)) / across
        pane = (x + frame, foot + 10, x + wide / across - frame, top - frame - 10)
        if pane[2] > pane[0]:
            canvas.rectangle(pane, rng.uniform(0.02, 0.95, 3), opacity=0.7)
    if rng.random() < 0.2:  # a blind outside, down by some way
        low = max(top - float(rng.uniform(0.15, 1.0)) * high, sill)
        canvas.rectangle((left, low, right, top), pale * rng.uniform(0.75, 1.0))
        for y in np.arange(low, top, 55.0):
            canvas.rectangle((left, y, right, y + 14), pale * 0.7)
