"""How often common mistakes are pointed out, and how often sound surveys are not left in peace.

    python -m tests.bench.bench_warnings [cases] [first seed]

Promised: 90 of 100 caught, at most 5 of 100 false alarms, for each mistake. Take seeds that
nobody has looked at before.
"""

from __future__ import annotations

import sys

from tests.support.mistakes import MISTAKES, score


def main(cases: int = 100, first: int = 0) -> None:
    """Print one row for each mistake."""
    print(f"{'mistake':40} {'cases':>6} {'caught':>8} {'false alarms':>13}  promise")
    for name in MISTAKES:
        found = score(name, cases, first)
        kept = found.caught >= 0.9 * cases and found.false_alarms <= 0.05 * cases
        print(
            f"{name:40} {cases:6d} {found.caught / cases:8.1%} {found.false_alarms / cases:13.1%}"
            f"  {'kept' if kept else 'NOT KEPT'}",
            flush=True,
        )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
