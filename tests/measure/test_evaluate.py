"""From a survey to results: datum, set-backs, refusals, agreement of the two routes, speed."""

import time

import numpy as np
import pytest
from numpy.testing import assert_allclose

from measure import propagate
from measure.evaluate import evaluate, measure_face
from measure.results import json_from_results
from rectify.adjust import solve_photo
from rectify.solution import Solution
from shared.errors import FieldError, GeometryError, UnderdeterminedError
from shared.survey import Survey
from tests.rectify.test_residuals import WIDE, outline_angle, tower_point, whole_building
from tests.support.scenes import SceneCamera, rectangle
from tests.support.surveyed import Hand, facts, street_camera, street_front


def survey_of(*faces, **more):
    return Survey.model_validate(
        {"photos": [{"id": "street", "file": "street.jpg"}], "faces": list(faces), **more}
    )


def measured(camera, raw, measures, **more):
    survey = survey_of({**raw, "measures": measures})
    return evaluate(survey, {"street": facts(camera)}, **more).faces["front"]


def every_kind(hand):
    w = hand.on_wall
    turn = np.linspace(-1.0, 1.0, 5)
    return {
        "distance": ({"at": w([[0, 500], [3000, 4500]])}, {"length_mm": 5000.0}),
        "opening": ({"at": w(rectangle(-3000, 1200, -2100, 2700))},
                    {"width_mm": 900.0, "height_mm": 1500.0, "sill_mm": 900.0, "head_mm": 2400.0}),
        "level": ({"at": w([[500, 3300]])}, {"level_mm": 3000.0}),
        "courses": ({"at": w([[1000, 450], [1000, 3450]]), "count": 40},
                    {"gauge_mm": 75.0, "height_mm": 3000.0}),
        "arc": ({"at": w([[700 * np.sin(a), 3000 + 700 * np.cos(a)] for a in turn])},
                {"radius_mm": 700.0, "span_mm": 1400 * np.sin(1),
                 "rise_mm": 700 * (1 - np.cos(1))}),
        "spacing": ({"at": w([[-3000, 2000], [-1000, 2010], [1000, 1990]])}, {"mean_mm": 2000.0}),
        "slope": ({"at": w([[0, 3000], [1000, 4000]])}, {"slope_deg": 45.0}),
        "set-back": ({"at": [*w([[2000, 2000]]), *w([[2000, 2000]], 220.0)]}, {"depth_mm": 220.0}),
        "outline": ({"at": w(rectangle(-3000, 1000, 1000, 3000))},
                    {"area_m2": 8.0, "perimeter_mm": 12_000.0}),
    }  # fmt: skip


KINDS = [
    "distance",
    "opening",
    "level",
    "courses",
    "arc",
    "spacing",
    "slope",
    "set-back",
    "outline",
]


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_exact_from_exact_picks(kind):
    camera = street_camera()
    hand = Hand(camera)
    body, expected = every_kind(hand)[kind]
    result = measured(camera, street_front(hand), [{"id": "m", "kind": kind, **body}]).measures["m"]
    for key, value in expected.items():
        assert result.size(key) == pytest.approx(value, rel=1e-4), key
        assert result.u_of(key) > 0.0


@pytest.mark.parametrize("kind", KINDS)
def test_first_order_agrees_with_sampling(kind, monkeypatch):
    """Both routes on the same measure, far from any horizon: 20,000 draws scatter it by 1 %."""
    camera = street_camera()
    hand = Hand(camera, u_px=1.0, seed=3)
    body, expected = every_kind(hand)[kind]
    raw, measures = street_front(hand), [{"id": "m", "kind": kind, **body}]
    first = measured(camera, raw, measures).measures["m"]
    monkeypatch.setattr(propagate, "POOR", -2.0)
    monkeypatch.setattr(propagate, "DRAWS", 20_000)
    monkeypatch.setattr(propagate, "_wider", lambda first_order, drawn: drawn)
    second = measured(camera, raw, measures).measures["m"]
    for key in expected:
        assert second.u_of(key) == pytest.approx(first.u_of(key), rel=0.04), key
    assert second.u != first.u


def measured_and_sampled(monkeypatch, raw, photo, effort="whole"):
    """Opening of a front, and whether it took many draws to tell its ±."""
    asked = []
    many = propagate.Propagation._many_off
    survey = survey_of(raw)
    with monkeypatch.context() as patch:
        patch.setattr(propagate.Propagation, "_many_off", lambda *a: asked.append(1) or many(*a))
        solution = solve_photo(photo, survey.faces)
        made = measure_face(survey, survey.faces[0], solution, 148.0, effort=effort)
    return made.measures["m"], bool(asked)


