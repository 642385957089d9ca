"""Invented fronts with depth, seen by a camera at a place in the street. Seeded.

What `street_fronts` lacks and photographs have: pale frames in pale walls, reveals as deep as the
wall and seen from where the camera stands (one jamb hides, the other shows, upper rows show their
soffits), surrounds of the wall's own colour, panels below the glass, blinds outside, reflections
as light as the wall, cladding between windows, hoods, awnings and boxes on the wall, chimneys and
a neighbour's wall; and an honest photo of it, fine near the camera and coarse far off.

Seeds 0 to 99 are for setting the search up, 100 to 199 for choosing between ways, and those from
300 for the bench, where they are looked at once.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.support.front_canvas import Canvas
from tests.support.front_clutter import draw_clutter, draw_shadows
from tests.support.front_materials import RENDERS, draw_material
from tests.support.invented_fronts import InventedFront
from tests.support.seen_joinery import BuildingStyle, draw_deep_opening
from tests.support.seen_things import draw_boxes, draw_cladding, draw_roof, draw_sides
from tests.support.street_fronts import cover_wall, lay_out
from tests.support.street_photo import as_oblique_photo
from tests.support.street_things import cover_share, draw_before, draw_rails, draw_relief

LONGEST_PX = 2400


def make_seen_front(seed: int) -> InventedFront:
    """Draw the front of a seed."""
    rng = np.random.default_rng([20261201, seed])
    kind = str(rng.choice(["house", "terrace", "grid", "works"], p=[0.3, 0.35, 0.2, 0.15]))
    storeys = int(rng.integers(1, 4)) if kind in ("house", "works") else int(rng.integers(2, 7))
    bays = int(rng.integers(2, 6)) if kind == "house" else int(rng.integers(3, 9))
    storey_mm = float(rng.uniform(2600, 3800))
    bay_mm = float(rng.uniform(1800, 3800))
    side_mm = float(rng.uniform(600, 2500)) if rng.random() < 0.5 else 0.0
    margin_mm = side_mm + float(rng.uniform(250, 1500))
    above_mm, ground_mm = float(rng.uniform(0, 3500)), float(rng.uniform(0, 1200))
    wide, high = bays * bay_mm + 2 * margin_mm, storeys * storey_mm + float(rng.uniform(300, 900))
    tall = high + above_mm + ground_mm
    mm_per_px = max(float(rng.uniform(8.0, 24.0)), np.sqrt(wide * tall / 1.1e6))
    canvas = Canvas(wide, tall, max(0.5 * mm_per_px, max(wide, tall) / LONGEST_PX))
    top = ground_mm + high
    canvas.rectangle((0, 0, wide, ground_mm), (0.42, 0.41, 0.40), grain=0.05, rng=rng)
    draw_roof(canvas, (0.0, top, wide, tall + 50), rng)
    wall = (side_mm, ground_mm, wide - side_mm, top)
    material = _cover(canvas, (0.0, ground_mm, wide, top), ground_mm + storey_mm, rng)
    openings = lay_out(kind, rng, bays, storeys, bay_mm, storey_mm, margin_mm, ground_mm)
    draw_relief(canvas, wall, openings, bay_mm, margin_mm, storey_mm, rng)
    draw_clutter(canvas, wall, openings, rng, behind=True)
    draw_cladding(canvas, openings, rng)
    eye_mm = (
        wide / 2 + float(rng.triangular(-1.6, 0.0, 1.6)) * max(wide, 8000.0) * 0.8,
        ground_mm + float(rng.uniform(1200, 2500)),
        float(rng.uniform(0.5, 1.6)) * max(wide, tall, 6000.0),
    )
    building = BuildingStyle.draw(canvas, wall, eye_mm, rng)
    styles: dict[tuple[str, float, float], int] = {}
    for one in openings:
        key = (one.use, one.sill_mm, round(one.right_mm - one.left_mm))
        style = styles.setdefault(key, int(rng.integers(2**31)))
        draw_deep_opening(canvas, one, building, np.random.default_rng(style), rng)
    if rng.random() < 0.5:
        draw_rails(canvas, openings, rng)
    draw_boxes(canvas, wall, openings, rng)
    hidden = draw_clutter(canvas, wall, openings, rng, behind=False)
    draw_sides(canvas, wall, rng)
    draw_shadows(canvas, wall, rng)
    clear = canvas.pixels.copy()
    draw_before(canvas, wall, rng)
    openings = [
        replace(one, hidden=i in hidden or cover_share(canvas, clear, one.box) > 0.3)
        for i, one in enumerate(openings)
    ]
    rgb = as_oblique_photo(canvas, eye_mm, mm_per_px, rng)
    # the picture has whole pixels, the wall has not
    return InventedFront(rgb, tall / rgb.shape[0], tuple(openings), material)


def _cover(
    canvas: Canvas, wall: tuple[float, ...], first_floor_mm: float, rng: np.random.Generator
) -> str:
    """Half of the walls pale and smooth, with stains; the others of every kind."""
    left, low, right, high = wall
    if rng.random() < 0.5:
        return cover_wall(canvas, (left, low, right, high), first_floor_mm, rng)
    pale = np.array(RENDERS[rng.integers(4)]) * rng.uniform(0.9, 1.08)
    canvas.rectangle((left, low, right, high + 20), pale, grain=0.012, rng=rng)
    if rng.random() < 0.3:
        draw_material(canvas, (left, low, right, first_floor_mm), rng)
    for _ in range(int(rng.integers(0, 6))):
        # rain runs down in streaks
        x, wide = float(rng.uniform(left, right)), float(rng.uniform(100, 900))
        foot = float(rng.uniform(low, high - 500))
        streak = np.array([(x, foot), (x + wide, foot), (x + wide, high), (x, high)])
        canvas.darken(streak, float(rng.uniform(0.86, 0.97)), 8.0)
    return "pale"
