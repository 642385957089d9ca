"""Pieces of edges joined to lines: over gaps and bends, not across from edge to edge."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rectify.guides.edges import KNOTS, EdgePieces
from rectify.guides.joining import (
    INDEPENDENT_LINES,
    MOST_LINES,
    MOST_POINTS,
    join_pieces,
    line_residuals_px,
)
from rectify.guides.line_camera import LEVEL, PLUMB, LineCamera
from tests.support.scenes import SceneCamera

BARREL = SceneCamera(
    focal_px=900.0,
    width_px=1600,
    height_px=1200,
    yaw_deg=12.0,
    pitch_deg=7.0,
    roll_deg=1.0,
    k1=-0.15,
    k2=0.02,
    centre_mm=(0.0, 1600.0, 9000.0),
)
DIAGONAL_PX = 2000.0


def lines_of(camera: SceneCamera) -> LineCamera:
    middle = np.array([camera.width_px, camera.height_px]) / 2
    numbers = np.array([math.log(camera.focal_px), *middle, camera.k1, camera.k2])
    return LineCamera(numbers, camera.rotation, (), camera.focal_px)


def pieces_of(spans, noise_px=0.0, seed=0) -> EdgePieces:
    """Pieces seen of spans of the wall, ``((u, v), (u, v))``."""
    rng = np.random.default_rng(seed)
    share = np.linspace(0.0, 1.0, KNOTS)[:, None]
    made = [
        BARREL.project_wall((1 - share) * np.array(a, float) + share * np.array(b, float))
        for a, b in spans
    ]
    points = np.array(made) + rng.normal(0.0, 1.0, (len(made), KNOTS, 2)) * noise_px
    return EdgePieces(points, np.full(len(made), 0.1))


def joined(spans, direction, **more):
    which = np.full(len(spans), direction)
    pieces = pieces_of(spans, **more)
    return join_pieces(pieces, which, lines_of(BARREL), DIAGONAL_PX)


def level(v, *ends):
    return [((a, v), (b, v)) for a, b in ends]


def test_points_of_a_true_line_have_no_residual_whatever_the_lens():
    for direction, spans in (
        (LEVEL, level(4000.0, (-4000, 4000))),
        (PLUMB, [((-3000.0, 0.0), (-3000.0, 6000.0))]),
    ):
        (line,) = joined(spans, direction)
        assert np.abs(line_residuals_px(lines_of(BARREL), line)).max() < 1e-6


def test_a_residual_is_the_distance_in_pixels():
    (line,) = joined(level(1600.0, (-3000, 3000)), LEVEL)
    moved = line.points_px.copy()
    moved[2, 1] += 3.0
    line = type(line)(line.direction, moved, line.u_px)
    residuals = line_residuals_px(lines_of(BARREL), line)
    assert np.ptp(residuals) == pytest.approx(3.0, abs=0.1)


def test_pieces_of_one_bent_line_are_joined_over_gaps():
    spans = level(5000.0, (-4000, -2800), (-2500, -1400), (-1000, 300), (600, 2000))
    (line,) = joined(spans, LEVEL, noise_px=0.1)
    assert line.length_px > 500
    assert len(line.points_px) > 3


def test_two_edges_of_one_band_stay_two_lines():
    spans = level(3000.0, (-3000, 0), (200, 3000)) + level(3060.0, (-3000, 0), (200, 3000))
    lines = joined(spans, LEVEL, noise_px=0.1)
    assert len(lines) == 2


def test_edges_far_apart_on_one_level_are_not_joined():
    assert len(joined(level(3000.0, (-4000, -3500), (3500, 4000)), LEVEL)) == 2


def test_points_are_as_uncertain_as_edges_are_out_of_straight():
    """Half a millimetre in a metre beside the pieces' own 0.1 px."""
    (line,) = joined(level(3000.0, (-4000, 4000)), LEVEL)
    assert line.u_px == pytest.approx(np.hypot(0.1, 0.0005 * line.length_px), rel=1e-6)


def test_few_of_many_lines_are_kept_and_they_weigh_no_more_than_a_few():
    spans = [span for v in np.arange(0.0, 6000.0, 120.0) for span in level(v, (-1500, 1500))]
    many = joined(spans, LEVEL)
    assert len(many) == MOST_LINES
    (alone,) = joined(spans[20:21], LEVEL)
    same = min(many, key=lambda line: abs(line.length_px - alone.length_px))
    wider = math.sqrt(MOST_LINES / INDEPENDENT_LINES)
    assert same.u_px == pytest.approx(wider * alone.u_px, rel=0.1)
    assert all(len(line.points_px) <= MOST_POINTS for line in many)


def test_nothing_gives_nothing():
    nothing = EdgePieces(np.zeros((0, KNOTS, 2)), np.zeros(0))
    found = join_pieces(nothing, np.zeros(0, dtype=int), lines_of(BARREL), DIAGONAL_PX)
    assert found == []
