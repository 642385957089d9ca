"""Brick, render, ashlar and rubble for invented fronts."""

from __future__ import annotations

import cv2
import numpy as np
from scipy.spatial import cKDTree

from tests.support.front_canvas import Box, Canvas, Colour

BRICKS: tuple[Colour, ...] = (
    (0.58, 0.29, 0.21),
    (0.66, 0.38, 0.25),
    (0.72, 0.61, 0.42),
    (0.40, 0.35, 0.35),
    (0.50, 0.25, 0.22),
    (0.84, 0.82, 0.77),
)
RENDERS: tuple[Colour, ...] = (
    (0.90, 0.89, 0.85),
    (0.86, 0.80, 0.66),
    (0.62, 0.61, 0.59),
    (0.84, 0.67, 0.60),
    (0.78, 0.62, 0.38),
    (0.55, 0.63, 0.66),
)
STONES: tuple[Colour, ...] = ((0.72, 0.66, 0.54), (0.60, 0.58, 0.55), (0.66, 0.58, 0.46))


def draw_material(canvas: Canvas, wall: Box, rng: np.random.Generator) -> str:
    """Cover a wall with one material; returns its name."""
    name = str(rng.choice(["brick", "render", "ashlar", "rubble"], p=[0.5, 0.25, 0.15, 0.10]))
    left, low, right, high = wall
    mm = canvas.mm_per_px
    rows = slice(round((canvas.height_mm - high) / mm), round((canvas.height_mm - low) / mm))
    columns = slice(round(left / mm), round(right / mm))
    shape = canvas.pixels[rows, columns].shape[:2]
    y, x = np.mgrid[: shape[0], : shape[1]].astype(np.float32) * np.float32(mm)
    if name == "brick":
        painted = _brick(x, y, rng)
    elif name == "render":
        painted = np.broadcast_to(_pick(RENDERS, rng), (*shape, 3)).astype(np.float32)
    elif name == "ashlar":
        painted = _ashlar(x, y, rng)
    else:
        painted = _rubble(shape, mm, rng)
    painted = painted * (1.0 + _slow(shape, 1500 / mm, rng, rng.uniform(0.01, 0.05))[..., None])
    grain = rng.normal(0, rng.uniform(0.01, 0.03), (*shape, 1))
    canvas.pixels[rows, columns] = painted + grain.astype(np.float32)
    return name


def _pick(colours: tuple[Colour, ...], rng: np.random.Generator) -> np.ndarray:
    return np.array(colours[rng.integers(len(colours))]) * rng.uniform(0.9, 1.08)


def _slow(
    shape: tuple[int, int], patch_px: float, rng: np.random.Generator, size: float
) -> np.ndarray:
    """Stains: noise that changes over metres."""
    small = (max(2, int(shape[1] / patch_px) + 2), max(2, int(shape[0] / patch_px) + 2))
    noise = rng.normal(0, size, small[::-1]).astype(np.float32)
    return cv2.resize(noise, shape[::-1], interpolation=cv2.INTER_CUBIC)


def _brick(x: np.ndarray, y: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    gauge, module = float(rng.uniform(62, 86)), float(rng.uniform(215, 255))
    joint = float(rng.uniform(8, 13))
    row = np.floor(y / gauge).astype(int)
    bond = rng.integers(3)  # stretchers; courses of headers between; headers between stretchers
    if bond == 0:
        along = x + (row % 2) * module / 2
        column = np.floor(along / module)
        inside = along - column * module
        size: np.ndarray | float = module
    elif bond == 1:
        size = np.where(row % 2 == 0, module, module / 2)
        along = x + (row % 2) * module / 4
        column = np.floor(along / size)
        inside = along - column * size
    else:
        pair = 1.5 * module
        along = x + (row % 2) * pair / 2
        first = np.floor(along / pair)
        rest = along - first * pair
        header = rest >= module
        column = 2 * first + header
        inside = np.where(header, rest - module, rest)
        size = np.where(header, module / 2, module)
    base = _pick(BRICKS, rng)
    tones = 1.0 + rng.normal(0, rng.uniform(0.03, 0.10), (512, 512, 1))
    dark = rng.random((512, 512, 1)) < rng.uniform(0.0, 0.15)
    table = base * tones * np.where(dark, rng.uniform(0.5, 0.75), 1.0)
    table = table + rng.normal(0, 0.015, (512, 512, 3))
    painted = table[row % 512, column.astype(int) % 512].astype(np.float32)
    mortar = np.array([0.74, 0.70, 0.63]) if rng.random() < 0.7 else np.array([0.28, 0.26, 0.25])
    mortar = base * 0.35 + mortar * 0.65
    in_joint = (y - row * gauge < joint) | (inside < joint) | (inside > size)
    return np.where(in_joint[..., None], mortar, painted).astype(np.float32)


def _ashlar(x: np.ndarray, y: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    gauge, module = float(rng.uniform(240, 400)), float(rng.uniform(500, 900))
    joint = float(rng.uniform(4, 12))
    row = np.floor(y / gauge).astype(int)
    along = x + (row * 0.5 % 1.0) * module
    column = np.floor(along / module).astype(int)
    base = _pick(STONES, rng)
    table = base * (1 + rng.normal(0, rng.uniform(0.02, 0.06), (128, 128, 1)))
    painted = table[row % 128, column % 128]
    in_joint = (y - row * gauge < joint) | (along - column * module < joint)
    return np.where(in_joint[..., None], 0.7 * base, painted).astype(np.float32)


def _rubble(shape: tuple[int, int], mm: float, rng: np.random.Generator) -> np.ndarray:
    """Stones nearest to points strewn about, longer than high."""
    step = 4
    h, w = shape[0] // step + 1, shape[1] // step + 1
    size = float(rng.uniform(180, 320)) / mm / step
    count = int(h * w / size**2 * 1.4) + 4
    points = rng.uniform(0, 1, (count, 2)) * [w, h]
    y, x = np.mgrid[:h, :w]
    stretch = np.array([0.7, 1.0])
    tree = cKDTree(points * stretch)
    distance, nearest = tree.query(
        np.column_stack([x.ravel(), y.ravel()]) * stretch, k=2, workers=1
    )
    base = _pick(STONES, rng)
    tones = base * (1 + rng.normal(0, rng.uniform(0.05, 0.12), (count, 1)))
    painted = tones[nearest[:, 0]]
    joint = distance[:, 1] - distance[:, 0] < 14.0 / mm / step
    mortar = base * (1.15 if rng.random() < 0.6 else 0.65)
    painted = np.where(joint[:, None], mortar, painted).reshape(h, w, 3).astype(np.float32)
    return cv2.resize(painted, shape[::-1], interpolation=cv2.INTER_LINEAR)
