"""Straightened pictures against photos drawn ray by ray from an invented building."""

import re
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from rectify.frames import Pose
from rectify.photos.pyramid import Pyramid
from rectify.straighten import StoppedError, straighten
from rectify.surfaces import make_wall
from rectify.window import Window, make_window
from shared.errors import InputError
from tests.support.faces_to_straighten import (
    LENS,
    ROOF,
    TOWER,
    WALL,
    WING,
    camera,
    noise_photo,
    square_on,
    target_chart,
    view_of,
    wave_miss_mm,
    wave_photo,
)
from tests.support.ray_caster import FlatFace, chart_seen, shows

FACES = [
    pytest.param(WALL, {}, id="wall"),
    pytest.param(WALL, LENS, id="wall-lens"),
    pytest.param(WING, {}, id="hinged"),
    pytest.param(WING, LENS, id="hinged-lens"),
    pytest.param(ROOF, LENS, id="roof-lens"),
    pytest.param(TOWER, {}, id="tower"),
    pytest.param(TOWER, LENS, id="tower-lens"),
]


@pytest.mark.parametrize(("face", "lens"), FACES)
def test_every_chart_point_lies_within_a_twentieth_of_a_pixel(face, lens):
    scene = camera(**lens)
    period_mm = 160.0  # 16 photo pixels where the face is square on: 1 grey step is 0.02 px
    seen_mm = chart_seen(scene, face)
    window = make_window(-2400.0, -900.0, 2200.0, 3300.0, 0.1)
    chart = target_chart(window)
    shown, inner_px = shows(scene, face, chart)
    for axis in (0, 1):
        made = straighten(wave_photo(seen_mm, period_mm, axis), view_of(scene, face), window)
        # in pixels of the photo or of the picture, whichever are larger
        ahead = scene.project(face.place(chart + 0.5 * np.eye(2)[axis])[0])
        behind = scene.project(face.place(chart - 0.5 * np.eye(2)[axis])[0])
        photo_px_per_mm = np.linalg.norm(ahead - behind, axis=-1)
        compared = shown & (inner_px > 2) & (photo_px_per_mm > 0.045)  # 7 px to a wave, or more
        miss_mm = wave_miss_mm(made.rgb, chart[..., axis], period_mm)
        miss_px = (miss_mm * np.minimum(photo_px_per_mm, 0.1))[compared]
        assert compared.sum() > 25_000
        assert np.abs(miss_px).max() < 0.05
        assert abs(miss_px.mean()) < 0.01  # half a pixel, or a sixty-fourth, would show here


def test_set_back_makes_the_glass_come_out_true():
    scene = camera(**LENS)
    photo = wave_photo(chart_seen(scene, FlatFace(set_back=180.0)), 240.0, 0)
    window = make_window(-2000.0, 0.0, 2000.0, 3000.0, 0.1)
    made = straighten(photo, view_of(scene, WALL), window, 180.0)
    miss_px = wave_miss_mm(made.rgb, target_chart(window)[..., 0], 240.0)[made.visible > 0] * 0.1
    assert np.abs(miss_px).max() < 0.05


@pytest.mark.parametrize("lens", [{}, LENS], ids=["no-lens", "lens"])
@pytest.mark.parametrize("px_per_mm", [0.07, 0.05, 0.035, 0.025, 0.0175])
def test_smaller_copies_lie_in_register(px_per_mm, lens):
    scene = camera(**lens)
    period_mm = 20.0 / px_per_mm
    photo = wave_photo(chart_seen(scene, WALL), period_mm, 0)
    window = make_window(-2400.0, -900.0, 2200.0, 3300.0, px_per_mm)
    pyramid = Pyramid(photo)
    made = straighten(photo, view_of(scene, WALL), window, pyramid=pyramid)
    shown, inner_px = shows(scene, WALL, target_chart(window))
    compared = shown & (inner_px > 8 / px_per_mm * 0.1)
    miss_px = wave_miss_mm(made.rgb, target_chart(window)[..., 0], period_mm) * px_per_mm
    assert np.abs(miss_px[compared]).max() < 0.05
    assert abs(miss_px[compared].mean()) < 0.005


