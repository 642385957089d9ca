"""The build order forgets no kind of part that the demo's sheets hold."""

from __future__ import annotations

from dataclasses import replace

import pytest

from measure.parts.build_order import build_order_text
from measure.parts.card_plan import CardPlan
from tests.support.maltings_card import make_maltings_plan


@pytest.fixture(scope="module")
def plan() -> CardPlan:
    return make_maltings_plan()


def test_each_kind_of_part_is_spoken_of_in_the_build_order(plan):
    roles = {part.role for part in plan.parts}
    assert len(roles) > 8
    unspoken = [
        role
        for role in sorted(roles)
        if build_order_text(replace(plan, parts=tuple(p for p in plan.parts if p.role != role)))
        == build_order_text(plan)
    ]
    assert unspoken == []
