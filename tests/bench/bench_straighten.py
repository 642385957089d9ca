"""What straightening costs beside the bare library call, in one run: prints, asserts nothing.

Run with ``python -m tests.bench.bench_straighten``. Each ratio is the median over rounds
that time both sides in turn, so that a machine busy with other things disturbs both; the
ratio of processor time beside it hardly feels the others.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable

import cv2
import numpy as np

from rectify.camera import Camera
from rectify.frames import Pose
from rectify.photos.pyramid import Pyramid
from rectify.projection import View
from rectify.straighten import straighten
from rectify.straightening.target_map import TargetMap
from rectify.surfaces import Round, Surface, make_wall
from rectify.window import Window, make_window, window_for_print
from tests.bench.promises import keep
from tests.support.scenes import SceneCamera

ROUNDS = 7
WALL = make_wall()
TOWER = Round(0.0, -3000.0, 3000.0)
LENS = (-0.05, 0.01)


def make_photo(width_px: int, height_px: int) -> np.ndarray:
    """Courses of brick with grain: what a photo of a wall costs to compress and to read."""
    photo = np.empty((height_px, width_px, 3), np.uint8)
    rng = np.random.default_rng(0)
    grain = rng.integers(-9, 10, (256, width_px, 3), dtype=np.int16)
    x = np.arange(width_px)
    for top in range(0, height_px, 256):
        y = np.arange(top, min(top + 256, height_px))[:, None]
        joint = (y % 21 < 3) | ((x[None] + 35 * (y // 21 % 2)) % 70 < 3)
        tone = 120 + 25 * np.sin(x / 900.0) + 15 * np.sin((y // 21 * 31 + x[None] // 70 * 17) % 7)
        rgb = np.where(joint, 180, tone)[..., None] * np.array([1.0, 0.75, 0.6])
        photo[y[0, 0] : y[-1, 0] + 1] = np.clip(rgb + grain[: len(y)], 0, 255)
    return photo


def make_view(surface: Surface, width_px: int, height_px: int, lens=(0.0, 0.0)) -> View:
    """A camera 12 m away that takes in some 14 m of wall, turned 8 and tilted 6 degrees."""
    focal_px = 0.75 * width_px
    scene = SceneCamera(focal_px, width_px, height_px, 8.0, 6.0, 1.0)
    rows = tuple(map(tuple, scene.rotation.tolist()))
    camera = Camera(focal_px, (width_px / 2, height_px / 2), *lens)
    return View(camera, Pose(rows, scene.centre_mm), surface)


def seconds(call: Callable[[], object]) -> tuple[float, float]:
    """By the clock on the wall, and of processor time over all threads."""
    start, start_work = time.perf_counter(), time.process_time()
    call()
    return time.perf_counter() - start, time.process_time() - start_work


def ratios(own: list[tuple[float, float]], bare: list[tuple[float, float]]) -> str:
    own_s, bare_s = np.array(own), np.array(bare)
    clock, work = np.median(own_s / bare_s, axis=0)
    own_ms, bare_ms = 1e3 * np.median(own_s[:, 0]), 1e3 * np.median(bare_s[:, 0])
    return f"{own_ms:9.1f}{bare_ms:9.1f}{clock:8.2f}{work:8.2f}"


def row(
    name: str,
    ours: Callable[[], object],
    bare: Callable[[], object],
    promise: str,
    limit: float | None = None,
) -> None:
    ours(), bare()
    pairs = [(seconds(ours), seconds(bare)) for _ in range(ROUNDS)]
    own, theirs = ([pair[side] for pair in pairs] for side in (0, 1))
    if limit is not None:
        work = np.median(np.array(own)[:, 1] / np.array(theirs)[:, 1])
        keep(f"{name}, of work", float(work), "x", limit)
    print(f"{name:58s}{ratios(own, theirs)}   {promise}", flush=True)


def centre_matrix(view: View, window: Window) -> np.ndarray:
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    return np.linalg.inv(half) @ TargetMap(view, window).homography() @ half


def ready_maps(view: View, window: Window) -> np.ndarray:
    out = np.empty((window.height_px, window.width_px, 2), np.float32)
    target = TargetMap(view, window)
    x = np.arange(window.width_px) + 0.5
    for top in range(0, window.height_px, 256):
        y = np.arange(top, min(top + 256, window.height_px)) + 0.5
        out[top : top + 256] = np.moveaxis(target.photo_px(x, y), 0, -1) - 0.5
    return out


def large_pictures(photo: np.ndarray) -> None:
    height, width = photo.shape[:2]
    pyramid = Pyramid(photo)
    # as fine as the photo is at its finest, so nothing is lost: 24 million pixels again
    window = Window(-4800.0, -1700.0, 4800.0, 4700.0, width, height)
    plain, lens = make_view(WALL, width, height), make_view(WALL, width, height, LENS)
    matrix = centre_matrix(plain, window)
    for name, flag in (("linear", cv2.INTER_LINEAR), ("cubic", cv2.INTER_CUBIC)):
        row(
            f"wall, no lens terms, 24 to 24 megapixels, {name}",
            lambda name=name: straighten(photo, plain, window, interpolation=name, pyramid=pyramid),
            lambda flag=flag: cv2.warpPerspective(
                photo, matrix, (width, height), flags=flag | cv2.WARP_INVERSE_MAP
            ),
            "<= 1.15",
            1.15,
        )
    views = (("wall, lens terms", lens), ("tower", make_view(TOWER, width, height, LENS)))
    for name, view in views:
        maps = ready_maps(view, window)
        row(
            f"{name}, 24 to 24 megapixels, against remap with ready maps",
            lambda view=view: straighten(photo, view, window, pyramid=pyramid),
            lambda maps=maps: cv2.remap(photo, maps, None, cv2.INTER_LINEAR),
            "<= 1.5",
            1.5,
        )
    print("    levels read so far:", sorted(pyramid._levels))
    oblique = make_view(WALL, width, height)
    coarse = Window(-6500.0, -3000.0, 6500.0, 6500.0, width, height)
    coarse_matrix = centre_matrix(oblique, coarse)
    row(
        "wall, no lens terms, up to 1.4 photo pixels to a pixel",
        lambda: straighten(photo, oblique, coarse, pyramid=pyramid),
        lambda: cv2.warpPerspective(photo, coarse_matrix, (width, height), flags=17),
        "(filtered; the bare call is not)",
    )


def beside_scikit_image(photo: np.ndarray) -> None:
    from skimage import transform

    height, width = photo.shape[:2]
    view = make_view(WALL, width, height)
    window = Window(-4800.0, -1700.0, 4800.0, 4700.0, width, height)
    matrix = transform.ProjectiveTransform(centre_matrix(view, window))
    own = min(seconds(lambda: straighten(photo, view, window))[0] for _ in range(3))
    theirs = seconds(lambda: transform.warp(photo, matrix, order=1, preserve_range=True))[0]
    keep("straightening beside scikit-image's warp", own / theirs, "x", 0.05)
    print(
        f"{'scikit-image warp, 24 to 24 megapixels, linear':58s}"
        f"{1e3 * own:9.1f}{1e3 * theirs:9.1f}{own / theirs:8.3f}{'':8s}   <= 0.05"
    )


def screen_views(name: str, photo: np.ndarray, lens: tuple[float, float], limit_ms: int) -> None:
    """Zoomed out to zoomed in, all over the wall, each compressed as for the page."""
    height, width = photo.shape[:2]
    view, pyramid = make_view(WALL, width, height, lens), Pyramid(photo)
    rng = np.random.default_rng(5)
    windows = []
    for wide_mm in np.geomspace(16_000.0, 1200.0, 40):
        u, v = rng.uniform(-4500, 4500) * (1 - wide_mm / 16_000), 1500 + rng.uniform(-500, 500)
        scale = 1600 / wide_mm
        windows.append(
            make_window(u - 800 / scale, v - 600 / scale, u + 800 / scale, v + 600 / scale, scale)
        )

    def compress(rgb: np.ndarray) -> object:
        bgr = cv2.cvtColor(rgb, cv2.COLOR_RGB2BGR)
        return cv2.imencode(".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, 85])

    first_ms = 1e3 * seconds(lambda: straighten(photo, view, windows[0], pyramid=pyramid))[0]
    for window in windows:
        straighten(photo, view, window, pyramid=pyramid)
    own, bare = [], []
    for window in windows * 3:
        own.append(
            seconds(lambda w=window: compress(straighten(photo, view, w, pyramid=pyramid).rgb))
        )
        size = (window.width_px, window.height_px)
        if any(lens):
            maps = ready_maps(view, window)
            bare.append(
                seconds(lambda m=maps: compress(cv2.remap(photo, m, None, cv2.INTER_LINEAR)))
            )
        else:
            matrix = centre_matrix(view, window)
            bare.append(
                seconds(
                    lambda m=matrix, s=size: compress(cv2.warpPerspective(photo, m, s, flags=17))
                )
            )
    p95_ms = 1e3 * np.percentile([clock for clock, _ in own], 95)
    work = np.median(np.array(own)[:, 1] / np.array(bare)[:, 1])
    keep(f"{name}, of work", float(work), "x", 2.5)
    keep(f"{name}, p95", p95_ms, "ms", limit_ms, clock=True)
    print(
        f"{name:58s}{ratios(own, bare)}   <= 2.5; p95 {p95_ms:.1f} ms, promised <= {limit_ms};"
        f" the very first, making copies, {first_ms:.0f} ms",
        flush=True,
    )


def peak_memory() -> None:
    """Peak of a process of its own that makes a 600 dpi skin for A3 from 24 megapixels."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.bench_straighten", "skin"],
        capture_output=True,
        text=True,
        check=True,
    )
    for line in done.stdout.splitlines():
        name, before, peak, size = line.rsplit(" ", 3)
        keep("memory of a skin, in photo and picture", float(peak) / float(size), "x", 2.5)
        print(
            f"{name:58s}{float(peak):9.0f}{float(size):9.0f}{float(peak) / float(size):8.2f}{'':8s}"
            f"   <= 2.5 (MB: peak of the process, photo and picture; {before} before)"
        )


