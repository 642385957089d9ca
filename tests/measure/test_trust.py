"""What is said of a face's sizes, and what would help most."""

import pytest

from measure.evaluate import evaluate
from measure.trust import across_mm, trust_of_face
from shared.survey import Survey
from tests.support.surveyed import FRAME, Hand, facts, length, street_camera, street_front


def measured(u_mm, *, u_px=0.3, known=True, second=True, sizes=True, wrong=0.0, **changes):
    camera = street_camera()
    hand = Hand(camera, u_px=u_px, seed=1, said_u_px=u_px)
    raw = street_front(hand) | changes
    raw["references"] = [length(hand, [[1000, 400], [1000, 3400]], "the height", u_mm)]
    if second:
        raw["references"].append(length(hand, FRAME[[3, 2]], "the width", u_mm))
        raw["references"][-1]["length_mm"] += wrong
    if not sizes:
        raw["references"] = []
    survey = Survey.model_validate(
        {"photos": [{"id": "street", "file": "street.jpg"}], "faces": [raw]}
    )
    return evaluate(survey, {"street": facts(camera, known=known)})


@pytest.mark.parametrize(
    ("given", "denominator", "says"),
    [
        ({"u_mm": 5.0, "second": False}, 148.0, "A second known size would check the first."),
        ({"u_mm": 5.0, "known": False}, 148.0, "The photo does not say its focal length"),
        ({"u_mm": 5.0}, 148.0, "That is finer than a knife can cut."),
        ({"u_mm": 60.0}, 22.0, "A longer known size, or more courses counted"),
        ({"u_mm": 1.0, "u_px": 4.0}, 22.0, "Corners of the frame picked more finely"),
    ],
    ids=["one size", "no lens stated", "fine", "size holds back", "picks hold back"],
)
def test_what_would_help_most_is_said(given, denominator, says):
    told = trust_of_face(measured(**given), "front", denominator)
    assert told.startswith("Good to ±")
    assert says in told


def test_a_pm_that_is_absurd_is_called_so_and_what_to_do_is_named():
    """60 px of ± in a frame of some 2000: 3 in 100 and more."""
    told = trust_of_face(measured(1.0, u_px=60.0), "front", 148.0)
    assert told.startswith("Only to ±")
    assert "pick a frame as wide as the wall" in told


def test_a_pm_of_sizes_that_contradict_each_other_is_in_doubt():
    assert trust_of_face(measured(5.0, wrong=400.0), "front", 148.0).startswith("In doubt, ")


@pytest.mark.parametrize(
    ("without", "says"),
    [
        ({"guides": [], "measures": []}, "rests on your picks alone, nothing checks them"),
        ({"measures": []}, "rests on picks that agree with each other"),
    ],
    ids=["a frame alone", "a frame and guides"],
)
def test_without_a_size_the_shape_is_said_to_rest_on_what_was_picked(without, says):
    told = trust_of_face(measured(5.0, sizes=False, **without), "front")
    assert says in told
    assert "Add one known size." in told


def test_length_across_is_that_of_the_outermost_picks_of_the_worse_known_direction():
    """Up, from the foot of the plumb guide at 200 mm to the head of the frame at 5200."""
    length_mm, u_mm = across_mm(measured(5.0), "front")
    assert length_mm == pytest.approx(5000.0, abs=3 * u_mm)
    assert 2.0 < u_mm < 15.0


def test_guides_found_far_beyond_the_frame_do_not_stretch_what_is_spoken_of():
    camera = street_camera()
    far = Hand(camera).on_wall([[-6000, 200], [-6000, 3000], [-6000, 6000]])
    guides = [
        {"kind": "plumb", "at": far, "found": found, "u_lean_deg": 0.2} for found in (True, False)
    ]
    plain, found, picked = (
        across_mm(measured(5.0, guides=some), "front")[0] for some in ([], guides[:1], guides[1:])
    )
    assert found == pytest.approx(plain, rel=0.01)
    assert picked > 1.1 * plain
