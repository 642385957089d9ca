"""What a snap costs beside ``cv2.cornerSubPix`` on the same picture: prints, asserts nothing.

Run with ``python -m tests.bench.bench_snap``. OpenCV refines one saddle point by one rule in
compiled code; a snap looks for edges, chooses, fits and states its ±. The ratio says what
that is worth in time. Promise: 10 ms for a pick.
"""

from __future__ import annotations

import time

import cv2
import numpy as np

from rectify.snap import snap_corner
from tests.bench.promises import keep
from tests.support.corners import Scene, draw_scene

CASES = {
    "chessboard (X)": Scene("X"),
    "outline (L)": Scene("L"),
    "outline, noisy JPEG": Scene("L", levels=(90.0, 60.0, 75.0), noise=4.0, jpeg_quality=75),
    "edge on edge (T)": Scene("T"),
    "painted frame, 4 px": Scene("frame", levels=(60.0, 150.0, 170.0), band_px=4.0),
}
ROUNDS = 40
CRITERIA = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 50, 0.001)


def main() -> None:
    """Time both in turn, and print medians, ratio, and how far off each of them was."""
    rng = np.random.default_rng(0)
    print(f"{'':22} {'snap':>9} {'OpenCV':>9} {'ratio':>7} {'snap off':>9} {'OpenCV off':>11}")
    for name, scene in CASES.items():
        snap_s, opencv_s, snap_off, opencv_off = [], [], [], []
        for _ in range(ROUNDS):
            truth = tuple(32.0 + rng.uniform(-0.5, 0.5, 2))
            start, angle = rng.uniform(0, 2 * np.pi), np.radians(rng.uniform(70, 110))
            photo = draw_scene(scene, truth, start, angle, rng)
            click = np.asarray(truth) + rng.uniform(-3, 3, 2)
            begun = time.process_time()
            snap = snap_corner(photo, click)
            snap_s.append(time.process_time() - begun)
            guess = (click - 0.5).astype(np.float32).reshape(1, 1, 2)
            begun = time.process_time()
            refined = cv2.cornerSubPix(photo, guess, (8, 8), (-1, -1), CRITERIA)[0, 0] + 0.5
            opencv_s.append(time.process_time() - begun)
            snap_off.append(np.hypot(*(snap.point_photo_px - truth)))
            opencv_off.append(np.hypot(*(refined - truth)))
        snap_ms, opencv_ms = 1e3 * np.median(snap_s), 1e3 * np.median(opencv_s)
        keep(f"snap: {name}", snap_ms, "ms", 10.0)
        print(
            f"{name:22} {snap_ms:6.2f} ms {opencv_ms:6.3f} ms {snap_ms / opencv_ms:6.0f}x "
            f"{np.median(snap_off):6.3f} px {np.median(opencv_off):8.3f} px"
        )


if __name__ == "__main__":
    main()
