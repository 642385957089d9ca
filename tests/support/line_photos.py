"""Invented street photographs with something in the way: straight edges among misleading ones.

A wall of brick with rows of openings a little out of true; beside it a wall that runs back,
before it a kerb that falls, a cart, wires and a shadow that lies across. Drawn by its own
plain numpy and OpenCV calls; only the placing of points is `tests.support.scenes`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from tests.support.scenes import SceneCamera, rectangle

TEXEL_MM = 4.0
LEFT, RIGHT, LOW, HIGH = -7000.0, 7000.0, -1000.0, 9000.0
WALL_LEFT, WALL_RIGHT, EAVES = -6000.0, 6000.0, 7200.0


@dataclass(frozen=True)
class Street:
    """What to draw.

    `out_of_true_mm` is how far each end of each edge lies from where it is drawn;
    `misleading` adds what must not pull: side wall, kerb, cart, wires, shadow, gable.
    """

    camera: SceneCamera
    seed: int = 0
    out_of_true_mm: float = 2.0
    misleading: bool = True
    noise: float = 3.0
    blur_px: float = 0.6
    jpeg_quality: int | None = 88


def wide_camera(rng: np.random.Generator, width_px: int = 1400, **more) -> SceneCamera:
    """A wide lens with barrel distortion before a wall that fills the photo."""
    height_px = round(width_px * 3 / 4)
    fields = {
        "focal_px": width_px * float(rng.uniform(0.52, 0.62)),
        "width_px": width_px,
        "height_px": height_px,
        "yaw_deg": float(rng.uniform(-14, 14)),
        "pitch_deg": float(rng.uniform(2, 10)),
        "roll_deg": float(rng.uniform(-2.5, 2.5)),
        "centre_mm": (
            float(rng.uniform(-1500, 1500)),
            1600.0,
            float(rng.uniform(7000, 8500)),
        ),
        "principal_shift_px": tuple(rng.normal(0.0, 0.004 * width_px, 2)),
        "k1": float(rng.uniform(-0.22, -0.10)),
        "k2": float(rng.uniform(0.0, 0.03)),
    }
    return SceneCamera(**{**fields, **more})


def openings() -> list[np.ndarray]:
    """Rectangles of the wall's windows, and a door in the middle below."""
    columns = (-5200.0, -3200.0, 2000.0, 4000.0)
    made = [
        rectangle(u, v, u + 1200, v + 1800) for u in (*columns, -600.0) for v in (3000.0, 5200.0)
    ]
    made += [rectangle(u, 800.0, u + 1200, 800 + 1600) for u in columns]
    return [*made, rectangle(-600.0, 0.0, 600.0, 2200.0)]


def _texel(points_mm: np.ndarray) -> np.ndarray:
    """Places in the wall's texture, y down, in 1/16 texel as OpenCV takes them."""
    u, v = points_mm[..., 0], points_mm[..., 1]
    return np.rint(16 * np.stack([(u - LEFT) / TEXEL_MM, (HIGH - v) / TEXEL_MM], -1) - 8).astype(
        np.int32
    )


def _fill(picture: np.ndarray, points_mm: np.ndarray, tone: float) -> None:
    cv2.fillPoly(picture, [_texel(np.asarray(points_mm, float))], float(tone), cv2.LINE_AA, 4)


