"""From a measure of the survey to its picks and the function that makes its sizes."""

import numpy as np
import pytest

from measure.features.chart_points import ChartPoints
from measure.features.registry import BEHIND_MM, sights_of, sizes_of
from shared.errors import DegenerateError, FieldError
from shared.survey import Survey

BOX = [[10, 10], [60, 10], [60, 90], [10, 90]]


def measure(kind, at, **more):
    face = {
        "id": "front",
        "photo": "street",
        "frame": BOX,
        "measures": [{"id": "m1", "kind": kind, "at": at, **more}],
    }
    photo = {"id": "street", "file": "street.jpg"}
    return Survey.model_validate({"photos": [photo], "faces": [face]}).faces[0].measures[0]


@pytest.mark.parametrize("kind", ["distance", "slope", "courses", "set-back"])
def test_two_picks_on_one_spot_are_refused_by_the_measures_name(kind):
    more = {"count": 3} if kind == "courses" else {}
    with pytest.raises(FieldError, match=r"Both picks of gauge 'm1' are on") as refusal:
        sights_of(measure(kind, [[5, 5], [5, 5]], **more), "gauge 'm1'")
    assert "two ends" in refusal.value.hint


@pytest.mark.parametrize("at", [[[5, 5], [5, 9]], [[5, 5], [9, 5]]])
def test_two_picks_above_or_beside_each_other_are_not_on_one_spot(at):
    assert [pick for pick, _ in sights_of(measure("distance", at), "m1")] == list(
        measure("distance", at).at
    )


def test_crossed_opening_is_refused_by_its_name():
    crossed = [BOX[0], BOX[2], BOX[1], BOX[3]]
    with pytest.raises(DegenerateError, match="w1"):
        sights_of(measure("opening", crossed), "w1")


def test_far_end_of_a_set_back_is_met_at_two_depths():
    sights = sights_of(measure("set-back", [[5, 5], [9, 8]], set_back_mm=40.0), "m1")
    assert [(pick.x, depth) for pick, depth in sights] == [
        (5, 40.0),
        (9, 40.0),
        (9, 40.0 + BEHIND_MM),
    ]


def test_depth_is_the_same_whatever_plane_the_far_end_is_met_on():
    # the far end's ray moves 2 mm right for each 10 mm of depth, and passes the near end at 150
    back = measure("set-back", [[5, 5], [9, 8]])
    points = ChartPoints([30.0, 0.0, 0.2 * BEHIND_MM], [0.0, 0.0, 0.0], 0.0, np.eye(6))
    assert sizes_of(back)(points)["depth_mm"] == pytest.approx(150.0)


def test_picks_of_a_head_come_after_the_corners():
    arched = measure("opening", BOX, head="segmental", head_at=[[35, 2]], set_back_mm=60.0)
    sights = sights_of(arched, "w1")
    assert [depth for _, depth in sights] == [60.0] * 5
    assert (sights[4][0].x, sights[4][0].y) == (35, 2)


def test_arched_opening_has_its_rise_made():
    arched = measure("opening", BOX, head="semicircular")
    u, v = [0.0, 900.0, 900.0, 0.0], [1500.0, 1500.0, 0.0, 0.0]
    sizes = sizes_of(arched)(ChartPoints(u, v, 0.0, np.eye(8)))
    assert sizes["rise_mm"] == pytest.approx(450.0)


def test_courses_are_divided_only_where_they_are_counted():
    points = ChartPoints([0.0, 0.0], [0.0, 300.0], 0.0, np.eye(4))
    counted, uncounted = (measure("courses", [[5, 5], [5, 90]], count=n) for n in (4, None))
    assert sizes_of(counted)(points)["gauge_mm"] == 75.0
    assert dict(sizes_of(uncounted)(points)) == {"height_mm": 300.0}


def test_joints_that_were_placed_are_measured_instead_of_the_ends():
    placed = measure("courses", [[5, 90], [5, 5]], joints=[[5, 90], [5, 40], [5, 5]])
    assert [(pick.y, depth) for pick, depth in sights_of(placed, "c1")] == [
        (90, 0),
        (40, 0),
        (5, 0),
    ]
    points = ChartPoints([0.0] * 3, [0.0, 80.0, 150.0], 0.0, np.eye(6))
    assert sizes_of(placed)(points)["joints_mm"] == [0.0, 80.0, 150.0]


def test_a_distance_is_between_its_two_picks():
    assert sizes_of(measure("distance", [[5, 5], [9, 8]]))(
        ChartPoints([0.0, 30.0], [0.0, 40.0], 0.0, np.eye(4))
    )["length_mm"] == pytest.approx(50.0)


def test_picks_of_a_head_are_as_far_out_of_true_as_corners():
    box = [[10, 10], [310, 10], [310, 410], [10, 410]]  # 500 px across its corners
    arched = measure("opening", box, head="segmental", head_at=[[160, 2, 0.5], [80, 4]])
    by_hand, plain = (pick.u_px for pick, _ in sights_of(arched, "w1")[4:])
    # a millimetre in a metre of 500 px is half a pixel; a click by hand is good to 1 px
    assert (by_hand, plain) == pytest.approx((0.5 * 2**0.5, 1.25**0.5))
