"""Feed mutated photos and surveys to the program, and say what became of them.

    python -m tests.bench.fuzz_files [count] [first] [kind]

Promised over 100,000 inputs: no crash, none slower than five seconds, memory bounded; each
is taken soundly or refused in one sentence. `count` is of photos and of surveys; a tenth as
many surveys have only their picks and sizes mutated, and are measured, drawn and cut, and as
many the wishes for card or drawing.
"""

from __future__ import annotations

import sys
import time

from tests.support.fuzzing import KINDS, feed, merged

BATCH = 2000


def main(many: int, first: int, kinds: tuple[str, ...]) -> None:
    """Print what became of the inputs of each kind."""
    for kind in kinds:
        count = many if kind in ("photo", "survey") else many // 10
        start, parts = time.perf_counter(), []
        for at in range(first, first + count, BATCH):
            parts.append(feed(kind, at, min(BATCH, first + count - at)))
            tried = at - first + BATCH
            print(f"\r{kind}: {tried}, {len(parts[-1].faults)} new faults", end="", flush=True)
            for fault in parts[-1].faults[:5]:
                print(f"\n{fault}")
        found = merged(parts)
        print(f"\r{kind}: {count} inputs in {time.perf_counter() - start:.0f} s")
        for outcome, times in found.outcomes.most_common():
            print(f"    {outcome:32} {times:7d}")
        print(f"    peak memory {found.peak_mb:.0f} MB, faults {len(found.faults)}")


if __name__ == "__main__":
    words = sys.argv[1:]
    main(
        int(words[0]) if words else 50_000,
        int(words[1]) if len(words) > 1 else 0,
        tuple(words[2:]) or tuple(KINDS),
    )
