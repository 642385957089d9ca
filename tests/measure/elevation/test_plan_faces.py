"""Plan and side-by-side drawing of a building whose angles and widths are known."""

import math
from dataclasses import replace
from itertools import combinations

import ezdxf
import numpy as np
import pytest

from measure.elevation.annotate import paper_primitives
from measure.elevation.dimension_lanes import words_of_dimension
from measure.elevation.draw_plan import draw_plan
from measure.elevation.drawing import Dimension, Path, Polyline, Text
from measure.elevation.path_geometry import box_around_path
from measure.elevation.plan_faces import crossings, plan_of_photo
from measure.elevation.primitives import Lettering, box_of
from measure.evaluate import evaluate
from measure.export.dxf import dxf_from_drawing
from measure.whole_building import building_drawings
from shared.survey import Survey
from shared.survey_drawing import FaceDrawing
from tests.measure.test_roofs import CAMERA, EAVES_MM, roof
from tests.rectify.test_residuals import HEADING, HINGE_U, TOWER, WIDE, whole_building
from tests.support.scenes import rectangle
from tests.support.surveyed import Hand, facts, street_camera

#: Where the tower cuts the front off.
LEFT = TOWER[0] + math.sqrt(TOWER[2] ** 2 - TOWER[1] ** 2)
WALL = rectangle(LEFT, 300.0, HINGE_U, 5400.0)


def building(camera, *more):
    """The test building: front with its outline, behind, wing, tower."""
    hand = Hand(camera)
    faces = [each.model_dump(mode="json") for each in whole_building(hand)]
    front, behind, wing, tower = faces
    front["measures"].append({"id": "edge", "kind": "outline", "at": hand.on_wall(WALL)})
    behind["measures"] = [{"id": "b", "kind": "opening", "at": hand.on_wall(
        rectangle(0, 5800, 900, 6600), 900.0)}]  # fmt: skip
    wing["measures"] = [{"id": "w", "kind": "opening", "at": wing["frame"]}]
    tower["measures"] = [{"id": "up", "kind": "level", "at": [tower["surface"]["meets_wall"][1]]}]
    survey = Survey.model_validate(
        {"title": "Test house", "photos": [{"id": "street", "file": "x.jpg"}],
         "faces": [*faces, *(make(hand) for make in more)]}
    )  # fmt: skip
    return survey, evaluate(survey, {"street": facts(camera)})


@pytest.fixture(scope="module")
def measured():
    return building(street_camera(**WIDE))


@pytest.fixture(scope="module")
def plan(measured):
    survey, results = measured
    return plan_of_photo(survey.faces, results.faces, results.photos["street"].solution)


def test_walls_stand_where_they_do(plan):
    front, wing = plan.wall("front"), plan.wall("wing")
    assert front.width_mm == pytest.approx(HINGE_U - LEFT, rel=1e-3)
    assert front.ends_known == (True, True)
    assert wing.start_mm == pytest.approx(front.end_mm, abs=2.0)
    assert wing.width_mm == pytest.approx(3500.0, rel=1e-3)
    assert wing.ends_known == (True, False)  # picked no farther than its frame
    run = (wing.end_mm[0] - wing.start_mm[0], wing.end_mm[1] - wing.start_mm[1])
    assert math.atan2(run[1], run[0]) == pytest.approx(HEADING, abs=1e-3)
    # it runs back from the street: 180 degrees and the turn on the street side
    assert wing.angle_deg == pytest.approx(180.0 + math.degrees(-HEADING), abs=0.1)
    assert 0.0 < wing.u_angle_deg < 5.0


def test_tower_and_parallel_wall_stand_where_they_do(plan):
    (tower,) = plan.towers
    front = plan.wall("front")
    assert tower.radius_mm == pytest.approx(TOWER[2], rel=2e-3)
    assert tower.axis_mm[1] == pytest.approx(TOWER[1], abs=15.0)
    assert front.start_mm[0] - tower.axis_mm[0] == pytest.approx(LEFT - TOWER[0], abs=15.0)
    low, high = tower.shown_rad
    # from where the camera's sight touches it to where it meets the wall
    assert high == pytest.approx(math.acos(-TOWER[1] / TOWER[2]), abs=0.01)
    assert -2.0 < low < -0.5
    assert plan.wall("behind").start_mm[1] == pytest.approx(-900.0, rel=1e-3)
    assert plan.notes == ()


