"""Faces as lines over the photo: a tower by its picked outlines, a wing by its hinge."""

from __future__ import annotations

import numpy as np
import pytest

from measure.workbench.solids import round_step, solid_of
from rectify.adjust import solve_photo
from rectify.placements import Placement
from tests.rectify.test_tie_photos import Scene, same
from tests.support.surveyed import face, facts


@pytest.fixture(scope="module")
def told(workbench) -> dict:
    with workbench.client() as client:
        demo = client.post("/api/demo", json={}).json()
        url = f"/api/surveys/{demo['key']}"
        answer = client.post(f"{url}/results", json={"document": demo["document"]}).json()
        solids = client.post(f"{url}/solids", json={"stamp": answer["stamp"]}).json()["faces"]
        return {"document": demo["document"], "answer": answer, "solids": solids}


def face_of(told: dict, kind: str) -> dict:
    return next(f for f in told["document"]["faces"] if f["surface"]["kind"] == kind)


def distance_px(point: list[float], line: list[list[float]]) -> float:
    ends = np.array(line)
    along = np.diff(ends, axis=0)
    share = np.sum((np.array(point[:2]) - ends[:-1]) * along, axis=1) / np.sum(along**2, axis=1)
    foot = ends[:-1] + np.clip(share, 0.0, 1.0)[:, None] * along
    return float(np.hypot(*(foot - point[:2]).T).min())


def test_every_solved_face_has_lines(told):
    solved = {id_ for id_, face in told["answer"]["page"]["faces"].items() if face["solved"]}
    assert set(told["solids"]) == solved


def test_a_side_of_the_tower_lies_on_its_picked_outline(told):
    tower = face_of(told, "round")
    lines = told["solids"][tower["id"]]["px"]
    for pick in tower["surface"]["right_edge"]:
        assert min(distance_px(pick, line) for line in lines) < 4.0


def test_plan_of_the_tower_has_the_measured_radius(told):
    tower = face_of(told, "round")
    result = told["answer"]["results"]["faces"][tower["id"]]
    seen, around = (np.array(line) for line in told["solids"][tower["id"]]["plan_mm"])
    centre = (around.max(axis=0) + around.min(axis=0)) / 2
    for line in (seen, around):
        radii = np.hypot(*(line - centre).T)
        assert radii == pytest.approx(result["radius_mm"], rel=0.003)
    assert told["solids"][tower["id"]]["round"] is True


def test_plan_of_a_wing_turns_by_its_hinge_angle(told):
    wing = next(f for f in told["document"]["faces"] if f["surface"].get("hinge"))
    front = told["solids"][wing["surface"]["hinge"]["face"]]["plan_mm"][0]
    turned = told["solids"][wing["id"]]["plan_mm"][0]

    def heading_deg(line: list[list[float]]) -> float:
        (x0, z0), (x1, z1) = line
        return float(np.degrees(np.arctan2(z1 - z0, x1 - x0)))

    result = told["answer"]["results"]["faces"][wing["id"]]
    turn = heading_deg(turned) - heading_deg(front)
    assert abs(turn) == pytest.approx(abs(result["hinge_deg"]), abs=0.5)


@pytest.mark.parametrize(
    ("least", "step"), [(0.9, 1), (1, 1), (1.1, 2), (180, 200), (499, 500), (501, 1000), (0, 1)]
)
def test_steps_are_round(least, step):
    assert round_step(least) == pytest.approx(step)


def test_an_old_answer_has_no_solids(workbench):
    with workbench.client() as client:
        demo = client.post("/api/demo", json={}).json()
        told = client.post(f"/api/surveys/{demo['key']}/solids", json={"stamp": "gone"})
        assert told.status_code == 409
        assert told.json()["code"] == "stamp"


def test_a_placed_plan_is_drawn_in_the_frame_of_the_other_photo():
    scene = Scene()
    front = face(same(scene)[0])
    solution = solve_photo(facts(scene.cameras["left"], "left"), [front])
    own = solid_of(front, solution)
    placed = solid_of(front, solution, ("right", Placement(np.pi / 2, 100.0, 0.0, -50.0)))
    assert (own["plan_of"], placed["plan_of"]) == ("left", "right")
    # a quarter turn takes x to z and z to -x
    for (x, z), there in zip(own["plan_mm"][0], placed["plan_mm"][0], strict=True):
        assert there == pytest.approx([-z + 100.0, x - 50.0], abs=0.2)
