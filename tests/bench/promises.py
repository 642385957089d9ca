"""What was promised, what came out, and what came out before: one table for all benches."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

BASELINE = Path(__file__).with_name("baseline.json")


@dataclass(frozen=True)
class Promise:
    """One figure; `limit` is the most it may be, or the least, or None where nothing is promised.

    A `clock` figure is a time by the clock on the wall: on a busy computer it says little.
    """

    name: str
    value: float
    unit: str = ""
    limit: float | None = None
    at_least: bool = False
    clock: bool = False

    @property
    def met(self) -> bool | None:
        if self.limit is None:
            return None
        return self.value >= self.limit if self.at_least else self.value <= self.limit


kept: list[Promise] = []


def keep(name: str, value: float, unit: str = "", limit: float | None = None, **more: bool) -> None:
    """Enter a figure for the table at the end."""
    kept.append(Promise(name, float(value), unit, limit, **more))


def read_baseline() -> dict[str, float]:
    return json.loads(BASELINE.read_text("utf-8")) if BASELINE.exists() else {}


def write_baseline() -> None:
    """Take the figures of this run for those to compare with; figures not run now stay."""
    figures = read_baseline() | {one.name: round(one.value, 4) for one in kept}
    BASELINE.write_text(json.dumps(figures, indent=1, ensure_ascii=False) + "\n", "utf-8")


def print_table() -> None:
    """Print every figure beside the stored one and what was promised."""
    before = read_baseline()
    wide = max((len(one.name) for one in kept), default=10) + 2
    print(f"{'':{wide}}{'now':>12}{'stored':>12}{'promised':>14}")
    for one in kept:
        stored = f"{before[one.name]:.2f}" if one.name in before else ""
        sign = ">=" if one.at_least else "<="
        promised = "" if one.limit is None else f"{sign} {one.limit:g} {one.unit}"
        says = {True: "met", False: "NOT MET", None: ""}[one.met]
        busy = " (by the clock)" if one.clock and not one.met else ""
        now = f"{one.value:.2f} {one.unit}"
        print(f"{one.name:{wide}}{now:>12}{stored:>12}{promised:>14}  {says}{busy}")
    broken = sum(one.met is False for one in kept)
    held = sum(one.met is True for one in kept)
    print(f"\n{held} promises met, {broken} not met.")
