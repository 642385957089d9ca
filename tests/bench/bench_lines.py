"""What finding guides costs beside the bare detector of OpenCV: prints, asserts nothing.

Run with ``python -m tests.bench.bench_lines``. The detector is asked once on the photo as it
is and once on a copy 1600 px long, on which guides are looked for. Promise: 1.5 s for a photo
of 24 megapixels; after the detector come placing, sorting, joining, and six or more
adjustments that put the lines to the test.
"""

from __future__ import annotations

import time

import cv2
import numpy as np

from rectify.adjust import solve_photo
from rectify.guides.edges import DETECT_SIDE_PX, find_edge_pieces
from rectify.photo_lines import find_guides
from shared.survey import Face
from tests.bench.promises import keep
from tests.support.line_photos import Street, draw_street, rough, wide_camera
from tests.support.scenes import rectangle
from tests.support.surveyed import facts

CASES = {"3 MP": 2000, "12 MP": 4000, "24 MP": 5657}
ROUNDS = 3


def main() -> None:
    """Time each in turn and print the best of a few rounds."""
    print(f"{'':8}{'guides':>9}{'edges':>13}{'OpenCV small':>14}{'OpenCV whole':>14}{'ratio':>8}")
    for name, width_px in CASES.items():
        rng = np.random.default_rng(3)
        camera = wide_camera(rng, width_px)
        small = draw_street(Street(wide_camera(np.random.default_rng(3), 1400), seed=3))
        size = (camera.width_px, camera.height_px)
        photo = cv2.resize(small, size, interpolation=cv2.INTER_CUBIC)
        noise = rng.integers(-3, 4, photo.shape[:2], dtype=np.int16)
        photo = np.clip(photo + noise[..., None], 0, 255).astype(np.uint8)
        face = Face.model_validate(
            {
                "id": "front",
                "photo": "street",
                "frame": rough(rectangle(-3200.0, 3000.0, 600.0, 4800.0), camera, rng),
                "references": [
                    {
                        "kind": "length",
                        "at": rough(np.array([[600.0, 0.0], [600.0, 2200.0]]), camera, rng),
                        "length_mm": 2200.0,
                    }
                ],
            }
        )
        about = facts(camera)
        solve_photo(about, [face])
        grey = cv2.cvtColor(photo, cv2.COLOR_RGB2GRAY)
        share = DETECT_SIDE_PX / width_px
        less = cv2.resize(grey, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
        detector = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD)
        took = {
            "guides": best_s(lambda p=photo, a=about, f=face: find_guides(p, a, [f])),
            "edges": best_s(lambda p=photo: find_edge_pieces(p)),
            "small": best_s(lambda g=less, d=detector: d.detect(g)),
            "whole": best_s(lambda g=grey, d=detector: d.detect(g)),
        }
        keep(f"guides found, {name}", took["guides"], "s", 1.5)
        keep(f"guides beside the bare detector, {name}", took["guides"] / took["whole"], "x")
        print(
            f"{name:8}{took['guides']:7.2f} s{took['edges']:11.2f} s{took['small']:12.2f} s"
            f"{took['whole']:12.2f} s{took['guides'] / took['whole']:7.1f}x"
        )


def best_s(work) -> float:
    """Least processor time of a few rounds, in seconds."""
    times = []
    for _ in range(ROUNDS):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return min(times)


if __name__ == "__main__":
    main()
