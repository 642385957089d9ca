"""No moire, no needless blur, no seams."""

import cv2
import numpy as np
import pytest

from rectify.straighten import straighten
from rectify.window import Window, make_window
from tests.support.faces_to_straighten import (
    ALONGSIDE,
    LENS,
    TOWER,
    WALL,
    camera,
    noise_photo,
    square_on,
    target_chart,
    view_of,
    wave_miss_mm,
    wave_photo,
)
from tests.support.ray_caster import chart_seen


def stripes(width_px, height_px, period_px, angle_deg):
    x, y = np.meshgrid(np.arange(width_px) + 0.5, np.arange(height_px) + 0.5)
    a = np.radians(angle_deg)
    # sampled as a sensor does: each pixel the mean of the light on it
    turn = 2 * np.pi * (x * np.cos(a) + y * np.sin(a)) / period_px
    soft = np.sinc(np.cos(a) / period_px) * np.sinc(np.sin(a) / period_px)
    grey = np.rint(127.5 + 120 * soft * np.cos(turn)).astype(np.uint8)
    return np.repeat(grey[..., None], 3, axis=-1)


@pytest.mark.parametrize("angle_deg", [0.0, 3.0, 90.0, 37.0])
@pytest.mark.parametrize(
    ("shrink", "period_px"),
    [
        (1.7, 2.4),
        (1.9, 2.6),
        (2.0, 3.0),
        (2.3, 3.0),
        (2.9, 4.0),
        (3.7, 5.0),
        (4.0, 5.3),
        (6.3, 8.0),
        (7.0, 3.1),
    ],
)
def test_stripes_too_fine_for_the_picture_come_out_as_even_grey(shrink, period_px, angle_deg):
    photo = stripes(1200, 900, period_px, angle_deg)
    view = square_on(1200, 900)
    window = make_window(-550.0, -400.0, 550.0, 400.0, 1.0 / shrink)
    made = straighten(photo, view, window).rgb[3:-3, 3:-3, 0].astype(float)
    unfiltered = photo[:: int(shrink), :: int(shrink), 0].astype(float)
    assert unfiltered.std() > 40  # the stripes are there to be aliased
    assert made.std() < 0.12 * 85  # 85: the stripes' own
    assert abs(made.mean() - 127.5) < 1.0


@pytest.mark.parametrize("shrink", [1.3, 1.7, 2.0, 2.7, 4.0, 5.5])
def test_stripes_that_the_picture_can_hold_are_kept(shrink):
    period_px = 5.0 * shrink
    photo = stripes(1200, 900, period_px, 4.0)
    window = make_window(-500.0, -350.0, 500.0, 350.0, 1.0 / shrink)
    made = straighten(photo, square_on(1200, 900), window).rgb[3:-3, 3:-3, 0].astype(float)
    assert 0.7 < made.std() / 85 < 1.15


