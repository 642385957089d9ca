"""Tables and plots of how good the program is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from measure.accuracy.trials import CELLS, MISTAKES, OBLIQUITIES, SOUND, Trials, joined, run_trials

Report = Callable[[str, float], bool | None]


@dataclass(frozen=True, slots=True)
class AccuracyReport:
    """All figures of one run.

    Parameters
    ----------
    cells : tuple of (str, Trials)
        Without mistakes, by what is special about them.
    mistakes : tuple of (str, Trials)
        With one mistake each, focal length known, 15 to 30 degrees.
    count, seed : int
    """

    cells: tuple[tuple[str, Trials], ...]
    mistakes: tuple[tuple[str, Trials], ...]
    count: int
    seed: int


def make_report(count: int, seed: int, report: Report | None = None) -> AccuracyReport:
    """Run all trials.

    Parameters
    ----------
    count : int
        Cases in each cell.
    seed : int
    report : callable, optional
        Told what is going on.
    """
    jobs = len(CELLS) + len(MISTAKES)
    cells = []
    for number, (name, circumstances) in enumerate(CELLS.items()):
        if report:
            report(name, number / jobs)
        cells.append((name, run_trials(circumstances, count, seed + number, one_opening=True)))
    mistakes = []
    for number, (name, mistake) in enumerate(MISTAKES):
        if report:
            report(name, (len(CELLS) + number) / jobs)
        trials = run_trials(SOUND, count, seed + 100 + number, mistake=mistake, one_opening=True)
        mistakes.append((name, trials))
    return AccuracyReport(tuple(cells), tuple(mistakes), count, seed)


COLUMNS = (
    "photo", ">median", ">95 %", ">within ±", ">within 2 ±", ">straight", ">sampled", ">refused",
)  # fmt: skip

#: Over so many cases in each row, and beyond so much of half and size, errors are told apart.
BEYOND = ((0.0, 0.5), (0.5, 1.0), (1.0, np.inf))
SIZES_MM = ((0.0, 1000.0), (1000.0, 1500.0), (1500.0, np.inf))


def cell_rows(report: AccuracyReport) -> list[tuple[str, ...]]:
    """Rows of the main table: relative errors, and how often the ± held the truth."""
    return [(name, *_figures(trials)) for name, trials in report.cells]


def mistake_rows(report: AccuracyReport) -> list[tuple[str, ...]]:
    """Rows of the table of mistakes."""
    return [(name, *_figures(trials)) for name, trials in report.mistakes]


def part_rows(report: AccuracyReport) -> list[tuple[str, ...]]:
    """Rows of all sound cases whose lens is stated, by size and by place on the wall."""
    stated = [trials for _, trials in report.cells if trials.circumstances.focal_known]
    every = joined(stated)
    rows = []
    for low, high in SIZES_MM:
        part = every.part((every.true_mm >= low) & (every.true_mm < high))
        rows.append((f"sizes {_range(low, high, 'mm')}", *_figures(part)))
    for low, high in BEYOND:
        part = every.part((every.beyond_frame >= low) & (every.beyond_frame < high))
        rows.append(
            (f"{_range(low, high, 'half diagonals')} from the frame's middle", *_figures(part))
        )
    for name, wide in (("widths", True), ("heights", False)):
        rows.append((name, *_figures(every.part(every.is_width == wide))))
    return rows


def _range(low: float, high: float, unit: str) -> str:
    return f"over {low:g} {unit}" if np.isinf(high) else f"{low:g} to {high:g} {unit}"


def _figures(trials: Trials) -> tuple[str, ...]:
    if not len(trials.error_mm):
        return ("", "", "", "", "", "", str(trials.refused))
    return (
        f"{100 * trials.relative_quantile(0.5):.2f} %",
        f"{100 * trials.relative_quantile(0.95):.2f} %",
        f"{100 * trials.share_within(1.0):.1f} %",
        f"{100 * trials.share_within(1.96):.1f} %",
        f"{100 * trials.share_within_straight(1.96):.1f} %",
        f"{100 * trials.share_sampled:.0f} %",
        str(trials.refused),
    )


def text_of_report(report: AccuracyReport) -> str:
    """The report as Markdown."""
    lines = [
        "# How good the sizes are",
        "",
        f"{report.count} invented buildings and cameras a row, seed {report.seed}; picks good to "
        "1 px, one door leaf of 1981 ± 6 mm as the known size, a frame across the wall. Errors of "
        "the width and height of one opening a building; the share within 2 ± is uncertain by "
        f'{scatter(report.count):.1f} % for {report.count}. "Straight" is the share within 2 ± '
        'by first order alone, "sampled" the share of sizes whose ± draws made wider.',
        "",
    ]
    tables = (
        ("Sound surveys", cell_rows(report)),
        ("All of those whose lens is stated", part_rows(report)),
        ("Mistakes, at 15 to 30°", mistake_rows(report)),
    )
    for title, rows in tables:
        lines += [f"## {title}", "", _markdown(COLUMNS, rows), ""]
    return "\n".join(lines)


def scatter(count: int) -> float:
    """By how many per cent a share of 95 % of so many cases is uncertain.

    Width and height of one opening hang together, so that two sizes count for one and a half.
    """
    return float(100.0 * np.sqrt(0.95 * 0.05 / (1.5 * count)))


def _markdown(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    head = "| " + " | ".join(name.lstrip(">") for name in columns) + " |"
    rule = "|" + "|".join("---:" if name.startswith(">") else "---" for name in columns) + "|"
    return "\n".join([head, rule, *("| " + " | ".join(row) + " |" for row in rows)])


def write_report(report: AccuracyReport, folder: Path) -> list[Path]:
    """Write the report and its plots into a folder."""
    from measure.charts.accuracy import errors_figure, standardised_figure

    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / "accuracy.md"]
    paths[0].write_text(text_of_report(report), "utf-8")
    known = [trials for _, trials in report.cells if trials.circumstances.focal_known]
    for name, figure in (
        ("errors.png", errors_figure(known[: len(OBLIQUITIES)])),
        ("standardised.png", standardised_figure(np.concatenate([t.standardised for t in known]))),
    ):
        figure.savefig(folder / name, dpi=120)
        paths.append(folder / name)
    return paths
