"""Guides found in invented photos: rough clicks come out fine, and nothing is made worse."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest

from rectify.adjust import solve_photo
from rectify.guides.joining import PhotoLine, line_residuals_px
from rectify.guides.line_camera import LineCamera
from rectify.photo_lines import (
    FoundGuides,
    find_guides,
    with_found,
    without_found,
)
from rectify.solution import PhotoFacts, Solution
from rectify.straighten import StoppedError
from shared.errors import InputError
from shared.survey import Face, Pick
from tests.support.line_photos import (
    WALL_RIGHT,
    Street,
    draw_street,
    openings,
    rough,
    wide_camera,
)
from tests.support.scenes import SceneCamera, rectangle
from tests.support.surveyed import facts

WIDTH_PX = 1000
FRAME = rectangle(-3200.0, 3000.0, 600.0, 4800.0)
DOOR = np.array([[600.0, 0.0], [600.0, 2200.0]])


@dataclass(frozen=True)
class Trial:
    """One street with four rough clicks and a known height, before and after."""

    camera: SceneCamera
    photo: np.ndarray
    facts: PhotoFacts
    face: Face
    before: Solution
    found: FoundGuides


def make_trial(
    seed: int, *, u_px: float = 2.0, known: bool = True, misleading: bool = True, **more
) -> Trial:
    rng = np.random.default_rng(seed)
    camera = wide_camera(rng, WIDTH_PX, **more)
    photo = draw_street(Street(camera, seed=seed, misleading=misleading))
    known_height = {
        "kind": "length",
        "at": rough(DOOR, camera, rng, u_px),
        "length_mm": 2200.0,
        "u_mm": 5.0,
    }
    face = Face.model_validate(
        {
            "id": "front",
            "photo": "street",
            "frame": rough(FRAME, camera, rng, u_px),
            "references": [known_height],
        }
    )
    about = facts(camera, known=known)
    before = solve_photo(about, [face])
    return Trial(camera, photo, about, face, before, find_guides(photo, about, [face]))


def size_errors_mm(solution: Solution, camera: SceneCamera, most: int) -> np.ndarray:
    """Errors of widths and heights of the openings farthest from the middle, seen whole."""
    size = np.array([camera.width_px, camera.height_px])
    rows = []
    for corners in openings():
        px = camera.project_wall(corners)
        if (px < 0).any() or (px > size).any():
            continue
        chart = solution.charted("front", [Pick(x=x, y=y) for x, y in px]).chart_mm
        wide = np.hypot(*(chart[1] - chart[0])) - np.hypot(*(corners[1] - corners[0]))
        high = np.hypot(*(chart[3] - chart[0])) - np.hypot(*(corners[3] - corners[0]))
        rows.append((float(np.hypot(*(px.mean(axis=0) - size / 2))), wide, high))
    rows.sort(key=lambda row: -row[0])
    return np.array([row[1:] for row in rows[:most]])


def rms(values) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


@pytest.fixture(scope="module")
def wide() -> list[Trial]:
    """Wide-angle photos with barrel distortion and rough clicks."""
    return [make_trial(seed) for seed in range(40, 45)]


def test_sizes_at_the_far_corner_come_out_three_times_better_from_four_rough_clicks(wide):
    better = []
    for trial in wide:
        assert trial.found.solution is not None, trial.found.sentence
        before = rms(size_errors_mm(trial.before, trial.camera, 2))
        after = rms(size_errors_mm(trial.found.solution, trial.camera, 2))
        print(f"{before:.0f} mm -> {after:.0f} mm, {before / after:.1f} times better")
        better.append(before / after)
    assert np.median(better) >= 3.0
    assert min(better) > 1.0


def test_lens_focal_length_and_tilt_agree_with_the_truth_within_their_uncertainty(wide):
    z = []
    for trial in wide:
        after = trial.found.after
        z.append(
            [
                (after.k1 - trial.camera.k1) / after.u_k1,
                (after.focal_px - trial.camera.focal_px) / after.u_focal_px,
                (after.tilt_rad - math.radians(trial.camera.pitch_deg)) / after.u_tilt_rad,
            ]
        )
        # the direction and the size of the bend, not its ± alone
        assert after.k1 == pytest.approx(trial.camera.k1, rel=0.25)
        assert after.u_k1 < 0.02
    assert np.abs(z).max() < 3.3


def test_far_lengths_hold_their_stated_uncertainty(wide):
    z = []
    for trial in wide:
        solution = trial.found.solution
        ends = np.array([[-5200.0, 2400.0], [5200.0, 2400.0]])
        px = trial.camera.project_wall(ends)
        charted = solution.charted("front", [Pick(x=x, y=y, u_px=0.1) for x, y in px])
        gap = charted.chart_mm[1] - charted.chart_mm[0]
        length_mm = float(np.hypot(*gap))
        push = np.concatenate([-gap, gap]) / length_mm
        u_mm = math.sqrt(push @ charted.cov_chart([0, 1]) @ push)
        z.append((length_mm - 10_400.0) / u_mm)
    assert np.abs(z).max() < 3.3
    assert rms(z) < 2.0


def test_lines_straighten_and_the_picks_stay_where_hands_put_them(wide):
    for trial in wide:
        before, after = trial.found.before, trial.found.after
        assert after.lines_rms_px < 0.2 * before.lines_rms_px
        # clicks are good to 2 px and said to be good to 1 px
        assert after.picks_rms_px < 3.0
        assert after.u_far_mm < before.u_far_mm


def true_lines(camera: SceneCamera) -> LineCamera:
    middle = np.array([camera.width_px, camera.height_px]) / 2 + camera.principal_shift_px
    numbers = np.array([math.log(camera.focal_px), *middle, camera.k1, camera.k2])
    return LineCamera(numbers, camera.rotation, (), camera.focal_px)


def test_wires_shadow_cart_gable_kerb_and_the_side_wall_do_not_pull(wide):
    """Each guide lies along a line that is level or plumb in truth, to a third of a degree."""
    for trial in wide:
        camera = true_lines(trial.camera)
        for guide in trial.found.guides["front"]:
            points = np.array([(pick.x, pick.y) for pick in guide.at])
            line = PhotoLine(0 if guide.kind == "plumb" else 1, points, 1.0)
            off_px = np.abs(line_residuals_px(camera, line)).max()
            assert off_px < math.radians(1 / 3) * line.length_px + 0.5


def test_guides_are_marked_spread_and_few(wide):
    for trial in wide:
        guides = trial.found.guides["front"]
        assert all(guide.found for guide in guides)
        assert len(guides) <= 40
        assert all(3 <= len(guide.at) <= 7 for guide in guides)
        kinds = [guide.kind for guide in guides]
        assert kinds.count("plumb") >= 3
        assert kinds.count("level") >= 3
        places = np.array([(pick.x, pick.y) for guide in guides for pick in guide.at])
        spread = np.ptp(places, axis=0) / (trial.camera.width_px, trial.camera.height_px)
        assert spread.min() > 0.4


def test_taking_and_dropping_them_is_exact(wide):
    trial = wide[0]
    taken = with_found(trial.face, trial.found)
    assert without_found(taken) == trial.face
    assert with_found(taken, trial.found) == taken
    again = solve_photo(trial.facts, [taken])
    np.testing.assert_allclose(
        again.unknowns.values, trial.found.solution.unknowns.values, rtol=1e-6, atol=1e-6
    )


def test_found_guides_are_not_used_to_find_guides(wide):
    trial = wide[0]
    again = find_guides(trial.photo, trial.facts, [with_found(trial.face, trial.found)])
    assert again.guides == trial.found.guides


@pytest.mark.parametrize("seed", [50, 51, 52])
def test_a_good_solution_is_not_made_worse(seed):
    """No lens to speak of and careful clicks: sizes all over the wall stay as good or better."""
    turned = {} if seed % 2 else {"yaw_deg": 0.0, "pitch_deg": 0.0, "roll_deg": 0.0}
    trial = make_trial(seed, u_px=0.7, k1=0.0, k2=0.0, **turned)
    before = rms(size_errors_mm(trial.before, trial.camera, 99))
    after = rms(size_errors_mm(trial.found.solution or trial.before, trial.camera, 99))
    assert after < 1.1 * before + 1.0


def test_an_unknown_focal_length_and_a_portrait_are_no_hindrance():
    trial = make_trial(60, known=False, u_px=1.0)
    assert trial.found.count > 10
    portrait = make_trial(61, known=False, u_px=1.0, height_px=round(WIDTH_PX * 4 / 3))
    assert portrait.found.count > 10
    for each in (trial, portrait):
        before = rms(size_errors_mm(each.before, each.camera, 2))
        assert rms(size_errors_mm(each.found.solution, each.camera, 2)) < before / 2


def test_a_cropped_photo_keeps_its_axis_open():
    trial = make_trial(62, u_px=1.0, principal_shift_px=(60.0, -40.0))
    cropped = replace(trial.facts, cropped=True)
    before = solve_photo(cropped, [trial.face])
    found = find_guides(trial.photo, cropped, [trial.face])
    assert found.count > 10
    after = rms(size_errors_mm(found.solution, trial.camera, 2))
    assert after < rms(size_errors_mm(before, trial.camera, 2))


@pytest.mark.parametrize("kind", ["blank", "noise"])
def test_a_photo_with_no_edges_gives_none_and_says_so(wide, kind):
    trial = wide[0]
    photo = np.full_like(trial.photo, 128)
    if kind == "noise":
        photo = np.random.default_rng(0).integers(0, 256, photo.shape, dtype=np.uint8)
    found = find_guides(photo, trial.facts, [trial.face])
    assert found.count == 0
    assert found.solution is None
    assert found.sentence.endswith("nothing is added.")


def test_the_photo_of_another_house_is_not_believed(wide):
    """Its edges are straight and agree with each other, but not with these picks."""
    trial, other = wide[0], wide[3]
    turned = np.ascontiguousarray(np.rot90(np.rot90(other.photo, 1)[:, : WIDTH_PX * 3 // 4], 1))
    photo = np.zeros_like(trial.photo)
    photo[: turned.shape[0], : turned.shape[1]] = turned[: photo.shape[0], : photo.shape[1]]
    found = find_guides(photo, trial.facts, [trial.face])
    if found.solution is not None:
        before = rms(size_errors_mm(trial.before, trial.camera, 2))
        assert rms(size_errors_mm(found.solution, trial.camera, 2)) < 1.5 * before


def test_a_wing_gets_level_guides_of_its_own():
    rng = np.random.default_rng(70)
    camera = wide_camera(
        rng, WIDTH_PX, yaw_deg=14.0, centre_mm=(1000.0, 1600.0, 8500.0), pitch_deg=5.0
    )
    photo = draw_street(Street(camera, seed=70))
    x = WALL_RIGHT + 40

    def wing(points):
        building = np.array([[x, v, u] for u, v in points], dtype=float)
        seen = camera.project(building)
        return [[float(a), float(b)] for a, b in seen + rng.normal(0.0, 1.0, seen.shape)]

    front = {
        "id": "front",
        "photo": "street",
        "frame": rough(FRAME, camera, rng, 1.0),
        "references": [{"kind": "length", "at": rough(DOOR, camera, rng, 1.0), "length_mm": 2200}],
    }
    side = {
        "id": "side",
        "photo": "street",
        "surface": {"kind": "wall", "hinge": {"face": "front", "at": wing([(0, 600), (0, 4600)])}},
        "frame": wing([(120, 4200), (1500, 4200), (1500, 1400), (120, 1400)]),
    }
    faces = [Face.model_validate(raw) for raw in (front, side)]
    found = find_guides(photo, facts(camera), faces)
    assert found.count > 10
    levels = found.guides["side"]
    assert len(levels) >= 2
    assert {guide.kind for guide in levels} == {"level"}
    heading, u = found.solution.value_and_u("side", "heading")
    assert heading == pytest.approx(math.pi / 2, abs=max(3.3 * u, 0.01))


def test_pixels_of_another_size_are_refused(wide):
    trial = wide[0]
    with pytest.raises(InputError, match="1000 x 750 px, but its picture has 1000 x 700"):
        find_guides(trial.photo[:700], trial.facts, [trial.face])


def test_progress_runs_forward_and_can_stop_it(wide):
    trial = wide[0]
    told: list[float] = []
    find_guides(trial.photo, trial.facts, [trial.face], told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
    with pytest.raises(StoppedError):
        find_guides(trial.photo, trial.facts, [trial.face], lambda share: share < 0.4)
