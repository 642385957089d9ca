"""From picks to card: a bow let into a wall, a turret in a corner of two walls."""

from pathlib import Path

import numpy as np
from numpy.testing import assert_allclose

from measure.evaluate import evaluate
from measure.parts.assembled import seams_of
from measure.parts.card_plan import plan_survey
from measure.survey_job import SurveyJob
from shared.card_wishes import CardWishes
from shared.survey import Survey
from tests.rectify.test_residuals import HEADING, HINGE_U, WIDE, wing_point
from tests.rectify.test_towers import Tower, bow
from tests.support.scenes import rectangle
from tests.support.surveyed import Hand, facts, street_camera, street_front


def planned(faces, camera):
    survey = Survey.model_validate({"photos": [{"id": "street", "file": "x.jpg"}], "faces": faces})
    results = evaluate(survey, {"street": facts(camera)})
    job = SurveyJob(survey, Path("x.survey.json"))
    return plan_survey(job, results, CardWishes(), scale="1:100"), results


def outline(points):
    return {"id": "o", "kind": "outline", "at": points}


def test_bow_is_let_into_the_wall_where_it_was_picked():
    """Radius 2000, axis 1700 behind the face, in a wall 8.6 m long: a chord of 2.1 m."""
    camera = street_camera(**WIDE, pitch_deg=12.0)
    hand = Hand(camera)
    front = street_front(hand, openings={"w3": rectangle(2200, 3250, 3400, 4750)})
    front["measures"].append(outline(hand.on_wall(rectangle(-4300, 200, 4300, 5600))))
    round_one = Tower(hand, (-1500.0, -1700.0), 2000.0)
    corners = [(a - round_one.facing, v) for a, v in rectangle(-0.2, 2600, 0.2, 4400)]
    # called by place: the keywords of the same names are what the survey is told
    raw = bow(hand, 1700.0, 2000.0)
    raw["surface"]["radius_mm"] = 2000.0
    raw["measures"] = [{"id": "t1", "kind": "opening", "at": round_one.picks(corners)}]
    plan, _ = planned([front, raw], camera)
    (gap,) = plan.shell.ends["front"].gaps
    half = np.sqrt(20.0**2 - 17.0**2)
    left = gap.axis_u_mm - plan.shell.face("front").box.left_mm
    assert_allclose(left, 43.0 - 15.0, atol=0.2)
    edges = gap.edges_mm(0.0)
    assert_allclose(edges[1] - edges[0], 2 * half, rtol=0.02)
    assert [meet.at for meet in plan.shell.towers["tower"].meets] == ["left", "right"]
    assert all(seam.closes for seam in seams_of(plan))


def test_turret_takes_the_corner_of_both_walls():
    camera = street_camera(**{**WIDE, "yaw_deg": 20.0})
    hand = Hand(camera)
    front = street_front(hand, openings={"w1": rectangle(-3500, 3300, -2500, 4800)})
    radius, x = 900.0, HINGE_U
    hinge = hand.at([[x, 500, 0], [x, 4500, 0]])
    wing = {
        "id": "wing", "photo": "street",
        "surface": {"kind": "wall", "hinge": {"face": "front", "at": hinge}},
        "frame": hand.at([wing_point(u, v) for u, v in rectangle(500, 600, 3500, 4400)]),
    }  # fmt: skip
    front["measures"].append(outline(hand.on_wall(rectangle(-4300, 200, x, 5600))))
    wing["measures"] = [
        outline(hand.at([wing_point(u, v) for u, v in rectangle(0.0, 200, 3800, 5000)]))
    ]
    turret = Tower(hand, (x, 0.0), radius)
    shown = [(a - turret.facing, v) for a, v in rectangle(-0.3, 2600, 0.1, 4400)]
    raw = {
        "id": "tower", "photo": "street",
        "surface": {"kind": "round", "beside": "front",
                    "meets_wall": hand.at([[x - radius, v, 0.0] for v in (600, 2500, 4600)]),
                    "also_meets": {"face": "wing", "at": hand.at(
                        [wing_point(radius, v) for v in (700, 2500, 4400)])},
                    "radius_mm": radius, "u_radius_mm": 2.0},
        "measures": [{"id": "t1", "kind": "opening", "at": turret.picks(shown)}],
    }  # fmt: skip
    plan, _ = planned([front, wing, raw], camera)
    place = plan.shell.towers["tower"]
    assert [meet.wall for meet in place.meets] == ["front", "wing"]
    # on the hinge itself: a radius of each wall is left out
    front_u = plan.shell.face("front").box
    assert_allclose(front_u.right_mm - front_u.left_mm, (x + 4300.0 - radius) / 100, atol=0.25)
    assert_allclose(plan.shell.face("wing").box.left_mm, radius / 100, atol=0.25)
    assert all(seam.closes for seam in seams_of(plan) if "foot" not in seam.name)
    between = np.degrees(np.subtract(*[m.angle_rad(radius / 100) for m in place.meets][::-1]))
    assert_allclose(between, 180.0 - np.degrees(HEADING), atol=2.0)
