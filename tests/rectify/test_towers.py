"""Towers on their own, towers let into a wall, turrets in a corner; and what is refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rectify.adjust import solve_photo
from shared.errors import DegenerateError, FieldError, UnderdeterminedError
from shared.survey import Pick
from tests.rectify.test_residuals import HEADING, HINGE_U, WIDE, whole_building, wing_point
from tests.support.scenes import SceneCamera
from tests.support.surveyed import Hand, face, facts, street_camera, street_front

AXIS = (700.0, -9000.0)  # of the tower on its own, in plan
RADIUS = 2400.0


def lonely_camera(**more):
    return SceneCamera(
        **{"focal_px": 2600.0, "width_px": 3000, "height_px": 4000, "yaw_deg": 3.0,
           "pitch_deg": 11.0, "roll_deg": 0.7, "centre_mm": (0.0, 1600.0, 5000.0), **more}
    )  # fmt: skip


class Tower:
    """A cylinder in building coordinates, as a camera sees it."""

    def __init__(self, hand, axis=AXIS, radius=RADIUS):
        self.hand, self.axis, self.radius = hand, axis, radius
        dx, dz = (hand.camera.centre_mm[i] - c for i, c in ((0, axis[0]), (2, axis[1])))
        self.facing = np.arctan2(dx, dz)
        self.half = np.arccos(radius / np.hypot(dx, dz))

    def point(self, angle, v, back=0.0):
        """A point at an angle from where it faces the camera."""
        r, a = self.radius - back, self.facing + angle
        return [self.axis[0] + r * np.sin(a), v, self.axis[1] + r * np.cos(a)]

    def picks(self, points):
        return self.hand.at([self.point(*p) for p in points])

    def edge(self, side):
        return self.picks([(side * self.half, v) for v in (600, 2400, 4300, 6200)])

    def raw(self, *, left=True, right=True, curve=True, **more):
        surface = {"kind": "round", **more.pop("surface", {})}
        surface |= {"left_edge": self.edge(-1)} if left else {}
        surface |= {"right_edge": self.edge(1)} if right else {}
        guides = []
        if curve:
            angles = np.linspace(-1.0, 1.0, 5)
            guides = [{"kind": "level", "at": self.picks([(a, v) for a in angles])}
                      for v in (900, 5600)]  # fmt: skip
        return {
            "id": "tower", "photo": "street", "surface": surface, "guides": guides,
            "references": [{"kind": "courses", "count": 40, "gauge_mm": 75.0, "u_gauge_mm": 0.4,
                            "at": self.picks([(0.1, 1000), (0.1, 4000)])}],
            **more,
        }  # fmt: skip


def arc_width(solution, tower, a0, a1, v=3000.0, back=0.0):
    at = np.array(tower.picks([(a0, v, back), (a1, v, back)]))
    chart = solution.charted("tower", [Pick(x=x, y=y) for x, y in at[:, :2]], back).chart_mm
    return float(chart[1, 0] - chart[0, 0])


@pytest.mark.parametrize(
    "pose",
    [{}, {"pitch_deg": 0.0, "roll_deg": 0.0, "yaw_deg": 0.0}, {"roll_deg": -6.0, "yaw_deg": -9.0},
     {"pitch_deg": 20.0}],
    ids=["looking up", "upright", "rolled", "steep"],
)  # fmt: skip
def test_tower_on_its_own_is_found_exactly(pose):
    camera = lonely_camera(**pose)
    tower = Tower(Hand(camera))
    solution = solve_photo(facts(camera), [face(tower.raw())])
    assert solution.scaled
    assert solution.value_and_u("tower", "radius")[0] == pytest.approx(RADIUS, rel=2e-4)
    assert arc_width(solution, tower, -0.4, 0.5) == pytest.approx(0.9 * RADIUS, rel=3e-4)
    found, pose = solution.camera_and_pose
    away = np.hypot(camera.centre_mm[0] - AXIS[0], camera.centre_mm[2] - AXIS[1])
    assert pose.centre_mm[2] == pytest.approx(away, rel=1e-3)
    assert found.focal_px == pytest.approx(2600.0, rel=1e-3)


def test_opening_in_a_lonely_tower_reads_true_at_its_set_back():
    camera = lonely_camera()
    tower = Tower(Hand(camera))
    solution = solve_photo(facts(camera), [face(tower.raw())])
    # radially inwards: the same angles, told on the tower's face
    assert arc_width(solution, tower, -0.2, 0.2, back=180.0) == pytest.approx(
        0.4 * RADIUS, rel=3e-4
    )


def test_radius_alone_gives_a_lonely_tower_its_scale():
    camera = lonely_camera()
    tower = Tower(Hand(camera))
    raw = tower.raw(references=[], surface={"radius_mm": RADIUS, "u_radius_mm": 10.0})
    solution = solve_photo(facts(camera), [face(raw)])
    assert solution.scaled
    heights = np.array(tower.picks([(0.0, 1000.0), (0.0, 5000.0)]))[:, :2]
    chart = solution.charted("tower", [Pick(x=x, y=y) for x, y in heights]).chart_mm
    assert chart[1, 1] - chart[0, 1] == pytest.approx(4000.0, rel=3e-4)
    cov = solution.charted("tower", [Pick(x=x, y=y) for x, y in heights]).cov_chart([0, 1])
    u = np.sqrt(np.array([0, -1, 0, 1]) @ cov @ [0, -1, 0, 1])
    assert u > 4000.0 * 10.0 / RADIUS  # no better than the radius is known


def test_lonely_tower_without_any_size_keeps_its_shape():
    camera = lonely_camera()
    tower = Tower(Hand(camera))
    solution = solve_photo(facts(camera), [face(tower.raw(references=[]))])
    assert not solution.scaled
    r, _ = solution.value_and_u("tower", "radius")
    assert arc_width(solution, tower, -0.4, 0.5) / r == pytest.approx(0.9, rel=3e-4)


def test_outlines_and_exif_alone_do_without_a_course_curve():
    camera = lonely_camera(pitch_deg=14.0)
    tower = Tower(Hand(camera, said_u_px=0.3))
    solution = solve_photo(facts(camera), [face(tower.raw(curve=False))])
    radius, u = solution.value_and_u("tower", "radius")
    assert radius == pytest.approx(RADIUS, rel=3e-3)
    with_curve = solve_photo(facts(camera), [face(tower.raw())])
    assert with_curve.value_and_u("tower", "radius")[1] < u


def test_one_outline_of_a_lonely_tower_does_with_its_radius():
    """A slice: the other side hidden; the radius and courses say the rest."""
    camera = lonely_camera()
    tower = Tower(Hand(camera))
    raw = tower.raw(right=False, surface={"radius_mm": RADIUS, "u_radius_mm": 5.0})
    solution = solve_photo(facts(camera), [face(raw)])
    assert arc_width(solution, tower, -0.7, 0.2) == pytest.approx(0.9 * RADIUS, rel=2e-3)


def test_lonely_tower_of_shaking_hand_stays_within_its_interval():
    """90 cameras drawn from what is believed, 1 px picks: radius and an arc width."""
    rng = np.random.default_rng(6)
    inside = []
    for seed in range(90):
        told = lonely_camera()
        u_middle = 0.015 * 5000.0
        camera = lonely_camera(
            focal_px=2600.0 * np.exp(rng.normal(0, 0.03)), k1=rng.normal(0, 0.01),
            principal_shift_px=tuple(rng.normal(0, u_middle, 2)),
        )  # fmt: skip
        tower = Tower(Hand(camera, u_px=1.0, seed=seed))
        raw = tower.raw()
        raw["references"][0]["gauge_mm"] += rng.normal(0, 0.4)
        solution = solve_photo(facts(told), [face(raw)])
        r, u = solution.value_and_u("tower", "radius")
        inside.append(abs(r - RADIUS) <= 1.96 * u)
    assert 0.88 <= np.mean(inside) <= 1.0  # 90 trials scatter 95 % by 2.3 %


@settings(max_examples=12)
@given(st.floats(0.02, 40.0))
def test_scaling_the_known_size_scales_the_tower(factor):
    camera = lonely_camera()
    raw = Tower(Hand(camera)).raw()
    raw["references"][0]["gauge_mm"] *= factor
    raw["references"][0]["u_gauge_mm"] *= factor
    solution = solve_photo(facts(camera), [face(raw)])
    assert solution.value_and_u("tower", "radius")[0] == pytest.approx(factor * RADIUS, rel=5e-4)


def bow(hand, back_mm=1700.0, radius_mm=2000.0, x=-1500.0, **known):
    """A bow let into the wall, less than half of it showing; both lines where it meets."""
    camera = hand.camera
    tower = Tower(hand, (x, -back_mm), radius_mm)
    half = np.arccos(back_mm / radius_mm)
    lines = [hand.at([[x + side * radius_mm * np.sin(half), v, 0.0] for v in (700, 2900, 5000)])
             for side in (-1, 1)]  # fmt: skip
    angles = np.linspace(-0.9 * half, 0.9 * half, 5) - tower.facing
    guides = [{"kind": "level", "at": tower.picks([(a, v) for a in angles])} for v in (800, 4900)]
    surface = {"kind": "round", "beside": "front", "meets_wall": lines[0],
               "also_meets": {"face": "front", "at": lines[1]}, **known}  # fmt: skip
    assert camera is hand.camera
    return {"id": "tower", "photo": "street", "surface": surface, "guides": guides}


@pytest.mark.parametrize(
    "known", [{"radius_mm": 2000.0}, {"axis_set_back_mm": 1700.0}, {}], ids=["radius", "set-back",
    "course curves alone"],
)  # fmt: skip
def test_engaged_tower_is_fixed_by_both_lines_where_it_meets_the_wall(known):
    camera = street_camera(**WIDE, pitch_deg=12.0)
    hand = Hand(camera)
    solution = solve_photo(facts(camera), [face(street_front(hand)), face(bow(hand, **known))])
    assert solution.value_and_u("tower", "radius")[0] == pytest.approx(2000.0, rel=4e-3)
    assert solution.value_and_u("tower", "axis_set_back")[0] == pytest.approx(1700.0, rel=6e-3)


def test_turret_in_a_corner_shows_only_a_slice_and_meets_both_walls():
    camera = street_camera(**{**WIDE, "yaw_deg": 20.0})
    hand = Hand(camera)
    front, _, wing, _ = whole_building(hand)
    radius, x, z = 900.0, HINGE_U, 0.0
    along = np.array([np.cos(HEADING), np.sin(HEADING)])
    on_front = hand.at([[x - radius, v, z] for v in (600, 2500, 4600)])
    on_wing = hand.at(
        [wing_point(0.0 + radius, v) for v in (700, 2500, 4400)]
    )  # axis on the hinge itself, so a radius along either wall
    assert np.hypot(*along) == pytest.approx(1.0)
    raw = {
        "id": "tower", "photo": "street",
        "surface": {"kind": "round", "beside": "front", "meets_wall": on_front,
                    "also_meets": {"face": "wing", "at": on_wing},
                    "radius_mm": radius, "u_radius_mm": 2.0},
    }  # fmt: skip
    solution = solve_photo(facts(camera), [front, wing, face(raw)])
    surface = solution.surface("tower")
    assert float(surface.axis_x_mm) + camera.centre_mm[0] == pytest.approx(x, abs=15.0)
    assert float(surface.axis_z_mm) == pytest.approx(z, abs=15.0)


REFUSED = [
    ("swapped outlines", lambda t: {**t.raw()["surface"], "left_edge": t.edge(1),
     "right_edge": t.edge(-1)}, DegenerateError, "left outline lies right of its right one"),
    ("crossed outlines", lambda t: {**t.raw()["surface"],
     "left_edge": [t.edge(-1)[0], t.edge(1)[3]]}, DegenerateError, "they cross"),
    ("no outline", lambda t: {"kind": "round"}, UnderdeterminedError, "has no outline"),
    ("one outline", lambda t: {"kind": "round", "left_edge": t.edge(-1)}, UnderdeterminedError,
     "nothing to tell its size by"),
    ("never reaches the wall", lambda t: {"kind": "round", "beside": "front",
     "left_edge": t.edge(-1), "meets_wall": t.edge(1), "radius_mm": 900.0,
     "axis_set_back_mm": 1000.0}, FieldError, "never reaches it"),
]  # fmt: skip


@pytest.mark.parametrize(("surface", "error", "says"), [r[1:] for r in REFUSED],
                         ids=[r[0] for r in REFUSED])  # fmt: skip
def test_tower_that_cannot_be_is_refused_in_a_sentence(surface, error, says):
    camera = lonely_camera()
    tower = Tower(Hand(camera))
    raw = {"id": "tower", "photo": "street", "surface": surface(tower)}
    faces = [face(raw)]
    if raw["surface"].get("beside"):
        faces.insert(0, face(street_front(Hand(street_camera(**WIDE)))))
    with pytest.raises(error, match=says) as caught:
        solve_photo(facts(camera if len(faces) == 1 else street_camera(**WIDE)), faces)
    assert "'tower'" in str(caught.value)
    assert caught.value.hint


def test_tower_beside_a_wall_with_outlines_alone_has_no_scale():
    camera = street_camera(**WIDE)
    front, _, _, tower = whole_building(Hand(camera))
    bare = {"radius_mm": None, "u_radius_mm": None, "meets_wall": None}
    tower = tower.model_copy(update={"surface": tower.surface.model_copy(update=bare)})
    with pytest.raises(UnderdeterminedError, match="'tower' has nothing to tell its size by"):
        solve_photo(facts(camera), [front, tower])


def test_contradictory_facts_are_named():
    """Radius given a tenth too large beside courses, outlines and the meeting line."""
    camera = street_camera(**WIDE)
    hand = Hand(camera, u_px=0.3, said_u_px=0.3)
    front, _, _, tower = whole_building(hand)
    wrong = tower.surface.model_copy(
        update={"radius_mm": 2420.0, "u_radius_mm": 5.0, "axis_set_back_mm": 500.0,
                "u_axis_set_back_mm": 5.0}
    )  # fmt: skip
    solution = solve_photo(facts(camera), [front, tower.model_copy(update={"surface": wrong})])
    from rectify.diagnosis import find_suspects

    said = " ".join(suspect.sentence for suspect in find_suspects(solution))
    assert "radius" in said
    assert "2420" in said


def test_hinge_that_leans_is_refused():
    camera = street_camera(**WIDE)
    hand = Hand(camera)
    front, _, wing, _ = whole_building(hand)
    leaning = hand.at([[HINGE_U, 500, 0], [HINGE_U - 2000, 4500, 0]])
    hinge = wing.surface.hinge.model_copy(update={"at": tuple(Pick(x=x, y=y) for x, y in leaning)})
    wing = wing.model_copy(update={"surface": wing.surface.model_copy(update={"hinge": hinge})})
    with pytest.raises(DegenerateError, match=r"hinge of face 'wing' leans by 2\d°"):
        solve_photo(facts(camera), [front, wing])


def test_wing_picked_on_both_sides_of_its_hinge_crosses_the_front():
    camera = street_camera(**WIDE)
    hand = Hand(camera)
    front, _, wing, _ = whole_building(hand)
    middle = hand.at([[HINGE_U + 1400 * np.cos(HEADING), v, 0.0] for v in (500, 4500)])
    hinge = wing.surface.hinge.model_copy(update={"at": tuple(Pick(x=x, y=y) for x, y in middle)})
    wing = wing.model_copy(update={"surface": wing.surface.model_copy(update={"hinge": hinge})})
    with pytest.raises(DegenerateError, match="'wing' crosses 'front'"):
        solve_photo(facts(camera), [front, wing])


def test_faces_that_lean_on_each_other_in_a_ring_are_refused():
    camera = street_camera(**WIDE)
    hand = Hand(camera)
    front, _, wing, _ = whole_building(hand)
    other = wing.model_copy(update={"id": "back"})
    ring = [
        face_with_hinge(wing, "back"),
        face_with_hinge(other, "wing"),
    ]
    with pytest.raises(FieldError, match="each placed by the other"):
        solve_photo(facts(camera), [front, *ring])


def face_with_hinge(wing, parent):
    hinge = wing.surface.hinge.model_copy(update={"face": parent})
    return wing.model_copy(update={"surface": wing.surface.model_copy(update={"hinge": hinge})})