def test_plan_is_drawn_with_widths_angle_and_radius(plan):
    drawing = draw_plan(plan, title="Test house")
    walls = {item.id: item for item in drawing.items if getattr(item, "id", None)}
    assert {"front", "wing", "tower", "behind"} <= walls.keys()
    front = walls["front"]
    assert isinstance(front, Polyline)
    assert math.dist(*front.points_mm) == pytest.approx(HINGE_U - LEFT, rel=1e-3)
    sizes = {item.text: item.inferred for item in drawing.items if isinstance(item, Dimension)}
    width = next(text for text in sizes if text.replace("\u202f", "").startswith("905"))
    assert sizes[width] is False  # a known end at both ends: no brackets
    words = " ".join(item.text for item in drawing.items if isinstance(item, Text))
    # inside the building, since that is where the corner is less than straight
    assert f"{180 - math.degrees(-HEADING):.0f}"[:2] in words
    assert "radius" in words


def test_arc_of_a_tower_runs_on_the_side_that_is_seen(plan):
    """The solid part of the circle reaches nearest to the street, the dashed part does not."""
    drawing = draw_plan(plan, title="Test house")
    tower = plan.towers[0]
    solid = next(item for item in drawing.items if isinstance(item, Path) and item.id == "tower")
    dashed = next(i for i in drawing.items if isinstance(i, Path) and i.layer == "unseen")
    street = -(tower.axis_mm[1] + tower.radius_mm)
    assert box_around_path(solid.start_mm, solid.segments).bottom_mm == pytest.approx(street)
    assert box_around_path(dashed.start_mm, dashed.segments).bottom_mm > street + 100.0


def test_walls_that_run_through_each_other_are_said_to():
    survey, results = building(street_camera(**WIDE))
    plan = plan_of_photo(survey.faces, results.faces, results.photos["street"].solution)
    front, wing = plan.wall("front"), plan.wall("wing")
    x, z = front.start_mm[0] + 2000.0, front.start_mm[1]
    crossed = replace(wing, start_mm=(x - 700.0, z - 900.0), end_mm=(x + 700.0, z + 900.0))
    (said,) = crossings(replace(plan, walls=(front, crossed)))
    assert "'front' and 'wing' cross" in said
    assert crossings(plan) == ()


def test_roof_lies_behind_its_eaves():
    camera = street_camera(**CAMERA)
    survey, results = building(camera, roof)
    plan = plan_of_photo(survey.faces, results.faces, results.photos["street"].solution)
    (slope,) = plan.roofs
    assert slope.pitch_deg == pytest.approx(38.0, abs=0.1)
    assert slope.back_mm[1] == pytest.approx(-4300.0 * np.cos(np.radians(38.0)), rel=0.01)
    drawing = draw_plan(plan, title="")
    assert any(item.layer == "roofs" for item in drawing.items)


def test_faces_stand_side_by_side_in_wrapping_order_on_one_datum(measured):
    survey, results = measured
    made = {each.name: each for each in building_drawings(survey, results, 148.0)}
    assert made.keys() == {"plan", "side-by-side"}
    drawing = made["side-by-side"].drawing
    by_id = {item.id: item for item in drawing.items if getattr(item, "id", None)}
    outline, window = by_id["edge"], by_id["w"]
    u = [point[0] for point in outline.points_mm]
    v = [point[1] for point in outline.points_mm]
    box = box_around_path(window.start_mm, window.segments)
    # the wing's frame begins 500 mm past the hinge and lies 300 mm above the front's foot
    assert box.left_mm - max(u) == pytest.approx(500.0, abs=8.0)
    assert box.bottom_mm - min(v) == pytest.approx(300.0, abs=8.0)
    assert box.width_mm == pytest.approx(3000.0, rel=3e-3)
    folds = [item for item in drawing.items if item.layer == "folds"]
    assert max(fold.points_mm[0][0] for fold in folds) == pytest.approx(max(u), abs=5.0)
    assert len([item for item in drawing.items if item.layer == "datum"]) == 1


def completed(survey, completions, *, outlined=True):
    """The same survey, its front completed so; and without its outline, if asked."""
    front, *others = survey.faces
    kept = tuple(each for each in front.measures if outlined or each.id != "edge")
    drawing = FaceDrawing.model_validate({"completions": completions})
    front = front.model_copy(update={"drawing": drawing, "measures": kept})
    return survey.model_copy(update={"faces": (front, *others)})


