import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from rectify.snap import CLICK_U_PX, snap_corner
from shared.errors import DegenerateError
from tests.support.corners import Scene, draw_scene, inner_corner

DIM = (72.0, 60.0, 66.0)  # a step of 12 levels
FAINT = (85.0, 60.0, 110.0)  # 25 levels
SOFT = (90.0, 60.0, 120.0)  # 30 levels


def trial(scene: Scene, rng: np.random.Generator, click_off_px: float = 6.0):
    """One corner of random place, turn (60 to 120 degrees wide) and click: snap and truth."""
    corner = tuple(32.0 + rng.uniform(-0.5, 0.5, 2))
    start, angle = rng.uniform(0, 2 * np.pi), np.radians(rng.uniform(60, 120))
    photo = draw_scene(scene, corner, start, angle, rng)
    off = click_off_px * np.sqrt(rng.random())
    toward = rng.uniform(0, 2 * np.pi)
    click = np.asarray(corner) + off * np.array([np.cos(toward), np.sin(toward)])
    return snap_corner(photo, click), np.asarray(corner), (start, angle)


def run(scene: Scene, count: int, seed: int = 1):
    """Distances from truth of the corners found, chi-square / 2 of each, share of corners."""
    rng = np.random.default_rng(seed)
    distances, standardised, corners = [], [], 0
    for _ in range(count):
        snap, truth, _ = trial(scene, rng)
        if snap.kind != "corner":
            continue
        corners += 1
        error = snap.point_photo_px - truth
        distances.append(float(np.hypot(*error)))
        standardised.append(float(error @ np.linalg.solve(snap.cov_px, error)) / 2.0)
    return np.array(distances), np.array(standardised), corners / count