def front_with_opening(hand):
    at = hand.on_wall(rectangle(-600, 1000, 600, 2500))
    return {**street_front(hand), "measures": [{"id": "m", "kind": "opening", "at": at}]}


def test_a_usual_photo_needs_first_order_alone(monkeypatch):
    """Its camera and known size are uncertain to some per cent; that bends nothing."""
    camera = street_camera()
    raw = front_with_opening(Hand(camera, u_px=1.0, seed=3))
    made, sampled = measured_and_sampled(monkeypatch, raw, facts(camera))
    assert not sampled
    quick, _ = measured_and_sampled(monkeypatch, raw, facts(camera), "quick")
    assert quick.u == made.u


def test_a_slanting_view_with_rough_picks_is_sampled_while_dragging_too(monkeypatch):
    camera = SceneCamera(2500.0, yaw_deg=68.0, centre_mm=(-12_000.0, 1600.0, 5500.0))
    hand = Hand(camera, u_px=1.0, seed=3, said_u_px=30.0)
    raw = {**front_with_opening(hand), "guides": []}
    made, sampled = measured_and_sampled(monkeypatch, raw, facts(camera))
    assert sampled
    quick, sampled = measured_and_sampled(monkeypatch, raw, facts(camera), "quick")
    assert sampled
    assert quick.u_of("width_mm") == pytest.approx(made.u_of("width_mm"), rel=0.5)


def test_an_open_focal_length_is_sampled_from_one_camera_only_while_dragging(monkeypatch):
    camera = SceneCamera(3000.0, centre_mm=(0.0, 1600.0, 10_000.0))
    raw = {**front_with_opening(Hand(camera, u_px=1.0, seed=3)), "guides": []}
    photo = facts(camera, known=False)
    made, sampled = measured_and_sampled(monkeypatch, raw, photo)
    assert sampled
    monkeypatch.setattr(Solution, "possible", property(lambda _: pytest.fail("solved again")))
    quick, _ = measured_and_sampled(monkeypatch, raw, photo, "quick")
    assert quick.u_of("width_mm") == pytest.approx(made.u_of("width_mm"), rel=0.6)


def test_levels_count_from_the_lowest_frame_pick_or_the_datum_given():
    camera = street_camera()
    hand = Hand(camera)
    raw = street_front(hand)
    level = [{"id": "m", "kind": "level", "at": hand.on_wall([[500, 3300]])}]
    assert measured(camera, raw, level).measures["m"].size("level_mm") == pytest.approx(3000.0)
    raw["datum"] = hand.on_wall([[-2500, 1300]])[0]
    assert measured(camera, raw, level).measures["m"].size("level_mm") == pytest.approx(2000.0)


def test_level_of_the_datum_itself_is_zero_without_doubt():
    camera = street_camera()
    hand = Hand(camera, u_px=1.0, seed=2)
    raw = street_front(hand)
    raw["datum"] = hand.on_wall([[-2500, 1300]])[0]
    result = measured(camera, raw, [{"id": "m", "kind": "level", "at": [raw["datum"]]}])
    assert result.measures["m"].size("level_mm") == pytest.approx(0.0, abs=1e-9)
    assert result.measures["m"].u_of("level_mm") == pytest.approx(0.0, abs=1e-4)


def test_pane_behind_the_wall_is_true_with_its_set_back_and_warned_of_without():
    camera = SceneCamera(3000.0, centre_mm=(0.0, 1600.0, 10_000.0))
    hand = Hand(camera)
    raw = street_front(hand)
    pane = hand.on_wall(rectangle(-600, 1000, 600, 2500), 150.0)
    opening = {"id": "m", "kind": "opening", "at": pane}
    deep = measured(camera, raw, [{**opening, "set_back_mm": 150.0}]).measures["m"]
    assert deep.size("width_mm") == pytest.approx(1200.0, rel=1e-4)
    # relief: 150 mm behind, seen from 10 m, reads 1.5 % small (10000 / 10150)
    flat = measured(camera, raw, [{**opening, "at_glass": True}]).measures["m"]
    assert flat.size("width_mm") == pytest.approx(1200.0 * 10_000 / 10_150, rel=1e-4)
    assert any("glass" in warning and "set-back" in warning for warning in flat.warnings)
    assert deep.warnings == ()


