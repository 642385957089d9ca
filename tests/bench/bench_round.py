"""2,000 trials each of the demo's tower and its wing: do the 95 % intervals hold 95 %?

Run with ``python -m tests.bench.bench_round [COUNT]``; about four minutes each for 2,000.
Prints the share inside for every size; nothing is asserted here, the suite runs fewer trials
of the same (`tests/measure/test_how_good_round.py`).
"""

from __future__ import annotations

import sys

import numpy as np

from tests.measure.test_how_good_round import rms_by_size, tower_trials, wing_trials


def main() -> None:
    """Print shares inside and rms for each size."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    for name, make in (("tower", tower_trials), ("wing", wing_trials)):
        for u_px in (1.0, 0.3):
            keys, rows = make(u_px, count, seed=77)
            inside = np.abs(rows[..., 0]) <= 1.96 * rows[..., 1]
            rms = rms_by_size(keys, rows)
            print(f"{name}, picks {u_px} px, {count} trials: {100 * inside.mean():.1f} % inside")
            for at, key in enumerate(keys):
                share, relative = 100 * inside[:, at].mean(), 100 * rms[key]
                # a size that is truly nothing is off by no part of it
                off = f", rms {relative:.2f} %" if np.isfinite(relative) else ""
                print(f"  {key:16s} {share:5.1f} % inside{off}", flush=True)


if __name__ == "__main__":
    main()
