"""Guides whose edges may lean: they tell of the lens as others do, of level and plumb less."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rectify.adjust import solve_photo
from shared.survey import Face
from tests.support.scenes import SceneCamera, picks, rectangle
from tests.support.surveyed import facts

CAMERA = SceneCamera(focal_px=900.0, width_px=1200, height_px=900, k1=-0.1)


def solved(
    u_lean_deg, *, ends_only=False, u_frame_px=20.0, kind="level", u_ends_px=None, leans_deg=0.0
):
    """A frame clicked badly, and twelve edges along the wall seen to a tenth of a pixel."""
    share = [0.0, 1.0] if ends_only else [0.0, 0.25, 0.5, 0.75, 1.0]
    guides = []
    for v in np.linspace(-2000.0, 5500.0, 12):
        rise = 5000.0 * math.tan(math.radians(leans_deg))
        ends = np.array([[-5000.0, v - rise], [5000.0, v + rise]])
        if kind == "plumb":
            ends = np.array([[v - 1500.0, -2000.0], [v - 1500.0, 5500.0]])
        points = ends[0] + np.outer(share, ends[1] - ends[0])
        at = picks(CAMERA.project_wall(points), u_ends_px or 0.1)
        guides.append({"kind": kind, "at": at, "u_lean_deg": u_lean_deg})
    raw = {
        "id": "front",
        "photo": "street",
        "frame": picks(CAMERA.project_wall(rectangle(-2000, 1000, 2000, 4000)), u_frame_px),
        "guides": guides,
    }
    return solve_photo(facts(CAMERA), [Face.model_validate(raw)])


def u_of(solution, what):
    return solution.value_and_u("street", what)[1]


@pytest.mark.parametrize("kind", ["level", "plumb"])
def test_the_lens_is_held_by_straightness_however_much_edges_lean(kind):
    assert u_of(solved(3.0, kind=kind), "k1") < 1.3 * u_of(solved(0.001, kind=kind), "k1")


def test_the_roll_is_known_no_better_than_edges_are_true():
    """Twelve edges that lean by 1 degree each: their mean is known to 1 degree / sqrt(12)."""
    u_deg = math.degrees(u_of(solved(1.0, u_frame_px=500.0), "turn_z"))
    # what the badly clicked frame adds makes it a little better, turning with pitch worse
    assert u_deg == pytest.approx(1.0 / math.sqrt(12), rel=0.1)


def test_two_picks_that_may_lean_are_two_picks_with_a_wider_uncertainty():
    """Each end off by lean times length over root 2, beside its own tenth of a pixel."""
    ends = CAMERA.project_wall(np.array([[-5000.0, 1000.0], [5000.0, 1000.0]]))
    wide_px = math.radians(0.5) * float(np.hypot(*(ends[1] - ends[0]))) / math.sqrt(2.0)
    leaning = solved(0.5, ends_only=True)
    plain = solved(0.0, ends_only=True, u_ends_px=math.hypot(0.1, wide_px))
    for what in ("turn_x", "turn_y", "turn_z"):
        # the other eleven are as long as this one to 1 part in 20 in the photo
        assert u_of(leaning, what) == pytest.approx(u_of(plain, what), rel=0.05)


def test_a_leaning_house_is_met_with_the_lens_unharmed():
    """All edges lean alike: the solution turns with them, the lens stays what it is."""
    solution = solved(0.3, leans_deg=0.5)
    k1, u_k1 = solution.value_and_u("street", "k1")
    assert k1 == pytest.approx(CAMERA.k1, abs=2.0 * u_k1)
    assert u_k1 < 0.01