def test_short_distance_is_surer_than_both_its_ends():
    """Both ends share the camera: what the ends have in common cancels."""
    camera = street_camera()
    hand = Hand(camera, u_px=1.0, seed=4)
    raw = street_front(hand)
    ends = hand.on_wall([[3000, 4000], [3300, 4000]])
    result = measured(camera, raw, [
        {"id": "d", "kind": "distance", "at": ends},
        {"id": "a", "kind": "level", "at": [ends[0]]},
    ])  # fmt: skip
    long = measured(camera, raw, [{"id": "d", "kind": "distance",
                                   "at": hand.on_wall([[-3900, 4000], [3300, 4000]])}])  # fmt: skip
    assert result.measures["d"].u_of("length_mm") < 0.5 * long.measures["d"].u_of("length_mm")


OBLIQUE = {"focal_px": 2500.0, "yaw_deg": 62.0, "pitch_deg": 3.0, "centre_mm": (-9000, 1600, 5000)}


def test_pick_beyond_the_horizon_is_refused_by_name():
    camera = street_camera(**OBLIQUE)
    hand = Hand(camera)
    raw = street_front(hand)
    past = [{"id": "far", "kind": "distance", "at": [[3980.0, 1500.0], [3990.0, 1600.0]]}]
    with pytest.raises(GeometryError, match="distance 'far' of face 'front' looks past the face"):
        measured(camera, raw, past)


def test_pick_just_short_of_the_horizon_is_refused_or_as_unsure_as_it_is():
    camera = street_camera(**OBLIQUE)
    raw = street_front(Hand(camera))
    horizon = 2000.0 + 2500.0 * np.tan(np.radians(90.0 - 62.0))
    for short_px in (40.0, 10.0):
        x = horizon - short_px
        near = [{"id": "far", "kind": "distance", "at": [[x, 1400.0], [x, 1500.0]]}]
        result = measured(camera, raw, near, stop_at_problem=False)
        if "far" in result.measures:
            far = result.measures["far"]
            assert far.u_of("length_mm") > 0.03 * far.size("length_mm")
    at_it = [{"id": "far", "kind": "distance", "at": [[horizon - 3, 1400], [horizon - 3, 1500]]}]
    with pytest.raises(GeometryError, match="horizon"):
        measured(camera, raw, at_it)


def test_an_opening_with_a_corner_far_astray_is_refused():
    camera = street_camera(**OBLIQUE)
    hand = Hand(camera)
    corners = hand.on_wall([[-2000, 2500], [-1000, 2500], [-1000, 1000], [-2000, 1000]])
    corners[1] = [corners[1][0] - 40.0, 1.0]  # the top of the photo
    astray = [{"id": "w", "kind": "opening", "at": corners}]
    with pytest.raises(GeometryError, match="opening 'w' of face 'front' make no upright"):
        measured(camera, street_front(hand), astray)


def test_one_bad_measure_does_not_take_the_others_along():
    camera = street_camera(**OBLIQUE)
    hand = Hand(camera)
    raw = street_front(hand)
    both = [
        {"id": "far", "kind": "distance", "at": [[3980.0, 1500.0], [3990.0, 1600.0]]},
        {"id": "near", "kind": "distance", "at": hand.on_wall([[-2000, 500], [-2000, 2500]])},
    ]
    result = measured(camera, raw, both, stop_at_problem=False)
    assert result.measures["near"].size("length_mm") == pytest.approx(2000.0, rel=1e-4)
    assert "looks past the face" in str(result.problems["far"])


@pytest.mark.parametrize(
    ("measure", "error", "says"),
    [
        ({"kind": "distance", "at": [[900, 900], [900, 900]]}, FieldError, "same spot"),
        ({"kind": "distance", "at": [[900, 900], [9000, 900]]}, FieldError, "outside the photo"),
        ({"kind": "opening", "at": [[900, 900], [1500, 1500], [1500, 900], [900, 1500]]},
         GeometryError, "cross over"),
        ({"kind": "arc", "at": [[900, 900], [1000, 1000], [1100, 1100]]},
         GeometryError, "straight"),
    ],
)  # fmt: skip
def test_measure_that_cannot_be_is_refused_by_name(measure, error, says):
    camera = street_camera()
    with pytest.raises(error, match=says):
        measured(camera, street_front(Hand(camera)), [{"id": "m", **measure}])