def wall_texture(street: Street) -> np.ndarray:
    """Grey wall at 4 mm to the texel, sky above its eaves."""
    rng = np.random.default_rng(street.seed)
    size = (round((HIGH - LOW) / TEXEL_MM), round((RIGHT - LEFT) / TEXEL_MM))
    picture = np.full(size, 205.0, np.float32)

    def shaken(points_mm):
        return points_mm + rng.normal(0.0, street.out_of_true_mm, np.shape(points_mm))

    _fill(picture, rectangle(WALL_LEFT, 0.0, WALL_RIGHT, EAVES), 118.0)
    bricks = rng.normal(0.0, 5.0, (int(EAVES / 75) + 1, int(12000 / 225) + 2)).astype(np.float32)
    for row in range(int(EAVES / 75)):
        for column in range(int(12000 / 225) + 1):
            u = WALL_LEFT + 225 * column + (112 if row % 2 else 0)
            _fill(
                picture,
                rectangle(u + 5, 75 * row + 5, min(u + 220, WALL_RIGHT), 75 * row + 70),
                100.0 + bricks[row, column],
            )
    for band in (2700.0, 7000.0):
        _fill(picture, shaken(rectangle(WALL_LEFT, band, WALL_RIGHT, band + 150)), 176.0)
    for corners in openings():
        (u0, v1), (u1, v0) = corners[0], corners[2]
        _fill(picture, shaken(rectangle(u0 - 100, v1, u1 + 100, v1 + 220)), 168.0)
        _fill(picture, shaken(rectangle(u0 - 100, v0 - 120, u1 + 100, v0)), 170.0)
        _fill(picture, shaken(corners), 45.0)
        middle = (v0 + v1) / 2
        _fill(picture, shaken(rectangle(u0 + 60, middle - 25, u1 - 60, middle + 25)), 190.0)
    if street.misleading:
        # a gable of the house behind, a shadow of the house opposite
        peak = [[-2500.0, EAVES], [500.0, EAVES + 1500.0], [3500.0, EAVES]]
        _fill(picture, np.array(peak), 150.0)
        shade = np.zeros_like(picture)
        start = rng.uniform(-5000, -1000)
        outline = [[start, 0.0], [start + 2200, 4000.0], [start + 3400, 3300.0], [6000.0, 0.0]]
        _fill(shade, np.array(outline), 1.0)
        picture *= 1.0 - 0.35 * shade
    return picture


def _straight(camera: SceneCamera, fineness: int) -> np.ndarray:
    """Building directions of sub-pixels, shape (3, h, w), by a table of the lens."""
    width, height = camera.width_px * fineness, camera.height_px * fineness
    x = (np.arange(width) + 0.5) / fineness - camera.width_px / 2 - camera.principal_shift_px[0]
    y = (np.arange(height) + 0.5) / fineness - camera.height_px / 2 - camera.principal_shift_px[1]
    x, y = np.meshgrid(
        (x / camera.focal_px).astype(np.float32), (y / camera.focal_px).astype(np.float32)
    )
    # the share by which a point lies farther out than it is seen, by the square of its radius
    radius = np.linspace(1e-6, 3.0, 30_001)
    seen = radius * (1 + camera.k1 * radius**2 + camera.k2 * radius**4)
    rising = int(np.argmax(np.diff(seen) <= 0)) or len(seen) - 1
    square = np.linspace(0.0, float((x**2 + y**2).max()), 20_001)
    table = np.interp(np.sqrt(square), seen[:rising], radius[:rising] / seen[:rising])
    step = (x**2 + y**2) * np.float32(20_000 / square[-1])
    whole = np.minimum(step.astype(np.int32), 19_999)
    table = table.astype(np.float32)
    share = table[whole] + (step - whole) * (table[1:] - table[:-1])[whole]
    turn = camera.rotation.astype(np.float32)
    x, y = x * share, y * share
    return np.stack([x * turn[0, i] + y * turn[1, i] + turn[2, i] for i in range(3)])


