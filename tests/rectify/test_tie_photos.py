"""Several photos of one building: tied by walls, points, levels, hinges, points in space."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from rectify.adjust import solve_photo
from rectify.tie_photos import tie_photos
from shared.errors import FieldError
from shared.survey import Pick, Survey, Tie
from tests.rectify.test_residuals import HEADING, HINGE_U, wing_point
from tests.support.scenes import SceneCamera, rectangle
from tests.support.surveyed import FRAME, Hand, face, facts, length

LEFT = {
    "focal_px": 2300.0,
    "yaw_deg": 22.0,
    "pitch_deg": 7.0,
    "centre_mm": (-6500.0, 1600.0, 11_000.0),
}
RIGHT = {"focal_px": 2600.0, "yaw_deg": -24.0, "pitch_deg": 9.0, "roll_deg": -1.0,
         "centre_mm": (6800.0, 1700.0, 12_000.0)}  # fmt: skip

#: Points on the front that both photos show, and points off it.
ON = {"a": (-3500.0, 900.0), "b": (3600.0, 800.0), "c": (-3300.0, 4900.0), "d": (3300.0, 4800.0)}
OFF = {"chimney": (500.0, 6900.0, -2400.0), "lamp": (-900.0, 3200.0, 900.0)}


class Scene:
    """Two cameras and what is picked of the front in each."""

    def __init__(self, u_px=0.0, seed=0, said=None, left=LEFT, right=RIGHT):
        self.cameras = {"left": SceneCamera(**left), "right": SceneCamera(**right)}
        self.hands = {
            name: Hand(camera, u_px=u_px, seed=seed + i, said_u_px=said)
            for i, (name, camera) in enumerate(self.cameras.items())
        }

    def front(self, photo, *, sized=True, **more):
        hand = self.hands[photo]
        raw = {
            "id": f"front-{photo}", "photo": photo, "frame": hand.on_wall(FRAME),
            "guides": [{"kind": "rectangle", "at": hand.on_wall(
                rectangle(-3000, 700, 3600, 4900))}],
            "references": [length(hand, [[1000, 400], [1000, 3400]], "the height", 5.0)],
            **more,
        }  # fmt: skip
        if not sized:
            raw["references"] = []
        return raw

    def end(self, photo, point, face_id=None):
        (at,) = self.hands[photo].at([point])
        return {"face": face_id or f"front-{photo}", "at": at}

    def tie(self, name, kind, point, faces=(None, None)):
        ends = [self.end(p, point, f) for p, f in zip(("left", "right"), faces, strict=True)]
        return {"id": name, "kind": kind, "at": ends}

    def points(self):
        return [self.tie(name, "point", (*at, 0.0)) for name, at in ON.items()]

    def space(self):
        return [self.tie(name, "space", at) for name, at in OFF.items()]

    def solve(self, raws, ties, facts_of=None):
        faces = [face(raw) for raw in raws]
        told = facts_of or self.cameras
        solutions = {
            name: solve_photo(facts(told[name], name), [f for f in faces if f.photo == name])
            for name in self.cameras
        }
        return solutions, tie_photos(faces, [Tie.model_validate(t) for t in ties], solutions)


def same(scene, **more):
    return [scene.front("left"), scene.front("right", same_as="front-left", **more)]


def chart(solution, face_id, hand, points, back=0.0):
    picks = [Pick(x=p[0], y=p[1]) for p in hand.on_wall(points, back)]
    return solution.charted(face_id, picks, back)


def test_exact_picks_place_the_second_photo_in_the_frame_of_the_first():
    scene = Scene()
    _, tied = scene.solve(same(scene), scene.points())
    assert tied.warnings == {}
    reference, place = tied.placements["right"]
    assert reference == "left"
    # each photo's frame stands under its own camera
    shift = np.subtract(RIGHT["centre_mm"], LEFT["centre_mm"])
    assert place.x_mm == pytest.approx(shift[0], abs=2.0)
    assert place.turn_rad == pytest.approx(0.0, abs=1e-4)
    assert place.z_mm == pytest.approx(0.0, abs=2.0)


def test_points_on_a_wall_that_is_not_said_to_be_the_same_are_told_in_a_sentence():
    scene = Scene()
    alone, tied = scene.solve([scene.front("left"), scene.front("right")], scene.points())
    assert tied.solutions == alone
    assert "say which of their faces are the same wall" in tied.warnings["left"][0]


def test_points_off_the_wall_are_located_in_space():
    scene = Scene()
    _, tied = scene.solve(same(scene), [*scene.points(), *scene.space()])
    for name, (x, y, z) in OFF.items():
        point = tied.points[name]
        assert point.face == "front-left"
        found = (point.u_mm + LEFT["centre_mm"][0], -point.set_back_mm)
        assert_allclose(found, (x, z), atol=4.0)
        # v counts in the photo's own frame: compare with a point of the wall itself
        at = tied.solutions["left"].charted("front-left", [Pick(x=p[0], y=p[1]) for p in
             scene.hands["left"].on_wall([[x, y]])]).chart_mm[0]  # fmt: skip
        assert point.v_mm == pytest.approx(at[1], abs=4.0)


def test_uncertainty_of_located_points_holds():
    """24 trials, 1 px picks, cameras drawn: coordinates of the chimney within their 95 %."""
    rng = np.random.default_rng(3)
    inside = []
    for seed in range(24):
        drawn = [
            {**base, "focal_px": base["focal_px"] * np.exp(rng.normal(0, 0.03)),
             "principal_shift_px": tuple(rng.normal(0, 75.0, 2)), "k1": rng.normal(0, 0.01)}
            for base in (LEFT, RIGHT)
        ]  # fmt: skip
        scene = Scene(u_px=1.0, seed=10 * seed, left=drawn[0], right=drawn[1])
        raws = same(scene)
        for raw in raws:
            raw["references"][0]["length_mm"] += rng.normal(0, 5.0)
        told = {"left": SceneCamera(**LEFT), "right": SceneCamera(**RIGHT)}
        _, tied = scene.solve(raws, [*scene.points(), *scene.space()], told)
        if "chimney" not in tied.points:
            continue
        point = tied.points["chimney"]
        x, _, z = OFF["chimney"]
        u = np.sqrt(np.diag(point.cov_mm2))
        inside.append(abs(point.u_mm + LEFT["centre_mm"][0] - x) <= 1.96 * u[0])
        inside.append(abs(-point.set_back_mm - z) <= 1.96 * u[2])
    assert len(inside) > 40
    assert np.mean(inside) >= 0.87  # 48 numbers, two by two: 95 % scatters by 4 %


def test_two_photos_measure_better_than_one():
    scene = Scene(said=1.0)
    alone, tied = scene.solve(same(scene), [*scene.points(), *scene.space()])
    ends = [[-3500.0, 900.0], [3600.0, 800.0]]
    for photo, hand in scene.hands.items():
        u = []
        for solution in (alone[photo], tied.solutions[photo]):
            charted = chart(solution, f"front-{photo}", hand, ends)
            cov = charted.cov_chart([0, 1])
            push = np.array([-1.0, 0.0, 1.0, 0.0])
            u.append(float(np.sqrt(push @ cov @ push)))
            assert charted.chart_mm[1, 0] - charted.chart_mm[0, 0] == pytest.approx(7100, rel=3e-4)
        assert u[1] < 0.9 * u[0]


@pytest.mark.parametrize("kind", ["point", "level"])
def test_ties_carry_the_scale_to_a_photo_without_any_size(kind):
    scene = Scene(said=0.3)
    raws = [scene.front("left"), scene.front("right", sized=False, same_as="front-left")]
    ties = [{**tie, "kind": kind} for tie in scene.points()]
    alone, tied = scene.solve(raws, ties)
    assert not alone["right"].scaled
    assert tied.solutions["right"].scaled
    charted = chart(tied.solutions["right"], "front-right", scene.hands["right"],
                    [[-3000.0, 700.0], [-3000.0, 4900.0]])  # fmt: skip
    assert charted.chart_mm[1, 1] - charted.chart_mm[0, 1] == pytest.approx(4200.0, rel=1e-3)


def test_one_tie_alone_carries_no_scale_and_says_so():
    scene = Scene()
    raws = [scene.front("left"), scene.front("right", sized=False)]
    _, tied = scene.solve(raws, scene.points()[:1])
    assert "carry none over" in tied.warnings["right"][0]
    assert not tied.solutions["right"].scaled


def test_level_on_a_wing_and_a_shared_corner_place_it_in_plan():
    """The right photo shows front and wing; the left one the front: the wing is tied through it."""
    scene = Scene(right={**RIGHT, "focal_px": 1900.0, "yaw_deg": -10.0})
    hand = scene.hands["right"]
    wing = {
        "id": "wing", "photo": "right",
        "surface": {"kind": "wall", "hinge": {"face": "front-right", "at": hand.at(
            [[HINGE_U, v, 0.0] for v in (500, 4500)])}},
        "frame": hand.at([wing_point(u, v) for u, v in rectangle(500, 600, 3000, 4400)]),
    }  # fmt: skip
    corner = scene.tie("corner", "plumb", (HINGE_U, 3000.0, 0.0), (None, "wing"))
    _, tied = scene.solve([*same(scene), wing], [*scene.points(), corner])
    assert tied.warnings == {}
    heading, u = tied.solutions["right"].value_and_u("wing", "heading")
    assert heading == pytest.approx(HEADING, abs=1e-3)
    assert u > 0


def test_photos_that_disagree_are_said_to_and_stay_apart():
    scene = Scene(u_px=0.3, said=0.3)
    ties = scene.points()
    ties[2]["at"][1]["at"][1] -= 25.0
    alone, tied = scene.solve(same(scene), ties)
    (said,) = tied.warnings["left"]
    assert said == tied.warnings["right"][0]
    assert "Photos 'left' and 'right' disagree: the tie 'c'" in said
    assert tied.solutions["left"] is alone["left"]
    assert tied.placements == {}


def test_known_sizes_of_two_photos_that_disagree_are_named():
    scene = Scene(u_px=0.3, said=0.3)
    raws = same(scene)
    raws[1]["references"][0]["length_mm"] *= 1.08
    _, tied = scene.solve(raws, scene.points())
    (said,) = tied.warnings["left"]
    assert "disagree" in said
    assert "the height" in said


def test_sound_photos_of_a_shaking_hand_are_not_said_to_disagree():
    said = 0
    for seed in range(8):
        scene = Scene(u_px=1.0, seed=7 * seed)
        _, tied = scene.solve(same(scene), [*scene.points(), *scene.space()])
        said += bool(tied.warnings)
    assert said == 0


def test_wall_that_is_the_same_as_a_tower_is_refused():
    scene = Scene()
    raws = same(scene)
    raws[1]["same_as"] = "tower"
    tower = {"id": "tower", "photo": "left", "surface": {"kind": "round"}}
    faces = [face(raw) for raw in (*raws, tower)]
    solutions = {
        name: solve_photo(facts(scene.cameras[name], name), [faces[i]])
        for i, name in enumerate(("left", "right"))
    }
    with pytest.raises(FieldError, match="'tower' is no wall"):
        tie_photos(faces, [], solutions)


DOCUMENTS = [
    ("unknown face", {"ties": [{"id": "t", "kind": "level", "at": [
        {"face": "a", "at": [1, 2]}, {"face": "nowhere", "at": [1, 2]}]}]}, "nowhere"),
    ("one photo", {"ties": [{"id": "t", "kind": "level", "at": [
        {"face": "a", "at": [1, 2]}, {"face": "a", "at": [5, 2]}]}]}, "in one photo only"),
    ("same as nothing", {"same": "nowhere"}, "nowhere"),
    ("same in one photo", {"same": "c"}, "in the same photo"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "says"), [d[1:] for d in DOCUMENTS],
                         ids=[d[0] for d in DOCUMENTS])  # fmt: skip
def test_ties_that_name_what_is_not_there_are_refused(change, says):
    document = {
        "photos": [{"id": "p", "file": "p.jpg"}, {"id": "q", "file": "q.jpg"}],
        "faces": [{"id": "a", "photo": "p", "same_as": change.get("same")},
                  {"id": "b", "photo": "q"}, {"id": "c", "photo": "p"}],
        "ties": change.get("ties", []),
    }  # fmt: skip
    with pytest.raises(ValueError, match=says):
        Survey.model_validate(document)
