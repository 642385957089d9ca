"""Graphs of the accuracy report."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure

from measure.accuracy.trials import Trials
from shared.jets import Array

INK, CHALK = "#22303A", "#1F6A99"


def errors_figure(parts: Sequence[tuple[str, Trials]], told_apart_by: str) -> Figure:
    """Relative errors of several parts side by side: median, three quarters, 95 %."""
    figure = Figure(figsize=(6.4, 4.0), layout="constrained")
    axes = figure.add_subplot()
    for place, (_, trials) in enumerate(parts):
        q50, q75, q95 = (100 * trials.relative_quantile(share) for share in (0.5, 0.75, 0.95))
        axes.plot([place, place], [0, q95], color=INK, lw=1)
        axes.plot([place, place], [0, q75], color=CHALK, lw=6, solid_capstyle="butt")
        axes.plot([place - 0.2, place + 0.2], [q50, q50], color=INK, lw=2)
    axes.set_xticks(range(len(parts)), [name for name, _ in parts])
    axes.set_xlim(-0.5, len(parts) - 0.5)
    axes.set_xlabel(told_apart_by)
    axes.set_ylabel("error, % (tick: median, bar: 75 %, line: 95 %)")
    axes.set_ylim(bottom=0)
    return figure


def standardised_figure(standardised: Array) -> Figure:
    """Errors over their ± beside the bell curve that an honest ± gives."""
    figure = Figure(figsize=(6.4, 4.0), layout="constrained")
    axes = figure.add_subplot()
    axes.hist(standardised, bins=list(np.linspace(-4, 4, 33)), density=True, color=CHALK, alpha=0.5)
    x = np.linspace(-4, 4, 161)
    axes.plot(x, np.exp(-(x**2) / 2) / np.sqrt(2 * np.pi), color=INK)
    axes.set_xlabel("error over its ±")
    axes.set_ylabel("how often")
    return figure
