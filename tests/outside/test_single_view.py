"""Published single-view geometry through our adjustment.

Each check names its source. Figures marked "worked example" were computed once with plain
numpy from a stated camera, independently of the program, and stand here as constants.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from rectify.adjust import solve_photo
from rectify.camera import CameraPrior
from rectify.solution import PhotoFacts
from rectify.starts.first_guess import bearings, line_direction
from shared.survey import Face, Pick


def prior(focal_px, principal_px, u_log_focal, u_principal_px=0.01):
    u_middle_px = (u_principal_px, u_principal_px)
    return CameraPrior(focal_px, u_log_focal, principal_px, u_middle_px, 1e-6, True)


def solve_rectangle(corners, width_px, height_px, belief, u_px=0.001):
    """Frame of four corners (top left, top right, bottom right, bottom left), one side known."""
    at = [[x, y, u_px] for x, y in corners]
    raw = {
        "id": "wall", "photo": "p", "frame": at,
        "references": [{"kind": "length", "at": [at[3], at[0]], "length_mm": 1000.0}],
    }  # fmt: skip
    facts = PhotoFacts("p", width_px, height_px)
    return solve_photo(facts, [Face.model_validate(raw)], prior=belief)


def ratio_and_u(solution, corners):
    """Width over height of the rectangle, and the ± of its logarithm."""
    charted = solution.charted("wall", [Pick(x=x, y=y) for x, y in corners])
    chart = charted.chart_mm
    width = np.hypot(*(chart[1] - chart[0]))
    height = np.hypot(*(chart[0] - chart[3]))
    g = np.zeros((4, 2))
    g[0] = -(chart[1] - chart[0]) / width**2 - (chart[0] - chart[3]) / height**2
    g[1] = (chart[1] - chart[0]) / width**2
    g[3] = (chart[0] - chart[3]) / height**2
    return width / height, np.sqrt(g.ravel() @ charted.cov_chart(range(4)) @ g.ravel())


# Rectangle of 6 by 4 seen with f = 1000, principal point (1000, 750).
# Formulas: Zhang and He, "Whiteboard scanning and image enhancement", Digital Signal
# Processing 17(2), 2007; worked example. Order here: top left, top right, bottom right,
# bottom left.
SIX_BY_FOUR = [
    (839.9097, 616.6383), (1265.0551, 580.5700), (1227.7096, 939.6912), (772.2198, 895.6030)
]  # fmt: skip


def test_rectangle_of_six_by_four_comes_out_one_and_a_half():
    solution = solve_rectangle(SIX_BY_FOUR, 2000, 1500, prior(1000.0, (1000.0, 750.0), 1e-4))
    assert ratio_and_u(solution, SIX_BY_FOUR)[0] == pytest.approx(1.5, abs=2e-5)


def test_its_focal_length_follows_from_perspective_where_both_pairs_of_sides_converge():
    """The formula gives 1000.000 from the corners; so must an adjustment left to find it."""
    solution = solve_rectangle(SIX_BY_FOUR, 2000, 1500, prior(1300.0, (1000.0, 750.0), 0.35))
    log_focal, u = solution.value_and_u("p", "log_focal")
    assert np.exp(log_focal) == pytest.approx(1000.0, rel=2e-4)
    assert u < 2e-3
    assert ratio_and_u(solution, SIX_BY_FOUR)[0] == pytest.approx(1.5, abs=1e-4)


@pytest.mark.parametrize(("shift", "ratio"), [((20, 0), 1.5117), ((0, 20), 1.4839)], ids=str)
def test_principal_point_off_by_twenty_pixels_costs_what_the_formula_says(shift, ratio):
    """Worked example: the ratio by the formula, focal length from perspective as well."""
    middle = (1000.0 + shift[0], 750.0 + shift[1])
    solution = solve_rectangle(SIX_BY_FOUR, 2000, 1500, prior(1000.0, middle, 0.35))
    assert ratio_and_u(solution, SIX_BY_FOUR)[0] == pytest.approx(ratio, abs=2e-3)


# A true square of which one pair of sides stays parallel in the picture: a public
# question-and-answer case about the same paper's formula. Principal point (960, 540), f 960;
# m1, m2, m3, m4 there are bottom left, bottom right, top left, top right.
SQUARE = [(849.033, 287.516), (1170.154, 60.757), (1170.147, 1019.212), (849.029, 792.363)]


def test_square_with_one_pair_of_sides_parallel_needs_its_focal_length():
    solution = solve_rectangle(SQUARE, 1920, 1080, prior(960.0, (960.0, 540.0), 1e-4))
    assert ratio_and_u(solution, SQUARE)[0] == pytest.approx(1.00135, abs=5e-5)


def test_focal_length_that_perspective_cannot_give_is_not_believed():
    """The formula makes f squared minus 55 million: the stated ± must say that f is open."""
    belief = prior(700.0, (960.0, 540.0), 0.35)
    solution = solve_rectangle(SQUARE, 1920, 1080, belief, u_px=0.5)
    log_focal, u = solution.value_and_u("p", "log_focal")
    assert u > 0.3
    assert solution.focal_is_open
    assert abs(log_focal - np.log(700.0)) < 0.1 * u
    ratio, u_log_ratio = ratio_and_u(solution, SQUARE)
    assert abs(np.log(ratio / 1.00135)) < 2.0 * u_log_ratio


# Single-view metrology: Criminisi, Reid and Zisserman, "Single view metrology", IJCV 40(2),
# 2000: alpha Z = -|b x t| / ((l . b) |v x t|). Worked example: f 1000, principal point
# (1000, 750), camera 1.6 m above the ground, looking 8 degrees up.
VERTICAL_VANISHING_POINT = np.array([1000.0, -6365.3697, 1.0])
HORIZON = np.array([0.0, 1.0, -890.5408])
REFERENCE = [(793.38851, 1057.45442), (799.16351, 849.97879)]
UNKNOWN = [(1219.92400, 1008.98634), (1209.24965, 651.06063)]


def height_by_formula(base_px, top_px, alpha):
    b, t = np.append(base_px, 1.0), np.append(top_px, 1.0)
    v, line = VERTICAL_VANISHING_POINT, HORIZON
    cross = [np.linalg.norm(np.cross(p, t)) for p in (b, v)]
    return -cross[0] / (alpha * (line @ b) * cross[1])


def test_height_above_the_ground_agrees_with_the_formula():
    """A post of 2 m fixes the scale; the other is 5 m.

    The program knows walls, not the ground: both posts stand in the same plumb plane
    through their feet, squared up by that plane's own lines.
    """
    alpha = height_by_formula(*REFERENCE, 1.0) / 2.0
    assert height_by_formula(*UNKNOWN, alpha) == pytest.approx(5.0, abs=1e-4)
    # the plane through both posts: level lines meet where the line of the feet meets the horizon
    feet = np.cross(np.append(REFERENCE[0], 1.0), np.append(UNKNOWN[0], 1.0))
    meets = np.cross(feet, HORIZON)
    meets = meets[:2] / meets[2]
    towards = (np.array(REFERENCE[1]) - meets) / np.linalg.norm(np.array(REFERENCE[1]) - meets)
    # the level line through the top of the short post, drawn on to the tall post's upright
    upright = np.cross(np.append(UNKNOWN[0], 1.0), np.append(UNKNOWN[1], 1.0))
    level = np.cross(np.append(REFERENCE[1], 1.0), np.append(meets, 1.0))
    corner = np.cross(upright, level)
    corner = corner[:2] / corner[2]
    assert np.linalg.norm(towards) == pytest.approx(1.0)
    corners = [REFERENCE[1], corner, UNKNOWN[0], REFERENCE[0]]
    at = [[float(x), float(y), 0.001] for x, y in corners]
    raw = {
        "id": "posts", "photo": "p", "frame": at,
        "references": [{"kind": "length", "at": [at[0], at[3]], "length_mm": 2000.0}],
    }  # fmt: skip
    belief = prior(1000.0, (1000.0, 750.0), 1e-5)
    solution = solve_photo(PhotoFacts("p", 2000, 1500), [Face.model_validate(raw)], prior=belief)
    foot, top = solution.charted("posts", [Pick(x=x, y=y) for x, y in UNKNOWN]).chart_mm
    assert top[1] - foot[1] == pytest.approx(5000.0, rel=2e-4)
    assert top[0] - foot[0] == pytest.approx(0.0, abs=2.0)


# Covariance of a plane-to-plane map: Criminisi, Reid and Zisserman, "A plane measuring
# device", BMVC 1997: J = -sum over k of u_k u_k' / lambda_k; cov(h) = J S J. Written out
# here as the second route.

PLANE = np.array([[x, y] for y in (0.0, 2000.0, 4000.0) for x in (0.0, 2500.0, 5000.0)])


def plane_map_px(points_mm):
    """Photo pixels of plane points, seen by a camera of f 1500 turned 30 degrees."""
    turn = np.radians(30.0)
    rotation = np.array(
        [[np.cos(turn), 0, -np.sin(turn)], [0, -1, 0], [-np.sin(turn), 0, -np.cos(turn)]]
    )
    world = np.column_stack([points_mm, np.zeros(len(points_mm))]) - [5200.0, 1900.0, 8000.0]
    camera = world @ rotation.T
    return np.array([1000.0, 750.0]) + 1500.0 * camera[:, :2] / camera[:, 2:]


def design_rows(pixel, point):
    (x, y), (u, v) = pixel, point
    return np.array(
        [[x, y, 1, 0, 0, 0, -u * x, -u * y, -u], [0, 0, 0, x, y, 1, -v * x, -v * y, -v]]
    )


def plane_map_with_covariance(pixels, points, sigma_px):
    """Direct linear map from pixels to plane and its covariance by the paper's formula."""
    a = np.concatenate([design_rows(p, q) for p, q in zip(pixels, points, strict=True)])
    values, vectors = np.linalg.eigh(a.T @ a)
    h = vectors[:, 0]
    spread = sum(np.outer(vectors[:, k], vectors[:, k]) / values[k] for k in range(1, 9))
    s = np.zeros((9, 9))
    for (x, y), (u, v) in zip(pixels, points, strict=True):
        rows = design_rows((x, y), (u, v))
        by_x = np.array([h[0] - u * h[6], h[3] - v * h[6]])
        by_y = np.array([h[1] - u * h[7], h[4] - v * h[7]])
        noise = sigma_px**2 * (np.outer(by_x, by_x) + np.outer(by_y, by_y))
        s += rows.T @ noise @ rows
    return h, spread @ s @ spread