def test_nothing_is_measured_without_a_known_size():
    camera = street_camera()
    hand = Hand(camera)
    raw = {**street_front(hand), "references": []}
    with pytest.raises(UnderdeterminedError, match="Nothing on face 'front' has a known size"):
        measured(camera, raw, [{"id": "m", "kind": "level", "at": hand.on_wall([[0, 2000]])}])


def test_tower_and_wing_are_measured_on_their_own_charts():
    camera = street_camera(**WIDE)
    hand = Hand(camera)
    front, behind, wing, tower = (face.model_dump(mode="json") for face in whole_building(hand))
    middle = 0.5 * sum(outline_angle(camera, side) for side in (-1.0, 1.0))
    ends = [tower_point(middle - 0.3, 2000), tower_point(middle + 0.3, 2000)]
    tower["measures"] = [{"id": "t", "kind": "distance", "at": hand.at(ends)},
                         {"id": "h", "kind": "level", "at": hand.at(ends[:1])}]  # fmt: skip
    survey = survey_of(front, behind, wing, tower)
    results = evaluate(survey, {"street": facts(camera)})
    # along the wall of the tower: 0.6 of a turn's radian on a radius of 2200
    around = results.faces["tower"].measures["t"].size("length_mm")
    assert around == pytest.approx(0.6 * 2200.0, rel=1e-4)
    # levels of a tower without frame count from the wall it stands beside
    assert results.faces["tower"].measures["h"].size("level_mm") == pytest.approx(1700.0, rel=1e-4)
    out = json_from_results(results)["faces"]
    assert out["tower"]["radius_mm"] == pytest.approx(2200.0, rel=1e-4)
    assert out["wing"]["hinge_deg"] == pytest.approx(np.degrees(-0.8), abs=1e-3)


def test_json_gives_every_size_with_its_uncertainty_and_at_model_scale():
    camera = street_camera()
    hand = Hand(camera)
    window = {"id": "w", "kind": "opening", "at": hand.on_wall(rectangle(0, 900, 1200, 3000))}
    survey = survey_of({**street_front(hand), "measures": [window]}, model_scale="1:100")
    out = json_from_results(evaluate(survey, {"street": facts(camera)}))
    w = out["faces"]["front"]["measures"]["w"]
    assert w["width_mm"] == pytest.approx(1200.0, rel=1e-4)
    assert w["model_width_mm"] == pytest.approx(12.0, rel=1e-4)
    assert set(w) >= {"kind", "u_width_mm", "height_mm", "u_height_mm", "sill_mm", "u_sill_mm",
                      "model_height_mm", "warnings"}  # fmt: skip
    photo = out["photos"]["street"]
    assert photo["focal_px"] == pytest.approx(3000.0, rel=1e-4)
    assert set(photo) >= {"u_focal_px", "k1", "rms_px", "redundancy", "warnings"}


def test_moving_the_picks_of_one_measure_leaves_the_others_nearly_alone():
    """Openings help to hold the camera, but only within their ±."""
    camera = street_camera()
    hand = Hand(camera, u_px=0.5, seed=6, said_u_px=0.5)
    raw = street_front(hand)
    openings = raw["measures"]
    one = measured(camera, raw, openings).measures["w3"]
    shifted = [
        dict(openings[0], at=[[x + 3, y, u] for x, y, u in openings[0]["at"]]),
        *openings[1:],
    ]
    two = measured(camera, raw, shifted).measures["w3"]
    assert_allclose(two.size("width_mm"), one.size("width_mm"), atol=0.3 * one.u_of("width_mm"))


def test_a_thousand_measures_take_seconds_not_minutes():
    camera = street_camera()
    hand = Hand(camera, u_px=0.5, seed=8)
    rng = np.random.default_rng(8)
    many = []
    for i in range(1000):
        u, v = rng.uniform(-3800, 3000), rng.uniform(400, 4000)
        if i % 3 == 0:
            body = {"kind": "opening", "at": hand.on_wall(rectangle(u, v, u + 700, v + 1000))}
        elif i % 3 == 1:
            body = {"kind": "distance", "at": hand.on_wall([[u, v], [u + 500, v + 300]])}
        else:
            body = {"kind": "level", "at": hand.on_wall([[u, v]])}
        many.append({"id": f"m{i}", **body})
    start = time.process_time()
    result = measured(camera, street_front(hand), many)
    spent = time.process_time() - start
    assert len(result.measures) == 1000
    # 0.4 s on an idle core; the limit is for a machine with other work to do
    assert spent < 20.0
