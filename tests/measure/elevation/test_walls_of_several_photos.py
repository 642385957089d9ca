"""One wall in several photos: one size for an opening, one elevation."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from measure.elevation.build import Elevation, make_elevation
from measure.elevation.elsewhere import kept_under, wall_of
from measure.elevation.quantities import Quantities
from measure.elevation.tidy import tidy
from measure.elevation.tidy_wall import tidy_wall
from measure.evaluate import evaluate
from rectify.one_chart import chart_shift
from shared.survey_drawing import FaceDrawing
from shared.survey_file import read_survey
from tests.support.demo_walls import TRUTH, demo_facts, demo_truth
from tests.support.plain_numbers import plain_numbers

TIED = TRUTH.parent / "pennywhistle-tied.survey.json"
FRONTS = ("front", "front-oblique", "front-kiln")


@pytest.fixture(scope="module")
def demo():
    survey = read_survey(TIED)
    return survey, evaluate(survey, demo_facts(survey), stop_at_problem=False)


@pytest.fixture(scope="module")
def lined_up(demo):
    survey, results = demo
    made = {}
    for face in survey.faces:
        solution, result = results.photos[face.photo].solution, results.faces[face.id]
        wall = wall_of(survey, results, face.id)
        made[face.id] = tidy_wall(survey, face, solution, result, FaceDrawing(), wall)
    return made


def sizes(numbers: Quantities) -> dict[str, tuple[float, ...]]:
    """Width and height with their ± by opening, as the photo that shows it calls it."""
    x = numbers.values
    return {
        each.id.partition("@")[0]: (
            x[each.right] - x[each.left],
            x[each.head] - x[each.sill],
            numbers.u_of_difference(each.right, each.left),
            numbers.u_of_difference(each.head, each.sill),
        )
        for each in numbers.openings
    }


def elevation(demo, face_id: str, **how) -> Elevation:
    survey, results = demo
    face = next(face for face in survey.faces if face.id == face_id)
    solution = results.photos[face.photo].solution
    wall = wall_of(survey, results, face_id)
    return make_elevation(survey, face, results.faces[face_id], solution, 148.0, wall=wall, **how)


@pytest.mark.parametrize("face_id", FRONTS[1:])
def test_opening_has_one_size_on_all_faces_of_its_wall(lined_up, face_id):
    front, other = (sizes(lined_up[name].numbers) for name in ("front", face_id))
    assert front.keys() == other.keys()
    for name, (width, height, *_) in front.items():
        assert_allclose(other[name][:2], (width, height), atol=1e-6)


def test_same_opening_in_three_photos_is_nearer_the_truth_than_in_one(lined_up):
    """Over all sizes of the fronts; any one of them may be worse by chance."""
    missed = {"measured": [], "numbers": []}
    for face_id in FRONTS:
        truth = demo_truth()["faces"][face_id]["measures"]
        for which, found in missed.items():
            for name, (width, height, *_) in sizes(getattr(lined_up[face_id], which)).items():
                if name in truth:
                    true = truth[name]
                    found += [width - true["width_mm"], height - true["height_mm"]]
    rms = {which: np.sqrt(np.mean(np.square(found))) for which, found in missed.items()}
    assert rms["numbers"] < 0.8 * rms["measured"]


def test_opening_of_another_photo_has_the_spread_it_has_on_its_own_chart(lined_up):
    """What a width is good for does not hang on the chart that it is told on."""
    own, told = (sizes(lined_up[name].measured) for name in ("front-kiln", "front"))
    for name in ("g5", "f5"):
        # draws widen a ± by some thousandths, of heights above the datum there, of sizes here
        assert_allclose(told[name], own[name], rtol=0.005)


def test_opening_that_one_photo_alone_shows_stands_on_the_elevation_of_its_wall(demo):
    front = elevation(demo, "front")
    drawn = {each.id: each for each in front.facade.openings if each.photo}
    assert {name: each.photo for name, each in drawn.items()} == {"g5": "kiln", "f5": "kiln"}
    assert "Drawn as photo 'kiln' alone shows them: g5, f5." in front.notes
    true = next(
        each for each in demo_truth()["surfaces"]["front"]["openings"] if each["id"] == "g5"
    )
    # from the hinge, where the drawing begins too; 3 of the ± of its place along the wall
    assert abs(drawn["g5"].left_mm - true["u0_mm"]) < 3.0 * 26.0


def test_copy_where_another_photo_shows_an_opening_is_left_out_and_said(demo):
    survey, results = demo
    face = survey.faces[0]
    copy = {"kind": "copy", "of": "g1", "centre_mm": 11500.0}
    wish = FaceDrawing.model_validate({"completions": [copy]})
    made = elevation(
        (survey.model_copy(update={"faces": (face.model_copy(update={"drawing": wish}),
                                             *survey.faces[1:])}), results),
        "front",
    )  # fmt: skip
    assert not made.completed.invented
    assert any("'g5' stands there in photo 'kiln'" in note for note in made.notes)


def test_as_picked_shows_what_the_photo_itself_shows(demo):
    assert not any(each.photo for each in elevation(demo, "front", as_picked=True).facade.openings)


def test_liberties_name_the_other_photo(demo):
    told = {(each.id, each.part): each.reason for each in elevation(demo, "front").liberties}
    assert "as photo 'oblique' shows it too" in told["f2", "width"]


def test_wall_of_one_photo_is_lined_up_by_itself(demo):
    survey, results = demo
    wall = wall_of(survey, results, "tower")
    assert wall.elsewhere == ()
    assert wall.kept is None


def test_faces_of_photos_that_are_not_tied_stay_by_themselves(demo):
    survey, _ = demo
    loose = survey.model_copy(update={"ties": ()})
    results = evaluate(loose, demo_facts(loose), stop_at_problem=False)
    assert kept_under(loose, results) == {}
    assert wall_of(loose, results, "front").elsewhere == ()


def test_shift_between_charts_changes_with_the_unknowns_as_its_derivatives_say(demo):
    """Against central differences over every unknown of all photos."""
    _, results = demo
    one, other = (results.photos[photo].solution for photo in ("street", "oblique"))
    shift = chart_shift(one, "front", other, "front-oblique")
    whole = one.adjusted.whole
    scale = np.sqrt(np.diagonal(whole.cov_unknowns)) * 1e-3
    for at, step in enumerate(scale):
        moved = []
        for side in (1.0, -1.0):
            by = np.zeros(len(scale))
            by[at] = side * step
            state = replace(whole, state=whole.state.stepped(by))
            pair = [replace(s, adjusted=replace(s.adjusted, whole=state)) for s in (one, other)]
            moved.append(chart_shift(pair[0], "front", pair[1], "front-oblique").mm)
        slope = (np.array(moved[0]) - np.array(moved[1])) / (2.0 * step)
        told = np.array([shift.u.gradient[at], shift.v.gradient[at]])
        # a thousandth of the ±: what bends is a millionth of it, rounding far less
        assert_allclose(told * step, slope * step, atol=1e-6)


def in_two_photos(width_there_mm: float) -> Quantities:
    """A window 1000 wide here, ± 4 each jamb; the same in another photo, ± 8 each."""
    here, there = (
        ("w", "flat", 0.0, 1000.0, 900.0, 2400.0, 2400.0),
        ("w@other", "flat", 0.0, width_there_mm, 900.0, 2400.0, 2400.0),
    )
    both = plain_numbers([here, there], cov=np.diag([16.0] * 4 + [64.0] * 4))
    own, other = both.openings
    return replace(both, openings=(own,), twins=((own, replace(other, photo="other")),))


def test_size_in_two_photos_is_the_mean_weighted_by_their_spreads():
    """Weights 1/16 and 1/64, so four parts of one to one of the other: 1000 and 1010 make 1002."""
    tidied = tidy(in_two_photos(1010.0))
    (own,) = tidied.numbers.openings
    assert_allclose(tidied.numbers.values[[own.left, own.right]], [0.0, 1002.0], atol=1e-9)
    # each jamb 1 / (1/16 + 1/64)
    assert_allclose(tidied.numbers.u_of_difference(own.right, own.left), np.sqrt(2.0 * 12.8))
    assert tidied.notes == ()


def test_size_that_another_photo_contradicts_stays_as_measured_and_it_is_said():
    tidied = tidy(in_two_photos(1100.0))
    (own,) = tidied.numbers.openings
    assert_allclose(tidied.numbers.values[own.right], 1000.0)
    assert "Photo 'other' shows opening 'w' otherwise" in tidied.notes[0]


def test_opening_picked_wrong_in_one_photo_is_named_on_the_elevation(demo):
    """Its right jamb 15 px off in the oblique photo, where a pick is good to one."""
    survey, _ = demo
    document = survey.model_dump(mode="json")
    oblique = next(face for face in document["faces"] if face["id"] == "front-oblique")
    wrong = next(measure for measure in oblique["measures"] if measure["id"] == "f2")
    for corner in (1, 2):
        wrong["at"][corner][0] += 15.0
    wrong_survey = type(survey).model_validate(document)
    results = evaluate(wrong_survey, demo_facts(wrong_survey), stop_at_problem=False)
    made = elevation((wrong_survey, results), "front")
    assert [note for note in made.notes if "'oblique' shows opening 'f2' otherwise" in note]


def test_wall_out_of_true_is_so_by_the_same_in_both_photos():
    """What the building itself strays by tells nothing of which photo to believe."""
    plain, stray = (tidy(in_two_photos(1010.0), FaceDrawing(out_of_true_mm=mm)) for mm in (0, 30))
    (own,) = plain.numbers.openings
    assert_allclose(stray.numbers.values[own.right], plain.numbers.values[own.right])


def test_distances_up_the_wall_are_the_same_from_whatever_datum(lined_up):
    """The kiln's photo counts from its frame at the sill of f5, the street's from that of g1."""
    rises = [
        lined_up[name].numbers.value("f5.sill") - lined_up[name].numbers.value("g5.sill")
        for name in ("front", "front-kiln")
    ]
    assert_allclose(rises[1], rises[0], atol=1e-6)


def test_heights_of_another_face_count_from_its_own_datum(lined_up):
    """As near as it measured the sill that its frame stands on, and better known for all."""
    before, after = lined_up["front-kiln"].measured, lined_up["front-kiln"].numbers
    assert abs(after.value("f5.sill") - before.value("f5.sill")) < before.u("f5.sill")
    assert after.u("f5.sill") < before.u("f5.sill")
