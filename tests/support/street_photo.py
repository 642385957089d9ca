"""An invented front photographed from one side, badly at times, and straightened again."""

from __future__ import annotations

import cv2
import numpy as np

from tests.support.front_canvas import Canvas


def as_street_photo(canvas: Canvas, rng: np.random.Generator) -> np.ndarray:
    """Light, an oblique photo with its blur, noise and JPEG, and the wall straightened from it."""
    picture = _lit(canvas.pixels, rng)
    tall, wide = picture.shape[:2]
    size = (wide // 2, tall // 2)
    out = _corners(*size)
    # the far end is this much smaller in the photo
    shrink = float(rng.uniform(0.4, 1.0)) if rng.random() < 0.7 else 1.0
    near = float(rng.uniform(0.85, 1.15))
    seen = out * near
    middle = near * size[1] / 2
    # foreshortened: the far end, on the right, is lower and so is what lies there narrower
    seen[1:3, 1] = middle + (seen[1:3, 1] - middle) * shrink
    seen[1:3, 0] *= 0.5 * (1 + shrink)
    if rng.random() < 0.5:  # or on the left
        seen[:, 0] = seen[:, 0].max() - seen[:, 0]
        seen = seen[[1, 0, 3, 2]]
    to_photo = cv2.getPerspectiveTransform(_corners(wide, tall), seen.astype(np.float32))
    photo_size = tuple(int(n) for n in np.ceil(seen.max(axis=0)))
    picture = cv2.GaussianBlur(picture, (0, 0), float(rng.uniform(0.8, 2.0)))
    photo = cv2.warpPerspective(picture, to_photo, photo_size, flags=cv2.INTER_AREA)
    decoded = _taken(photo, rng)
    # picks are not exact: corners of the wall are a little off, so uprights lean a little
    believed = seen + rng.normal(0.0, 0.0012 * max(size), seen.shape)
    back = cv2.getPerspectiveTransform(believed.astype(np.float32), out)
    straight = cv2.warpPerspective(decoded, back, size, borderMode=cv2.BORDER_REPLICATE)
    return np.ascontiguousarray(straight[..., ::-1])


def as_oblique_photo(
    canvas: Canvas, eye_mm: tuple[float, float, float], mm_per_px: float, rng: np.random.Generator
) -> np.ndarray:
    """A photo by a camera at a place before the wall, and the wall straightened from it.

    `eye_mm` counts along the wall, up and away from it; `mm_per_px` is that of the result, and
    where the middle of the wall is seen a photo pixel is that large or larger.
    """
    picture = _lit(canvas.pixels, rng)
    tall, wide = picture.shape[:2]
    wall_mm = np.array([wide, tall]) * canvas.mm_per_px
    corners_mm = _corners(*wall_mm)
    aim = np.array([wall_mm[0] / 2, wall_mm[1] * 0.55, 0.0]) - eye_mm
    ahead = aim / np.linalg.norm(aim)
    right = np.cross(ahead, [0.0, 1.0, 0.0])
    right /= np.linalg.norm(right)
    up = np.cross(right, ahead)
    # rows of the canvas count down
    there = np.column_stack([corners_mm[:, 0], wall_mm[1] - corners_mm[:, 1], np.zeros(4)]) - eye_mm
    flat = np.column_stack([there @ right, -(there @ up)]) / (there @ ahead)[:, None]
    area = 0.5 * abs(np.cross(np.append(flat[2] - flat[0], 0), np.append(flat[3] - flat[1], 0))[2])
    coarse = float(rng.uniform(1.0, 1.9)) * mm_per_px
    seen = flat * np.sqrt(wall_mm.prod() / area) / coarse
    seen = (seen - seen.min(axis=0)).astype(np.float32)
    photo_size = tuple(int(n) + 1 for n in np.ceil(seen.max(axis=0)))
    to_photo = cv2.getPerspectiveTransform(_corners(wide, tall), seen)
    picture = cv2.GaussianBlur(picture, (0, 0), 0.45 * coarse / canvas.mm_per_px)
    photo = cv2.warpPerspective(picture, to_photo, photo_size, borderMode=cv2.BORDER_REPLICATE)
    decoded = _taken(photo, rng)
    believed = seen + rng.normal(0.0, 0.0012 * max(photo_size), seen.shape)
    size = tuple(int(n) for n in np.round(wall_mm / mm_per_px))
    back = cv2.getPerspectiveTransform(believed.astype(np.float32), _corners(*size))
    straight = cv2.warpPerspective(decoded, back, size, borderMode=cv2.BORDER_REPLICATE)
    return np.ascontiguousarray(straight[..., ::-1])


def _lit(picture: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Uneven light of a colour, and the camera's own curve."""
    tall, wide = picture.shape[:2]
    x, y = np.meshgrid(np.linspace(-1, 1, wide), np.linspace(-1, 1, tall))
    light = 1.0 + rng.uniform(-0.2, 0.2) * x + rng.uniform(-0.2, 0.2) * y
    light -= rng.uniform(0.0, 0.12) * (x**2 + y**2)
    picture = picture * light[..., None].astype(np.float32) * rng.uniform(0.94, 1.06, 3)
    # the camera's own curve: contrast, and light that is too little or too much
    grey = float(rng.uniform(0.3, 0.6))
    picture = np.clip(grey + (picture - grey) * rng.uniform(0.75, 1.25), 0, 1)
    return np.asarray(np.clip(picture * rng.uniform(0.65, 1.15), 0, 1), np.float32)


def _taken(photo: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The photo with its lens' blur, sharpening, noise and JPEG; blue, green, red."""
    photo = cv2.GaussianBlur(photo, (0, 0), float(rng.uniform(0.4, 1.1)))
    if rng.random() < 0.4:
        photo = photo + rng.uniform(0.3, 0.9) * (photo - cv2.GaussianBlur(photo, (0, 0), 1.5))
    photo = photo + rng.normal(0.0, rng.uniform(0.003, 0.022), photo.shape)
    eight = np.clip(255.0 * photo, 0, 255).astype(np.uint8)
    quality = [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(60, 96))]
    _, data = cv2.imencode(".jpg", eight[..., ::-1], quality)
    return cv2.imdecode(data, cv2.IMREAD_COLOR)


def _corners(wide: float, tall: float) -> np.ndarray:
    return np.array([(0, 0), (wide, 0), (wide, tall), (0, tall)], np.float32)
