"""Arches of voussoirs: struck from the right centres, parted evenly, over openings of each form."""

import math

import pytest

from measure.elevation.details.arches import intrados_of
from measure.elevation.drawing import Circle, Path, Polyline
from tests.support.facades import alone, arched, drawn, window


@pytest.mark.parametrize(
    ("form", "rise", "radius"),
    [
        ("semicircular", 500.0, 500.0),
        # r = s^2 / 8h + h / 2 = 1 000 000 / 1200 + 75
        ("segmental", 150.0, 1_000_000 / 1200 + 75),
        # equilateral: struck from the opposite springing
        ("pointed", 500 * math.sqrt(3), 1000.0),
    ],
)
def test_intrados_has_the_radius_of_its_form(form: str, rise: float, radius: float) -> None:
    for arc in intrados_of(arched(form, rise)):
        assert arc.radius_mm == pytest.approx(radius)


@pytest.mark.parametrize("form", ["semicircular", "segmental", "pointed"])
@pytest.mark.parametrize("count", [7, 12])
def test_joints_part_the_intrados_evenly_and_run_to_its_centre(form: str, count: int) -> None:
    rise = {"semicircular": 500.0, "segmental": 150.0, "pointed": 500 * math.sqrt(3)}[form]
    opening = arched(form, rise)
    made = drawn(alone(opening), {"kind": "voussoirs", "count": count, "depth_mm": 225})
    joints = [item for item in made if isinstance(item, Polyline)]
    assert len(joints) == count - 1
    arcs = intrados_of(opening)
    for joint in joints:
        foot, end = joint.points_mm
        arc = min(arcs, key=lambda a: abs(math.dist(foot, a.centre_mm) - a.radius_mm))
        assert math.dist(foot, arc.centre_mm) == pytest.approx(arc.radius_mm)
        plumb = form == "pointed" and abs(foot[0] - 5000.0) < 1e-6
        if not plumb:
            assert math.dist(foot, end) == pytest.approx(225.0)
            assert math.dist(end, arc.centre_mm) == pytest.approx(arc.radius_mm + 225.0)


def test_extrados_of_a_free_arch_is_a_true_arc() -> None:
    made = drawn(alone(arched("semicircular", 500.0)), {"kind": "voussoirs"})
    (outer,) = (item for item in made if isinstance(item, Path))
    assert not outer.closed
    assert len(outer.segments) == 3


def test_keystone_stands_over_the_extrados() -> None:
    wish = {"kind": "voussoirs", "count": 9, "depth_mm": 200, "keystone": True}
    made = drawn(alone(arched("semicircular", 500.0)), wish)
    tops = [max(p[1] for p in item.points_mm) for item in made if isinstance(item, Polyline)]
    # crown 3500, depth 200, and a fifth of it more, a little less beside the axis
    assert 3700.0 < max(tops) < 3740.0


def test_round_window_has_a_ring_of_voussoirs() -> None:
    opening = window("o1", 5000.0, 3000.0, width=900.0, height=900.0, form="round")
    made = drawn(alone(opening), {"kind": "voussoirs", "count": 16, "depth_mm": 150})
    (ring,) = (item for item in made if isinstance(item, Circle))
    assert ring.radius_mm == 600.0
    assert len(made) == 17


def test_flat_arch_spreads_by_its_skew_and_its_joints_meet_in_one_point() -> None:
    wish = {"kind": "voussoirs", "of": ["w1"], "count": 5, "depth_mm": 300, "skew_deg": 20}
    made = drawn(alone(window("w1", 5000.0, 1000.0)), wish)
    joints = [item.points_mm for item in made if isinstance(item, Polyline)]
    meet = 500.0 / math.tan(math.radians(20.0))  # below the head
    assert len(joints) == 4
    for (u0, v0), (u1, v1) in joints:
        slope = (u1 - u0) / (v1 - v0)
        assert u0 - slope * meet == pytest.approx(5000.0)
