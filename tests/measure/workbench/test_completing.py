"""Mirroring and repeating by handles: what they go by, and what a wish in hand would make."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator

import pytest

#: What is told of one wall comes from the same numbers; only rounding of paths is left.
SAME_MM = 0.11

Ask = Callable[..., dict]


@pytest.fixture(scope="module")
def ask_about(workbench) -> Iterator[Callable[[dict | None], Ask]]:
    """Of the demo's front with these wishes, a way to ask the routes of the handles."""
    with workbench.client() as client:
        demo = client.post("/api/demo", json={}).json()
        url = f"/api/surveys/{demo['key']}/elevation"

        def about(drawing: dict | None) -> Ask:
            document = copy.deepcopy(demo["document"])
            document["faces"][0]["drawing"] = drawing
            drawn = client.post(url, json={"document": document, "face": "front"})
            assert drawn.status_code == 200, drawn.text
            of_face = {"stamp": drawn.json()["stamp"], "face": "front"}

            def ask(route: str, **body: object) -> dict:
                answer = client.post(f"{url}/{route}", json={**of_face, **body})
                assert answer.status_code == 200, answer.text
                return answer.json()

            ask.drawn = drawn.json()  # type: ignore[attr-defined]
            return ask

        yield about


@pytest.fixture(scope="module")
def plain(ask_about) -> Ask:
    """The front as measured and lined up, with nothing completed."""
    return ask_about(None)


#: Completions that the survey has already.
BAY = {"kind": "repeat", "of": ["g1"], "count": 1, "spacing_mm": 1900.0}
ABOUT_GIVEN = {"kind": "mirror", "of": ["f2"], "axis_mm": 6000.0}
#: Picked in the photo where the page shows 1438 mm across the chart, 3000 up.
ABOUT_PICKED = {"kind": "mirror", "of": ["s3"], "axis_at": [2527.86, 1300.71]}


@pytest.fixture(scope="module")
def completed(ask_about) -> Ask:
    """The same front with a bay repeated and an opening mirrored."""
    return ask_about({"completions": [BAY, ABOUT_GIVEN, ABOUT_PICKED]})


@pytest.fixture(scope="module")
def handles(plain) -> dict:
    return plain("handles", of=["g1"])


def opening(handles: dict, id_: str) -> list[float]:
    return next(each["box_mm"] for each in handles["openings"] if each["id"] == id_)


def axis(handles: dict, says: dict) -> float:
    return next(each["at_mm"] for each in handles["axes"] if each["says"] == says)


def mirrored(box: list[float], axis_mm: float) -> list[float]:
    left, bottom, right, top = box
    return [2 * axis_mm - right, bottom, 2 * axis_mm - left, top]


def test_axes_to_snap_to_are_centre_lines_midways_and_the_middle(handles):
    left, _, right, _ = opening(handles, "door")
    assert axis(handles, {"axis_of": ["door"]}) == pytest.approx((left + right) / 2)
    cart = opening(handles, "cart")
    between = (left + right + cart[0] + cart[2]) / 4
    assert axis(handles, {"axis_of": ["cart", "door"]}) == pytest.approx(between)
    (middle,) = (each["at_mm"] for each in handles["axes"] if each["what"] == "middle")
    assert middle == pytest.approx((handles["wall_mm"][0] + handles["wall_mm"][2]) / 2)


def test_an_axis_given_before_is_one_to_snap_to(completed):
    handles = completed("handles", of=[])
    (given,) = (each for each in handles["axes"] if each["what"] == "given")
    assert given["says"] == {"axis_mm": 6000.0}
    assert given["at_mm"] == pytest.approx(handles["origin_mm"] + 6000.0)


def test_an_axis_picked_before_is_one_to_snap_to(completed):
    axes = completed("handles", of=[])["axes"]
    (picked,) = (each for each in axes if each["what"] == "picked")
    assert picked["says"] == {"axis_at": [2527.86, 1300.71]}
    # a pixel of that photo is 4 mm of the wall, and the pick is rounded to a hundredth of it
    assert picked["at_mm"] == pytest.approx(1438.0, abs=1.0)


