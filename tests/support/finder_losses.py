"""At which step of the search the openings of a picture get lost."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from measure.finding import choose as choosing
from measure.finding.edges import find_edges, upright_runs
from measure.finding.jambs import best_in_each_place, find_candidates
from measure.finding.picture import BoxMeans, Floats, WallPicture
from measure.finding.pool import Looker
from measure.finding.wall_tone import wall_likeness
from measure.opening_finder import find_in_picture
from tests.support.front_matches import RIGHT, overlap

STEPS = ("jambs", "tone", "sill or lintel", "best of place", "head",
         "clearness", "choice", "found")  # fmt: skip


@dataclass(frozen=True)
class TrueBox:
    """An opening in pixels, rows counting down; `springing` is `top` where the head is flat."""

    left: float
    top: float
    right: float
    low: float
    springing: float

    @property
    def box(self) -> tuple[float, float, float, float]:
        return self.left, self.top, self.right, self.low


def true_boxes(front) -> list[TrueBox]:
    """Openings of an invented front that nothing hides."""
    mm, tall = front.mm_per_px, front.rgb.shape[0]
    return [
        TrueBox(
            one.left_mm / mm,
            tall - one.top_mm / mm,
            one.right_mm / mm,
            tall - one.sill_mm / mm,
            tall - one.springing_mm / mm,
        )
        for one in front.openings
        if not one.hidden
    ]


def count_losses(
    picture: WallPicture, truth: Sequence[TrueBox], core: Floats | None = None
) -> Counter[str]:
    """Count by the first step at which an opening is lost; by ``found`` those that are found."""
    return Counter(lost_at(picture, truth, core))


def lost_at(
    picture: WallPicture, truth: Sequence[TrueBox], core: Floats | None = None
) -> list[str]:
    """Step at which each opening is lost."""
    like = wall_likeness(picture, core)
    wall = BoxMeans(like)
    edges = find_edges(picture)
    runs = upright_runs(picture, edges)
    looker = Looker(picture, edges, like)
    every = find_candidates(picture, edges, runs, looker.meter)
    kept = best_in_each_place(picture, every)
    pool = choosing.gather(looker, every)
    whole, score = pool.box, choosing.weigh_in_company(picture, pool)
    found = [one.box for one in find_in_picture(picture, None, core)]
    near = picture.px(70.0, 4)
    out = []
    for true in truth:
        if _any(found, true.box):
            out.append("found")
            continue
        bare = (true.left, true.springing, true.right, true.low)
        near_side = picture.px(300.0)
        within = wall(true.left, true.top, true.right, true.low)
        sides = [
            wall(true.left - near_side, true.top, true.left - 3, true.low),
            wall(true.right + 3, true.top, true.right + near_side, true.low),
        ]
        ends = (np.minimum(runs.low, true.low) - np.maximum(runs.top, true.springing)) > 0.5 * (
            true.low - true.springing
        )
        jambs = [np.any(ends & (np.abs(runs.x - x) <= near)) for x in (true.left, true.right)]
        if not all(jambs):
            step = "jambs"
        elif not _any(every.box, bare, 0.6) and not _any(every.box, true.box):
            step = "tone" if within > 0.5 or min(sides) < 0.15 else "sill or lintel"
        elif not _any(kept.box, bare, 0.6) and not _any(kept.box, true.box):
            step = "best of place"
        elif not _any(whole, true.box):
            step = "head"
        elif max(s for s, w in zip(score, whole, strict=True) if overlap(w, true.box) > RIGHT) < (
            choosing.LEAST_LOGIT
        ):
            step = "clearness"
        else:
            step = "choice"
        out.append(step)
    return out


def _any(boxes, true: tuple[float, float, float, float], least: float = RIGHT) -> bool:
    return any(overlap(tuple(box), true) > least for box in boxes)