def test_each_part_is_filtered_by_its_own_scale():
    """Looking along a wall: the near end is finer in the photo than in the picture."""
    scene = camera(**ALONGSIDE)
    photo = noise_photo(900, 700)
    window = make_window(-2600.0, 800.0, 12000.0, 2600.0, 0.12)
    made = straighten(photo, view_of(scene, WALL), window)
    chart = target_chart(window)
    x, y = np.moveaxis(scene.project_wall(chart), -1, 0).astype(np.float32)
    plain = cv2.remap(photo, x - 0.5, y - 0.5, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    seen = made.visible > 0
    near, far = seen & (chart[..., 0] < -1500.0), seen & (chart[..., 0] > 6000.0)
    assert min(near.sum(), far.sum()) > 3_000
    # 3 to 4 photo pixels to a pixel: nearly all of this noise is finer than the picture
    assert made.rgb[near].std() < 0.5 * plain[near].std()
    # fewer than one: the photo itself, not blurred for the sake of the near end
    assert np.abs(made.rgb.astype(int) - plain)[far].max() <= 1


@pytest.mark.parametrize(
    ("face", "changes"),
    [
        pytest.param(WALL, {}, id="wall"),
        pytest.param(WALL, LENS, id="wall-lens"),
        pytest.param(WALL, ALONGSIDE, id="along-the-wall"),
        pytest.param(WALL, ALONGSIDE | LENS, id="along-the-wall-lens"),
        pytest.param(TOWER, LENS, id="tower-lens"),
    ],
)
def test_a_picture_does_not_depend_on_where_its_tiles_fall(face, changes):
    scene = camera(**changes)
    photo = noise_photo(900, 700)
    view = view_of(scene, face)
    whole = make_window(-2600.0, -800.0, 5400.0, 3200.0, 0.2)  # 1600 x 800
    made = straighten(photo, view, whole)
    for left, top, width, height in ((0, 0, 700, 500), (333, 217, 901, 405), (1111, 87, 489, 600)):
        u0, v1 = whole.chart_mm_from_target_px([left, top])
        u1, v0 = whole.chart_mm_from_target_px([left + width, top + height])
        part = straighten(photo, view, Window(u0, v0, u1, v1, width, height))
        same = np.s_[top : top + height, left : left + width]
        both = (made.visible[same] > 0) & (part.visible > 0)
        assert np.mean(made.visible[same] != part.visible) < 1e-4
        apart = np.abs(made.rgb[same].astype(int) - part.rgb)[both]
        # fades are placed from other nodes, a hair's breadth away; a seam in this texture
        # would be 30 and more, along a whole line
        assert apart.size == 0 or apart.max() <= 12
        assert apart.size == 0 or np.percentile(apart, 99.9) <= 4
        assert apart.size == 0 or apart.mean() < 0.2


@pytest.mark.parametrize("lens", [{}, LENS], ids=["no-lens", "lens"])
def test_tiles_meet_without_a_seam(lens):
    scene = camera(**lens)
    photo = noise_photo(900, 700)
    window = make_window(-3500.0, -1000.0, 3500.0, 4500.0, 0.25)  # 1750 x 1375: many strips
    made = straighten(photo, view_of(scene, WALL), window)
    x, y = np.moveaxis(scene.project_wall(target_chart(window)), -1, 0).astype(np.float32)
    direct = cv2.remap(photo, x - 0.5, y - 0.5, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    apart = np.abs(made.rgb.astype(int) - direct)[made.visible > 0]
    assert apart.max() <= 2  # two places in 255 of texture that steep: 0.02 px


def test_levels_fade_without_changing_an_even_colour():
    scene = camera(**ALONGSIDE)
    photo = np.empty((700, 900, 3), np.uint8)
    photo[...] = (13, 201, 255)
    made = straighten(photo, view_of(scene, WALL), Window(-2600.0, 0.0, 20000.0, 3200.0, 1500, 600))
    assert np.array_equal(np.unique(made.rgb[made.visible > 0], axis=0), [[13, 201, 255]])


@pytest.mark.parametrize("size", [(1, 1), (1, 40), (40, 1), (33, 65), (257, 2)])
@pytest.mark.parametrize("lens", [{}, LENS], ids=["no-lens", "lens"])
def test_pictures_of_any_size_are_drawn_whole(size, lens):
    scene = camera(**lens)
    photo = np.full((700, 900, 3), 180, np.uint8)
    made = straighten(photo, view_of(scene, WALL), Window(-300.0, 1000.0, 300.0, 2000.0, *size))
    assert made.rgb.shape == (size[1], size[0], 3)
    assert np.all(made.visible == 255)
    assert np.all(made.rgb == 180)


@pytest.mark.parametrize("interpolation", ["cubic", "nearest"])
@pytest.mark.parametrize("lens", [{}, LENS], ids=["no-lens", "lens"])
def test_other_interpolations_read_the_same_places(interpolation, lens):
    scene = camera(**lens)
    photo = wave_photo(chart_seen(scene, WALL), 240.0, 0)
    window = make_window(-2000.0, 0.0, 2000.0, 3000.0, 0.1)
    made = straighten(photo, view_of(scene, WALL), window, interpolation=interpolation)
    miss_px = wave_miss_mm(made.rgb, target_chart(window)[..., 0], 240.0)[made.visible > 0] * 0.1
    limit = {"cubic": 0.1, "nearest": 0.62}[interpolation]
    assert np.abs(miss_px).max() < limit
    assert abs(miss_px.mean()) < 0.01


@pytest.mark.parametrize("lens", [{}, LENS], ids=["no lens terms", "lens terms"])
def test_a_picture_of_one_level_shows_the_same_places(lens):
    """A wall from alongside, whose far end asks for a coarser copy than its near one."""
    scene = camera(**ALONGSIDE, **lens)
    view, window = view_of(scene, WALL), make_window(-1500.0, 500.0, 9000.0, 3500.0, 0.06)
    photo = wave_photo(chart_seen(scene, WALL), 1500.0, 0)
    faded, plain = (straighten(photo, view, window, one_level=one) for one in (False, True))
    np.testing.assert_array_equal(plain.visible, faded.visible)
    inner = cv2.erode(plain.visible, np.ones((5, 5), np.uint8)) > 0
    miss = wave_miss_mm(plain.rgb, target_chart(window)[..., 0], 1500.0)[inner]
    assert inner.sum() > 5000
    assert np.abs(miss).max() < 25.0  # a pixel of the picture is 17 mm
    assert (plain.rgb != faded.rgb).any()