def width_of_front(survey, results):
    """How its width is written side by side; it is the widest face."""
    made = {each.name: each.drawing for each in building_drawings(survey, results, 148.0)}
    widths = [item for item in made["side-by-side"].items if isinstance(item, Dimension)]
    return words_of_dimension(max(widths, key=lambda item: math.dist(item.start_mm, item.end_mm)))


HALF = {"kind": "half", "keep": "left", "axis_mm": 6000.0}
LONGER = {"kind": "repeat", "of": ["w3"], "count": 1, "spacing_mm": 2500.0}
WITHIN = {"kind": "repeat", "of": ["w1"], "count": 1, "spacing_mm": 1100.0}


@pytest.mark.parametrize(
    ("wishes", "outlined", "bracketed"),
    [
        ([], True, False),
        ([HALF], True, True),
        ([LONGER], True, True),
        ([WITHIN], True, False),
        ([], False, False),
        ([LONGER], False, True),
        ([WITHIN], False, False),
    ],
    ids=["as measured", "half mirrored", "bay past its end", "bay within it",
         "between corners", "bay past a corner", "bay between corners"],
)  # fmt: skip
def test_a_width_that_was_mirrored_or_repeated_stands_in_brackets(
    measured, wishes, outlined, bracketed
):
    """ISO 129-1 (from memory) puts in brackets what is not measured."""
    survey, results = measured
    if not outlined:
        bare = completed(survey, [], outlined=False)
        results = evaluate(bare, {"street": facts(street_camera(**WIDE))})
    text = width_of_front(completed(survey, wishes, outlined=outlined), results)
    assert text.startswith("(") is bracketed


@pytest.mark.parametrize(
    "label", ["Long wing", "Long wing towards the river, with its loading doors"]
)
def test_names_of_faces_stand_on_nothing_else(measured, label):
    survey, results = measured
    faces = [survey.faces[0], survey.faces[1].model_copy(update={"label": label})]
    survey = survey.model_copy(update={"faces": (*faces, *survey.faces[2:])})
    made = {each.name: each.drawing for each in building_drawings(survey, results, 148.0)}
    items = paper_primitives(made["side-by-side"], 148.0)
    words = [item for item in items if isinstance(item, Lettering)]
    assert sum(item.text.startswith(label[:8]) for item in words) == 1
    for one, other in combinations([box_of(item) for item in words], 2):
        assert not one.overlaps(other)


def test_roof_stands_beside_its_wall_at_the_height_of_its_eaves():
    camera = street_camera(**CAMERA)
    survey, results = building(camera, roof)
    made = {each.name: each.drawing for each in building_drawings(survey, results, 148.0)}
    by_id = {i.id: i for i in made["side-by-side"].items if getattr(i, "id", None)}
    foot = min(point[1] for point in by_id["edge"].points_mm)
    light = by_id["light"]
    low = box_around_path(light.start_mm, light.segments).bottom_mm
    # 1620 up the slope from eaves at 5600, over a wall whose foot is at 300
    assert low - foot == pytest.approx(EAVES_MM - 300.0 + 1620.0, abs=15.0)


def test_drawings_of_the_building_pass_the_audit_of_dxf(measured, tmp_path):
    import datetime as dt

    from measure.elevation.title_block import TitleBlock

    survey, results = measured
    for each in building_drawings(survey, results, 148.0):
        block = TitleBlock(each.drawing.title, 148.0, dt.date(2026, 11, 25))
        path = tmp_path / "x.dxf"
        path.write_bytes(dxf_from_drawing(each.drawing, block))
        document = ezdxf.readfile(path)
        assert not document.audit().errors
    layers = {entity.dxf.layer for entity in document.modelspace()}
    assert any("folds" in layer.lower() for layer in layers)


def test_one_flat_wall_has_no_plan():
    from tests.measure.test_how_good import FACTS, WINDOWS, all_points, drawn_camera, make_face

    camera = drawn_camera(25, np.random.default_rng(1), (-4500.0, 1600.0, 9500.0))
    face = make_face(camera.project_wall(all_points(WINDOWS[:1])), 2032.0, 1)
    survey = Survey.model_validate({"photos": [{"id": "p", "file": "p"}], "faces": [face]})
    assert list(building_drawings(survey, evaluate(survey, {"p": FACTS}), 148.0)) == []
