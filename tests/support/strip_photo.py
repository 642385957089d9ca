"""Light, cover, blur, noise and JPEG on a drawn strip of masonry."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.support.strip_spec import StripSpec

PALETTES = np.array(  # unit and mortar colours, RGB relative to their grey
    [
        [[1.35, 0.85, 0.70], [1.03, 1.00, 0.93]],  # red brick, lime mortar
        [[1.20, 0.90, 0.80], [1.00, 1.00, 1.00]],  # brown brick, grey mortar
        [[1.10, 1.02, 0.80], [1.02, 1.00, 0.95]],  # yellow brick
        [[1.05, 1.00, 0.90], [1.03, 1.00, 0.92]],  # buff stone
        [[0.98, 1.00, 1.04], [1.00, 1.00, 1.00]],  # grey stone
    ]
)


def photograph(
    layers: list[NDArray[np.float32]], spec: StripSpec, rng: np.random.Generator
) -> NDArray[np.uint8]:
    """Light, cover, blur, noise and compress."""
    tones, is_joint, hue = layers
    h, w = tones.shape
    px = spec.px_per_course
    grain = smooth_field(
        (h, w), (int(h / max(1.0, 0.12 * px)) + 2, int(w / max(1.0, 0.15 * px)) + 2), rng
    )
    grain = 0.7 * grain + 0.7 * rng.standard_normal((h, w)).astype(np.float32)
    grey = tones + spec.texture * grain * (1.0 - 0.6 * is_joint)
    unit, mortar = (
        PALETTES[spec.palette][i] / (PALETTES[spec.palette][i] @ [0.299, 0.587, 0.114])
        for i in (0, 1)
    )
    rgb = grey[..., None] * (unit + is_joint[..., None] * (mortar - unit)).astype(np.float32)
    rgb[..., 0] *= np.exp(hue)
    rgb[..., 2] *= np.exp(-hue)
    rgb = _cover(rgb, spec, rng)
    v = np.linspace(-0.5, 0.5, h)[:, None]
    u = np.linspace(-0.5, 0.5, w)[None, :]
    light = np.exp(spec.shading_v * (v + 0.5 * np.sin(3 * v)) + spec.shading_u * (u + u * v))
    light = light * _shadow(h, w, spec, rng)
    rgb = rgb * light[..., None].astype(np.float32)
    rgb = cv2.GaussianBlur(rgb, (0, 0), spec.blur_px) if spec.blur_px > 0 else rgb
    rgb = rgb + spec.noise * rng.standard_normal(rgb.shape).astype(np.float32)
    image = np.clip(np.round(rgb), 0, 255).astype(np.uint8)
    if not spec.colour:
        image = np.asarray(cv2.cvtColor(image, cv2.COLOR_RGB2GRAY), np.uint8)
    coded = cv2.imencode(
        ".jpg",
        image[..., ::-1] if spec.colour else image,
        [cv2.IMWRITE_JPEG_QUALITY, spec.jpeg_quality],
    )[1]
    decoded = np.asarray(cv2.imdecode(coded, cv2.IMREAD_UNCHANGED), np.uint8)
    return decoded[..., ::-1].copy() if spec.colour else decoded


def _shadow(h: int, w: int, spec: StripSpec, rng: np.random.Generator) -> NDArray[np.float64]:
    """Brightness factor of a cast shadow with a soft edge."""
    y, x = np.mgrid[0:h, 0:w].astype(float)
    soft = rng.uniform(0.3, 3.0)
    if spec.shadow == "level":
        edge = y - h * rng.uniform(0.15, 0.85) - np.tan(rng.uniform(-0.04, 0.04)) * x
    elif spec.shadow == "raking":
        slope = np.tan(rng.uniform(0.3, 1.2)) * rng.choice([-1.0, 1.0])
        edge = (y - h * rng.uniform(0.2, 0.8) - slope * (x - w / 2)) / np.hypot(1.0, slope)
    elif spec.shadow == "upright":
        edge = (x - w * rng.uniform(0.25, 0.75)) + 0.05 * (y - h / 2)
    elif spec.shadow == "wires":
        factor = np.ones((h, w))
        for _ in range(int(rng.integers(1, 4))):
            slope = np.tan(rng.uniform(-0.25, 0.25))
            away = y - h * rng.uniform(0.1, 0.9) - slope * (x - w / 2)
            thick = max(0.6, rng.uniform(0.05, 0.15) * spec.px_per_course)
            factor *= 1.0 - (1.0 - spec.shadow_depth) * np.exp(-0.5 * (away / thick) ** 2)
        return factor
    else:
        return np.ones((h, w))
    fall: NDArray[np.float64] = 1.0 / (1.0 + np.exp(-np.clip(edge / soft, -40, 40)))
    return spec.shadow_depth + (1.0 - spec.shadow_depth) * fall


def _cover(
    rgb: NDArray[np.float32], spec: StripSpec, rng: np.random.Generator
) -> NDArray[np.float32]:
    """Hang windows or ivy over part of the width."""
    h, w = rgb.shape[:2]
    px = spec.px_per_course
    out = rgb.copy()
    if spec.cover == "windows":
        at = -rng.uniform(0, 10) * px
        left = bool(rng.random() < 0.5)
        wide = max(2, int(spec.cover_part * w))
        columns = slice(0, wide) if left else slice(w - wide, w)
        while at < h:
            tall = rng.uniform(4, 14) * px
            y0, y1 = max(0, int(at)), max(0, int(at + tall))
            frame = max(1, int(0.3 * px))
            pane = rng.uniform(20, 90)
            out[y0:y1, columns] = rng.uniform(150, 230)
            lights = int(rng.integers(1, 4))
            step = (y1 - y0) / lights
            for k in range(lights):
                a, b = int(y0 + k * step) + frame, min(h, int(y0 + (k + 1) * step) - frame)
                inner = slice((columns.start or 0) + frame, max((columns.stop or w) - frame, 0))
                if b > a:
                    out[a:b, inner] = (
                        pane + 15 * smooth_field((b - a, w), (6, 4), rng)[:, inner, None]
                    )
            at += tall + rng.uniform(3, 16) * px
    elif spec.cover == "pipe":
        at, wide = int(rng.uniform(0.1, 0.8) * w), max(2, int(0.2 * spec.cover_part * w))
        round_shade = 1.0 + 0.4 * np.sin(np.linspace(0.3, 3.0, wide))[None, :, None]
        out[:, at : at + wide] = (rng.uniform(30, 120) * round_shade)[:, : w - at]
        step = max(4, int(rng.uniform(0.25, 0.6) * h))
        for y in range(int(rng.uniform(0, step)), h, step):  # its brackets
            out[y : y + max(1, int(0.5 * px)), max(0, at - wide // 2) : at + 2 * wide] *= 0.6
    elif spec.cover == "ivy":
        n = max(3, int(h / (3 * px)))
        blotch = smooth_field((h, w), (n, max(3, int(w / (3 * px)))), rng)
        lean = np.linspace(-1.2, 1.2, w)[None, :] * rng.choice([-1.0, 1.0])
        level = np.quantile(blotch + lean, 1.0 - spec.cover_part)
        leaf_px = max(1.0, 0.6 * px)
        leaves = smooth_field((h, w), (int(h / leaf_px) + 2, int(w / leaf_px) + 2), rng)
        green = np.array([0.8, 1.1, 0.6], np.float32) * (70 + 25 * leaves[..., None])
        out = np.where((blotch + lean > level)[..., None], green, out).astype(np.float32)
    return out


def smooth_field(
    shape: tuple[int, int], cells: tuple[int, int], rng: np.random.Generator
) -> NDArray[np.float32]:
    """Noise of unit deviation that changes over about `shape / cells` pixels."""
    coarse = rng.standard_normal((max(cells[0], 2), max(cells[1], 2))).astype(np.float32)
    field = cv2.resize(coarse, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)
    scaled: NDArray[np.float32] = np.asarray(field / max(float(field.std()), 1e-6), np.float32)
    return scaled
