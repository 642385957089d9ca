"""An invented terrace seen square enough to measure: many openings, levels, an outline."""

from __future__ import annotations

from typing import Any

import numpy as np

from rectify.solution import PhotoFacts
from shared.survey import Survey
from tests.support.scenes import SceneCamera, picks, rectangle

RISES = {"flat": 0.0, "segmental": 150.0, "semicircular": 500.0}
Truth = dict[str, tuple[float, float, float, float, float]]


def long_terrace(
    columns: int, rows: int, *, sigma_px: float, seed: int
) -> tuple[Survey, dict[str, PhotoFacts], Truth]:
    """Survey, facts of its photo, and (left, right, sill, springing, head) of each opening."""
    camera = SceneCamera(
        focal_px=3000.0,
        width_px=6000,
        height_px=4500,
        yaw_deg=6.0,
        pitch_deg=9.0,
        centre_mm=(14000.0, 1600.0, 52000.0),
    )
    rng = np.random.default_rng(seed)

    def noisy(points: Any) -> list[list[float]]:
        px = camera.project_wall(np.asarray(points, dtype=float))
        return picks(px + rng.normal(0.0, sigma_px, px.shape))

    measures: list[dict[str, Any]] = []
    truth: Truth = {}
    for row in range(rows):
        head = list(RISES)[row % 3]
        for column in range(columns):
            u, v, rise = 1000.0 + column * 1900.0, 900.0 + row * 2600.0, RISES[head]
            id_ = f"w{row}-{column}"
            truth[id_] = (u, u + 1000.0, v, v + 1500.0, v + 1500.0 + rise)
            one = {
                "id": id_,
                "kind": "opening",
                "head": head,
                "at": noisy(rectangle(u, v, u + 1000.0, v + 1500.0)),
            }
            if rise:
                one["head_at"] = noisy([[u + 500.0, v + 1500.0 + rise]])
            measures.append(one)
    width, height = 1000.0 + columns * 1900.0, rows * 2600.0 + 1500.0
    measures.append(
        {"id": "o1", "kind": "outline", "at": noisy(rectangle(0.0, 0.0, width, height))}
    )
    for row in range(rows):
        at = noisy([[300.0, 900.0 + row * 2600.0]])
        measures.append({"id": f"h{row}", "kind": "level", "at": at})
    top = (rows - 1) * 2600.0 + 2400.0
    face = {
        "id": "front",
        "photo": "street",
        "frame": noisy(rectangle(1000.0, 900.0, columns * 1900.0 + 100.0, top)),
        "references": [
            {
                "kind": "length",
                "at": noisy([[1000.0, 500.0], [1000.0 + min(10000.0, width - 1900.0), 500.0]]),
                "length_mm": min(10000.0, width - 1900.0),
                "u_mm": 10,
            }
        ],
        "measures": measures,
    }
    survey = Survey.model_validate(
        {"title": "Terrace", "photos": [{"id": "street", "file": "s.jpg"}], "faces": [face]}
    )
    focal_35mm = 3000.0 * 43.2666153 / 7500.0
    return survey, {"street": PhotoFacts("street", 6000, 4500, focal_35mm)}, truth
