"""Every promise about speed in one table, beside what was measured before.

    python -m tests.bench                    # all of them, some ten minutes
    python -m tests.bench workbench snap     # only these
    python -m tests.bench --store            # and take the figures for those to compare with

Each bench can be run by itself too, as ``python -m tests.bench.bench_NAME``, and then prints
more than its figures. Longer ones that are not run here: ``bench_accuracy``, ``bench_round``,
``bench_warnings``, ``bench_load`` (60 s, or ten minutes with ``--long``), ``fuzz_files`` and
``kill_500``. Times are of this computer, and nothing is asserted; ratios to the bare call
in the same run are what to compare.
"""

from __future__ import annotations

import argparse
import importlib
import os

from tests.bench.promises import print_table, write_baseline

BENCHES = (
    "start",
    "adjust",
    "snap",
    "lines",
    "tidy",
    "dragging",
    "finder",
    "straighten",
    "workbench",
    "courses",
)


def main() -> None:
    """Run the benches that are named and print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("names", nargs="*", choices=[*BENCHES, []], metavar="NAME")
    parser.add_argument("--store", action="store_true")
    asked = parser.parse_args()
    for name in asked.names or BENCHES:
        print(f"\n== {name}")
        importlib.import_module(f"tests.bench.bench_{name}").main()
    busy = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
    print(f"\n== promises ({os.cpu_count()} processors, {busy:.1f} processes at work)")
    print_table()
    if asked.store:
        write_baseline()


if __name__ == "__main__":
    main()
