"""A straightened photo made into a skin, on pictures whose outcome can be reckoned."""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from measure.elevation.skin import (
    Skin,
    balanced,
    cut_to_outline,
    evened,
    linear_of,
    mask_of,
    painted_out,
    srgb_of,
)
from rectify.window import Window
from shared.errors import FieldError

W, H = 240, 160  # pixels, each 10 mm: 2400 by 1600 mm
WINDOW = Window(0.0, 0.0, 2400.0, 1600.0, W, H)


def skin_from(linear, opaque=None) -> Skin:
    light = np.broadcast_to(np.asarray(linear, dtype=np.float32), (H, W, 3))
    shown = np.full((H, W), 255, dtype=np.uint8) if opaque is None else opaque
    return Skin(srgb_of(light.copy()), shown, WINDOW)


def bricks(scale: float = 1.0):
    """A pattern that repeats every 80 pixels along and 10 up."""
    y, x = np.mgrid[0:H, 0:W]
    tone = 0.25 + 0.1 * ((x // 8 + y // 5) % 2) + 0.05 * ((x % 40) // 20)
    return scale * np.stack([tone, 0.6 * tone, 0.4 * tone], axis=-1)


def test_every_level_of_a_pixel_survives_linear_light():
    levels = np.arange(256, dtype=np.uint8).reshape(1, -1, 1).repeat(3, axis=2)
    assert np.array_equal(srgb_of(linear_of(levels)), levels)


def test_middle_grey_is_a_fifth_of_the_light():
    assert linear_of(np.array([[[118, 118, 118]]], dtype=np.uint8)) == pytest.approx(
        0.18, abs=0.002
    )


# Evening the light


def test_even_light_stays_as_it_is():
    skin = skin_from([0.4, 0.3, 0.2])
    after = evened(skin, 300.0)
    assert np.abs(after.rgb.astype(int) - skin.rgb).max() <= 1


@pytest.mark.parametrize("axis", [0, 1])
def test_a_ramp_of_light_is_taken_out(axis):
    ramp = np.exp(np.linspace(np.log(0.6), np.log(1.4), (H, W)[axis]))
    ramp = ramp[:, None, None] if axis == 0 else ramp[None, :, None]
    skin = skin_from(0.3 * ramp * np.ones((H, W, 3)))
    before, after = linear_of(skin.rgb)[..., 0], linear_of(evened(skin, 300.0).rgb)[..., 0]
    assert before.std() / before.mean() > 0.2
    assert after.std() / after.mean() < 0.015
    # as bright as before in the middle: the mean of the logarithm stays
    assert np.log(after).mean() == pytest.approx(np.log(before).mean(), abs=0.01)


def test_bricks_keep_their_contrast_and_their_hue():
    shade = np.exp(np.linspace(-0.4, 0.4, W))[None, :, None]
    after = linear_of(evened(skin_from(bricks() * shade), 400.0).rgb)
    wanted = bricks()
    ratio = after[20:-20, 20:-20] / wanted[20:-20, 20:-20]
    assert ratio.std() / ratio.mean() < 0.03
    assert (after[..., 1] / after[..., 0]).mean() == pytest.approx(0.6, abs=0.01)


def test_dark_windows_are_not_made_lighter_nor_the_wall_around_them_darker():
    wall = np.full((H, W, 3), 0.3)
    wall[40:120, 80:140] = 0.01
    skin = skin_from(wall)
    hole = np.zeros((H, W), dtype=bool)
    hole[40:120, 80:140] = True
    after = linear_of(evened(skin, 300.0, hole).rgb)[..., 0]
    assert after[~hole] == pytest.approx(0.3, rel=0.02)
    assert after[hole] == pytest.approx(0.01, rel=0.1)


def test_a_cast_shadow_stays_and_does_not_brighten_the_wall_around_it():
    shade = np.exp(np.linspace(-0.2, 0.2, W))[None, :, None] * np.ones((H, W, 3))
    shade[90:, 60:150] *= 0.35
    after = linear_of(evened(skin_from(0.3 * shade), 600.0).rgb)[..., 0]
    around = np.concatenate([after[60:88, 60:150].ravel(), after[90:, 30:58].ravel()])
    assert around.std() / around.mean() < 0.02
    assert after[120, 105] == pytest.approx(0.35 * around.mean(), rel=0.05)


def test_what_the_photo_does_not_show_has_no_say():
    opaque = np.full((H, W), 255, dtype=np.uint8)
    opaque[:, :100] = 0
    light = np.full((H, W, 3), 0.3)
    light[:, :100] = 0.0
    after = linear_of(evened(skin_from(light, opaque), 300.0).rgb)[..., 0]
    assert after[:, 100:] == pytest.approx(0.3, rel=0.02)


def test_a_skin_without_a_visible_pixel_stays():
    skin = skin_from(0.3 * np.ones((H, W, 3)), np.zeros((H, W), dtype=np.uint8))
    assert evened(skin, 300.0) is skin


# Balance of colours


@given(st.tuples(*[st.floats(0.5, 1.5)] * 3))
def test_a_cast_over_something_grey_is_taken_out_of_everything(cast):
    light = 0.4 * bricks() / bricks().max()
    light[:40, :40] = 0.3
    seen = skin_from(light * np.array(cast))
    neutral = np.zeros((H, W), dtype=bool)
    neutral[:40, :40] = True
    after = linear_of(balanced(seen, neutral).rgb)
    grey = after[:40, :40].reshape(-1, 3).mean(axis=0)
    assert grey / grey.mean() == pytest.approx(1.0, abs=0.02)
    brick = after[80:, 80:].reshape(-1, 3).mean(axis=0)
    assert brick[1] / brick[0] == pytest.approx(0.6, rel=0.03)


def test_grey_that_is_grey_already_changes_nothing():
    skin = skin_from(0.3 * np.ones((H, W, 3)))
    after = balanced(skin, np.ones((H, W), dtype=bool))
    assert np.array_equal(after.rgb, skin.rgb)


@pytest.mark.parametrize(
    ("light", "opaque", "words"),
    [
        ([0.5, 0.05, 0.05], 255, "too dark or too colourful"),
        ([0.0, 0.0, 0.0], 255, "too dark or too colourful"),
        ([0.3, 0.3, 0.3], 0, "is not on the photo"),
    ],
)
def test_what_cannot_be_grey_is_refused(light, opaque, words):
    skin = skin_from(np.array(light), np.full((H, W), opaque, dtype=np.uint8))
    with pytest.raises(FieldError, match=words):
        balanced(skin, np.ones((H, W), dtype=bool))


# Painting out

POLE = [(1000.0, 300.0), (1200.0, 300.0), (1200.0, 1300.0), (1000.0, 1300.0)]


def with_pole(light):
    out = np.array(light)
    out[mask_of(WINDOW, shapely.Polygon(POLE))] = 0.9
    return skin_from(out)


@pytest.mark.parametrize("shift_mm", [800.0, -800.0])
def test_a_pole_is_painted_over_with_a_bay_further_along(shift_mm):
    after = painted_out(with_pole(bricks()), POLE, shift_mm=shift_mm)
    assert np.array_equal(after.rgb, skin_from(bricks()).rgb)
    assert after.notes == ()


def test_a_pole_is_painted_over_with_the_other_side_of_an_axis():
    light = bricks()
    light[:, W // 2 :] = light[:, : W // 2][:, ::-1]
    axis = 1200.0  # the pole reaches up to it
    after = painted_out(with_pole(light), POLE, axis_mm=axis)
    assert np.array_equal(after.rgb, skin_from(light).rgb)


def test_a_shift_of_half_a_pixel_is_the_mean_of_two():
    light = np.zeros((H, W, 3))
    light[:, ::2] = 0.5
    after = painted_out(skin_from(light), POLE, shift_mm=805.0)
    inside = mask_of(WINDOW, shapely.Polygon(POLE).buffer(-30.0))
    levels = after.rgb[inside]
    high = skin_from(light).rgb.max()
    assert np.abs(levels.astype(int) - high / 2.0).max() <= 1


def test_where_the_other_bay_is_not_on_the_photo_the_pole_stays_and_it_is_said():
    pole = with_pole(bricks())
    after = painted_out(pole, POLE, shift_mm=1300.0)  # half of it lies past the edge
    (note,) = after.notes
    assert note.startswith("50 % of what is to be painted out stays")
    outside = mask_of(WINDOW, shapely.box(1100.0, 300.0, 1200.0, 1300.0))
    assert np.array_equal(after.rgb[outside], pole.rgb[outside])


def test_the_picture_is_not_taken_from_what_is_being_painted_out():
    pole = with_pole(bricks())
    after = painted_out(pole, POLE, shift_mm=100.0)
    assert after.notes[0].startswith("50 %")


def test_both_pictures_run_into_each_other_at_the_edge():
    light = np.full((H, W, 3), 0.2)
    light[:, 180:] = 0.6
    after = painted_out(skin_from(light), POLE, shift_mm=900.0, blend_mm=50.0)
    row = linear_of(after.rgb)[80, 98:122, 0]
    assert row[:2] == pytest.approx(0.2, abs=0.01)
    assert row[10:14] == pytest.approx(0.6, abs=0.01)
    rise = row[2:8]
    assert (np.diff(rise) > 0.0).all()


@pytest.mark.parametrize(
    ("hole", "how", "words"),
    [
        (POLE, {}, "one place to take the picture from"),
        (POLE, {"shift_mm": 1.0, "axis_mm": 2.0}, "one place to take the picture from"),
        ([(5000.0, 0.0), (5100.0, 0.0), (5100.0, 100.0)], {"shift_mm": 1.0}, "lies off"),
    ],
)
def test_what_cannot_be_painted_out_is_refused(hole, how, words):
    with pytest.raises(FieldError, match=words):
        painted_out(skin_from(bricks()), hole, **how)


# Cutting

GABLE = shapely.Polygon([(400, 200), (2000, 200), (2000, 900), (1200, 1400), (400, 900)])


def test_a_skin_is_cut_to_its_outline():
    after = cut_to_outline(skin_from(bricks()), GABLE, 0.0)
    assert np.count_nonzero(after.opaque) * 100.0 == pytest.approx(GABLE.area, rel=0.01)
    assert np.array_equal(after.opaque > 0, mask_of(WINDOW, GABLE))


def test_the_bleed_goes_around_the_outline_with_square_corners():
    square = shapely.box(400.0, 200.0, 2000.0, 1200.0)
    after = cut_to_outline(skin_from(bricks()), square, 100.0)
    assert np.count_nonzero(after.opaque) == 180 * 120


def test_no_sky_is_printed_in_the_bleed():
    light = np.full((H, W, 3), [0.2, 0.4, 0.9])  # sky
    wall = mask_of(WINDOW, GABLE)
    light[wall] = [0.3, 0.1, 0.05]
    after = cut_to_outline(skin_from(light), GABLE, 80.0)
    shown = after.rgb[after.opaque > 0]
    assert len(np.unique(shown, axis=0)) == 1
    assert np.count_nonzero(after.opaque) > np.count_nonzero(wall)


def test_the_bleed_is_the_nearest_wall():
    light = bricks()
    square = shapely.box(400.0, 200.0, 2000.0, 1200.0)
    after = cut_to_outline(skin_from(light), square, 50.0)
    edge = skin_from(light).rgb[80, 40]
    assert (after.rgb[80, 35:40] == edge).all()
    assert (after.opaque[80, 35:40] == 255).all()
    assert after.opaque[80, 34] == 0


def test_wall_that_the_photo_does_not_show_stays_clear_and_so_does_its_bleed():
    opaque = np.full((H, W), 255, dtype=np.uint8)
    opaque[:, :60] = 0
    square = shapely.box(400.0, 200.0, 2000.0, 1200.0)
    after = cut_to_outline(skin_from(bricks(), opaque), square, 50.0)
    assert not after.opaque[:, :60].any()
    assert after.opaque[80, 60] == 255


@given(st.lists(st.tuples(st.floats(-500, 3000), st.floats(-500, 2000)), min_size=3, max_size=9))
def test_a_mask_agrees_with_the_area_for_any_polygon(points):
    area = shapely.make_valid(shapely.Polygon(points))
    assume(area.geom_type in ("Polygon", "MultiPolygon"))
    edge = area.boundary.buffer(1e-6)
    mask = mask_of(WINDOW, area)
    rng = np.random.default_rng(0)
    rows, columns = rng.integers(0, H, 200), rng.integers(0, W, 200)
    for row, column in zip(rows, columns, strict=True):
        centre = shapely.Point((column + 0.5) * 10.0, 1600.0 - (row + 0.5) * 10.0)
        if not edge.contains(centre):
            assert mask[row, column] == area.contains(centre)


def test_a_mask_leaves_out_what_is_cut_out_of_an_area():
    ring = shapely.box(100.0, 100.0, 500.0, 500.0) - shapely.box(200.0, 200.0, 300.0, 300.0)
    assert np.count_nonzero(mask_of(WINDOW, ring)) == 40 * 40 - 10 * 10


def test_a_mask_holds_the_pixels_whose_centres_lie_inside():
    mask = mask_of(WINDOW, shapely.box(100.0, 100.0, 200.0, 300.0))
    assert np.count_nonzero(mask) == 10 * 20
    assert mask[H - 30 : H - 10, 10:20].all()
