"""The long form of `storeyrod check --accuracy`: does every row hold 93 to 97 % at 95 %?

    python -m tests.bench.bench_accuracy [cases] [seed] [--out FOLDER]

1,600 cases to a row unless told; about half an hour of one processor. Prints the report, and for
each row whether the promise is met. With a folder, writes report and graphs there.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from measure.accuracy.report import (
    cell_rows,
    make_report,
    part_rows,
    rows_that_miss,
    scatter,
    text_of_report,
    write_report,
)


def main() -> None:
    """Run the trials and print the report."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.bench_accuracy")
    parser.add_argument("cases", nargs="?", type=int, default=1600)
    parser.add_argument("seed", nargs="?", type=int, default=920_000)
    parser.add_argument("--out", type=Path)
    asked = parser.parse_args()
    found = make_report(asked.cases, asked.seed, lambda name, _: print(name, flush=True))
    print("\n" + text_of_report(found))
    rows = cell_rows(found) + part_rows(found)
    missed = rows_that_miss(rows)
    print(f"{len(rows) - len(missed)} of {len(rows)} rows hold 93 to 97 % of the truth within 2 ±,")
    print(f"each to {scatter(asked.cases):.1f} % (one standard uncertainty of chance).")
    for name in missed:
        print(f"NOT MET: {name}")
    if asked.out is not None:
        for path in write_report(found, asked.out):
            print(f"wrote {path}")


if __name__ == "__main__":
    main()
