"""Tables and plots of how good the program is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from measure.accuracy.trials import CELLS, MISTAKES, Trials, run_trials

Report = Callable[[str, float], bool | None]


@dataclass(frozen=True, slots=True)
class AccuracyReport:
    """All figures of one run.

    Parameters
    ----------
    cells : tuple of Trials
        Without mistakes, by circumstances.
    mistakes : tuple of (str, Trials)
        With one mistake each, focal length known, 15 to 30 degrees.
    count, seed : int
    """

    cells: tuple[Trials, ...]
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
    for number, circumstances in enumerate(CELLS):
        if report:
            report(f"photos {describe(circumstances.obliquity_deg)}", number / jobs)
        cells.append(run_trials(circumstances, count, seed + number, one_opening=True))
    mistakes = []
    for number, (name, mistake) in enumerate(MISTAKES):
        if report:
            report(name, (len(CELLS) + number) / jobs)
        trials = run_trials(CELLS[1], count, seed + 100 + number, mistake=mistake, one_opening=True)
        mistakes.append((name, trials))
    return AccuracyReport(tuple(cells), tuple(mistakes), count, seed)


def describe(bounds: tuple[float, float]) -> str:
    """Words for a range of angles."""
    return f"{bounds[0]:.0f} to {bounds[1]:.0f}°"


COLUMNS = ("photo", "focal length", ">median", ">95 %", ">within ±", ">within 2 ±", ">refused")


def cell_rows(report: AccuracyReport) -> list[tuple[str, ...]]:
    """Rows of the main table: relative errors, and how often the ± held the truth."""
    return [
        (
            describe(trials.circumstances.obliquity_deg),
            "stated" if trials.circumstances.focal_known else "not stated",
            *_figures(trials),
        )
        for trials in report.cells
    ]


def mistake_rows(report: AccuracyReport) -> list[tuple[str, ...]]:
    """Rows of the table of mistakes."""
    return [(name, "stated", *_figures(trials)) for name, trials in report.mistakes]


def _figures(trials: Trials) -> tuple[str, ...]:
    return (
        f"{100 * trials.relative_quantile(0.5):.2f} %",
        f"{100 * trials.relative_quantile(0.95):.2f} %",
        f"{100 * trials.share_within(1.0):.1f} %",
        f"{100 * trials.share_within(1.96):.1f} %",
        str(trials.refused),
    )


def text_of_report(report: AccuracyReport) -> str:
    """The report as Markdown."""
    lines = [
        "# How good the sizes are",
        "",
        f"{report.count} invented buildings and cameras a row, seed {report.seed}; picks good to "
        "1 px, one door leaf of 1981 ± 6 mm as the known size, a frame across the wall. Errors of "
        "the width and height of one opening a building.",
        "",
    ]
    for title, rows in (("Sound surveys", cell_rows(report)), ("Mistakes", mistake_rows(report))):
        lines += [f"## {title}", "", _markdown(COLUMNS, rows), ""]
    return "\n".join(lines)


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
    known = [trials for trials in report.cells if trials.circumstances.focal_known]
    for name, figure in (
        ("errors.png", errors_figure(known)),
        ("standardised.png", standardised_figure(np.concatenate([t.standardised for t in known]))),
    ):
        figure.savefig(folder / name, dpi=120)
        paths.append(folder / name)
    return paths