# Median distances allowed in pixels; measured ones are 0.3 to 0.9 of these.
ACCURACY = {
    "L plain": (Scene("L"), 0.06),
    "L unblurred": (Scene("L", blur_px=0.0), 0.05),
    "L out of focus": (Scene("L", blur_px=2.5), 0.2),
    "L noisy": (Scene("L", noise=8.0), 0.2),
    "L dim": (Scene("L", levels=DIM), 0.3),
    "L JPEG 90": (Scene("L", jpeg_quality=90), 0.06),
    "L JPEG 50": (Scene("L", jpeg_quality=50), 0.13),
    "L faint noisy JPEG": (Scene("L", levels=SOFT, noise=4.0, jpeg_quality=75), 0.3),
    "T plain": (Scene("T"), 0.06),
    "T out of focus": (Scene("T", blur_px=2.5), 0.2),
    "T noisy": (Scene("T", noise=8.0), 0.2),
    "T JPEG 50": (Scene("T", jpeg_quality=50), 0.13),
    "X plain": (Scene("X"), 0.03),
    "X out of focus": (Scene("X", blur_px=2.5), 0.06),
    "X faint and noisy": (Scene("X", levels=FAINT, noise=6.0), 0.2),
    "X dim": (Scene("X", levels=DIM), 0.15),
    "X faint noisy JPEG": (Scene("X", levels=SOFT, noise=4.0, jpeg_quality=75), 0.15),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", ACCURACY)
def test_corner_is_found_from_a_click_up_to_six_pixels_off(name):
    scene, most_px = ACCURACY[name]
    distances, _, found = run(scene, 30)
    assert found >= 0.93
    assert np.median(distances) <= most_px
    assert np.quantile(distances, 0.9) <= 3.0 * most_px


@pytest.mark.slow
def test_corner_at_a_quarter_of_the_noise_still_has_an_honest_place():
    # A step of 25 levels in noise of 6: the median error is above 0.3 px, and the ± says so.
    distances, standardised, found = run(Scene("L", levels=FAINT, noise=6.0), 60)
    assert found >= 0.9
    assert np.median(distances) <= 0.5
    assert 0.6 < np.mean(standardised) < 1.6


HONEST = [
    Scene("L", noise=8.0),
    Scene("L", levels=DIM),
    Scene("L", blur_px=2.5),
    Scene("L", jpeg_quality=50),
    Scene("L", levels=SOFT, noise=4.0, jpeg_quality=75),
    Scene("T", noise=8.0),
    Scene("T", levels=SOFT, noise=3.0),
    Scene("T", jpeg_quality=75),
    Scene("X", levels=FAINT, noise=6.0),
    Scene("X", levels=SOFT, noise=4.0, jpeg_quality=75),
]


@pytest.mark.slow
def test_errors_are_as_large_as_the_stated_uncertainty():
    # With an honest covariance chi-square over its 2 degrees of freedom has mean 1;
    # of 400 corners its own standard deviation is 0.05. The width of the band beyond that is
    # what one rule for all kinds of spoiling leaves: single kinds lie between 0.5 and 1.6.
    parts = [run(scene, 40, seed=2)[1] for scene in HONEST]
    for part in parts:
        assert 0.35 < np.mean(part) < 1.9
    pooled = np.concatenate(parts)
    assert len(pooled) > 380
    assert 0.75 < np.mean(pooled) < 1.3
    # 95 % of chi-square with 2 degrees of freedom lie below 5.99.
    assert 0.90 < np.mean(2.0 * pooled < 5.99) < 0.99


@pytest.mark.slow
def test_clean_picture_never_errs_by_more_than_stated():
    _, standardised, _ = run(Scene("L", noise=0.0), 40)
    # Only what the model leaves open enters here, which is stated on the safe side.
    assert np.mean(standardised) < 1.0


def test_first_pixel_centre_is_one_half():
    # A corner of whole pixels: columns 30.. and rows 20.. are light, so the corner is (30, 20)
    # where the first pixel's centre is (0.5, 0.5).
    photo = np.full((60, 60), 60, np.uint8)
    photo[20:, 30:] = 180
    snap = snap_corner(photo, (33.0, 18.0))
    assert snap.kind == "corner"
    # An unblurred step on pixel borders is the worst sampled edge there is.
    assert_allclose(snap.point_photo_px, (30.0, 20.0), atol=0.02)


def test_place_between_pixels_follows_the_shares():
    # The border column is 3/4 light: the edge lies a quarter into it.
    photo = np.full((60, 60), 60, np.uint8)
    photo[20:, 31:] = 180
    photo[20:, 30] = 150
    snap = snap_corner(photo, (33.0, 18.0))
    assert_allclose(snap.point_photo_px, (30.25, 20.0), atol=0.04)


def plain_photo(kind="L", seed=0, **changes):
    rng = np.random.default_rng(seed)
    return draw_scene(Scene(kind, **changes), (32.3, 31.8), 0.4, 1.4, rng)


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_turning_the_photo_turns_the_corner(turns):
    photo = plain_photo()
    straight = snap_corner(photo, (34.0, 30.0))
    turned = np.array([34.0, 30.0]) - 32.0
    expected = straight.point_photo_px - 32.0
    for _ in range(turns):  # np.rot90 takes (x, y) to (y, -x) about the centre
        turned = np.array([turned[1], -turned[0]])
        expected = np.array([expected[1], -expected[0]])
    snap = snap_corner(np.rot90(photo, turns), turned + 32.0)
    # Not exactly equal: ties between edge points are broken by their order.
    assert_allclose(snap.point_photo_px, expected + 32.0, atol=0.02)


@settings(max_examples=15, deadline=None)
@given(dx=st.integers(-4, 4), dy=st.integers(-4, 4))
def test_moving_the_photo_by_whole_pixels_moves_the_corner_with_it(dx, dy):
    photo = np.full((100, 100), 80, np.uint8)
    photo[16:80, 16:80] = plain_photo()
    moved = np.full((100, 100), 80, np.uint8)
    moved[16 + dy : 80 + dy, 16 + dx : 80 + dx] = plain_photo()
    first = snap_corner(photo, (50.0, 46.0))
    second = snap_corner(moved, (50.0 + dx, 46.0 + dy))
    assert_allclose(second.point_photo_px - first.point_photo_px, (dx, dy), atol=1e-6)
    assert_allclose(second.cov_px, first.cov_px, rtol=1e-6)


def test_negative_of_the_photo_has_the_same_corner():
    photo = plain_photo()
    assert_allclose(
        snap_corner(255 - photo, (34.0, 30.0)).point_photo_px,
        snap_corner(photo, (34.0, 30.0)).point_photo_px,
        atol=1e-6,
    )


def test_grey_and_rgb_of_the_same_photo_agree():
    photo = plain_photo()
    rgb = np.repeat(photo[..., np.newaxis], 3, axis=2)
    assert_allclose(
        snap_corner(rgb, (34.0, 30.0)).point_photo_px,
        snap_corner(photo, (34.0, 30.0)).point_photo_px,
        atol=1e-6,
    )


def test_corner_of_colour_alone_is_found():
    # Brick red and grey of one brightness: 0.299 R + 0.587 G + 0.114 B is 100 for both.
    share = plain_photo(levels=(255.0, 0.0, 0.0), noise=0.0)[..., np.newaxis] / 255.0
    red, grey = np.array([170.0, 70.0, 71.0]), np.array([100.0, 100.0, 100.0])
    noise = np.random.default_rng(4).normal(0, 1.5, (64, 64, 3))
    photo = np.clip(np.rint(grey + share * (red - grey) + noise), 0, 255).astype(np.uint8)
    snap = snap_corner(photo, (35.0, 30.0))
    assert snap.kind == "corner"
    assert_allclose(snap.point_photo_px, (32.3, 31.8), atol=0.25)


@pytest.mark.parametrize("band_px", [4.0, 6.0, 8.0])
@pytest.mark.parametrize("levels", [(60.0, 150.0, 170.0), (220.0, 130.0, 100.0)])
def test_painted_frame_gives_the_side_that_was_clicked(band_px, levels):
    rng = np.random.default_rng(5)
    scene = Scene("frame", levels=levels, band_px=band_px)
    for _ in range(6):
        start, angle = rng.uniform(0, 6.28), np.radians(rng.uniform(70, 110))
        outer = tuple(32.0 + rng.uniform(-0.5, 0.5, 2))
        photo = draw_scene(scene, outer, start, angle, rng)
        for truth in (np.asarray(outer), inner_corner(outer, start, angle, band_px)):
            snap = snap_corner(photo, truth + rng.uniform(-0.7, 0.7, 2))
            error = snap.point_photo_px - truth
            # Bands down to 4 px; their edges' blurs overlap and push each other by some tenths.
            assert np.hypot(*error) < 0.3
            assert error @ np.linalg.solve(snap.cov_px, error) < 16.0


def test_band_too_narrow_to_tell_its_edges_apart_has_a_large_uncertainty():
    rng = np.random.default_rng(6)
    for _ in range(8):
        scene = Scene("frame", levels=(60.0, 150.0, 170.0), band_px=2.0)
        photo = draw_scene(scene, (32.2, 31.9), rng.uniform(0, 6.28), np.pi / 2, rng)
        snap = snap_corner(photo, (32.2, 31.9))
        assert snap.u_px > 0.25


def test_plain_edge_gives_a_point_on_it_drawn_out_along_it():
    rng = np.random.default_rng(7)
    start = 0.35
    photo = draw_scene(Scene("edge"), (32.2, 31.6), start, np.pi / 2, rng)
    along = np.array([np.cos(start), np.sin(start)])
    across = np.array([-along[1], along[0]])
    click = np.array([32.2, 31.6]) + 4.0 * along + 3.0 * across
    snap = snap_corner(photo, click)
    assert snap.kind == "edge"
    offset = snap.point_photo_px - np.array([32.2, 31.6])
    assert_allclose(offset @ across, 0.0, atol=0.06)
    assert_allclose(offset @ along, 4.0, atol=0.1)  # the click's foot, as far as it is known
    assert_allclose(along @ snap.cov_px @ along, CLICK_U_PX**2, rtol=1e-2)
    assert across @ snap.cov_px @ across < 0.06**2
    assert snap.u_across_px < 0.06
    assert snap.u_px > 2.0


def test_edge_under_the_click_goes_before_a_corner_at_the_end_of_reach():
    photo = np.full((64, 64), 60, np.uint8)
    photo[20:, 30:] = 180
    assert snap_corner(photo, (30.2, 27.9)).kind == "edge"
    assert snap_corner(photo, (30.2, 26.0)).kind == "corner"


@pytest.mark.slow
def test_edge_errs_across_as_much_as_it_says():
    rng = np.random.default_rng(8)
    standardised = []
    for _ in range(80):
        start = rng.uniform(0, 2 * np.pi)
        photo = draw_scene(Scene("edge", noise=8.0), (32.2, 31.6), start, np.pi / 2, rng)
        across = np.array([-np.sin(start), np.cos(start)])
        snap = snap_corner(photo, np.array([32.2, 31.6]) + rng.uniform(-4, 4) * across)
        standardised.append(
            ((snap.point_photo_px - (32.2, 31.6)) @ across) ** 2 / (across @ snap.cov_px @ across)
        )
    # Chi-square of one degree of freedom over 80: standard deviation 0.16.
    assert 0.5 < np.mean(standardised) < 1.5


@pytest.mark.parametrize("kind", ["L", "T", "X"])
def test_covariance_is_symmetric_and_agrees_with_u(kind):
    snap = snap_corner(plain_photo(kind), (33.0, 31.0))
    assert_allclose(snap.cov_px, snap.cov_px.T, atol=1e-15)
    variances = np.linalg.eigvalsh(snap.cov_px)
    assert variances[0] > 0
    assert_allclose(snap.u_px, np.sqrt(variances.mean()), rtol=1e-12)
    assert_allclose(snap.u_across_px, np.sqrt(variances[0]), rtol=1e-9)
    assert 0.0 < snap.quality <= 1.0


def test_more_noise_gives_more_uncertainty_and_less_quality():
    clear = snap_corner(plain_photo(noise=1.0), (33.0, 31.0))
    noisy = snap_corner(plain_photo(noise=10.0), (33.0, 31.0))
    assert noisy.u_px > 1.5 * clear.u_px
    assert noisy.quality < clear.quality


def test_acute_crossing_has_an_elongated_covariance():
    rng = np.random.default_rng(9)
    photo = draw_scene(Scene("L", noise=6.0), (32.0, 32.0), 0.3, np.radians(55.0), rng)
    variances, axes = np.linalg.eigh(snap_corner(photo, (33.0, 33.0)).cov_px)
    assert variances[1] > 2.0 * variances[0]
    bisector = 0.3 + np.radians(27.5)
    # Worst along the bisector; unequal edges turn it a little.
    assert abs(axes[:, 1] @ [np.cos(bisector), np.sin(bisector)]) > 0.9


# Refusals


@pytest.mark.parametrize("noise", [0.0, 2.0, 10.0])
def test_even_wall_has_nothing_to_snap_to(noise):
    rng = np.random.default_rng(10)
    for _ in range(10):
        photo = np.clip(np.rint(rng.normal(128, noise, (64, 64))), 0, 255).astype(np.uint8)
        with pytest.raises(DegenerateError, match=r"no clear corner or edge within 8 px"):
            snap_corner(photo, (32.0, 32.0))


def test_slow_shading_is_no_edge():
    rng = np.random.default_rng(11)
    shade = np.add.outer(np.arange(64) * 1.5, np.arange(64) * 0.7) + rng.normal(0, 1, (64, 64))
    with pytest.raises(DegenerateError):
        snap_corner(np.clip(np.rint(shade), 0, 255).astype(np.uint8), (32.0, 32.0))


def test_corner_out_of_reach_is_not_taken():
    photo = np.full((80, 80), 60, np.uint8)
    photo[60:, 60:] = 180
    with pytest.raises(DegenerateError, match="pick closer"):
        snap_corner(photo, (45.0, 45.0))


def test_edge_out_of_reach_is_not_taken_either():
    photo = np.full((80, 80), 60, np.uint8)
    photo[:, 40:] = 180
    with pytest.raises(DegenerateError):
        snap_corner(photo, (30.0, 40.0))
    assert snap_corner(photo, (33.0, 40.0)).kind == "edge"


@pytest.mark.parametrize("click", [(-1.0, 10.0), (10.0, 65.0), (64.1, 3.0)])
def test_click_outside_the_photo_is_refused(click):
    with pytest.raises(DegenerateError, match="outside the photo"):
        snap_corner(plain_photo(), click)


def test_corner_near_the_border_of_the_photo_is_found():
    photo = plain_photo()[22:, 20:]  # the corner is 10 px from one border and 12 from another
    snap = snap_corner(photo, (13.0, 9.0))
    assert snap.kind == "corner"
    assert_allclose(snap.point_photo_px, (12.3, 9.8), atol=0.15)


@pytest.mark.parametrize("click", [(0.0, 0.0), (64.0, 64.0), (0.0, 40.0)])
def test_click_on_the_very_border_is_answered(click):
    photo = np.full((64, 64), 90, np.uint8)
    with pytest.raises(DegenerateError):
        snap_corner(photo, click)


def test_tiny_photo_is_refused_in_words():
    with pytest.raises(DegenerateError, match="too little around"):
        snap_corner(np.zeros((6, 6), np.uint8), (3.0, 3.0))


@pytest.mark.parametrize(
    ("photo", "click", "radius_px", "word"),
    [
        (np.zeros((64, 64)), (3, 3), 8.0, "uint8"),
        (np.zeros((64, 64, 4), np.uint8), (3, 3), 8.0, "photo"),
        (np.zeros((64, 64), np.uint8), (3, np.nan), 8.0, "point_photo_px"),
        (np.zeros((64, 64), np.uint8), (3, 3, 3), 8.0, "point_photo_px"),
        (np.zeros((64, 64), np.uint8), (3, 3), 1.0, "radius_px"),
        (np.zeros((64, 64), np.uint8), (3, 3), np.nan, "radius_px"),
    ],
)
def test_wrong_call_is_a_value_error(photo, click, radius_px, word):
    with pytest.raises(ValueError, match=word):
        snap_corner(photo, click, radius_px)


def test_same_click_gives_the_same_answer():
    photo = plain_photo("T")
    first, second = (snap_corner(photo, (34.0, 30.0)) for _ in range(2))
    assert first.point_photo_px.tolist() == second.point_photo_px.tolist()
    assert first.cov_px.tolist() == second.cov_px.tolist()
