"""Roof slopes from the street: pitch solved or given, verges, ridge heights, rafters."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from measure.evaluate import evaluate
from measure.results import json_from_results
from rectify.adjust import solve_photo
from shared.errors import DegenerateError, FieldError, UnderdeterminedError
from shared.survey import Survey
from tests.rectify.test_residuals import HEADING, HINGE_U, WIDE, whole_building
from tests.support.surveyed import Hand, face, facts, street_camera, street_front

EAVES_MM, OVERHANG_MM, PITCH_DEG = 5600.0, 250.0, 38.0

#: Far, looking up, wide enough for the roof.
CAMERA = {**WIDE, "pitch_deg": 14.0, "centre_mm": (-3000.0, 1600.0, 17_000.0)}


def roof_point(u, s, pitch_deg=PITCH_DEG, overhang=OVERHANG_MM):
    """A point of the slope, `s` up it from the eaves."""
    pitch = np.radians(pitch_deg)
    return [u, EAVES_MM + s * np.sin(pitch), overhang - s * np.cos(pitch)]


def eaves(hand, **more):
    at = hand.at([roof_point(u, 0.0) for u in (-4000.0, 0.0, 4100.0)])
    return {"face": "front", "at": at, "set_back_mm": -OVERHANG_MM, **more}


def roof(hand, surface=None, **more):
    """A slope with its left verge, its ridge and what is measured on it."""
    verge = [(-4300.0, s) for s in (300.0, 2000.0, 4300.0)]
    measures = [
        {"id": "verge", "kind": "distance", "at": hand.at([roof_point(-4300, 0),
                                                           roof_point(-4300, 4300)])},
        {"id": "ridge", "kind": "level", "at": hand.at([roof_point(1000, 4300)])},
        {"id": "light", "kind": "opening",
         "at": hand.at([roof_point(*p) for p in ((500, 2600), (1280, 2600), (1280, 1620),
                                                 (500, 1620))])},
    ]  # fmt: skip
    return {
        "id": "roof", "photo": "street",
        "surface": {"kind": "roof", "eaves": eaves(hand), **(surface or {})},
        "guides": [{"kind": "verge", "at": hand.at([roof_point(*p) for p in verge])},
                   {"kind": "level", "at": hand.at([roof_point(u, 4300) for u in (-4300, 3900)])}],
        "measures": measures, **more,
    }  # fmt: skip


def measured(camera, *raw):
    survey = Survey.model_validate(
        {"photos": [{"id": "street", "file": "x.jpg"}], "faces": list(raw)}
    )
    return evaluate(survey, {"street": facts(camera)})


def test_pitch_verge_and_ridge_are_found_exactly():
    camera = street_camera(**CAMERA)
    hand = Hand(camera)
    results = measured(camera, street_front(hand), roof(hand))
    told = json_from_results(results)["faces"]["roof"]
    assert told["pitch_deg"] == pytest.approx(PITCH_DEG, abs=0.02)
    assert 0.0 < told["u_pitch_deg"] < 3.0
    sizes = {name: m.sizes for name, m in results.faces["roof"].measures.items()}
    assert sizes["verge"]["length_mm"] == pytest.approx(4300.0, rel=3e-4)
    # levels count from the front's datum, the lowest pick of its frame at 300
    ridge = EAVES_MM + 4300.0 * np.sin(np.radians(PITCH_DEG)) - 300.0
    assert sizes["ridge"]["level_mm"] == pytest.approx(ridge, rel=2e-4)
    assert sizes["light"]["height_mm"] == pytest.approx(980.0, rel=5e-4)
    assert sizes["light"]["width_mm"] == pytest.approx(780.0, rel=5e-4)
    # up the slope from the eaves
    assert sizes["light"]["sill_mm"] == pytest.approx(1620.0, rel=1e-3)


def test_given_pitch_does_without_verges_and_brings_its_own_uncertainty():
    camera = street_camera(**CAMERA)
    hand = Hand(camera, said_u_px=0.2)
    u = []
    for u_deg in (0.1, 1.5):
        raw = roof(hand, {"pitch_deg": PITCH_DEG, "u_pitch_deg": u_deg}, guides=[])
        raw["measures"] = raw["measures"][:2]
        results = measured(camera, street_front(hand), raw)
        verge = results.faces["roof"].measures["verge"]
        assert verge.size("length_mm") == pytest.approx(4300.0, rel=3e-4)
        u.append(verge.u_of("length_mm"))
    # seen so flat, 1.5 degrees are a third of a metre up the slope
    assert np.sqrt(u[1] ** 2 - u[0] ** 2) > 250.0


def test_given_pitch_that_the_verge_contradicts_is_named_in_degrees():
    from rectify.diagnosis import find_suspects

    camera = street_camera(**CAMERA)
    hand = Hand(camera, said_u_px=0.2)
    raw = roof(hand, {"pitch_deg": 48.0, "u_pitch_deg": 0.5})
    solution = solve_photo(facts(camera), [face(street_front(hand)), face(raw)])
    said = " ".join(suspect.sentence for suspect in find_suspects(solution))
    assert "given pitch of face 'roof'" in said
    assert "48 °" in said


def test_roof_over_a_wing_follows_the_wing():
    camera = street_camera(**{**CAMERA, "yaw_deg": 12.0})
    hand = Hand(camera)
    front, _, wing, _ = whole_building(hand)
    along = np.array([np.cos(HEADING), 0.0, np.sin(HEADING)])
    out = np.array([-np.sin(HEADING), 0.0, np.cos(HEADING)])
    pitch = np.radians(45.0)

    def point(u, s):
        at = np.array([HINGE_U, 4800.0, 0.0]) + u * along
        return at + s * (np.sin(pitch) * np.array([0, 1, 0]) - np.cos(pitch) * out)

    raw = {
        "id": "slope", "photo": "street",
        "surface": {"kind": "roof", "eaves": {"face": "wing", "at": hand.at(
            [point(u, 0) for u in (200, 3300)])}},
        "frame": hand.at([point(*p) for p in ((300, 2400), (3200, 2400), (3200, 200), (300, 200))]),
    }  # fmt: skip
    solution = solve_photo(facts(camera), [front, wing, face(raw)])
    assert np.degrees(solution.value_and_u("slope", "pitch")[0]) == pytest.approx(45.0, abs=0.05)
    chart = solution.charted("slope", face(raw).frame).chart_mm
    assert_allclose(chart[0] - chart[3], [0.0, 2200.0], atol=3.0)


def test_intervals_of_a_roof_hold():
    """60 drawn cameras, 1 px picks: pitch, verge and ridge height, three for each."""
    rng = np.random.default_rng(8)
    inside = []
    for seed in range(60):
        shift = tuple(rng.normal(0, 75.0, 2))
        told = street_camera(**CAMERA)
        camera = street_camera(**{**CAMERA, "focal_px": 1900 * np.exp(rng.normal(0, 0.03))},
                               k1=rng.normal(0, 0.01), principal_shift_px=shift)  # fmt: skip
        hand = Hand(camera, u_px=1.0, seed=seed)
        front = street_front(hand, openings={})
        front["references"][0]["length_mm"] += rng.normal(0, 5.0)
        survey = Survey.model_validate(
            {"photos": [{"id": "street", "file": "x"}], "faces": [front, roof(hand)]}
        )
        results = evaluate(survey, {"street": facts(told)})
        pitch, u = results.photos["street"].solution.value_and_u("roof", "pitch")
        inside.append(abs(np.degrees(pitch) - PITCH_DEG) <= 1.96 * np.degrees(u))
        m = results.faces["roof"].measures
        ridge = EAVES_MM + 4300.0 * np.sin(np.radians(PITCH_DEG)) - 300.0
        for name, key, true in (("verge", "length_mm", 4300.0), ("ridge", "level_mm", ridge)):
            inside.append(abs(m[name].size(key) - true) <= 1.96 * m[name].u_of(key))
    assert np.mean(inside) >= 0.89  # 180 shares that hang together, three by three


def _leaning(hand):
    return {**eaves(hand), "at": hand.at([roof_point(-4000, 0), roof_point(-3600, 3000)])}


REFUSED = [
    ("no pitch", lambda h: roof(h, guides=[], measures=[]), UnderdeterminedError,
     "nothing to find its pitch by"),
    ("level line alone", lambda h: roof(h, guides=[roof(h)["guides"][1]], measures=[]),
     UnderdeterminedError, "nothing to find its pitch by"),
    ("eaves not level", lambda h: roof(h, {"eaves": _leaning(h)}), DegenerateError,
     "eaves of roof 'roof' run up"),
    ("over a tower", lambda h: roof(h, {"eaves": {**eaves(h), "face": "tower"}}), FieldError,
     "no plumb wall"),
]  # fmt: skip


@pytest.mark.parametrize(("make", "error", "says"), [r[1:] for r in REFUSED],
                         ids=[r[0] for r in REFUSED])  # fmt: skip
def test_roof_that_cannot_be_is_refused_in_a_sentence(make, error, says):
    camera = street_camera(**CAMERA)
    hand = Hand(camera)
    front, _, _, tower = whole_building(hand)
    with pytest.raises(error, match=says) as caught:
        solve_photo(facts(camera), [front, tower, face(make(hand))])
    assert "'roof'" in str(caught.value)
    assert caught.value.hint


def test_verge_straight_above_the_camera_leaves_the_pitch_open():
    """Seen from straight before it a verge looks plumb at any pitch."""
    camera = street_camera(**{**CAMERA, "centre_mm": (-4300.0, 1600.0, 17_000.0)})
    hand = Hand(camera)
    with pytest.raises(UnderdeterminedError, match="leave its pitch open"):
        solve_photo(facts(camera), [face(street_front(hand)), face(roof(hand, measures=[]))])


def test_verge_guide_on_a_wall_is_refused():
    camera = street_camera(**CAMERA)
    hand = Hand(camera)
    front = street_front(hand)
    front["guides"][0]["kind"] = "verge"
    with pytest.raises(FieldError, match="'front' is no roof"):
        solve_photo(facts(camera), [face(front)])
