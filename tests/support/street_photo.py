"""An invented front photographed from one side, badly at times, and straightened again."""

from __future__ import annotations

import cv2
import numpy as np

from tests.support.front_canvas import Canvas


def as_street_photo(canvas: Canvas, rng: np.random.Generator) -> np.ndarray:
    """Light, an oblique photo with its blur, noise and JPEG, and the wall straightened from it."""
    picture = canvas.pixels
    tall, wide = picture.shape[:2]
    x, y = np.meshgrid(np.linspace(-1, 1, wide), np.linspace(-1, 1, tall))
    light = 1.0 + rng.uniform(-0.2, 0.2) * x + rng.uniform(-0.2, 0.2) * y
    light -= rng.uniform(0.0, 0.12) * (x**2 + y**2)
    picture = picture * light[..., None].astype(np.float32) * rng.uniform(0.94, 1.06, 3)
    # the camera's own curve: contrast, and light that is too little or too much
    grey = float(rng.uniform(0.3, 0.6))
    picture = np.clip(grey + (picture - grey) * rng.uniform(0.75, 1.25), 0, 1)
    picture = np.clip(picture * rng.uniform(0.65, 1.15), 0, 1).astype(np.float32)
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
    photo = cv2.GaussianBlur(photo, (0, 0), float(rng.uniform(0.4, 1.1)))
    if rng.random() < 0.4:
        photo = photo + rng.uniform(0.3, 0.9) * (photo - cv2.GaussianBlur(photo, (0, 0), 1.5))
    photo = photo + rng.normal(0.0, rng.uniform(0.003, 0.022), photo.shape)
    eight = np.clip(255.0 * photo, 0, 255).astype(np.uint8)
    quality = [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(60, 96))]
    _, data = cv2.imencode(".jpg", eight[..., ::-1], quality)
    decoded = cv2.imdecode(data, cv2.IMREAD_COLOR)
    # picks are not exact: corners of the wall are a little off, so uprights lean a little
    believed = seen + rng.normal(0.0, 0.0012 * max(size), seen.shape)
    back = cv2.getPerspectiveTransform(believed.astype(np.float32), out)
    straight = cv2.warpPerspective(decoded, back, size, borderMode=cv2.BORDER_REPLICATE)
    return np.ascontiguousarray(straight[..., ::-1])


def _corners(wide: float, tall: float) -> np.ndarray:
    return np.array([(0, 0), (wide, 0), (wide, tall), (0, tall)], np.float32)
