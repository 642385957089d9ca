"""How good: against the Cramer-Rao bound, and whether 95 % intervals hold 95 %.

The truth is drawn from what the program believes beforehand (focal length, principal
point, lens) and the picks from their ±; only then can the stated ± be held to account.
"""

import numpy as np
import pytest

from measure.evaluate import measure_face
from rectify.adjust import solve_photo
from rectify.solution import PhotoFacts
from shared.survey import Face, Survey
from tests.support.scenes import SceneCamera, picks, rectangle

WIDTH_PX, HEIGHT_PX, FOCAL_35MM = 4000, 3000, 26.0
DIAGONAL_PX = np.hypot(WIDTH_PX, HEIGHT_PX)
FOCAL_PX = FOCAL_35MM * DIAGONAL_PX / np.hypot(36, 24)
PRIOR_U = {"log_focal": 0.03, "principal": 0.015 * DIAGONAL_PX, "k1": 0.01}

#: Yaw in degrees to where the camera stands, so that the wall stays in the picture.
STANDS = {
    0: (0.0, 1600.0, 9500.0),
    25: (-4500.0, 1600.0, 9500.0),
    45: (-9500.0, 1600.0, 9500.0),
    60: (-14_000.0, 1600.0, 8000.0),
}

FRAME = rectangle(-3500, 300, 3500, 4800)
SECOND = rectangle(-2600, 600, 2900, 4500)
PLUMB = np.array([[-1500, 300], [-1500, 2500], [-1500, 4700]], dtype=float)
LEVEL = np.array([[-3400, 2900], [0, 2900], [3400, 2900]], dtype=float)
DOOR = np.array([[700, 300], [700, 2332]], dtype=float)
WINDOWS = [
    rectangle(-3000, 3000, -1900, 4500),
    rectangle(-500, 3050, 600, 4400),
    rectangle(2000, 1200, 3100, 2600),
]
U_DOOR_MM = 6.0


def all_points(windows=()):
    return np.concatenate([FRAME, SECOND, PLUMB, LEVEL, DOOR, *windows])


def drawn_camera(yaw, rng, centre):
    return SceneCamera(
        FOCAL_PX * np.exp(rng.normal(0, PRIOR_U["log_focal"])),
        WIDTH_PX, HEIGHT_PX, yaw, 7.0, 1.5, centre,
        tuple(rng.normal(0, PRIOR_U["principal"], 2)),
        rng.normal(0, PRIOR_U["k1"]),
    )  # fmt: skip


def make_face(points_px, door_mm, windows):
    """The survey of picks that come in the order of `all_points`."""
    cut = np.split(points_px, np.cumsum([4, 4, 3, 3, 2] + [4] * (windows - 1)))
    frame, second, plumb, level, door, *openings = (picks(part) for part in cut)
    return Face.model_validate(
        {
            "id": "front",
            "photo": "p",
            "frame": frame,
            "guides": [
                {"kind": "rectangle", "at": second},
                {"kind": "plumb", "at": plumb},
                {"kind": "level", "at": level},
            ],
            "references": [{"kind": "length", "at": door, "length_mm": door_mm, "u_mm": U_DOOR_MM}],
            "measures": [
                {"id": f"w{i}", "kind": "opening", "at": at} for i, at in enumerate(openings)
            ],
        }
    )


FACTS = PhotoFacts("p", WIDTH_PX, HEIGHT_PX, FOCAL_35MM)


TRUE_MM = np.array([[w[1, 0] - w[0, 0], w[0, 1] - w[3, 1]] for w in WINDOWS])


def measured(face, facts=FACTS):
    """Widths and heights of the openings, and their ±, through the whole program."""
    survey = Survey.model_validate({"photos": [{"id": "p", "file": "p.jpg"}], "faces": [face]})
    result = measure_face(survey, face, solve_photo(facts, [face]), 148.0)
    keys = ("width_mm", "height_mm")
    sizes = [[m.size(key) for key in keys] for m in result.measures.values()]
    u = [[m.u_of(key) for key in keys] for m in result.measures.values()]
    return np.array(sizes), np.array(u)


def trials(yaw, count, seed):
    rng = np.random.default_rng(seed)
    points = all_points(WINDOWS)
    errors, u = [], []
    for _ in range(count):
        camera = drawn_camera(yaw, rng, STANDS[yaw])
        seen = camera.project_wall(points) + rng.normal(0, 1.0, points.shape)
        door_mm = 2032.0 + rng.normal(0, U_DOOR_MM)
        sizes, stated = measured(make_face(seen, door_mm, len(WINDOWS)))
        errors.append(sizes - TRUE_MM)
        u.append(stated)
    return np.array(errors), np.array(u)


