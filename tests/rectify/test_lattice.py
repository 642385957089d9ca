"""The cheap map against the exact one, and tiles against the picture they cut."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from rectify.camera import Camera
from rectify.frames import Pose
from rectify.projection import View, photo_px_from_chart_mm
from rectify.straightening.homography_spans import visible_spans
from rectify.straightening.lattice import REFINE, largest_miss_px, make_lattice, share_of_level
from rectify.straightening.target_map import TargetMap
from rectify.straightening.tiles import Tile
from rectify.surfaces import Round, make_wall
from rectify.window import Window
from tests.support.scenes import SceneCamera

PHOTO = (900, 700)


def target(surface, k1=0.0, window=None, yaw_deg=10.0):
    scene = SceneCamera(700.0, *PHOTO, yaw_deg, 6.0, 2.0, (0.0, 1600.0, 7000.0))
    rows = tuple(map(tuple, scene.rotation.tolist()))
    view = View(Camera(700.0, (450.0, 350.0), k1), Pose(rows, scene.centre_mm), surface)
    return TargetMap(view, window or Window(-2400.0, -900.0, 2200.0, 3300.0, 920, 840))


MAPS = [
    pytest.param(target(make_wall()), id="wall"),
    pytest.param(target(make_wall(), -0.08), id="wall-lens"),
    pytest.param(target(make_wall(500.0, 0.0, -0.6), -0.08), id="wing-lens"),
    pytest.param(target(Round(0.0, -2000.0, 2200.0), -0.08), id="tower-lens"),
]


def full_px(lattice):
    """Positions of all pixels of a tile: straight between fine ones, done in the open."""
    fine = lattice.step // REFINE
    nodes = lattice.fine_px()
    at = [(np.arange(n) + 0.5) / fine + 0.5 for n in (lattice.tile.width, lattice.tile.height)]
    (x0, tx), (y0, ty) = ((np.floor(a).astype(int), a - np.floor(a)) for a in at)
    along = nodes[:, :, x0] * (1 - tx) + nodes[:, :, x0 + 1] * tx
    return along[:, y0] * (1 - ty[:, None]) + along[:, y0 + 1] * ty[:, None]


@pytest.mark.parametrize(
    "tile", [Tile(0, 0, 512, 384), Tile(320, 128, 77, 301), Tile(64, 64, 1, 1)]
)
@pytest.mark.parametrize("step", [8, 32])
@pytest.mark.parametrize("made", MAPS)
def test_the_miss_announced_is_the_miss_found(made, step, tile):
    lattice = make_lattice(made, tile, step, PHOTO, 10)
    exact = made.photo_px(
        tile.x + np.arange(tile.width) + 0.5, tile.y + np.arange(tile.height) + 0.5
    )
    found = np.hypot(*(full_px(lattice) - exact)).max()
    announced = largest_miss_px(made, lattice, lattice.fine_px())
    assert found < 1.15 * announced + 1e-9
    if step == 8:
        assert announced < 0.002


def test_a_small_tower_is_told_apart_from_a_wall():
    """A map that bends too much for the lattice must say so."""
    small = target(Round(0.0, -2000.0, 2200.0), window=Window(-2200.0, 0.0, 2200.0, 3000.0, 90, 60))
    coarse = make_lattice(small, Tile(0, 0, 90, 60), 32, PHOTO, 10)
    assert largest_miss_px(small, coarse, coarse.fine_px()) > 0.02


@pytest.mark.parametrize("made", MAPS)
def test_a_cropped_lattice_equals_one_made_for_the_part(made):
    whole = make_lattice(made, Tile(0, 0, 512, 384), 32, PHOTO, 10)
    part = Tile(128, 64, 200, 300)
    cropped, fresh = whole.crop(part), make_lattice(made, part, 32, PHOTO, 10)
    assert_allclose(cropped.nodes_px, fresh.nodes_px, atol=1e-9)
    assert_allclose(cropped.coarseness, fresh.coarseness, atol=1e-5)
    assert np.array_equal(cropped.near, fresh.near)
    assert_allclose(cropped.fine_px(), fresh.fine_px(), atol=1e-9)


@pytest.mark.parametrize(("px_per_mm", "level"), [(0.25, 0.0), (0.05, 2.0), (0.025, 4.0)])
def test_coarseness_counts_half_octaves(px_per_mm, level):
    """Square on at 7 m with 700 px of focal length: 0.1 photo pixels to the millimetre."""
    pose = Pose(((1, 0, 0), (0, -1, 0), (0, 0, -1)), (0.0, 0.0, 7000.0))
    size = round(2000 * px_per_mm)
    window = Window(-1000.0, -1000.0, 1000.0, 1000.0, size, size)
    made = TargetMap(View(Camera(700.0, (450.0, 350.0)), pose, make_wall()), window)
    lattice = make_lattice(made, Tile(0, 0, size, size), 8, PHOTO, 10)
    limit = 2 * np.log2(1.06)
    assert_allclose(lattice.coarseness, max(level - limit, 0.0), atol=1e-5)


@pytest.mark.parametrize("tile", [Tile(0, 0, 500, 128), Tile(64, 64, 333, 100)])
def test_every_pixel_lies_in_the_columns_of_the_levels_it_needs(tile):
    """Seen along the wall: from 1.5 to 6 photo pixels to a pixel within one picture."""
    window = Window(-6000.0, -900.0, 9000.0, 3300.0, 500, 300)
    lattice = make_lattice(target(make_wall(), window=window, yaw_deg=50.0), tile, 16, PHOTO, 10)
    columns = (np.arange(tile.width) + 0.5) / 16 + 0.5
    x0, t = np.floor(columns).astype(int), columns % 1.0
    rows = (np.arange(tile.height) + 0.5) / 16 + 0.5
    y0, s = np.floor(rows).astype(int), (rows % 1.0)[:, None]
    along = lattice.coarseness[:, x0] * (1 - t) + lattice.coarseness[:, x0 + 1] * t
    coarseness = (along[y0] * (1 - s) + along[y0 + 1] * s).astype(np.float32)
    near = lattice.near[1:-1, 1:-1].repeat(16, 0).repeat(16, 1)[: tile.height, : tile.width]
    found = {index: (start, stop) for index, start, stop in lattice.level_columns()}
    assert len(found) >= 2
    for index in range(11):
        below, above = (share_of_level(i, coarseness) for i in (index, index + 1))
        needed = near & ((below > 0.01) | (index == 0)) & (above < 0.99)
        wanted = np.flatnonzero(needed.any(axis=0))
        if len(wanted):
            start, stop = found[index]
            assert start <= wanted[0]
            assert wanted[-1] < stop


@pytest.mark.parametrize("set_back_mm", [0.0, 150.0])
def test_the_homography_agrees_with_the_projection(set_back_mm):
    made = target(make_wall(300.0, 200.0, 0.4))
    made = TargetMap(made.view, made.window, set_back_mm)
    points = np.array([[0.0, 0.0], [920.0, 0.0], [920.0, 840.0], [0.0, 840.0], [333.3, 77.7]])
    ahead = np.concatenate([points, np.ones((5, 1))], axis=-1) @ made.homography().T
    expected = photo_px_from_chart_mm(
        made.window.chart_mm_from_target_px(points), made.view, set_back_mm
    )
    assert_allclose(ahead[:, :2] / ahead[:, 2:], expected, atol=1e-9)
    assert np.all(ahead[:, 2] > 0.0)


@pytest.mark.parametrize(
    "made", [target(make_wall(), -0.01), target(Round(0.0, -2000.0, 2200.0))], ids=["lens", "tower"]
)
def test_no_homography_where_none_exists(made):
    assert made.homography() is None


sides = st.integers(1, 400)
part_sides = st.integers(20, 400)


@settings(deadline=None)
@given(sides, sides, part_sides, part_sides)
def test_parts_cover_a_tile_once(width, height, part_width, part_height):
    cover = np.zeros((height, width), int)
    for part in Tile(0, 0, width, height).parts(part_width, part_height):
        cover[part.inside] += 1
        assert part.width <= part_width
        assert part.height <= part_height
    assert np.all(cover == 1)


@given(st.integers(65, 4000), st.integers(1, 4000))
def test_halves_cover_a_tile_once_and_are_smaller(width, height):
    tile = Tile(7, 11, width, height)
    first, second = tile.halves(64)
    assert first.area + second.area == tile.area
    assert min(first.area, second.area) > 0
    assert (first.width % 64, second.height) == (0, height) or first.height % 64 == 0


@settings(deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_visible_spans_agree_with_asking_every_pixel(seed):
    rng = np.random.default_rng(seed)
    scene = SceneCamera(
        700.0, *PHOTO, *rng.uniform(-80, 80, 1), *rng.uniform(-30, 30, 2), (0.0, 1600.0, 3000.0)
    )
    rows = tuple(map(tuple, scene.rotation.tolist()))
    view = View(Camera(700.0, (450.0, 350.0)), Pose(rows, scene.centre_mm), make_wall())
    window = Window(*np.sort(rng.uniform(-9000, 9000, (2, 2)), axis=0).ravel(), 60, 45)
    made = TargetMap(view, window)
    first, end = visible_spans(made.homography(), 60, 45, PHOTO)
    columns = np.arange(60)
    visible = (columns >= first[:, None]) & (columns < end[:, None])
    x, y = made.photo_px(columns + 0.5, np.arange(45) + 0.5)
    with np.errstate(invalid="ignore"):
        expected = (x >= 0) & (x <= PHOTO[0]) & (y >= 0) & (y <= PHOTO[1])
    assert np.array_equal(visible, expected)