def print_peak_of_skin() -> None:
    photo = make_photo(6000, 4000)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    window = window_for_print(
        (-4700.0, -1500.0, -4700.0 + 420.0 * 22, -1500.0 + 297.0 * 22), 600, 22
    )
    made = straighten(photo, make_view(WALL, 6000, 4000, LENS), window)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    size = (photo.nbytes + made.rgb.nbytes + made.visible.nbytes) / 2**20
    name = f"skin of {window.width_px} x {window.height_px}, lens terms"
    print(f"{name} {before:.0f} {peak:.0f} {size:.0f}")


def main() -> None:
    print(f"OpenCV {cv2.__version__}, {cv2.getNumThreads()} threads")
    print(f"{'':58s}{'ours':>9s}{'bare':>9s}{'ratio':>8s}{'of work':>8s}   promised (times in ms)")
    peak_memory()  # first: a child's peak counts what its parent held when it was forked
    photo = make_photo(6000, 4000)
    large_pictures(photo)
    screen_views("screen views 1600 x 1200 of 24 megapixels", photo, (0.0, 0.0), 50)
    screen_views("screen views 1600 x 1200 of 24 megapixels, lens terms", photo, LENS, 50)
    huge = make_photo(12_000, 8400)
    screen_views("screen views 1600 x 1200 of 100 megapixels", huge, (0.0, 0.0), 80)
    screen_views("screen views 1600 x 1200 of 100 megapixels, lens terms", huge, LENS, 80)
    del huge
    beside_scikit_image(photo)


if __name__ == "__main__":
    print_peak_of_skin() if sys.argv[1:] == ["skin"] else main()
