"""Cameras that the picks leave possible: weights, and what they add up to."""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from rectify.adjust import solve_photo
from rectify.sampled_chart import sampled_chart
from rectify.solving.adjusted import Conditions
from rectify.solving.focal_spread import OPEN_FOCAL, possible_cameras
from rectify.solving.least_squares import solve_conditions
from shared.survey import Pick
from tests.support.surveyed import OPENINGS, Hand, face, facts, street_camera, street_front


@dataclass(frozen=True)
class Straight:
    """Two unknowns of a straight problem, the first playing the focal length."""

    values: np.ndarray
    prior: np.ndarray

    def stepped(self, step):
        return replace(self, values=self.values + step)

    def distance_from_prior(self):
        return self.values - self.prior


def test_straight_problem_is_put_together_again():
    """Normal throughout: mean and ± of the mixture are those of the one solution."""
    design = np.array([[1.0, 0.4], [0.2, 1.0], [0.5, -0.3]])
    observed = np.array([0.3, -0.2, 0.5])

    def solve(start, weight):
        def linearise(state, adjusted):
            return Conditions(adjusted - design @ state.values, -design, np.eye(3))

        return solve_conditions(linearise, start, observed, np.ones(3), weight)

    weight = np.array([0.5, 0.0])
    best = solve(Straight(np.zeros(2), np.array([1.0, 0.0])), weight)
    mixture = possible_cameras(best, 0, solve)
    shares = np.array([share for share, _ in mixture])
    assert shares.sum() == pytest.approx(1.0)
    for at in (0, 1):
        means = np.array([part.state.values[at] for _, part in mixture])
        variances = np.array([part.cov_unknowns[at, at] for _, part in mixture])
        mean = shares @ means
        variance = shares @ (variances + (means - mean) ** 2)
        u = np.sqrt(best.cov_unknowns[at, at])
        assert (mean - best.state.values[at]) / u == pytest.approx(0.0, abs=0.02)
        assert np.sqrt(variance) / u == pytest.approx(1.0, abs=0.02)


def solved(known, **more):
    camera = street_camera(pitch_deg=0.0, roll_deg=0.0, **more)
    raw = street_front(Hand(camera, u_px=1.0, seed=1), guides=False)
    return camera, solve_photo(facts(camera, known=known), [face(raw)])


def test_known_focal_length_leaves_one_camera():
    _, solution = solved(known=True)
    assert solution.value_and_u("street", "log_focal")[1] < OPEN_FOCAL
    assert solution.possible == [(1.0, solution)]


def test_open_focal_length_leaves_a_row_of_cameras_that_all_fit():
    _, solution = solved(known=False)
    focals = sorted(np.exp(s.value_and_u("street", "log_focal")[0]) for _, s in solution.possible)
    assert len(focals) >= 5
    assert focals[0] < 0.75 * focals[-1]
    assert sum(weight for weight, _ in solution.possible) == pytest.approx(1.0)
    likely = [s for weight, s in solution.possible if weight > 0.1]
    assert max(s.rms_px for s in likely) < 1.5


def test_draws_are_the_same_every_time_and_near_the_solution():
    camera, solution = solved(known=False)
    picks = [Pick(x=x, y=y) for x, y in camera.project_wall(OPENINGS["w1"])]
    charted = solution.charted("front", picks)
    one, two = (sampled_chart(charted, [0, 1], 500, seed=3) for _ in range(2))
    assert np.array_equal(one[0], two[0])
    width = one[0][1] - one[0][0]
    middle = charted.chart_mm[1, 0] - charted.chart_mm[0, 0]
    assert np.median(width) == pytest.approx(middle, rel=0.05)
