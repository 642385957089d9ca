"""How long the program takes to say what it can do, beside Python importing numpy.

Run it: ``python -m tests.bench.bench_start``. Promise: within 3 times.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

from tests.bench.promises import keep

ROOT = Path(__file__).resolve().parents[2]
HELP = "import sys; from measure.cli import main; sys.argv = ['storeyrod', '--help']; main()"


def median_s(code: str, runs: int = 9) -> float:
    """Median wall time of a fresh Python running `code`."""
    taken = []
    for _ in range(runs):
        start = time.perf_counter()
        subprocess.run(
            [sys.executable, "-c", code], cwd=ROOT, check=True, stdout=subprocess.DEVNULL
        )
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def main() -> None:
    """Print the table."""
    ours, bare = median_s(HELP), median_s("import numpy")
    keep("--help beside importing numpy", ours / bare, "x", 3.0, clock=True)
    print(f"{'what':<28}{'ours':>10}{'bare':>10}{'ratio':>8}{'promise':>10}")
    print(f"{'storeyrod --help':<28}{ours:>9.3f}s{bare:>9.3f}s{ours / bare:>8.2f}{'<= 3':>10}")


if __name__ == "__main__":
    main()
