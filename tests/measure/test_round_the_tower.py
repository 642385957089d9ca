"""Straight widths on a tower, and how far round it things stand."""

import math

import numpy as np
import pytest

from measure.evaluate import evaluate
from measure.features import distance, opening
from measure.features.chart_points import ChartPoints
from shared.survey import Survey
from tests.rectify.test_towers import RADIUS, Tower, lonely_camera
from tests.support.surveyed import Hand, facts

LEFT, RIGHT = -0.35, 0.25
CORNERS = [(LEFT, 4800.0), (RIGHT, 4800.0), (RIGHT, 3300.0), (LEFT, 3300.0)]
#: Of the upright that a datum is picked on.
UPRIGHT = -0.6


def points(*chart, **more):
    u, v = zip(*chart, strict=True)
    return ChartPoints(list(u), list(v), 0.0, np.eye(2 * len(u)), **more)


def measured(u_px=0.0, seed=0, said=None, datum=False):
    """Sizes and ± of a window in a tower on its own, and of a distance round it."""
    hand = Hand(lonely_camera(), u_px=u_px, seed=seed, said_u_px=said)
    tower = Tower(hand)
    raw = tower.raw(
        measures=[
            {"id": "w", "kind": "opening", "at": tower.picks(CORNERS)},
            {"id": "d", "kind": "distance", "at": tower.picks([(-0.5, 3000.0), (0.5, 3000.0)])},
        ]
    )
    if datum:
        raw["datum"] = tower.picks([(UPRIGHT, 1500.0)])[0]
    photo = {"id": "street", "file": "street.jpg"}
    survey = Survey.model_validate({"title": "Kiln", "photos": [photo], "faces": [raw]})
    results = evaluate(survey, {"street": facts(hand.camera)})
    return results.faces["tower"].measures


def test_sixth_of_a_tower_is_as_wide_across_as_its_radius():
    """The side of a hexagon is the radius of the circle round it."""
    arc = 1200.0 * math.pi / 3
    sizes = opening.sizes(points((0, 900), (arc, 900), (arc, 0), (0, 0), radius=1200.0))
    assert sizes["width_mm"] == pytest.approx(arc)
    assert sizes["chord_mm"] == pytest.approx(1200.0)
    assert sizes["turn_deg"] == pytest.approx(30.0)


def test_distance_between_levels_of_a_tower_goes_straight_through():
    """Half round and as far up as the diameter: the diagonal of a square."""
    sizes = distance.sizes(points((0, 0), (1000.0 * math.pi, 2000.0), radius=1000.0))
    assert sizes["chord_mm"] == pytest.approx(2000.0 * math.sqrt(2.0))


def test_round_window_is_as_wide_across_as_its_chord():
    rim = [(300 * math.cos(a), 300 * math.sin(a)) for a in np.linspace(0.0, 5.0, 6)]
    sizes = opening.sizes(points(*rim, radius=900.0), head="round")
    assert sizes["chord_mm"] == pytest.approx(1800.0 * math.sin(300.0 / 900.0))


def test_flat_walls_have_neither():
    sizes = opening.sizes(points((0, 900), (700, 900), (700, 0), (0, 0)))
    assert not {"chord_mm", "turn_deg"} & sizes.keys()


def test_window_of_a_tower_is_told_straight_and_round():
    window, across = measured()["w"], measured()["d"]
    assert window.size("width_mm") == pytest.approx((RIGHT - LEFT) * RADIUS, rel=3e-4)
    chord = 2 * RADIUS * math.sin((RIGHT - LEFT) / 2)
    assert window.size("chord_mm") == pytest.approx(chord, rel=3e-4)
    assert across.size("chord_mm") == pytest.approx(2 * RADIUS * math.sin(0.5), rel=3e-4)


def test_angles_count_from_where_the_datum_is_picked():
    turn = math.degrees((LEFT + RIGHT) / 2 - UPRIGHT)
    assert measured(datum=True)["w"].size("turn_deg") == pytest.approx(turn, abs=0.02)


def test_spread_of_straight_widths_and_angles_holds_in_forty_trials():
    off = []
    for seed in range(40):
        window = measured(u_px=1.0, seed=seed, said=1.0, datum=True)["w"]
        true = {
            "chord_mm": 2 * RADIUS * math.sin((RIGHT - LEFT) / 2),
            "turn_deg": math.degrees((LEFT + RIGHT) / 2 - UPRIGHT),
        }
        off.append([(window.size(key) - true[key]) / window.u_of(key) for key in true])
    rms = np.sqrt(np.mean(np.square(off), axis=0))
    # 40 trials scatter the rms by a ninth; the ± also holds a camera worse than this one
    assert (rms > 0.3).all()
    assert (rms < 1.3).all()