@pytest.mark.slow
def test_intervals_of_95_per_cent_hold_95_per_cent():
    """2,000 seeded trials, 500 at each obliquity.

    Checked once with 2,000 at each: 94.8 to 95.8 % inside.
    """
    inside, squares = [], []
    for yaw in STANDS:
        errors, u = trials(yaw, 500, seed=1000 + yaw)
        inside.append(np.mean(np.abs(errors) <= 1.96 * u, axis=0))
        squares.append(np.mean((errors / u) ** 2))
        print(f"yaw {yaw}: {100 * inside[-1].mean():.1f} % inside, mean square {squares[-1]:.3f}")
    by_yaw, by_size = np.mean(inside, axis=(1, 2)), np.mean(inside, axis=0)
    assert np.all((by_yaw >= 0.93) & (by_yaw <= 0.97)), by_yaw
    assert np.all((by_size >= 0.93) & (by_size <= 0.97)), by_size
    # and the standardised errors have variance 1; 500 trials scatter it by 6 %
    assert np.all(np.abs(np.array(squares) - 1.0) < 0.18), squares


def predicted(parameters, camera):
    """What nuisance parameters make of every observation, by the tests' own camera.

    Parameters: log focal, principal shift, k1, three angles, distance; then each line's
    and rectangle's own coordinates; then the door and the windows.
    """
    f, sx, sy, k1, yaw, pitch, roll, distance, *rest = parameters
    seen = SceneCamera(
        FOCAL_PX * np.exp(f), WIDTH_PX, HEIGHT_PX, np.degrees(yaw), np.degrees(pitch),
        np.degrees(roll), (camera.centre_mm[0], camera.centre_mm[1], 1000.0 * distance),
        (100.0 * sx, 100.0 * sy), 0.01 * k1,
    )  # fmt: skip
    own = 1000.0 * np.array(rest)
    boxes = own[: 4 * (2 + len(WINDOWS))].reshape(-1, 4)
    frame, second, *windows = (rectangle(*box) for box in boxes)
    plumb_u, *plumb_v, level_v, l0, l1, l2, d0u, d0v, d1u, d1v = own[boxes.size :]
    plumb = np.column_stack([np.full(3, plumb_u), plumb_v])
    level = np.column_stack([[l0, l1, l2], np.full(3, level_v)])
    door = np.array([[d0u, d0v], [d1u, d1v]])
    points = np.concatenate([frame, second, plumb, level, door, *windows])
    door_mm = np.hypot(*(door[1] - door[0]))
    prior = [f / PRIOR_U["log_focal"], 100 * sx / PRIOR_U["principal"]]
    prior += [100 * sy / PRIOR_U["principal"], 0.01 * k1 / PRIOR_U["k1"]]
    return np.concatenate([seen.project_wall(points).ravel(), [door_mm / U_DOOR_MM], prior])


def true_parameters(camera):
    boxes = [[r[0, 0], r[2, 1], r[1, 0], r[0, 1]] for r in (FRAME, SECOND, *WINDOWS)]
    own = [*np.ravel(boxes), PLUMB[0, 0], *PLUMB[:, 1], LEVEL[0, 1], *LEVEL[:, 0], *DOOR.ravel()]
    turn = np.radians([camera.yaw_deg, camera.pitch_deg, camera.roll_deg])
    return np.concatenate(
        [[0, 0, 0, 0], turn, [camera.centre_mm[2] / 1000.0], np.array(own, dtype=float) / 1000.0]
    )


def bound_of_windows(camera):
    """Cramer-Rao bound of every window's width and height, shape (windows, 2).

    Fisher information of picks of 1 px, door and priors in the formulation with nuisance
    parameters (every point's own coordinates), by numeric derivatives. The place of the
    building under the camera is a free choice, so the camera's foot is held.
    """
    at = true_parameters(camera)
    columns = []
    for i in range(len(at)):
        step = np.zeros(len(at))
        step[i] = 1e-5
        high, low = predicted(at + step, camera), predicted(at - step, camera)
        columns.append((high - low) / 2e-5)
    jacobian = np.column_stack(columns)
    cov = np.linalg.inv(jacobian.T @ jacobian)
    out = []
    for i in range(len(WINDOWS)):
        u0, v0, u1, v1 = 8 + 4 * (2 + i) + np.arange(4)
        out.append(
            [np.sqrt(cov[b, b] + cov[a, a] - 2 * cov[a, b]) * 1000 for a, b in ((u0, u1), (v0, v1))]
        )
    return np.array(out)