def test_dots_come_back_to_where_they_were_drawn():
    scene = camera(**LENS)
    dots_mm = np.array([[u, v] for u in (-1800.0, -300.0, 1500.0) for v in (100.0, 1400.0, 2700.0)])
    chart = chart_seen(scene, TOWER)
    ink = np.zeros(chart.shape[:2])
    for dot in dots_mm:
        away = np.sum((np.nan_to_num(chart, nan=1e6) - dot) ** 2, axis=-1)
        ink += np.exp(-away / (2 * 40.0**2))
    photo = np.repeat(np.rint(250 * np.minimum(ink, 1))[..., None], 3, axis=-1).astype(np.uint8)
    window = make_window(-2400.0, -600.0, 2200.0, 3300.0, 0.1)
    made = straighten(photo, view_of(scene, TOWER), window).rgb[..., 0].astype(float)
    for dot in dots_mm:
        x, y = np.rint(window.target_px_from_chart_mm(dot)).astype(int)
        patch = made[y - 16 : y + 16, x - 16 : x + 16]
        rows, columns = np.mgrid[y - 16 : y + 16, x - 16 : x + 16] + 0.5
        middle = np.array([(patch * columns).sum(), (patch * rows).sum()]) / patch.sum()
        assert_allclose(window.chart_mm_from_target_px(middle), dot, atol=0.5)  # 0.05 px


@pytest.mark.parametrize("lens", [{}, LENS], ids=["no-lens", "lens"])
def test_progress_rises_to_one(lens):
    scene = camera(**lens)
    shares = []
    window = Window(-3000.0, -1000.0, 3000.0, 4000.0, 3000, 2500)
    photo = np.full((700, 900, 3), 99, np.uint8)
    straighten(photo, view_of(scene, WALL), window, progress=shares.append)
    assert len(shares) >= 2
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


@pytest.mark.parametrize("lens", [{}, LENS], ids=["no-lens", "lens"])
def test_answering_false_stops_the_work_at_once(lens):
    scene = camera(**lens)
    calls = []

    def stop(share):
        calls.append(share)
        return False

    window = Window(-3000.0, -1000.0, 3000.0, 4000.0, 3000, 2500)
    photo = np.full((700, 900, 3), 99, np.uint8)
    with pytest.raises(StoppedError, match="stopped"):
        straighten(photo, view_of(scene, WALL), window, progress=stop)
    assert len(calls) == 1
    assert calls[0] < 1.0


def test_smaller_copies_are_shared_between_calls():
    scene = camera()
    photo = noise_photo(900, 700)
    photo.flags.writeable = False
    pyramid = Pyramid(photo)
    window = Window(-3000.0, -1000.0, 3000.0, 4000.0, 150, 125)
    first = straighten(photo, view_of(scene, WALL), window, pyramid=pyramid)
    kept = pyramid.level(4).pixels
    second = straighten(photo, view_of(scene, WALL), window, pyramid=pyramid)
    assert pyramid.level(4).pixels is kept
    assert np.array_equal(first.rgb, second.rgb)
    assert np.array_equal(first.rgb, straighten(photo, view_of(scene, WALL), window).rgb)


def test_a_pyramid_of_another_photo_is_a_wrong_call():
    photo = noise_photo(90, 70)
    with pytest.raises(ValueError, match="pyramid"):
        straighten(
            photo, square_on(90, 70), Window(0, 0, 9, 9, 9, 9), pyramid=Pyramid(photo.copy())
        )


def test_an_unknown_interpolation_is_a_wrong_call():
    with pytest.raises(ValueError, match="interpolation"):
        straighten(
            noise_photo(90, 70), square_on(90, 70), Window(0, 0, 9, 9, 9, 9), interpolation="soft"
        )


ONE_SENTENCE = re.compile(r"[A-Z][^.]*(\.\d[^.]*)*\.")


@pytest.mark.parametrize("set_back_mm", [2200.0, 5000.0, np.nan])
def test_a_set_back_past_the_towers_axis_is_refused(set_back_mm):
    scene = camera()
    photo = noise_photo(900, 700)
    with pytest.raises(InputError) as caught:
        straighten(photo, view_of(scene, TOWER), Window(0, 0, 9, 9, 9, 9), set_back_mm)
    assert ONE_SENTENCE.fullmatch(str(caught.value))
    assert "set-back" in str(caught.value)


def test_a_photo_too_wide_for_the_machinery_is_refused():
    photo = np.broadcast_to(np.uint8(7), (10, 40_000, 3))
    with pytest.raises(InputError, match="40000 x 10 pixels") as caught:
        straighten(photo, square_on(40_000, 10), Window(0, 0, 9, 9, 9, 9))
    assert ONE_SENTENCE.fullmatch(str(caught.value))


def test_moving_the_camera_and_the_wall_together_changes_nothing():
    scene = camera()
    photo = noise_photo(900, 700)
    view = view_of(scene, WALL)
    moved = replace(
        view,
        pose=Pose(view.pose.rotation, (500.0, 1600.0, 7300.0)),
        surface=make_wall(500.0, 300.0, 0.0),
    )
    window = Window(-2000.0, 0.0, 2000.0, 3000.0, 400, 300)
    assert np.array_equal(straighten(photo, view, window).rgb, straighten(photo, moved, window).rgb)
