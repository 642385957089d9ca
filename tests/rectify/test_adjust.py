"""One photo solved: exact where the picks are, unmoved by what must not matter."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from rectify.adjust import solve_photo
from rectify.solving.observations import OUT_OF_TRUE
from rectify.surfaces import Round
from shared.errors import DegenerateError, FieldError, UnderdeterminedError
from shared.survey import Pick
from tests.rectify.test_residuals import HEADING, HINGE_U, TOWER, WIDE, whole_building
from tests.support.scenes import SceneCamera, rectangle
from tests.support.surveyed import (
    OPENINGS,
    Hand,
    face,
    facts,
    length,
    street_camera,
    street_front,
)

#: Noise-free picks: what remains is where the search stops, a thousandth of a ± of about
#: half a millimetre in a metre, once more improved.
EXACT = 1e-5


def sizes_of(solution, corners_px, face_id="front"):
    picks = [Pick(x=x, y=y) for x, y in np.asarray(corners_px)[:, :2]]
    tl, tr, _, bl = solution.charted(face_id, picks).chart_mm
    return (tr - tl)[0], (tl - bl)[1]


def solve(camera, raw, **more):
    return solve_photo(facts(camera, **more), [face(raw)])


CAMERAS = {
    "square on": street_camera(yaw_deg=0, pitch_deg=0, roll_deg=0, centre_mm=(0, 1600, 12_000)),
    "one-point perspective, looking up": street_camera(yaw_deg=0, pitch_deg=15, roll_deg=0,
                                                       centre_mm=(0, 1600, 12_000)),
    "across the street": street_camera(),
    "rolled": street_camera(roll_deg=-10.0),
    "oblique": street_camera(
        focal_px=2500, yaw_deg=55, pitch_deg=5, centre_mm=(-14_000, 1600, 9000)
    ),
    "looking left": street_camera(yaw_deg=-35, centre_mm=(7000, 1600, 11_000)),
    "portrait, looking up": SceneCamera(
        2600.0, 3000, 4000, 10.0, 20.0, -1.0, (-2000.0, 1600.0, 11_000.0)
    ),
    "wide lens": street_camera(focal_px=1700.0, yaw_deg=10, centre_mm=(-2000, 1600, 7000)),
}  # fmt: skip


@pytest.mark.parametrize("name", CAMERAS)
def test_exact_picks_give_exact_sizes(name):
    camera = CAMERAS[name]
    solution = solve(camera, street_front(Hand(camera)))
    for corners in OPENINGS.values():
        width, height = sizes_of(solution, camera.project_wall(corners))
        assert width == pytest.approx(corners[1, 0] - corners[0, 0], rel=EXACT)
        assert height == pytest.approx(corners[0, 1] - corners[3, 1], rel=EXACT)
    assert solution.rms_px < 1e-3
    assert solution.findings == ()


def test_camera_is_found_exactly_too():
    camera = street_camera()
    ours, pose = solve(camera, street_front(Hand(camera))).camera_and_pose
    assert ours.focal_px == pytest.approx(3000.0, rel=EXACT)
    assert_allclose(ours.principal_px, (2000.0, 1500.0), atol=0.05)
    assert pose.centre_mm[2] == pytest.approx(11_000.0, rel=EXACT)
    assert_allclose(np.array(pose.rotation), camera.rotation, atol=EXACT)


def test_hidden_principal_point_and_lens_are_found_from_enough_guides():
    camera = street_camera(principal_shift_px=(60.0, -40.0), k1=-0.012)
    raw = street_front(Hand(camera, said_u_px=0.05))
    hand = Hand(camera, said_u_px=0.05)
    for v in (600, 2000, 3700, 5000):
        raw["guides"].append({"kind": "level", "at": hand.on_wall([[u, v] for u in
                              np.linspace(-4000, 4000, 7)])})  # fmt: skip
    solution = solve(camera, raw)
    for what, truth, prior_u in (
        ("principal_x", 2060.0, 75.0),
        ("principal_y", 1460.0, 75.0),
        ("k1", -0.012, 0.01),
        ("log_focal", np.log(3000.0), 0.03),
    ):
        value, u = solution.value_and_u("street", what)
        # without noise the prior alone pulls, and it pulls by less than the ±
        assert abs(value - truth) < u < 0.8 * prior_u, what


def test_whole_building_is_found_exactly():
    camera = street_camera(**WIDE)
    solution = solve_photo(facts(camera), whole_building(Hand(camera)))
    assert solution.value_and_u("behind", "set_back")[0] == pytest.approx(900.0, rel=1e-4)
    assert solution.value_and_u("wing", "heading")[0] == pytest.approx(HEADING, abs=1e-6)
    # hinge_u counts on the parent's chart, whose u = 0 is the foot of the camera
    hinge, _ = solution.value_and_u("wing", "hinge_u")
    assert hinge == pytest.approx(HINGE_U - camera.centre_mm[0], rel=EXACT)
    tower = solution.surface("tower")
    assert isinstance(tower, Round)
    found = (tower.axis_x_mm + camera.centre_mm[0], tower.axis_z_mm, tower.radius_mm)
    assert_allclose(found, TOWER, rtol=1e-4)


def test_wing_takes_its_scale_through_the_hinge():
    camera = street_camera(**WIDE)
    hand = Hand(camera)
    front, _, wing, _ = whole_building(hand)
    assert wing.references == ()
    solution = solve_photo(facts(camera), [front, wing])
    picks = [(pick.x, pick.y) for pick in wing.frame]
    width, height = sizes_of(solution, picks, "wing")
    assert (width, height) == (pytest.approx(3000.0, rel=1e-4), pytest.approx(3800.0, rel=1e-4))


@pytest.mark.parametrize(
    "known", [{"radius_mm": 2200.0}, {"axis_set_back_mm": 500.0}], ids=["radius", "set-back"]
)
def test_tower_with_both_outlines_needs_one_more_fact(known):
    camera = street_camera(**WIDE)
    front, _, _, tower = whole_building(Hand(camera))
    bare = {"radius_mm": None, "u_radius_mm": None, "meets_wall": None, **known}
    tower = tower.model_copy(update={"surface": tower.surface.model_copy(update=bare)})
    solution = solve_photo(facts(camera), [front, tower])
    assert solution.value_and_u("tower", "radius")[0] == pytest.approx(TOWER[2], rel=1e-4)
    assert solution.value_and_u("tower", "axis_set_back")[0] == pytest.approx(500.0, rel=2e-3)


def test_tower_with_one_outline_is_fixed_by_the_meeting_line_and_the_set_back():
    camera = street_camera(**WIDE)
    front, _, _, tower = whole_building(Hand(camera))
    bare = {"right_edge": None, "radius_mm": None, "u_radius_mm": None, "axis_set_back_mm": 500.0}
    tower = tower.model_copy(update={"surface": tower.surface.model_copy(update=bare)})
    solution = solve_photo(facts(camera), [front, tower])
    assert solution.value_and_u("tower", "radius")[0] == pytest.approx(TOWER[2], rel=1e-3)


@pytest.mark.parametrize("factor", [0.01, 1.0, 250.0])
def test_scaling_every_known_length_scales_every_size(factor):
    camera = street_camera()
    raw = street_front(Hand(camera, u_px=1.0, seed=3))
    base = solve(camera, raw)
    scaled = dict(raw["references"][0])
    scaled["length_mm"] *= factor
    scaled["u_mm"] *= factor
    again = solve(camera, {**raw, "references": [scaled]})
    picks = [Pick(x=x, y=y) for x, y in camera.project_wall(OPENINGS["w1"])]
    one, many = base.charted("front", picks), again.charted("front", picks)
    assert_allclose(many.chart_mm, factor * one.chart_mm, rtol=1e-6)
    cov = one.cov_chart(range(4))
    assert_allclose(many.cov_chart(range(4)) / factor**2, cov, atol=1e-5 * cov.max())


def test_order_and_way_round_of_the_picks_do_not_matter():
    camera = street_camera()
    raw = street_front(Hand(camera, u_px=1.0, seed=4))
    base = solve(camera, raw)
    turned = {**raw, "frame": list(reversed(raw["frame"])), "guides": raw["guides"][::-1]}
    turned["references"] = [{**raw["references"][0], "at": raw["references"][0]["at"][::-1]}]
    again = solve(camera, turned)
    corners = camera.project_wall(OPENINGS["w2"])
    assert_allclose(sizes_of(again, corners), sizes_of(base, corners), rtol=1e-6)
    assert again.rms_px == pytest.approx(base.rms_px, rel=1e-5)


def test_pick_shared_by_frame_and_reference_is_one_pick():
    camera = street_camera()
    raw = street_front(Hand(camera, u_px=1.0, seed=5), guides=False, openings={})
    raw["references"] = [{"kind": "length", "at": [raw["frame"][0], raw["frame"][3]],
                          "length_mm": 4900.0}]  # fmt: skip
    solution = solve(camera, raw)
    assert len(solution.sheet.picks_px) == 4
    # 4 conditions of the rectangle and 1 length, for turn, reach and focal length
    assert solution.redundancy == 0
    # the known height itself then has no ± but that of the rectangle being one
    height = solution.charted("front", [Pick(x=x, y=y) for x, y in np.array(raw["frame"])[[0, 3]]])
    assert_allclose(np.ptp(height.chart_mm[:, 1]), 4900.0, rtol=1e-9)


def test_same_guide_given_twice_changes_nothing():
    camera = street_camera()
    raw = street_front(Hand(camera, u_px=1.0, seed=6))
    base = solve(camera, raw)
    twice = solve(camera, {**raw, "guides": raw["guides"] * 2})
    assert_allclose(
        np.sqrt(np.diag(twice.adjusted.cov_unknowns)),
        np.sqrt(np.diag(base.adjusted.cov_unknowns)),
        rtol=1e-4,
    )


def test_solving_from_a_solution_nearby_ends_within_a_twentieth_of_each_plus_minus():
    camera = street_camera()
    before = street_front(Hand(camera, u_px=1.0, seed=5))
    near = solve(camera, before)
    dragged = {**before, "frame": [[before["frame"][0][0] + 6.0, before["frame"][0][1] - 4.0],
                                   *before["frame"][1:]]}  # fmt: skip
    whole = solve(camera, dragged)
    quick = solve_photo(facts(camera), [face(dragged)], near=near)
    assert quick.adjusted.iterations < whole.adjusted.iterations
    corners = Hand(camera).on_wall(OPENINGS["w1"])
    picks = [Pick(x=x, y=y) for x, y in corners]
    one, other = (solution.charted("front", picks) for solution in (quick, whole))
    u_mm = np.sqrt(np.diag(other.cov_chart(range(4)))).reshape(4, 2)
    assert np.all(np.abs(one.chart_mm - other.chart_mm) < 0.05 * u_mm)


def test_a_solution_of_other_faces_is_no_start():
    camera = street_camera(**WIDE)
    faces = [face(raw) for raw in whole_building(Hand(camera))]
    near = solve_photo(facts(camera), faces[:1])
    alone, started = (solve_photo(facts(camera), faces, near=start) for start in (None, near))
    u = np.sqrt(np.diag(alone.adjusted.cov_unknowns))
    assert np.all(np.abs(started.unknowns.values - alone.unknowns.values) < 0.06 * u)


def test_without_a_known_size_shapes_are_true_and_sizes_are_not():
    camera = street_camera()
    raw = street_front(Hand(camera))
    solution = solve(camera, {**raw, "references": []})
    assert not solution.scaled
    width, height = sizes_of(solution, camera.project_wall(OPENINGS["w1"]))
    assert width / height == pytest.approx(1000.0 / 1500.0, rel=EXACT)


def test_opening_may_be_out_of_true_by_a_little_for_nothing():
    camera = street_camera()
    hand = Hand(camera, u_px=1.0, seed=7)
    crooked = OPENINGS["w1"].copy()
    crooked[0] += [2.0, -1.5]
    solution = solve(camera, street_front(hand, openings={"w1": crooked}))
    assert solution.findings == ()
    assert solution.left_out == ()
    entered = [i for i, roles in enumerate(solution.sheet.roles) if "opening" in roles[0].item]
    diagonal_px = np.hypot(*np.ptp(np.array(solution.sheet.picks_px)[entered], axis=0))
    assert solution.sheet.u_px[entered[0]] == pytest.approx(
        np.hypot(1.0, OUT_OF_TRUE * diagonal_px)
    )


def test_opening_that_is_no_rectangle_with_the_rest_holds_nothing():
    camera = street_camera()
    hand = Hand(camera, u_px=0.5, seed=8, said_u_px=0.5)
    crooked = OPENINGS["w1"].copy()
    crooked[1] += [150.0, 90.0]
    sound = solve(camera, street_front(hand, openings={}))
    hand = Hand(camera, u_px=0.5, seed=8, said_u_px=0.5)
    solution = solve(camera, street_front(hand, openings={"w1": crooked}))
    assert solution.left_out == (("front", "opening 'w1'"),)
    assert solution.rms_px == pytest.approx(sound.rms_px, rel=0.05)


REFUSED = [
    ("frame past the photo", {"frame": [[10, 10], [4100, 10], [3900, 2900], [10, 2900]]},
     FieldError, "the top right corner"),
    ("crossed frame", {"frame": [[10, 10], [3900, 2900], [3900, 10], [10, 2900]]},
     DegenerateError, "the frame of face 'front'"),
    ("guide with a pick twice", {"guides": [{"kind": "plumb", "at": [[500, 500], [500, 500]]}]},
     DegenerateError, "plumb guide 1"),
    ("reference on one spot", {"references": [{"kind": "length", "at": [[9, 9], [9, 9]],
     "length_mm": 100, "label": "door"}]}, DegenerateError, "the known size 'door'"),
    ("no frame", {"frame": None, "guides": []}, UnderdeterminedError, "has no frame"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "error", "says"), [r[1:] for r in REFUSED],
                         ids=[r[0] for r in REFUSED])  # fmt: skip
def test_what_cannot_be_solved_is_refused_by_name(change, error, says):
    camera = street_camera()
    raw = {**street_front(Hand(camera), openings={}), **change}
    with pytest.raises(error, match=says) as caught:
        solve(camera, raw)
    assert "'front'" in str(caught.value)
    assert caught.value.hint


def test_tower_that_meets_a_wall_must_say_which():
    camera = street_camera(**WIDE)
    tower = whole_building(Hand(camera))[3]
    alone = tower.model_copy(update={"surface": tower.surface.model_copy(update={"beside": None})})
    with pytest.raises(FieldError, match="no wall is named"):
        solve_photo(facts(camera), [alone])


def picked_tower(back_mm, radius_mm, hand, **known):
    """A tower at the wall's left end, with left outline and meeting line."""
    camera, x = hand.camera, -6500.0
    dx, dz = camera.centre_mm[0] - x, camera.centre_mm[2] + back_mm
    left = np.arctan2(dx, dz) - np.arccos(radius_mm / np.hypot(dx, dz))
    meets = np.arccos(back_mm / radius_mm)

    def at(angle, v):
        return [x + radius_mm * np.sin(angle), v, radius_mm * np.cos(angle) - back_mm]

    surface = {
        "kind": "round", "beside": "front",
        "left_edge": hand.at([at(left, v) for v in (600, 5000)]),
        "meets_wall": hand.at([at(meets, v) for v in (700, 4800)]),
        **known,
    }  # fmt: skip
    return {"id": "tower", "photo": "street", "surface": surface}, at


