"""The search settles from its own first guess for any sound street photo.

Random scenes: 13 to 85 mm equivalents, up to 70 degrees oblique, looking up by up to 30,
rolled by up to 10, upright and lying photos, one-point perspective among them.
"""

import numpy as np
import pytest

from rectify.adjust import solve_photo
from tests.support.scenes import SceneCamera, rectangle
from tests.support.surveyed import Hand, face, facts, length


def random_photo(rng, known):
    """A camera and a wall that fits into its picture; None where the dice give none."""
    wide, high = (3000, 4000) if rng.random() < 0.3 else (4000, 3000)
    focal_35mm = np.exp(rng.uniform(np.log(13), np.log(85)))
    focal_px = focal_35mm * 5000.0 / np.hypot(36, 24)
    yaw, pitch, roll = rng.uniform(-70, 70), rng.uniform(-5, 30), rng.uniform(-10, 10)
    if rng.random() < 0.2:
        yaw = pitch = 0.0
    away = rng.uniform(6000, 25_000)
    bend = rng.normal(0, 0.01 if known else 0.03)
    camera = SceneCamera(
        focal_px, wide, high, yaw, pitch, roll, (0.0, 1600.0, away),
        tuple(rng.normal(0, 75.0, 2)), bend * (focal_35mm / 28.0) ** 2 if not known else bend,
    )  # fmt: skip
    axis = camera.rotation[2]
    if axis[2] > -0.25:
        return None
    reach = -away / axis[2]
    u, v = reach * axis[0], 1600.0 + reach * axis[1]
    w, h = (rng.uniform(0.3, 0.75) * size / focal_px * reach for size in (wide, high))
    frame = rectangle(u - w / 2, v - h / 2, u + w / 2, v + h / 2)
    depth = (np.column_stack([frame, np.zeros(4)]) - camera.centre_mm) @ camera.rotation.T
    seen = camera.project_wall(frame)
    inside = ((seen > 0) & (seen < [wide, high])).all()
    folded = 1 + 3 * camera.k1 * np.sum((seen - [wide / 2, high / 2]) ** 2 / focal_px**2, 1) < 0.4
    small = np.linalg.norm(np.roll(seen, 1, axis=0) - seen, axis=1).min() < 60
    if (depth[:, 2] < 500).any() or not inside or folded.any() or small:
        return None
    return camera, frame, w, h


def survey_face(camera, frame, w, h, rng):
    hand = Hand(camera, u_px=1.0, seed=int(rng.integers(1 << 30)))
    u0, v0 = frame[3]
    openings = {
        f"w{i}": rectangle(u0 + a * w, v0 + b * h, u0 + (a + 0.22) * w, v0 + (b + 0.3) * h)
        for i, (a, b) in enumerate([(0.05, 0.1), (0.4, 0.55), (0.7, 0.2)])
    }
    raw = {
        "id": "front",
        "photo": "street",
        "frame": hand.on_wall(frame),
        "references": [length(hand, [[u0 + 0.3 * w, v0], [u0 + 0.3 * w, v0 + 0.5 * h]], u_mm=8.0)],
        "measures": [
            {"id": name, "kind": "opening", "at": hand.on_wall(at)} for name, at in openings.items()
        ],
    }
    return face(raw), openings


@pytest.mark.slow
@pytest.mark.parametrize("known", [True, False], ids=["EXIF", "no EXIF"])
def test_every_sound_photo_settles_and_none_is_sure_of_a_wrong_size(known):
    rng = np.random.default_rng(31 if known else 32)
    solved, steps, wrong = 0, [], 0
    while solved < 300:
        drawn = random_photo(rng, known)
        if drawn is None:
            continue
        front, openings = survey_face(*drawn, rng)
        solution = solve_photo(facts(drawn[0], known=known), [front])
        solved += 1
        steps.append(solution.adjusted.iterations)
        if solution.focal_is_open:
            continue  # its ± come from many cameras; see tests/measure/test_how_good.py
        for measure in front.measures:
            corners = openings[measure.id]
            chart = solution.charted("front", measure.at)
            for axis, ends in ((0, (0, 1)), (1, (0, 3))):
                gap = chart.chart_mm[ends[1], axis] - chart.chart_mm[ends[0], axis]
                true = corners[ends[1], axis] - corners[ends[0], axis]
                cov = chart.cov_chart(ends)
                u = np.sqrt(cov[axis, axis] + cov[2 + axis, 2 + axis] - 2 * cov[axis, 2 + axis])
                wrong += abs(gap - true) > 5.0 * u
    print(f"steps: median {np.median(steps):.0f}, at most {max(steps)}; wrong {wrong}")
    assert max(steps) <= 40
    assert wrong == 0


def test_nothing_wrong_with_a_square_on_photo_of_unknown_focal_length():
    """Both pairs of sides parallel: the focal length is the prior's, and said to be open."""
    camera = SceneCamera(3300.0, centre_mm=(0.0, 1600.0, 12_000.0))
    front, openings = survey_face(
        camera, rectangle(-4000, 0, 4000, 4500), 8000.0, 4500.0, np.random.default_rng(1)
    )
    solution = solve_photo(facts(camera, known=False), [front])
    assert solution.focal_is_open
    # the shape does not hang on it: both directions are seen at one scale
    chart = solution.charted("front", front.measures[0].at).chart_mm
    corners = openings["w0"]
    assert chart[1, 0] - chart[0, 0] == pytest.approx(corners[1, 0] - corners[0, 0], rel=0.02)
