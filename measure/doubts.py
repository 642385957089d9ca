"""Warnings beside results: what is usable but should be known."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from measure.results import MeasureResult
from rectify.diagnosis import find_suspects, weak_points
from rectify.solution import Charted, Solution
from shared.survey import Face, Measure, OpeningMeasure

#: What a knife cuts to on card (common practice, no source).
KNIFE_MM = 0.2

#: A usual depth from wall face to glass (common practice, no source).
USUAL_REVEAL_MM = 100.0


def doubts_of_photo(solution: Solution, faces: Sequence[Face]) -> tuple[str, ...]:
    """Suspect picks first, then what is weak."""
    suspects = [suspect.sentence for suspect in find_suspects(solution)[:5]]
    return tuple(suspects + weak_points(solution))


def doubts_of_measure(
    measure: Measure,
    result: MeasureResult,
    charted: Charted,
    rows: Sequence[int],
    denominator: float,
) -> list[str]:
    """Say what should be known of one measure."""
    out: list[str] = []
    if isinstance(measure, OpeningMeasure) and measure.at_glass and measure.set_back_mm == 0.0:
        distance_mm = _distance_mm(charted, rows)
        share = USUAL_REVEAL_MM / (distance_mm + USUAL_REVEAL_MM)
        low = share * result.size("width_mm")
        out.append(
            f"Picked at the glass with no set-back: glass {USUAL_REVEAL_MM:.0f} mm behind the wall "
            f"would make it {low:.0f} mm wider than this. Give its set-back."
        )
    u_model = [
        u / denominator
        for key, u in result.u.items()
        if key in ("width_mm", "height_mm", "length_mm") and isinstance(u, float)
    ]
    if u_model and max(u_model) > KNIFE_MM:
        out.append(
            f"Good to ±{max(u_model):.2f} mm on the model, more than a knife's {KNIFE_MM:g} mm."
        )
    return out


def _distance_mm(charted: Charted, rows: Sequence[int]) -> float:
    """Distance of the camera from the face, square to it, near the picks."""
    surface = charted.solution.surface(charted.faces[rows[0]])
    _, pose = charted.solution.camera_and_pose
    u, v = np.mean(charted.chart_mm[list(rows)], axis=0)
    here = surface.building_mm_from_chart(float(u), float(v))
    behind = surface.building_mm_from_chart(float(u), float(v), 1.0)
    normal = [float(a) - float(b) for a, b in zip(here, behind, strict=True)]
    gap = [float(c) - float(h) for c, h in zip(pose.centre_mm, here, strict=True)]
    return abs(math.fsum(n * g for n, g in zip(normal, gap, strict=True)))