def mapped(h, pixels):
    homogeneous = np.column_stack([pixels, np.ones(len(pixels))]) @ h.reshape(3, 3).T
    return homogeneous[:, :2] / homogeneous[:, 2:]


def conditioned(values, points):
    """Shift and scale so that the linear problem is well conditioned (Hartley and Zisserman)."""
    middle, size = values.mean(axis=0), np.sqrt(((values - values.mean(axis=0)) ** 2).mean())
    return (values - middle) / size, (points - middle) / size, size


def test_covariance_of_a_plane_map_is_what_monte_carlo_finds():
    """The formula itself, checked before it is used as a second route."""
    pixels = plane_map_px(PLANE)
    p, _, px_size = conditioned(pixels, pixels)
    q, _, _ = conditioned(PLANE, PLANE)
    h, cov = plane_map_with_covariance(p, q, 1.0 / px_size)
    rng = np.random.default_rng(1)
    drawn = []
    for _ in range(4000):
        noisy = p + rng.normal(0, 1.0 / px_size, p.shape)
        a = np.concatenate([design_rows(x, y) for x, y in zip(noisy, q, strict=True)])
        found = np.linalg.svd(a)[2][-1]
        drawn.append(found * np.sign(found @ h))
    assert_allclose(np.std(drawn, axis=0), np.sqrt(np.diag(cov)), rtol=0.04)