def draw_street(street: Street, fineness: int = 2) -> np.ndarray:
    """RGB photo of the street, shape (h, w, 3)."""
    camera, rng = street.camera, np.random.default_rng(street.seed + 1)
    texture = cv2.GaussianBlur(wall_texture(street), (0, 0), 0.8)
    eye, (ray_x, ray_y, ray_z) = camera.centre_mm, _straight(camera, fineness)
    with np.errstate(divide="ignore"):
        t = np.where(ray_z < 0, -eye[2] / ray_z, np.nan)
        fine = cv2.remap(
            texture,
            ((eye[0] + t * ray_x - LEFT) / TEXEL_MM - 0.5).astype(np.float32),
            ((HIGH - eye[1] - t * ray_y) / TEXEL_MM - 0.5).astype(np.float32),
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_CONSTANT,
            borderValue=205.0,
        )
        if street.misleading:
            # a house that stands forward on the right, its side running back to the wall
            t = np.where(ray_x > 0, (WALL_RIGHT + 40 - eye[0]) / ray_x, np.nan)
            v, z = eye[1] + t * ray_y, eye[2] + t * ray_z
            on = (z > 0) & (z < 3000) & (v > 0) & (v < 5200)
            banded = np.where((v % 700 < 90) | (z % 1500 < 120), 85.0, 140.0)
            fine = np.where(on, banded, fine)
        t = np.where(ray_y < 0, -eye[1] / ray_y, np.nan)
    x, z = eye[0] + t * ray_x, eye[2] + t * ray_z
    ground = z > 0
    fine = np.where(ground, 120.0, fine)
    if street.misleading:
        kerb = ground & (np.abs(z - 1800 - 0.035 * x) < 90)
        fine = np.where(kerb, 180.0, fine)
    fine = fine.astype(np.float32)
    if street.misleading:
        _draw_in_the_way(fine, rng)
    photo = cv2.resize(fine, (camera.width_px, camera.height_px), interpolation=cv2.INTER_AREA)
    photo = cv2.GaussianBlur(photo, (0, 0), street.blur_px)
    photo = photo + rng.normal(0.0, street.noise, photo.shape)
    grey = np.clip(np.rint(photo), 0, 255).astype(np.uint8)
    rgb = np.repeat(grey[..., None], 3, axis=-1)
    if street.jpeg_quality is not None:
        _, coded = cv2.imencode(".jpg", rgb, [cv2.IMWRITE_JPEG_QUALITY, street.jpeg_quality])
        rgb = cv2.imdecode(coded, cv2.IMREAD_COLOR)
    return rgb


def _draw_in_the_way(fine: np.ndarray, rng: np.random.Generator) -> None:
    """A cart in the road and wires across the sky, straight in the photo or sagging."""
    height, width = fine.shape
    x0, y0 = int(rng.uniform(0.1, 0.5) * width), int(0.93 * height)
    long, high = int(0.22 * width), int(0.09 * height)
    lean = int(rng.uniform(-0.02, 0.02) * width)
    body = np.array([[x0, y0], [x0 + long, y0 + lean], [x0 + long - 20, y0 - high + lean]])
    cv2.fillPoly(fine, [np.vstack([body, [[x0 + 35, y0 - high]]]).astype(np.int32)], 60.0)
    for wheel in (0.22, 0.78):
        centre = (x0 + int(wheel * long), y0 + int(wheel * lean))
        cv2.circle(fine, centre, int(0.04 * height), 30.0, -1)
    for _ in range(3):
        y = rng.uniform(0.02, 0.35, 2) * height
        x = np.linspace(0, width, 80)
        sag = rng.uniform(0.0, 0.06) * height * (1 - (2 * x / width - 1) ** 2)
        line = np.stack([x, np.linspace(y[0], y[1], 80) + sag], -1)
        cv2.polylines(fine, [np.rint(line).astype(np.int32)], False, 40.0, 3, cv2.LINE_AA)


def rough(points_mm: np.ndarray, camera: SceneCamera, rng, u_px: float = 2.0) -> list[list[float]]:
    """Four or two rough clicks on wall points."""
    seen = camera.project_wall(points_mm)
    return [[float(x), float(y)] for x, y in seen + rng.normal(0.0, u_px, seen.shape)]


def without_clutter(street: Street) -> Street:
    """The same street with nothing misleading."""
    return replace(street, misleading=False)