def test_what_was_invented_may_be_mirrored_in_turn(completed):
    handles = completed("handles", of=["g1@bay1"])
    wish = {"kind": "mirror", "of": ["g1@bay1"], "axis_mm": 4100.0}
    (made,) = completed("completion", wish=wish)["made"]
    image = mirrored(opening(handles, "g1@bay1"), handles["origin_mm"] + 4100.0)
    assert made["box_mm"] == pytest.approx(image)


def test_the_spacing_measured_is_told_where_there_is_one(plain, completed):
    assert plain("handles", of=["oculus"])["spacing_mm"] is None
    assert completed("handles", of=["g1"])["spacing_mm"] == pytest.approx(1900.0)


def test_a_mirror_in_hand_makes_the_image_of_the_opening(plain, handles):
    told = plain("completion", wish={"kind": "mirror", "of": ["g1"], "axis_of": ["f2"]})
    (made,) = told["made"]
    image = mirrored(opening(handles, "g1"), axis(handles, {"axis_of": ["f2"]}))
    assert made["box_mm"] == pytest.approx(image)
    assert len(told["offered"]) == 1


def test_what_was_offered_is_what_is_drawn_once_it_is_taken(plain, completed):
    told = plain("completion", wish=BAY, count=1)
    assert len(told["made"]) == 1
    assert set(told["offered"]) <= set(completed.drawn["inferred"])
    assert set(completed.drawn["inferred"]) < set(completed.drawn["paths"])


def test_a_wall_that_grows_says_by_how_much(plain, handles):
    about_door = {"axis_of": ["door"]}
    told = plain("completion", wish={"kind": "mirror", "of": ["g1"], **about_door})
    left, _, right, _ = handles["wall_mm"]
    # as far to the right of the axis as the wall stands to its left
    wide = 2 * (axis(handles, about_door) - left)
    assert wide > right - left
    (note,) = told["notes"]
    assert f"the wall is {wide:,.0f} mm wide".replace(",", "\u202f") in note


REFUSED = {
    "an axis beside the wall": (
        {"kind": "mirror", "axis_mm": 99_999.0},
        None,
        "lies outside the wall",
    ),
    "a half cut through an opening": (
        {"kind": "half", "keep": "left", "axis_mm": 9400.0},
        None,
        "cuts opening 'door' unevenly",
    ),
    "no copy": ({"kind": "repeat", "of": ["g1"], "count": 1}, 0, "cannot be repeated 0 times"),
    "copies closer than the bay is wide": (
        {"kind": "repeat", "of": ["g1"], "count": 1, "spacing_mm": 50.0},
        1,
        "less than the bay is wide",
    ),
    "copies only where others stand": (
        {"kind": "repeat", "of": ["door"], "count": 1, "spacing_mm": 2200.0, "towards": "left"},
        1,
        "'cart' stands there already",
    ),
    "copies past the slope of the gable": (
        {"kind": "repeat", "of": ["oculus"], "count": 1, "spacing_mm": 4000.0},
        1,
        "'oculus@bay1' reaches past the outline",
    ),
}


@pytest.mark.parametrize(("wish", "count", "says"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_is_refused_in_one_sentence_without_a_number(plain, wish, count, says):
    told = plain("completion", wish=wish, count=count)
    assert says in told["refused"]
    assert told["refused"].count(". ") == 0
    assert not told["refused"].startswith("Completion")


@pytest.fixture(scope="module")
def dressed(ask_about) -> Ask:
    """The same front fitted to a plot, with a sill under its door."""
    plot = {"width_mm": 60.0, "choice": "narrow-piers", "keep_true": False}
    return ask_about({"plot": plot, "details": [{"kind": "sills", "of": ["door"]}]})


def test_a_half_that_takes_away_what_a_detail_names_is_refused(dressed):
    told = dressed("completion", wish={"kind": "half", "keep": "left", "axis_mm": 4200.0})
    assert "There is no opening 'door' on this face for the sills" in told["refused"]


def test_openings_fitted_to_a_plot_are_told_in_their_true_size(dressed, handles):
    told = dressed("handles", of=["g1"])
    assert opening(told, "g1") == pytest.approx(opening(handles, "g1"), abs=SAME_MM)
    assert handles["paths"] is None
    assert told["paths"]