@pytest.mark.parametrize("back_mm", [-600.0, 0.0, 800.0])
def test_corner_tower_is_fixed_by_one_outline_the_meeting_line_and_courses_on_it(back_mm):
    """What the street shows of a corner tower; its scale of its own settles how far it stands."""
    camera = street_camera(**WIDE)
    hand = Hand(camera)
    raw, at = picked_tower(back_mm, 2000.0, hand)
    courses = hand.at([at(0.4, 800), at(0.4, 3800)])
    raw["references"] = [{"kind": "courses", "at": courses, "count": 40, "gauge_mm": 75.0,
                          "u_gauge_mm": 0.2}]  # fmt: skip
    front = face(street_front(hand))
    solution = solve_photo(facts(camera), [front, face(raw)])
    assert solution.value_and_u("tower", "radius")[0] == pytest.approx(2000.0, rel=2e-3)
    assert solution.value_and_u("tower", "axis_set_back")[0] == pytest.approx(back_mm, abs=6.0)


def test_of_two_towers_through_the_same_picks_the_one_in_sight_is_meant():
    """Two circles touch both outlines' rays and pass the point of the wall: one lies behind it."""
    camera = street_camera(**WIDE)
    front, _, _, tower = whole_building(Hand(camera))
    bare = {"radius_mm": None, "u_radius_mm": None}
    tower = tower.model_copy(update={"surface": tower.surface.model_copy(update=bare)})
    solution = solve_photo(facts(camera), [front, tower])
    assert solution.value_and_u("tower", "radius")[0] == pytest.approx(TOWER[2], rel=2e-3)


