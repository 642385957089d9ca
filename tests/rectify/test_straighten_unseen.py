"""What the photo does not show stays empty: asked of a ray caster, pixel by pixel."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from rectify.straighten import straighten
from rectify.window import Window
from tests.support.faces_to_straighten import (
    ALONGSIDE,
    BARREL,
    LENS,
    OBLIQUE,
    ROOF,
    TOWER,
    WALL,
    WING,
    camera,
    target_chart,
    view_of,
)
from tests.support.ray_caster import shows


@pytest.mark.parametrize(
    ("face", "changes", "bounds"),
    [
        pytest.param(WALL, {}, (-9000, -6000, 9000, 9000), id="beyond-the-edges"),
        pytest.param(WALL, LENS, (-9000, -6000, 9000, 9000), id="beyond-the-edges-lens"),
        pytest.param(WALL, OBLIQUE, (-9000, -6000, 9000, 9000), id="behind-the-camera"),
        pytest.param(WALL, OBLIQUE | LENS, (-9000, -6000, 9000, 9000), id="behind-it-lens"),
        pytest.param(WALL, ALONGSIDE, (-9000, -4000, 40000, 9000), id="far-along"),
        pytest.param(WALL, ALONGSIDE | LENS, (-9000, -4000, 40000, 9000), id="far-along-lens"),
        pytest.param(WALL, BARREL, (-20000, -20000, 20000, 20000), id="past-the-fold"),
        pytest.param(WING, OBLIQUE | BARREL, (-20000, -9000, 20000, 9000), id="wing-past-the-fold"),
        pytest.param(TOWER, {}, (-6900, -5000, 6900, 9000), id="round-the-tower"),
        pytest.param(TOWER, LENS, (-6900, -5000, 6900, 9000), id="round-the-tower-lens"),
        pytest.param(ROOF, {"pitch_deg": 40.0}, (-6000, -6000, 6000, 9000), id="roof"),
    ],
)
def test_nothing_outside_the_photo_is_invented(face, changes, bounds):
    scene = camera(**changes)
    photo = np.full((scene.height_px, scene.width_px, 3), 255, np.uint8)
    window = Window(*map(float, bounds), 700, 500)
    made = straighten(photo, view_of(scene, face), window)
    shown, inner_px = shows(scene, face, target_chart(window))
    decided = inner_px > 0.05
    assert 0.01 < shown.mean() < 0.9
    wrong = (made.visible > 0) != shown
    assert not np.any(wrong & decided)
    assert np.all((made.visible == 0) | (made.visible == 255))
    # white wherever visible (no dark rim from beyond the edge), black everywhere else
    assert np.array_equal(made.rgb, np.repeat(made.visible[..., None], 3, axis=-1))


def test_the_back_of_a_tower_stays_empty():
    scene = camera(width_px=2400, height_px=900)
    photo = np.full((900, 2400, 3), 200, np.uint8)
    girth_mm = 2 * np.pi * TOWER.radius
    window = Window(-girth_mm / 2, 1000.0, girth_mm / 2, 1200.0, 3600, 20)
    seen = straighten(photo, view_of(scene, TOWER), window).visible[10] > 0
    away_mm = np.hypot(TOWER.axis_x - 0.0, 7000.0 - TOWER.axis_z)
    part_seen = 2 * np.arccos(TOWER.radius / away_mm) / (2 * np.pi)
    assert_allclose(seen.sum(), 3600 * part_seen, atol=1.01)


def test_a_wall_seen_from_behind_shows_nothing():
    scene = camera(yaw_deg=180.0, centre_mm=(0.0, 1600.0, -7000.0))
    photo = np.full((700, 900, 3), 200, np.uint8)
    made = straighten(photo, view_of(scene, WALL), Window(-2000.0, 0.0, 2000.0, 3000.0, 200, 150))
    assert not made.visible.any()
    assert not made.rgb.any()
