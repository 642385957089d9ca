"""Courses and the perpends of bonds."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from measure.elevation.details.brickwork import perpend_places
from tests.support.facades import alone, drawn, small_front


@pytest.mark.parametrize("bond", ["stretcher", "english", "flemish", "english-garden-wall"])
def test_no_perpend_stands_over_another(bond: str) -> None:
    """What a bond is for: joints of neighbouring courses are a quarter brick apart at least."""
    rows = [np.array(perpend_places(bond, course, 225.0, 3, 3000.0)) for course in range(12)]
    for low, high in pairwise(rows):
        apart = np.abs(low[:, None] - high[None, :]).min()
        assert apart >= 225.0 / 4.0 - 1e-6


@pytest.mark.parametrize(
    ("bond", "faces"),
    [
        # to a module of 225: stretchers 1, headers 2, Flemish a stretcher and a header on 337.5
        ("stretcher", [1, 1]),
        ("english", [1, 2]),
        ("flemish", [4 / 3, 4 / 3]),
        ("english-garden-wall", [1, 1, 1, 2]),
    ],
)
def test_courses_show_as_many_faces_as_their_bond_says(bond: str, faces: list) -> None:
    modules = 300
    for course in range(8):
        found = len(perpend_places(bond, course, 225.0, 3, 225.0 * modules))
        # a closer at the one end and a cut at the other: two more or less on the whole length
        assert found == pytest.approx(faces[course % len(faces)] * modules, abs=2)


def test_courses_lie_at_the_gauge_from_the_foot() -> None:
    made = drawn(alone(), {"kind": "course-lines", "gauge_mm": 75})
    levels = sorted({item.points_mm[0][1] for item in made})
    assert levels[:3] == pytest.approx([75.0, 150.0, 225.0])
    assert len(levels) == 93  # 7000 / 75 = 93.3


def test_courses_keep_the_levels_that_were_read() -> None:
    facade = small_front()
    read = (0.0, 74.0, 151.0, 224.0)
    facade = replace(facade, openings=(), courses=(replace(facade.courses[0], joints_mm=read),))
    made = drawn(facade, {"kind": "course-lines", "measure": "c1"})
    levels = sorted({item.points_mm[0][1] for item in made})
    assert levels[:4] == pytest.approx([74.0, 151.0, 224.0, 299.0])


# Pipes