def test_tower_without_outline_is_refused():
    camera = street_camera(**WIDE)
    front, _, _, tower = whole_building(Hand(camera))
    bare = {"left_edge": None, "right_edge": None}
    tower = tower.model_copy(update={"surface": tower.surface.model_copy(update=bare)})
    with pytest.raises(UnderdeterminedError, match="'tower' has no outline"):
        solve_photo(facts(camera), [front, tower])


def test_size_behind_the_wall_reads_true_only_with_its_set_back():
    """Relief, derived once: a pane 150 mm back seen from 10 m reads 150 / 10 150 too small."""
    camera = SceneCamera(3000.0, centre_mm=(0.0, 1600.0, 10_000.0))
    raw = street_front(Hand(camera), openings={})
    solution = solve(camera, raw)
    pane = camera.project_wall(rectangle(-600, 1000, 600, 2500), 150.0)
    picks = [Pick(x=x, y=y) for x, y in pane]
    flat = solution.charted("front", picks).chart_mm
    deep = solution.charted("front", picks, 150.0).chart_mm
    assert flat[1, 0] - flat[0, 0] == pytest.approx(1200.0 * 10_000 / 10_150, rel=1e-4)
    assert deep[1, 0] - deep[0, 0] == pytest.approx(1200.0, rel=1e-4)


def test_reference_on_another_plane_is_taken_at_its_own_depth():
    camera = street_camera()
    hand = Hand(camera)
    raw = street_front(hand)
    ends = [[1500.0, 600.0], [1500.0, 2632.0]]
    door = length(hand, ends, "door leaf", 4.0, set_back_mm=120.0)
    door["at"] = hand.on_wall(ends, 120.0)
    raw["references"] = [door]
    width, height = sizes_of(solve(camera, raw), camera.project_wall(OPENINGS["w1"]))
    assert (width, height) == (pytest.approx(1000.0, rel=1e-4), pytest.approx(1500.0, rel=1e-4))


def test_a_wall_of_which_nothing_is_picked_asks_for_its_frame():
    bare = face({"id": "front", "photo": "street"})
    with pytest.raises(UnderdeterminedError, match="has no frame") as told:
        solve_photo(facts(street_camera()), [bare])
    assert "four corners" in told.value.hint
