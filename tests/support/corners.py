"""Corners, edges and frames drawn with every pixel's true average, then blurred and spoilt."""

from dataclasses import dataclass

import cv2
import numpy as np

SUPERSAMPLING = 6


@dataclass(frozen=True)
class Scene:
    """What to draw: two edges from a corner, and what the camera makes of it.

    kind: "L" one field in the wedge between the edges, "T" the first edge runs
    through and a third field lies beyond it, "X" four fields of two levels,
    "edge" the first edge alone, "frame" an L whose border is painted `band_px` wide.
    levels: inside, outside, third (T: beyond; frame: inside the band).
    """

    kind: str = "L"
    levels: tuple[float, float, float] = (150.0, 60.0, 105.0)
    blur_px: float = 0.7
    noise: float = 2.0
    jpeg_quality: int | None = None
    band_px: float = 6.0


def draw_scene(
    scene: Scene,
    corner_px: tuple[float, float],
    start_rad: float,
    angle_rad: float,
    rng: np.random.Generator,
    size_px: int = 64,
) -> np.ndarray:
    """Grey picture of a scene; the corner in pixels with (0.5, 0.5) the first pixel's centre.

    The field lies from `start_rad` on by `angle_rad`, turning from x to y. Every
    sub-pixel is given its share of a field, so that positions are not rounded.
    """
    count = size_px * SUPERSAMPLING
    places = (np.arange(count) + 0.5) / SUPERSAMPLING
    x, y = places - corner_px[0], places[:, np.newaxis] - corner_px[1]
    first = np.cos(start_rad) * y - np.sin(start_rad) * x
    end_rad = start_rad + angle_rad
    second = np.sin(end_rad) * x - np.cos(end_rad) * y

    def share(distance_px):
        return np.clip(distance_px * SUPERSAMPLING + 0.5, 0.0, 1.0)

    inside, outside, third = scene.levels
    a, b = share(first), share(second)
    if scene.kind == "L":
        picture = outside + (inside - outside) * a * b
    elif scene.kind == "X":
        picture = outside + (inside - outside) * (a * b + (1 - a) * (1 - b))
    elif scene.kind == "T":
        picture = (1 - a) * third + a * (outside + (inside - outside) * b)
    elif scene.kind == "edge":
        picture = outside + (inside - outside) * a
    else:
        inner = share(first - scene.band_px) * share(second - scene.band_px)
        picture = outside + (inside - outside) * a * b + (third - inside) * inner
    if scene.blur_px:
        picture = cv2.GaussianBlur(
            picture, (0, 0), scene.blur_px * SUPERSAMPLING, borderType=cv2.BORDER_REPLICATE
        )
    picture = picture.reshape(size_px, SUPERSAMPLING, size_px, SUPERSAMPLING).mean(axis=(1, 3))
    picture = picture + rng.normal(0.0, scene.noise, picture.shape)
    grey = np.clip(np.rint(picture), 0, 255).astype(np.uint8)
    if scene.jpeg_quality is not None:
        _, coded = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, scene.jpeg_quality])
        grey = cv2.imdecode(coded, cv2.IMREAD_GRAYSCALE)
    return grey


def inner_corner(
    corner_px: tuple[float, float], start_rad: float, angle_rad: float, band_px: float
) -> np.ndarray:
    """Where the inside of a painted frame has its corner."""
    end_rad = start_rad + angle_rad
    normals = np.array(
        [[-np.sin(start_rad), np.cos(start_rad)], [np.sin(end_rad), -np.cos(end_rad)]]
    )
    return np.asarray(corner_px) + np.linalg.solve(normals, [band_px, band_px])
