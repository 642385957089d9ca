"""A workbench under load: eight tabs, fifty drags a second, 200 megapixels, 1,000 measures.

    python -m tests.bench.bench_load [--seconds 60 | --long] [--measures 1000] [--tabs 8]

Each tab drags a corner of its own: fifty places a second in all, and as the page does it has
one request under way and asks for the newest place next, results and then the view. At the end
every tab asks for its last place at rest and saves what it may. Printed: how many drags were
answered, how long they took (median, p95, p99), memory of the server over time. Looked at: that
every tab gets the results of its last place, that the file on disk holds the last document that
was saved, and that memory stays bounded. ``--long`` runs ten minutes.
"""

from __future__ import annotations

import argparse
import threading
import time
import uuid
from dataclasses import dataclass, field

import numpy as np

from tests.bench.bench_workbench import SIZE, Served, document, moved, served
from tests.bench.promises import keep

DRAGS_A_SECOND = 50
PHOTO = (16_000, 12_500)
ZOOM = PHOTO[0] / 6000.0


@dataclass
class Tab:
    """One tab: drags until it is told to stop, then rests."""

    number: int
    bench: Served
    openings: int
    every_s: float
    took_ms: list[float] = field(default_factory=list)
    asked: int = 0
    last_is_right: bool = False
    saved: bool = False
    problem: str = ""

    def place(self, move: int) -> dict:
        return moved(document(ZOOM, self.openings), 23 * 97 * self.number + move)

    def drag(self, until_s: float) -> None:
        began, move, answered = time.monotonic(), 0, -1
        while time.monotonic() < until_s:
            move = int((time.monotonic() - began) / self.every_s)
            if move == answered:
                time.sleep(0.002)
                continue
            self.asked, answered = move, move
            started = time.perf_counter()
            told, _ = self.bench.results(self.place(move))
            self.bench.view(told)
            self.took_ms.append(1000 * (time.perf_counter() - started))
        self.rest(move)

    def rest(self, move: int) -> None:
        last = self.place(move)
        last["title"] = f"tab {self.number} at rest"
        told, _ = self.bench.results(last, quick=False)
        self.bench.view(told)
        self.last_is_right = (
            told["quick"] is False
            and told["results"]["title"] == last["title"]
            and len(told["results"]["faces"]["front"]["measures"]) == self.openings
        )
        tab = str(uuid.uuid4())
        held = self.bench.client.post(
            f"/api/surveys/{self.bench.key}/hold", json={"tab": tab, "take_over": True}
        ).json()
        answer = self.bench.client.put(
            f"/api/surveys/{self.bench.key}",
            json={"document": last, "revision": held["revision"], "tab": tab},
        )
        self.saved = answer.status_code == 200

    def run(self, until_s: float) -> None:
        try:
            self.drag(until_s)
        except Exception as problem:
            self.problem = repr(problem)


def load(seconds: float, tabs: int, openings: int) -> None:
    with served(document(ZOOM, openings), PHOTO) as (bench, _):
        began = time.perf_counter()
        told, _ = bench.results(document(ZOOM, openings), quick=False)
        bench.view(told)
        print(f"first answer and view {time.perf_counter() - began:.1f} s")
        until_s = time.monotonic() + seconds
        every = [Tab(number, bench, openings, tabs / DRAGS_A_SECOND) for number in range(tabs)]
        threads = [threading.Thread(target=tab.run, args=(until_s,)) for tab in every]
        for thread in threads:
            thread.start()
        memory_mb: list[float] = []
        while any(thread.is_alive() for thread in threads):
            memory_mb.append(bench.process.memory_info().rss / 2**20)
            time.sleep(min(1.0, seconds / 30))
        on_disk = bench.client.get(f"/api/surveys/{bench.key}").json()["document"]
    took = np.concatenate([tab.took_ms for tab in every])
    third = max(1, len(memory_mb) // 3)
    early, late = max(memory_mb[:third]), max(memory_mb[-third:])
    median, p95, p99 = np.percentile(took, [50, 95, 99])
    right, saved = (sum(getattr(tab, what) for tab in every) for what in ("last_is_right", "saved"))
    titles = {f"tab {tab.number} at rest" for tab in every if tab.saved}
    print(
        f"{sum(tab.asked for tab in every)} places dragged over, {len(took)} answered with a view"
    )
    print(f"of {SIZE[0]} x {SIZE[1]}: median {median:.0f} ms, p95 {p95:.0f}, p99 {p99:.0f}")
    print(f"memory: {memory_mb[0]:.0f} MB at first, at most {max(memory_mb):.0f}; last third "
          f"{late:.0f} beside {early:.0f} in the first")  # fmt: skip
    print(f"{right} of {tabs} tabs have the results of their last place; {saved} saved; on disk: "
          f"{on_disk['title']!r}")  # fmt: skip
    for tab in every:
        if tab.problem:
            print(f"tab {tab.number}: {tab.problem}")
    keep("tabs with the results of their last place", right / tabs, "", 1.0, at_least=True)
    keep("the file holds a last place", float(on_disk["title"] in titles), "", 1.0, at_least=True)
    keep("memory of the last third over the first", late / early, "x", 1.15)
    keep("p99 of a drag under load", float(p99), "ms", clock=True)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.bench_load")
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--long", action="store_true", help="ten minutes")
    parser.add_argument("--measures", type=int, default=1000)
    parser.add_argument("--tabs", type=int, default=8)
    asked = parser.parse_args()
    load(600.0 if asked.long else asked.seconds, asked.tabs, asked.measures)


if __name__ == "__main__":
    main()
