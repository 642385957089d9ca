"""Pennywhistle Maltings as card: the demo's survey with the wishes of someone who builds it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from measure.parts.card_plan import CardPlan, plan_survey
from measure.survey_job import SurveyJob, open_survey
from shared.card_wishes import CardWishes

SURVEY = Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "pennywhistle.survey.json"


def make_maltings_wishes(**changes: object) -> CardWishes:
    """Wishes of the demo for front, wing and tower; keywords replace those of the whole model."""
    wishes = maltings_job().survey.card
    assert wishes is not None, "the demo lost its card wishes"
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
