"""Straight edges placed to a fraction of a pixel, on drawn edges whose place is known."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from rectify.guides.edges import KNOTS, find_edge_pieces
from tests.support.corners import Scene, draw_scene


def distances_px(points, through, angle_rad):
    normal = np.array([-np.sin(angle_rad), np.cos(angle_rad)])
    return (points - through) @ normal


@pytest.mark.parametrize("angle_deg", [0.0, 3.0, 17.0, 45.0, 88.0, 90.0])
def test_points_lie_on_the_edge_within_their_uncertainty(angle_deg):
    off = []
    for seed in range(4):
        rng = np.random.default_rng(seed)
        through = 100.0 + rng.uniform(-0.5, 0.5, 2)
        angle = np.radians(angle_deg)
        photo = draw_scene(Scene("edge", noise=3.0), tuple(through), angle, 1.0, rng, 200)
        pieces = find_edge_pieces(photo)
        assert len(pieces) > 0
        assert pieces.lengths_px[0] > 120
        for points, u_px in zip(pieces.points_px, pieces.u_px, strict=True):
            off.extend(distances_px(points, through, angle) / u_px)
            assert u_px < 0.3
    assert np.sqrt(np.mean(np.square(off))) < 1.6
    assert np.abs(off).max() < 5.0


def test_a_large_photo_is_placed_as_well_for_its_size():
    """6000 px and more are looked at smaller; places come back in the photo's own pixels."""
    rng = np.random.default_rng(0)
    photo = np.full((700, 6400), 60, np.uint8)
    photo[350:] = 160
    photo = np.clip(photo + rng.normal(0.0, 3.0, photo.shape), 0, 255).astype(np.uint8)
    pieces = find_edge_pieces(photo)
    assert pieces.lengths_px.max() > 3000
    for points, u_px in zip(pieces.points_px, pieces.u_px, strict=True):
        assert np.abs(points[:, 1] - 350.0).max() < 4.0 * u_px
        assert u_px < 0.5


def test_an_edge_bent_by_a_lens_comes_in_pieces_that_follow_it():
    radius, centre = 4000.0, np.array([600.0, 4300.0])
    y, x = np.mgrid[0:600, 0:1200]
    inside = np.hypot(x + 0.5 - centre[0], y + 0.5 - centre[1]) < radius
    photo = cv2.GaussianBlur(np.where(inside, 160, 60).astype(np.uint8), (0, 0), 1.0)
    pieces = find_edge_pieces(photo)
    assert pieces.lengths_px.sum() > 800
    points = pieces.points_px.reshape(-1, 2)
    assert np.abs(np.hypot(*(points - centre).T) - radius).max() < 0.5


def test_the_longest_come_first_and_each_has_its_knots_in_order():
    rng = np.random.default_rng(1)
    photo = np.full((400, 500, 3), 90, np.uint8)
    cv2.rectangle(photo, (60, 50), (420, 330), (200, 190, 180), -1)
    photo = np.clip(photo + rng.normal(0.0, 2.0, photo.shape), 0, 255).astype(np.uint8)
    pieces = find_edge_pieces(photo)
    assert len(pieces) == 4
    assert pieces.points_px.shape == (4, KNOTS, 2)
    assert (np.diff(pieces.lengths_px) <= 0).all()
    for points in pieces.points_px:
        along = (points[-1] - points[0]) / np.hypot(*(points[-1] - points[0]))
        assert (np.diff(points @ along) > 0).all()


@pytest.mark.parametrize("shape", [(1, 1), (5, 400), (300, 300)])
def test_a_photo_without_edges_gives_none(shape):
    assert len(find_edge_pieces(np.full(shape, 77, np.uint8))) == 0


def test_a_hedge_is_no_edge():
    rng = np.random.default_rng(2)
    photo = np.full((400, 400), 60, np.float32)
    ragged = 200 + cv2.GaussianBlur(rng.normal(0.0, 9.0, (1, 400)), (0, 0), 1.2)[0]
    photo[np.arange(400)[:, None] > ragged] = 160
    pieces = find_edge_pieces(photo.astype(np.uint8))
    assert pieces.lengths_px.max(initial=0.0) < 40
