"""From a corner's move to fresh results and a 1600 x 1200 straightened view of a large photo.

    python -m tests.bench.bench_workbench

Prints times of this computer, as the page and as the server see them, and the work of the
server's process, beside the bare warp and JPEG encoding of OpenCV, which is done after every
move so that a busy computer disturbs both. Asserts nothing.

Promised of the server's time: p95 <= 50 ms for 24 MP and <= 80 ms for 100 MP on two
processors, and at most 2.5 times the bare call. The moves go round in a circle of four pixels.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import cv2
import httpx
import numpy as np
import psutil

from tests.bench.promises import keep

MOVES, WARM_UP = 60, 8
SIZE = (1600, 1200)
PHOTOS = {"24 MP": ((6000, 4000), 50.0), "100 MP": ((12_000, 8400), 80.0)}


def make_photo(path: Path, size: tuple[int, int]) -> None:
    """A rough pattern: what it shows does not matter, how well it compresses does a little."""
    rng = np.random.default_rng(5)
    rough = rng.integers(40, 216, (size[1] // 20, size[0] // 20, 3), np.uint8)
    cv2.imwrite(str(path), cv2.resize(rough, size, interpolation=cv2.INTER_CUBIC))


def box(x: float, y: float, w: float, h: float, zoom: float) -> list[list[float]]:
    """Corners of a rectangle on a wall that is turned a little: right side smaller."""
    corners = np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]], float)
    shrink = 1 - 0.00003 * (corners[:, :1] - 3000)
    return (zoom * ((corners - [3000, 2000]) * shrink + [3000, 2000])).round(2).tolist()


def document(zoom: float = 1.0, openings: int = 6) -> dict:
    """A frame, a second rectangle, two known sizes, openings: with six some twenty conditions."""
    frame = box(1000, 800, 4000, 2400, zoom)
    columns = max(6, math.ceil(math.sqrt(1.5 * openings)))
    rows = math.ceil(openings / columns)
    wide, high = 3600 / columns, 2000 / rows
    boxes = [
        box(1200 + wide * (i % columns), 900 + high * (i // columns), 0.5 * wide, 0.5 * high, zoom)
        for i in range(openings)
    ]
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
                "guides": [{"kind": "rectangle", "at": box(1400, 1200, 600, 900, zoom)}],
                "references": [
                    {"kind": "length", "at": [frame[3], frame[2]], "length_mm": 8000, "u_mm": 10},
                    {"kind": "length", "at": [frame[0], frame[3]], "length_mm": 4800, "u_mm": 10},
                ],
                "measures": [
                    {"id": f"w{i}", "kind": "opening", "at": at} for i, at in enumerate(boxes)
                ],
            }
        ],
    }


def moved(doc: dict, move: int) -> dict:
    """The document with its first corner on the way round a circle of four pixels."""
    x, y = doc["faces"][0]["frame"][0]
    turn = 2 * math.pi * move / 23
    doc["faces"][0]["frame"][0] = [x + 4 * math.cos(turn), y + 4 * math.sin(turn)]
    return doc


@dataclass
class Served:
    """A workbench in a process of its own."""

    client: httpx.Client
    key: str
    process: psutil.Process

    def results(self, doc: dict, *, quick: bool = True) -> tuple[dict, float]:
        """Results of a document and the server's own time in ms."""
        answer = self.client.post(
            f"/api/surveys/{self.key}/results", json={"document": doc, "quick": quick}
        )
        answer.raise_for_status()
        return answer.json(), server_ms(answer)

    def view(self, told: dict, size: tuple[int, int] = SIZE) -> float:
        """Ask for the wall as wide as it is picked; the server's own time in ms."""
        u0, v0, u1, v1 = told["page"]["faces"]["front"]["extent_mm"]
        width = min(u1 - u0, (v1 - v0) * size[0] / size[1])
        answer = self.client.get(
            f"/api/surveys/{self.key}/walls/front/view",
            params={
                "stamp": told["stamp"],
                "u": u0,
                "v": v0,
                "width_mm": width,
                "height_mm": width * size[1] / size[0],
                "out_width": size[0],
                "out_height": size[1],
            },
        )
        answer.raise_for_status()
        return server_ms(answer)

    def work_ms(self) -> float:
        """Processor time that the server has used so far."""
        times = self.process.cpu_times()
        return 1000.0 * (times.user + times.system)


