"""How long one adjustment takes, beside a bare ``scipy.optimize.least_squares``.

Run with ``python -m tests.bench.bench_adjust``. The bare solve is given the same picks in
the formulation with nuisance parameters (every point's own coordinates), its start at the
truth, and no derivatives: what one would write first. Nothing is asserted; the ratio is what
counts, since the clock of a busy machine means little.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import least_squares

from rectify.adjust import solve_photo
from tests.bench.promises import keep
from tests.bench.timing import seconds_of
from tests.support.scenes import SceneCamera, rectangle
from tests.support.surveyed import FRAME, OPENINGS, Hand, face, facts, street_camera, street_front


def bare_problem(camera, openings):
    """Residuals of frame, one known height and openings, and where to start them from."""
    boxes = [FRAME, *openings.values()]
    door = np.array([[1000.0, 400.0], [1000.0, 3400.0]])
    points = np.concatenate([*boxes, door])
    rng = np.random.default_rng(1)
    observed = camera.project_wall(points) + rng.normal(0, 1.0, points.shape)
    focal_px, distance = camera.focal_px, camera.centre_mm[2]

    def residuals(x):
        seen = SceneCamera(
            focal_px * np.exp(0.03 * x[0]), camera.width_px, camera.height_px,
            camera.yaw_deg + x[1], camera.pitch_deg + x[2], camera.roll_deg + x[3],
            (*camera.centre_mm[:2], distance * np.exp(0.03 * x[4])),
            (75.0 * x[5], 75.0 * x[6]), 0.01 * x[7],
        )  # fmt: skip
        own = 1000.0 * x[8:]
        corners = [rectangle(*box) for box in own[: 4 * len(boxes)].reshape(-1, 4)]
        ends = own[4 * len(boxes) :].reshape(2, 2)
        misses = (seen.project_wall(np.concatenate([*corners, ends])) - observed).ravel()
        known = (np.hypot(*(ends[1] - ends[0])) - 3000.0) / 5.0
        return np.concatenate([misses, [known], x[[0, 5, 6, 7]]])

    own = [[b[0, 0], b[2, 1], b[1, 0], b[0, 1]] for b in boxes]
    start = np.concatenate([np.zeros(8), np.ravel(own) / 1000.0, door.ravel() / 1000.0])
    return residuals, start


def main() -> None:
    """Print a table."""
    camera = street_camera()
    print(f"{'openings':>8} {'conditions':>10} {'ours ms':>8} {'bare ms':>8} {'ratio':>6}")
    many = {
        f"x{i}": rectangle(-3900 + 260 * (i % 30), 700 + 2000 * (i // 30), -3720 + 260 * (i % 30),
                           2200 + 2000 * (i // 30))
        for i in range(60)
    }  # fmt: skip
    for count in (0, 4, 12, 30, 60):
        openings = {**OPENINGS, **many} if count > 4 else OPENINGS
        openings = dict(list(openings.items())[:count])
        front = face(street_front(Hand(camera, u_px=1.0, seed=1), openings=openings))
        photo = facts(camera)
        conditions = len(solve_photo(photo, [front]).adjusted.conditions.value)
        ours = seconds_of(lambda front=front, photo=photo: solve_photo(photo, [front]))
        residuals, start = bare_problem(camera, openings)
        bare = seconds_of(lambda f=residuals, x=start: least_squares(f, x), times=3)
        if count == 4:
            keep("an adjustment with 4 openings", 1e3 * ours, "ms", 10.0)
            keep("bare least_squares of the same, in adjustments", bare / ours, "x")
        print(f"{count:8d} {conditions:10d} {1e3 * ours:8.1f} {1e3 * bare:8.1f} {bare / ours:6.1f}")


if __name__ == "__main__":
    main()
