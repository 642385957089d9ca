"""Pennywhistle Maltings as card: the demo's survey with the wishes of someone who builds it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from measure.parts.card_plan import CardPlan, plan_survey
from measure.survey_job import SurveyJob, open_survey
from shared.card_wishes import (
    Band,
    CardWishes,
    Extent,
    FaceWish,
    OpeningWish,
    Panes,
    Sill,
    TowerWish,
)

SURVEY = Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "pennywhistle.survey.json"
GAUGE_MM = 76.2

# Levels in courses of the maltings, taken off at each face's datum: 16 courses above the
# pavement on the front, 14 on the wing, 8 on the tower.
PLINTH = Band(label="plinth", foot_mm=-16 * GAUGE_MM, head_mm=-8 * GAUGE_MM, out_mm=60.0)
STRING = Band(label="string course", foot_mm=26 * GAUGE_MM, head_mm=29 * GAUGE_MM, out_mm=70.0)
CORNICE = Band(label="cornice", foot_mm=86 * GAUGE_MM, head_mm=88 * GAUGE_MM, out_mm=90.0)
WING_PLINTH = Band(label="plinth", foot_mm=-14 * GAUGE_MM, head_mm=-6 * GAUGE_MM, out_mm=60.0)
TOWER_STRING = Band(
    label="string course", foot_mm=34 * GAUGE_MM, head_mm=37 * GAUGE_MM, out_mm=60.0
)
TOWER_FILLET = Band(label="upper band", foot_mm=78 * GAUGE_MM, head_mm=80 * GAUGE_MM, out_mm=45.0)


def make_maltings_wishes(**changes: object) -> CardWishes:
    """Wishes for front, wing and tower; keywords replace those of the whole model."""
    front = FaceWish(
        extent=Extent(foot_mm=-16 * GAUGE_MM),
        bands=(PLINTH, STRING, CORNICE),
        sill=Sill(),
        openings={
            "f3-light": OpeningWish(panes=Panes(across=3, up=4)),
            "l2": OpeningWish(fill="board"),
        },
    )
    wing = FaceWish(
        extent=Extent(foot_mm=-14 * GAUGE_MM, head_mm=43.5 * GAUGE_MM, left_mm=-5600.0),
        bands=(WING_PLINTH,),
        sill=Sill(),
    )
    tower = FaceWish(
        extent=Extent(foot_mm=-8 * GAUGE_MM, head_mm=112 * GAUGE_MM),
        reveal_mm=150.0,
        bands=(TOWER_STRING, TOWER_FILLET),
        sill=Sill(),
        tower=TowerWish(meets="front"),
    )
    wishes = CardWishes(
        faces=("front", "wing", "tower"),
        by_face={"front": front, "wing": wing, "tower": tower},
    )
    return wishes.model_copy(update=dict(changes))


@cache
def maltings_job() -> SurveyJob:
    """The demo's survey, measured once."""
    job = open_survey(SURVEY)
    job.measure(stop_at_problem=False)
    return job


def make_maltings_plan(scale: str | None = None, **changes: object) -> CardPlan:
    """Parts of the demo, at its own scale unless told otherwise."""
    job = maltings_job()
    return plan_survey(job, job.measure(), make_maltings_wishes(**changes), scale=scale)
