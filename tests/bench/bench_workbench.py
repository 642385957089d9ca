"""From a corner's move to fresh results and a 1600 x 1200 straightened view of a 24 MP photo.

Run as ``python -m tests.bench.bench_workbench``. Prints times of this computer and their ratio
to the bare warp and JPEG encoding of OpenCV; asserts nothing.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import cv2
import httpx
import numpy as np

MOVES = 60
SIZE = (1600, 1200)
PHOTO = (6000, 4000)


def make_photo(path: Path) -> None:
    rng = np.random.default_rng(5)
    rough = rng.integers(40, 216, (PHOTO[1] // 20, PHOTO[0] // 20, 3), np.uint8)
    cv2.imwrite(str(path), cv2.resize(rough, PHOTO, interpolation=cv2.INTER_CUBIC))


def document() -> dict:
    """A frame, a second rectangle, two known sizes, six openings: some twenty conditions."""

    def box(x: float, y: float, w: float, h: float) -> list[list[float]]:
        corners = np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]], float)
        # a slight turn of the wall: right side a little smaller
        shrink = 1 - 0.00003 * (corners[:, :1] - 3000)
        return ((corners - [3000, 2000]) * shrink + [3000, 2000]).round(2).tolist()

    frame = box(1000, 800, 4000, 2400)
    return {
        "format": "storeyrod survey",
        "version": 1,
        "title": "bench",
        "model_scale": "1:148",
        "photos": [{"id": "photo", "file": "photo.jpg", "focal_35mm": 26.0}],
        "faces": [
            {
                "id": "front",
                "photo": "photo",
                "frame": frame,
                "guides": [{"kind": "rectangle", "at": box(1400, 1200, 600, 900)}],
                "references": [
                    {"kind": "length", "at": [frame[3], frame[2]], "length_mm": 8000, "u_mm": 10},
                    {"kind": "length", "at": [frame[0], frame[3]], "length_mm": 4800, "u_mm": 10},
                ],
                "measures": [
                    {"id": f"w{i}", "kind": "opening", "at": box(1200 + 600 * i, 1500, 300, 500)}
                    for i in range(6)
                ],
            }
        ],
    }


def bare_ms(photo: np.ndarray) -> list[float]:
    source = np.array([[1000, 800], [5000, 900], [4950, 3150], [1050, 3250]], np.float32)
    target = np.array([[0, 0], [SIZE[0], 0], [SIZE[0], SIZE[1]], [0, SIZE[1]]], np.float32)
    homography = cv2.getPerspectiveTransform(source, target)
    times = []
    for _ in range(MOVES):
        began = time.perf_counter()
        warped = cv2.warpPerspective(photo, homography, SIZE, flags=cv2.INTER_LINEAR)
        cv2.imencode(".jpg", warped, [cv2.IMWRITE_JPEG_QUALITY, 86])
        times.append(1000 * (time.perf_counter() - began))
    return times


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "home" / "bench"
        home.mkdir(parents=True)
        make_photo(home / "photo.jpg")
        path = home / "bench.survey.json"
        path.write_text(json.dumps(document()), encoding="utf-8")
        command = [sys.executable, "-m", "tests.support.workbench", str(home.parent)]
        served = subprocess.Popen(
            [*command, str(Path(folder) / "state"), str(path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert served.stdout is not None
        said = json.loads(served.stdout.readline())
        key = said["key"]
        parts: dict[str, list[float]] = {"results": [], "view": [], "both": []}
        address = f"http://127.0.0.1:{said['port']}"
        with httpx.Client(base_url=address, cookies=said["cookies"], timeout=60) as client:
            for move in range(MOVES + 8):
                doc = document()
                doc["faces"][0]["frame"][0][0] += 0.05 * move
                began = time.perf_counter()
                told = client.post(
                    f"/api/surveys/{key}/results", json={"document": doc, "quick": True}
                ).json()
                solved = time.perf_counter()
                u0, v0, u1, v1 = told["page"]["faces"]["front"]["extent_mm"]
                width = min(u1 - u0, (v1 - v0) * SIZE[0] / SIZE[1])
                client.get(
                    f"/api/surveys/{key}/walls/front/view",
                    params={
                        "stamp": told["stamp"],
                        "u": u0,
                        "v": v0,
                        "width_mm": width,
                        "height_mm": width * SIZE[1] / SIZE[0],
                        "out_width": SIZE[0],
                        "out_height": SIZE[1],
                    },
                ).raise_for_status()
                done = time.perf_counter()
                if move >= 8:  # the first ones decode the photo and make its smaller copies
                    parts["results"].append(1000 * (solved - began))
                    parts["view"].append(1000 * (done - solved))
                    parts["both"].append(1000 * (done - began))
        served.communicate()
        bare = bare_ms(cv2.imread(str(home / "photo.jpg")))
    print(f"{'':28}{'median ms':>10}{'p95 ms':>10}")
    for name, times in (*parts.items(), ("bare warp and JPEG", bare)):
        print(f"{name:28}{np.median(times):10.1f}{np.percentile(times, 95):10.1f}")
    ratio = np.median(parts["both"]) / np.median(bare)
    print(f"a move costs {ratio:.2f} times the bare warp and encoding")


if __name__ == "__main__":
    main()