def test_our_uncertainty_of_a_distance_agrees_with_the_plane_map_route():
    """A rectangle of known width and height fixes the plane map, and ours, exactly.

    Four corners give the map its 8 numbers. Ours has the turn, the reach, focal length and
    principal point, and the place on the plane: 9, of which one (a family of cameras that
    show the plane alike) is held by next to nothing and moves no size. So both must state
    the same ± for a distance on the plane.
    """
    corners = np.array([6, 8, 2, 0])  # top left, top right, bottom right, bottom left
    pixels = plane_map_px(PLANE)
    sigma_px = 0.7
    p, _, px_size = conditioned(pixels[corners], pixels)
    q, _, mm_size = conditioned(PLANE[corners], PLANE)
    h, cov = plane_map_with_covariance(p, q, sigma_px / px_size)

    at = [[float(x), float(y), sigma_px] for x, y in pixels[corners]]
    raw = {
        "id": "wall", "photo": "p", "frame": at,
        "references": [
            {"kind": "length", "at": [at[0], at[1]], "length_mm": 5000.0},
            {"kind": "length", "at": [at[0], at[3]], "length_mm": 4000.0},
        ],
    }  # fmt: skip
    # nothing is believed of the camera but square pixels and no bend
    belief = CameraPrior(1500.0, 5.0, (1000.0, 750.0), (2000.0, 2000.0), 1e-7, True)
    solution = solve_photo(PhotoFacts("p", 2000, 1500), [Face.model_validate(raw)], prior=belief)

    inside_mm = np.array([[1200.0, 700.0], [3900.0, 3100.0]])
    ends_px = plane_map_px(inside_mm)
    ends = (ends_px - pixels[corners].mean(axis=0)) / px_size

    def length_of(vector):
        a, b = mapped(vector[:9], vector[9:].reshape(2, 2))
        return np.hypot(*(a - b)) * mm_size

    full = np.concatenate([h, ends.ravel()])
    gradient = np.array(
        [(length_of(full + d) - length_of(full - d)) / 2e-6 for d in 1e-6 * np.eye(13)]
    )
    joint = np.zeros((13, 13))
    joint[:9, :9] = cov
    joint[9:, 9:] = np.eye(4) * (sigma_px / px_size) ** 2
    theirs = np.sqrt(gradient @ joint @ gradient)

    charted = solution.charted("wall", [Pick(x=x, y=y, u_px=sigma_px) for x, y in ends_px])
    chart = charted.chart_mm
    n = (chart[0] - chart[1]) / np.hypot(*(chart[0] - chart[1]))
    g = np.concatenate([n, -n])
    ours = np.sqrt(g @ charted.cov_chart([0, 1]) @ g)
    assert length_of(full) == pytest.approx(np.hypot(*(inside_mm[1] - inside_mm[0])), rel=1e-6)
    assert np.hypot(*(chart[0] - chart[1])) == pytest.approx(length_of(full), rel=1e-6)
    assert ours == pytest.approx(theirs, rel=0.02)


def test_parallel_lines_meet_where_the_published_vanishing_point_lies():
    """Both posts are plumb: their common direction is the vertical vanishing point."""
    belief = prior(1000.0, (1000.0, 750.0), 1e-3)
    rays = bearings(np.array([*REFERENCE, *UNKNOWN]), belief)
    d = line_direction([(0, 1), (2, 3)], rays)
    found = np.array([1000.0, 750.0]) + 1000.0 * d[:2] / d[2]
    assert_allclose(found, VERTICAL_VANISHING_POINT[:2], atol=1.0)
