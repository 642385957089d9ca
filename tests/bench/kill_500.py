"""Kill the program at 500 random moments of saving and exporting, and say what was found.

    python -m tests.bench.kill_500 [kills] [seed]

Promised: the survey opens every time with at most the last edit missing, every exported file
is whole. Three of five kills fall into saving.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from tests.support import export_and_kill, save_and_kill


def main(kills: int, seed: int) -> None:
    """Print what both found, as JSON each."""
    saving = kills * 3 // 5
    for what, run, count in (
        ("saving", save_and_kill.main, saving),
        ("exporting", export_and_kill.main, kills - saving),
    ):
        start = time.perf_counter()
        with tempfile.TemporaryDirectory() as folder:
            print(f"{what}, {count} kills:", end=" ", flush=True)
            run(Path(folder), count, seed)
        print(f"    in {time.perf_counter() - start:.0f} s")


if __name__ == "__main__":
    words = [int(word) for word in sys.argv[1:]]
    main(words[0] if words else 500, words[1] if len(words) > 1 else 2026)