@pytest.mark.slow
@pytest.mark.parametrize("yaw", [0, 25, 45])
def test_errors_are_within_a_tenth_of_the_cramer_rao_bound(yaw):
    """rms over 400 trials, its own scatter 3.5 % for each size and half that over all six.

    Checked once with 600: 1.00 to 1.02 over all six.
    """
    errors, _ = trials(yaw, 400, seed=2000 + yaw)
    middle = SceneCamera(FOCAL_PX, WIDTH_PX, HEIGHT_PX, yaw, 7.0, 1.5, STANDS[yaw])
    bound = bound_of_windows(middle)
    rms = np.sqrt(np.mean(errors**2, axis=0))
    print(f"yaw {yaw}: rms / bound\n{rms / bound}")
    assert np.sqrt(np.mean((rms / bound) ** 2)) <= 1.1
    assert np.sqrt(np.mean((rms / bound) ** 2)) >= 0.9


def test_snapped_picks_and_a_door_of_300_px_give_half_a_per_cent():
    """0.3 px picks, a frame that fills the picture, one door of about 300 px known to 2 mm."""
    rng = np.random.default_rng(7)
    errors = []
    for trial in range(60):
        yaw = [0, 15, 30][trial % 3]
        stand = (-19_500.0 * np.tan(np.radians(yaw)), 1600.0, 19_500.0)
        camera = drawn_camera(yaw, rng, stand)
        points = all_points(WINDOWS)
        points[:4] = rectangle(-9000, 300, 8500, 11_000)
        points[4:8] = rectangle(-8000, 2800, 8000, 10_000)
        exact = camera.project_wall(points)
        assert ((exact > 0) & (exact < [WIDTH_PX, HEIGHT_PX])).all()
        assert 250 < np.hypot(*(exact[15] - exact[14])) < 350
        seen = exact + rng.normal(0, 0.3, points.shape)
        raw = snapped_picks(make_face(seen, 2032.0, len(WINDOWS)).model_dump(mode="json"))
        raw["references"][0]["u_mm"] = 2.0
        sizes, _ = measured(Face.model_validate(raw))
        errors.append(np.abs(sizes - TRUE_MM) / TRUE_MM)
    print(f"median {np.median(errors):.4f}, 95 % {np.percentile(errors, 95):.4f}")
    assert np.median(errors) <= 0.005
    assert np.percentile(errors, 95) <= 0.015


def snapped_picks(raw, u_px=0.3):
    """Give every pick of a survey this ±."""
    if isinstance(raw, dict):
        return {key: snapped_picks(value, u_px) for key, value in raw.items()}
    if isinstance(raw, list):
        if len(raw) == 2 and all(isinstance(number, float) for number in raw):
            return [*raw, u_px]
        return [snapped_picks(value, u_px) for value in raw]
    return raw


@pytest.mark.slow
def test_unknown_focal_length_still_has_honest_intervals():
    """No EXIF: focal length drawn from 35 % about the default, one-point perspective or not.

    The intervals come from every camera that the picks leave possible; they may be a little
    wide, since the wider of two routes stands.
    """
    rng = np.random.default_rng(11)
    inside = []
    facts = PhotoFacts("p", WIDTH_PX, HEIGHT_PX, None)
    for trial in range(150):
        yaw = [0, 25, 45][trial % 3]
        zoom = 28.0 / FOCAL_35MM * np.exp(rng.normal(0, 0.35))
        camera = SceneCamera(
            FOCAL_PX * zoom, WIDTH_PX, HEIGHT_PX, yaw, 7.0 * (trial % 2), 1.0,
            tuple(np.array(STANDS[yaw]) * [1.1 * zoom, 1.0, 1.1 * zoom]),
            tuple(rng.normal(0, PRIOR_U["principal"], 2)),
        )  # fmt: skip
        points = all_points(WINDOWS)
        seen = camera.project_wall(points) + rng.normal(0, 1.0, points.shape)
        if not ((seen > 0) & (seen < [WIDTH_PX, HEIGHT_PX])).all():
            continue
        door_mm = 2032.0 + rng.normal(0, U_DOOR_MM)
        sizes, u = measured(make_face(seen, door_mm, len(WINDOWS)), facts)
        inside.append(np.abs(sizes - TRUE_MM) <= 1.96 * u)
    print(f"{100 * np.mean(inside):.1f} % of {len(inside)} photos inside")
    assert len(inside) > 120
    assert 0.93 <= np.mean(inside) <= 0.99
