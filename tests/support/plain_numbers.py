"""Numbers of an invented face without a photo: openings on a grid, with any covariance."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from measure.elevation.quantities import LevelColumn, OpeningColumns, PointColumns, Quantities


def plain_numbers(
    openings: Sequence[tuple[str, str, float, float, float, float, float]],
    *,
    u_mm: float = 5.0,
    cov: np.ndarray | None = None,
    levels: Sequence[tuple[str, float]] = (),
    outline: Sequence[tuple[float, float]] = (),
) -> Quantities:
    """Numbers from (id, form, left, right, sill, springing, head); each ± `u_mm` by itself."""
    names: list[str] = []
    values: list[float] = []
    places: list[OpeningColumns] = []

    def add(name: str, value: float) -> int:
        names.append(name)
        values.append(value)
        return len(names) - 1

    for id_, form, left, right, sill, springing, head in openings:
        at: dict[str, Any] = {
            "left": add(f"{id_}.left", left),
            "right": add(f"{id_}.right", right),
            "sill": add(f"{id_}.sill", sill),
        }
        if springing != head:
            at["springing"] = add(f"{id_}.springing", springing)
        at["head"] = add(f"{id_}.head", head)
        at.setdefault("springing", at["head"])
        places.append(OpeningColumns(id_, id_.upper(), form, **at))
    level_places = [LevelColumn(name, name, add(f"{name}.level", v)) for name, v in levels]
    points = []
    if outline:
        u = [add(f"o1.{n}.u", point[0]) for n, point in enumerate(outline, start=1)]
        v = [add(f"o1.{n}.v", point[1]) for n, point in enumerate(outline, start=1)]
        points.append(PointColumns("o1", "wall", "outline", tuple(u), tuple(v)))
    if cov is None:
        cov = np.diag(np.full(len(names), u_mm**2))
    return Quantities(
        tuple(names),
        np.array(values, dtype=float),
        np.asarray(cov, dtype=float),
        tuple(places),
        tuple(level_places),
        tuple(points),
    )


def grid(
    columns: int, rows: int, *, noise: np.ndarray | None = None, u_mm: float = 5.0
) -> Quantities:
    """Flat windows 1000 by 1500, 1900 apart along the wall and 2600 apart up it."""
    made = [
        (f"w{row}{column}", "flat", 1900.0 * column, 1900.0 * column + 1000.0,
         2600.0 * row, 2600.0 * row + 1500.0, 2600.0 * row + 1500.0)
        for row in range(rows)
        for column in range(columns)
    ]  # fmt: skip
    numbers = plain_numbers(made, u_mm=u_mm)
    if noise is None:
        return numbers
    return Quantities(numbers.names, numbers.values + noise, numbers.cov, numbers.openings)
