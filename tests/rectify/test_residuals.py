"""Conditions: every kind's derivatives against central differences, and its zero."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from rectify.adjust import solve_photo
from rectify.solving.residuals import Look, make_conditions, merged
from rectify.solving.sighting import Sightings, make_rays
from tests.support.scenes import rectangle
from tests.support.surveyed import Hand, face, facts, length, street_camera, street_front

HINGE_U, HEADING = 4200.0, -0.8
TOWER = (-7000.0, -500.0, 2200.0)  # axis x, axis z, radius


#: Far and wide enough to see the whole building.
WIDE = {"focal_px": 1900.0, "centre_mm": (-2000.0, 1600.0, 14_000.0), "yaw_deg": 6.0}


def wing_point(u, v):
    """A point of the wing: hinged at `HINGE_U`, heading back into the building."""
    return [HINGE_U + u * np.cos(HEADING), v, u * np.sin(HEADING)]


def tower_point(angle, v):
    x, z, r = TOWER
    return [x + r * np.sin(angle), v, z + r * np.cos(angle)]


def outline_angle(camera, side):
    """Where on the tower the ray touches, in plan."""
    x, z, r = TOWER
    dx, dz = camera.centre_mm[0] - x, camera.centre_mm[2] - z
    return np.arctan2(dx, dz) + side * np.arccos(r / np.hypot(dx, dz))


def whole_building(hand):
    """Front, a plane behind it, a hinged wing and a tower: every kind of observation."""
    camera = hand.camera
    front = street_front(hand)
    front["references"].append(
        {"kind": "courses", "at": hand.on_wall([[2000, 300], [2000, 3300]]), "count": 40,
         "gauge_mm": 75.0, "u_gauge_mm": 0.4}
    )  # fmt: skip
    front["references"].append(length(hand, [[-3000, 400], [1000, 400]], along="level"))
    leaning = hand.on_wall([[-2500, 1500], [-1000, 1500], [500, 1500], [2500, 1500]])
    front["guides"].append({"kind": "level", "at": leaning, "u_lean_deg": 0.3})
    set_back = 900.0
    behind = {
        "id": "behind",
        "photo": "street",
        "frame": hand.on_wall(rectangle(-2000, 5600, 3000, 7000), set_back),
        "references": [
            {"kind": "length", "at": hand.on_wall([[-2000, 5600], [3000, 5600]], set_back),
             "length_mm": 5000.0, "u_mm": 3.0}
        ],
    }  # fmt: skip
    wing = {
        "id": "wing",
        "photo": "street",
        "surface": {
            "kind": "wall",
            "hinge": {"face": "front", "at": hand.at([[HINGE_U, 500, 0], [HINGE_U, 4500, 0]])},
        },
        "frame": hand.at([wing_point(u, v) for u, v in rectangle(500, 600, 3500, 4400)]),
    }
    edge = [outline_angle(camera, side) for side in (-1.0, 1.0)]
    meets = np.arccos(-TOWER[1] / TOWER[2])  # where the cylinder crosses the wall, z = 0
    tower = {
        "id": "tower",
        "photo": "street",
        "surface": {
            "kind": "round",
            "beside": "front",
            "left_edge": hand.at([tower_point(edge[0], v) for v in (600, 5000)]),
            "right_edge": hand.at([tower_point(edge[1], v) for v in (600, 5000)]),
            "meets_wall": hand.at([tower_point(meets, v) for v in (700, 4800)]),
            "radius_mm": TOWER[2],
            "u_radius_mm": 20.0,
        },
    }
    return [face(raw) for raw in (front, behind, wing, tower)]


@pytest.fixture(scope="module")
def disturbed():
    """State, picks and kinds a little off the solution, so that no residual is zero."""
    camera = street_camera(**WIDE)
    faces = whole_building(Hand(camera))
    solution = solve_photo(facts(camera), faces)
    rng = np.random.default_rng(5)
    step = rng.normal(size=len(solution.unknowns.names)) * 0.5
    step *= np.sqrt(np.diag(solution.adjusted.cov_unknowns))
    observations = solution.sheet.observed + rng.normal(size=len(solution.sheet.observed))
    return solution.unknowns.stepped(step), observations, solution.sheet


def conditions_at(state, observations, sheet):
    end = 2 * len(sheet.picks_px)
    rays = make_rays(state, observations[:end].reshape(-1, 2))
    sighted = Sightings(sheet.sights).on_faces(state, rays)
    look = Look(state, rays, sighted, observations[end:])
    kinds = merged(sheet.kinds)
    return make_conditions(kinds, look), [len(kind.rows(look).value) for kind in kinds], kinds


def test_building_has_every_kind(disturbed):
    _, rows, kinds = conditions_at(*disturbed)
    names = {type(kind).__name__ for kind in kinds}
    assert names == {
        "SameCoordinate", "InLine", "KnownLength", "OnLine", "OnOutline", "WhereTowerMeetsWall",
        "GivenUnknown",
    }  # fmt: skip
    assert sum(rows) == len(conditions_at(*disturbed)[0].value)


def test_derivatives_for_the_unknowns_are_those_of_differences(disturbed):
    state, observations, sheet = disturbed
    exact = conditions_at(state, observations, sheet)[0].jac_unknowns
    for i, (_, what) in enumerate(state.names):
        h = {"principal_x": 1e-2, "principal_y": 1e-2}.get(what, 1e-6)
        h = 1e-2 if abs(state.values[i]) > 100 else h
        step = np.zeros(len(state.names))
        step[i] = h
        high, low = (
            conditions_at(state.stepped(sign * step), observations, sheet)[0].value
            for sign in (1, -1)
        )
        scale = max(1.0, float(np.abs(exact[:, i]).max()))
        assert_allclose(exact[:, i] / scale, (high - low) / (2 * h) / scale, atol=3e-6)


def test_derivatives_for_the_observations_are_those_of_differences(disturbed):
    state, observations, sheet = disturbed
    exact = np.asarray(conditions_at(state, observations, sheet)[0].jac_observations)
    for i in range(len(observations)):
        h = 1e-3
        step = np.zeros(len(observations))
        step[i] = h
        high, low = (
            conditions_at(state, observations + sign * step, sheet)[0].value for sign in (1, -1)
        )
        assert_allclose(exact[:, i], (high - low) / (2 * h), atol=2e-5, rtol=2e-6)


def test_true_building_meets_every_condition():
    camera = street_camera(**WIDE)
    solution = solve_photo(facts(camera), whole_building(Hand(camera)))
    values, _, _ = conditions_at(solution.unknowns, solution.sheet.observed, solution.sheet)
    # millimetres: the picks are exact, the search stops at a thousandth of the ±
    assert np.abs(values.value).max() < 0.02


def test_large_jobs_use_a_sparse_matrix_with_the_same_numbers(disturbed, monkeypatch):
    dense = conditions_at(*disturbed)[0].jac_observations
    monkeypatch.setattr("rectify.solving.residuals.SMALL", 3)
    sparse = conditions_at(*disturbed)[0].jac_observations
    assert not isinstance(sparse, np.ndarray)
    assert_allclose(sparse.toarray(), dense)


def test_pick_seen_at_two_depths_adds_its_derivatives():
    """The far end of a reference picked on the very spot of the near end, deeper."""
    camera = street_camera()
    hand = Hand(camera)
    raw = street_front(hand, openings={})
    shared_px = raw["references"][0]["at"][0]
    raw["guides"].append(
        {"kind": "level", "at": [shared_px, *hand.on_wall([[3000, 400]])], "set_back_mm": 0.0}
    )
    solution = solve_photo(facts(camera), [face(raw)])
    state = replace(solution.unknowns)
    conditions, _, _ = conditions_at(state, solution.sheet.observed, solution.sheet)
    column = 2 * solution.sheet.pick_index[tuple(shared_px[:2])]
    used = np.count_nonzero(np.abs(conditions.jac_observations[:, column]) > 1e-12)
    assert used == 2
