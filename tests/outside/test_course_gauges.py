"""Course lines of an elevation against published gauges of brickwork, and sheets against scales.

Sources
-------
British metric brick 215 x 102.5 x 65 (BS EN 771-1) with a joint of 10: a course of 75, four to
300 (read in several trade pages).
DIN 4172 and DIN 105 (read in summaries): NF 12 courses to the metre, DF 16, 2DF 8.
BIA Technical Note 10B (1993, reissued 2001; read): modular brick, 3 courses to 8 inches.
ISO 5455:1979: designation "SCALE 1:x" (read); reductions recommended (from memory).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from pydantic import TypeAdapter

from measure.elevation.annotate import paper_primitives
from measure.elevation.details.brickwork import course_levels
from measure.elevation.details.ground import Ground
from measure.elevation.draw_facade import draw_facade
from measure.elevation.facade import DrawnOutline
from measure.elevation.primitives import Stroke, box_of
from measure.elevation.title_block import scale_in_words
from shared.survey_details import Detail
from tests.support.facades import alone

WALL_MM = 3048.0  # 10 feet, and more than 3 m


def joints_of(gauge_mm: float) -> np.ndarray:
    """Levels of the bed joints of a wall laid to a gauge from its foot."""
    outline = ((0.0, 0.0), (5000.0, 0.0), (5000.0, WALL_MM), (0.0, WALL_MM))
    facade = replace(alone(), outlines=(DrawnOutline("o1", outline),))
    wish = TypeAdapter(Detail).validate_python({"kind": "course-lines", "gauge_mm": gauge_mm})
    return np.array(course_levels(wish, Ground(facade, 76.0)))


@pytest.mark.parametrize(
    ("gauge_mm", "courses", "rise_mm"),
    [
        (75.0, 4, 300.0),
        (75.0, 12, 900.0),
        (1000.0 / 12.0, 12, 1000.0),
        (62.5, 16, 1000.0),
        (125.0, 8, 1000.0),
        (8.0 * 25.4 / 3.0, 3, 8.0 * 25.4),
    ],
    ids=["BS 4", "BS 12", "DIN NF", "DIN DF", "DIN 2DF", "modular 3"],
)
def test_so_many_courses_rise_as_published(gauge_mm, courses, rise_mm):
    joints = joints_of(gauge_mm)
    assert joints[courses] - joints[0] == pytest.approx(rise_mm)
    # and at every place up the wall
    assert np.allclose(joints[courses:] - joints[:-courses], rise_mm)


def test_three_metres_of_din_normal_format_have_36_courses():
    assert int((joints_of(1000.0 / 12.0) <= 3000.0 + 1e-6).sum()) == 36 + 1


@pytest.mark.parametrize("denominator", [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000])
def test_a_wall_is_drawn_at_the_reductions_of_iso_5455(denominator):
    # the drawing alone: at 1:1 no sheet holds it
    drawing = draw_facade(alone(), float(denominator), title="Pennywhistle Maltings")
    (outline,) = (
        item
        for item in paper_primitives(drawing, float(denominator))
        if isinstance(item, Stroke) and item.layer == "outline"
    )
    box = box_of(outline).grown(-outline.width_mm / 2.0)
    assert box.width_mm == pytest.approx(10_000.0 / denominator)
    assert box.height_mm == pytest.approx(7_000.0 / denominator)
    assert scale_in_words(float(denominator)) == f"SCALE 1:{denominator}"
