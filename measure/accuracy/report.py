"""Tables and graphs of how good the program is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from measure.accuracy.trials import CELLS, MISTAKES, OBLIQUITIES, SOUND, Trials, joined, run_trials
from shared.jets import Array

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

#: Errors are told apart by how far from the frame's middle an opening lies, in half diagonals of
#: the frame, and by size.
BEYOND = ((0.0, 1.0), (1.0, 3.0), (3.0, np.inf))
SIZES_MM = ((0.0, 1000.0), (1000.0, 1500.0), (1500.0, np.inf))


def cell_rows(report: AccuracyReport) -> list[tuple[str, ...]]:
    """Rows of the main table: relative errors, and how often the ± held the truth."""
    return [(name, *_figures(trials)) for name, trials in report.cells]


def mistake_rows(report: AccuracyReport) -> list[tuple[str, ...]]:
    """Rows of the table of mistakes."""
    return [(name, *_figures(trials)) for name, trials in report.mistakes]


def parts_by_size(report: AccuracyReport) -> list[tuple[str, Trials]]:
    """All sound cases whose lens is stated, told apart by the size that is measured."""
    every = _stated(report)
    return _parts(every, every.true_mm, SIZES_MM, "mm")


def parts_by_distance(report: AccuracyReport) -> list[tuple[str, Trials]]:
    """The same told apart by distance from the frame's middle, in half diagonals of it."""
    every = _stated(report)
    return _parts(every, every.beyond_frame, BEYOND, "")


def part_rows(report: AccuracyReport) -> list[tuple[str, ...]]:
    """Rows of all sound cases whose lens is stated, by size, place and direction."""
    every = _stated(report)
    parts = [(f"sizes {name}", part) for name, part in parts_by_size(report)]
    parts += [
        (f"{name} half diagonals from the frame's middle", part)
        for name, part in parts_by_distance(report)
    ]
    parts += [("widths", every.part(every.is_width)), ("heights", every.part(~every.is_width))]
    return [(name, *_figures(part)) for name, part in parts]


def _stated(report: AccuracyReport) -> Trials:
    return joined([trials for _, trials in report.cells if trials.circumstances.focal_known])


def _parts(
    every: Trials, by: Array, bounds: Sequence[tuple[float, float]], unit: str
) -> list[tuple[str, Trials]]:
    return [
        (_range(low, high, unit), every.part((by >= low) & (by < high))) for low, high in bounds
    ]


#: What an honest interval of 95 % holds.
HOLDS = (0.93, 0.97)


def rows_that_miss(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Names of the rows whose share within 2 ± is not 93 to 97 %."""
    at = COLUMNS.index(">within 2 ±")
    shares = [(row[0], float(row[at].split()[0]) / 100.0) for row in rows if row[at]]
    return [name for name, share in shares if not HOLDS[0] <= share <= HOLDS[1]]


def _range(low: float, high: float, unit: str) -> str:
    text = f"over {low:g} {unit}" if np.isinf(high) else f"{low:g} to {high:g} {unit}"
    return text.rstrip()


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
    """Write the report and its graphs into a folder."""
    from measure.graphs.accuracy import errors_figure, standardised_figure

    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / "accuracy.md"]
    paths[0].write_text(text_of_report(report), "utf-8")
    by_angle = [
        (_range(*trials.circumstances.obliquity_deg, "°").replace(" °", "°"), trials)
        for _, trials in report.cells[: len(OBLIQUITIES)]
    ]
    for name, figure in (
        ("errors-by-angle.png", errors_figure(by_angle, "angle between view and wall's normal")),
        ("errors-by-size.png", errors_figure(_some(parts_by_size(report)), "size measured")),
        (
            "errors-by-distance.png",
            errors_figure(
                _some(parts_by_distance(report)), "half diagonals from the frame's middle"
            ),
        ),
        ("standardised.png", standardised_figure(_stated(report).standardised)),
    ):
        figure.savefig(folder / name, dpi=120)
        paths.append(folder / name)
    return paths


def _some(parts: list[tuple[str, Trials]]) -> list[tuple[str, Trials]]:
    """Parts with anything in them."""
    return [(name, part) for name, part in parts if len(part.error_mm)]
