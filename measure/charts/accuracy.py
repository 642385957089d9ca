"""Plots of the accuracy report."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure

from measure.accuracy.trials import Trials
from shared.jets import Array

INK, CHALK = "#22303A", "#1F6A99"


def errors_figure(cells: Sequence[Trials]) -> Figure:
    """Relative errors by how obliquely the wall is seen: median, middle half, 95 %."""
    figure = Figure(figsize=(6.4, 4.0), layout="constrained")
    axes = figure.add_subplot()
    for place, trials in enumerate(cells):
        errors = 100 * np.abs(trials.error_mm) / trials.true_mm
        q50, q75, q95 = np.quantile(errors, [0.5, 0.75, 0.95])
        axes.plot([place, place], [0, q95], color=INK, lw=1)
        axes.plot([place, place], [0, q75], color=CHALK, lw=6, solid_capstyle="butt")
        axes.plot([place - 0.2, place + 0.2], [q50, q50], color=INK, lw=2)
    bounds = [trials.circumstances.obliquity_deg for trials in cells]
    axes.set_xticks(range(len(cells)), [f"{low:.0f} to {high:.0f}°" for low, high in bounds])
    axes.set_xlabel("angle between view and wall's normal")
    axes.set_ylabel("error of an opening, % (bar: 75 %, line: 95 %, tick: median)")
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