def server_ms(answer: httpx.Response) -> float:
    return float(answer.headers["server-timing"].removeprefix("all;dur="))


@contextmanager
def served(doc: dict, size: tuple[int, int]) -> Iterator[tuple[Served, Path]]:
    """Serve a survey of an invented photo; gives the workbench and the photo."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "home" / "bench"
        home.mkdir(parents=True)
        make_photo(home / "photo.jpg", size)
        path = home / "bench.survey.json"
        path.write_text(json.dumps(doc), encoding="utf-8")
        command = [sys.executable, "-m", "tests.support.workbench", str(home.parent)]
        running = subprocess.Popen(
            [*command, str(Path(folder) / "state"), str(path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert running.stdout is not None
        said = json.loads(running.stdout.readline())
        address = f"http://127.0.0.1:{said['port']}"
        with httpx.Client(base_url=address, cookies=said["cookies"], timeout=60) as client:
            yield Served(client, said["key"], psutil.Process(running.pid)), home / "photo.jpg"
        running.communicate()


def bare(photo: np.ndarray, zoom: float) -> None:
    """The same window by OpenCV alone, without filter, mask or known sizes."""
    corners = np.array([[1000, 800], [5000, 900], [4950, 3150], [1050, 3250]], np.float32)
    target = np.array([[0, 0], [SIZE[0], 0], [SIZE[0], SIZE[1]], [0, SIZE[1]]], np.float32)
    homography = cv2.getPerspectiveTransform(zoom * corners, target)
    warped = cv2.warpPerspective(photo, homography, SIZE, flags=cv2.INTER_LINEAR)
    cv2.imencode(".jpg", warped, [cv2.IMWRITE_JPEG_QUALITY, 86])


def one_photo(name: str, size: tuple[int, int], limit_ms: float) -> None:
    zoom = size[0] / 6000.0
    rows: dict[str, list[float]] = {}

    def note(**figures: float) -> None:
        for key, value in figures.items():
            rows.setdefault(key, []).append(value)

    with served(document(zoom), size) as (bench, path):
        photo = cv2.imread(str(path))
        for move in range(MOVES + WARM_UP):
            doc = moved(document(zoom), move)
            worked = bench.work_ms()
            began = time.perf_counter()
            told, results_ms = bench.results(doc)
            view_ms = bench.view(told)
            page_ms = 1000 * (time.perf_counter() - began)
            worked = bench.work_ms() - worked
            began, begun = time.perf_counter(), time.process_time()
            bare(photo, zoom)
            bare_ms = 1000 * (time.perf_counter() - began)
            bare_work_ms = 1000 * (time.process_time() - begun)
            if move >= WARM_UP:  # the first ones decode the photo and make its smaller copies
                note(results=results_ms, view=view_ms, both=results_ms + view_ms, page=page_ms)
                note(work=worked, bare=bare_ms, bare_work=bare_work_ms)
    says = {
        "results": "results, server",
        "view": "view, server",
        "both": "both, server",
        "page": "both, as the page sees it",
        "bare": "bare warp and JPEG",
        "work": "work of the server",
        "bare_work": "work of the bare call",
    }
    print(f"{name:28}{'median ms':>10}{'p95 ms':>10}{'mean ms':>10}")
    for key, title in says.items():
        times = np.array(rows[key])
        p95 = np.percentile(times, 95)
        print(f"{title:28}{np.median(times):10.1f}{p95:10.1f}{times.mean():10.1f}")
    ratio = float(np.median(rows["both"]) / np.median(rows["bare"]))
    # work is counted by the system in hundredths of a second, so only its mean says something
    work = float(np.mean(rows["work"]) / np.mean(rows["bare_work"]))
    print(f"a move costs {ratio:.2f} times the bare call, and {work:.2f} times its work\n")
    keep(f"a move, {name}, beside the bare call", ratio, "x", 2.5, clock=True)
    keep(f"a move, {name}, beside the bare call, of work", work, "x", 2.5)
    keep(f"a move, {name}, p95", float(np.percentile(rows["both"], 95)), "ms", limit_ms, clock=True)


def main() -> None:
    print(f"{os.cpu_count()} processors, {os.getloadavg()[0]:.1f} processes at work before")
    for name, (size, limit_ms) in PHOTOS.items():
        one_photo(name, size, limit_ms)


if __name__ == "__main__":
    main()
